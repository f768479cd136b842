"""Draws before an assay, the typical case, and where data contradict: borders worked by hand."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy import optimize, stats

from feedchar.chemistry.agreement import agreement_of, contradict
from feedchar.chemistry.draws import draw, line_ends, places
from feedchar.chemistry.fit import Fit
from feedchar.chemistry.ingredients import feed_of
from feedchar.chemistry.iron_prior import IronPrior
from feedchar.chemistry.mineral_trials import Amount, gamma_amounts, small_amounts
from feedchar.chemistry.mineralogy import OXIDES
from feedchar.chemistry.start import chain_starts, typical_fit
from feedchar.chemistry.system import Prior, Rows
from feedchar.chemistry.unseen import UnseenPrior, unseen_totals
from feedchar.sample.records import MineralAmount, Sample

FE = OXIDES.index("Fe2O3")


def row(mineral, value, **more):
    return MineralAmount(mineral, "mass_pct", value, **more)


# --- draws ----------------------------------------------------------------------------------

FELDSPARS = (row("albite", 96.0), row("biotite", 3.0), row("calcite", 0.0))


def drawn_of(*rows, origin="as dug", trials=600):
    feed, _ = feed_of(Sample("x", minerals=(*FELDSPARS, *rows)), {})
    drawn = draw(feed, origin, None, trials, 3)
    low, change = line_ends(feed)
    iron = (low[:, FE] + places(feed, drawn.scores) * change[:, FE]) / 100.0
    amounts = {name: drawn.amounts[:, j] for j, name in enumerate(feed.names)}
    carried = {name: drawn.amounts[:, j] * iron[:, j] for j, name in enumerate(feed.names)}
    listed = dict(zip(feed.names, feed.amounts, strict=True))
    return listed, amounts, carried, unseen_totals(drawn.unseen, trials, 3)


@pytest.mark.parametrize(
    "looked_for",
    [row("hematite", 0.0), row("hematite", 0.4, below_detection=True)],
    ids=["not found", "a trace"],
)
@pytest.mark.parametrize("origin", ["as dug", "washed"])
def test_undetected_oxides_and_unseen_share_the_unseen_total_to_the_last_ppm(looked_for, origin):
    listed, amounts, carried, total = drawn_of(looked_for, origin=origin)
    assert carried["hematite"] + carried["unseen"] == pytest.approx(total, abs=2e-6)
    assert np.mean(carried["unseen"] > 1e-5) > 0.1  # in some trials oxides leave something,
    if origin == "washed":
        assert np.mean(carried["unseen"] <= 1e-5) > 0.1  # in others they hold it all
    # Where they leave something nothing was taken from them.
    free = carried["unseen"] > 1e-5
    first = small_amounts(listed["hematite"], "hematite", 600, 3)
    assert amounts["hematite"][free] == pytest.approx(first[free])
    assert (amounts["hematite"] <= first * (1.0 + 1e-9)).all()
    assert amounts["calcite"] == pytest.approx(small_amounts(listed["calcite"], "calcite", 600, 3))


def test_found_minerals_keep_their_proportions_and_fill_the_rest():
    listed, amounts, _, _ = drawn_of(row("hematite", 0.0))
    albite, biotite = (gamma_amounts(listed[n], n, 600, 3) for n in ("albite", "biotite"))
    assert amounts["albite"] / amounts["biotite"] == pytest.approx(albite / biotite)
    assert sum(amounts.values()) == pytest.approx(100.0, abs=1e-9)


def test_what_nobody_identified_comes_before_oxides_and_unseen():
    """Its iron is taken off the total first; its mass moves with all that was found."""
    _, amounts, carried, total = drawn_of(
        row("hematite", 0.0), row("unidentified", 1.0), origin="washed"
    )
    hidden = carried["hematite"] + carried["unidentified"] + carried["unseen"]
    assert hidden == pytest.approx(np.maximum(total, carried["unidentified"]), rel=0.02, abs=2e-5)
    used_up = carried["unidentified"] > 1.02 * total
    assert np.mean(used_up) > 0.02
    assert carried["hematite"][used_up] == pytest.approx(0.0, abs=1e-6)
    assert amounts["unseen"][used_up] == pytest.approx(0.0, abs=1e-5)
    assert sum(amounts.values()) == pytest.approx(100.0, abs=1e-9)


def test_a_mineral_of_one_per_cent_iron_or_less_hides_none():
    names = ("calcite", "zircon", "muscovite", "goethite", "rutile")
    rows = tuple(row(name, 0.0) for name in names[1:])
    feed, _ = feed_of(Sample("x", minerals=(*FELDSPARS, *rows)), {})
    hidden = {feed.names[j] for j in draw(feed, "as dug", None, 0, 1).hidden}
    rich = {
        name
        for name, part in zip(feed.names, feed.ingredients, strict=True)
        if part.iron.typical_wt_pct > 1.0 and name in names
    }
    assert hidden == rich | {"unseen"}
    assert "goethite" in rich
    assert "zircon" not in rich


# --- the typical case -----------------------------------------------------------------------

CERTAIN = IronPrior(0.0, 0.0, 0.0, 0.0, 0.0)
LOPSIDED = IronPrior(8.0, 10.0, 20.0, 2.0, 42.0)


@pytest.mark.parametrize("iron", [1.9, 3.6])
@pytest.mark.parametrize("titania", [0.25, 0.004])
@pytest.mark.parametrize(
    "unseen", [UnseenPrior("log-uniform"), UnseenPrior("log-normal", 0.4, 0.6)]
)
def test_missed_minerals_unseen_iron_and_lopsided_iron_by_a_minimiser(iron, titania, unseen):
    """Bulk, mica, a spinel that was not found and unseen iron: the squares of two rows, two
    amounts, two logarithms and the iron of the mica, by scipy under closure; nearly the least,
    since the iron is weighed by the amounts of the round before."""
    amounts = (Amount("gamma", 84.0, 441.0), Amount("gamma", 15.0, 36.0),
               Amount("not found", limit=0.6), Amount("unseen"))  # fmt: skip
    zero = np.zeros(4)
    prior = Prior(amounts, (CERTAIN, LOPSIDED, CERTAIN, CERTAIN), unseen, zero, zero, (2, 3))
    low = np.array([[0.0, 0.0], [0.03, 0.0], [0.6, 0.2], [0.9, 0.0]])
    change = np.zeros((4, 2))
    change[1, 0] = 0.56
    value, sd = np.array([iron, titania]), np.array([0.1, 0.002])
    rows = Rows(("Fe2O3", "TiO2"), value, sd, low[:, :, None], change[:, :, None],
                np.array([False, False]), np.zeros((4, 2)))  # fmt: skip
    wanted = np.array([84.0, 15.0, 0.06, 0.5])
    wanted = wanted * 100.0 / wanted.sum()
    wide = np.log(0.3 / 0.003) / 12.0**0.5 if unseen.kind == "log-uniform" else unseen.ln_sd

    def off(v):
        x, t = v[:4], v[4]
        place = t - 0.2
        side = (2.0 if place < 0.0 else 10.0) / 40.0 / 1.6448536
        return [
            *((value - x @ low - x[1] * t * change[1]) / sd),
            (x[0] - wanted[0]) / 4.0, (x[1] - wanted[1]) / 2.5,
            np.log(max(x[2], 1e-9) / 0.06) / 1.5, np.log(max(x[3], 1e-9) / wanted[3]) / wide,
            place / side,
        ]  # fmt: skip

    best = optimize.minimize(
        lambda v: np.sum(np.square(off(v))), np.append(wanted, 0.2), method="SLSQP",
        bounds=[(1e-5, 100.0)] * 4 + [(0.0, 1.0)], options={"ftol": 1e-13, "maxiter": 800},
        constraints={"type": "eq", "fun": lambda v: v[:4].sum() - 100.0},
    )  # fmt: skip
    found, place = typical_fit(prior, rows, wanted)
    assert best.success
    assert np.sum(np.square(off([*found, place[1]]))) == pytest.approx(best.fun, rel=0.03, abs=0.05)
    assert found.sum() == pytest.approx(100.0)


def test_each_chain_starts_at_the_least_squares_of_its_own_data():
    """Amounts, places and rows drawn for a trial, by scipy's minimiser; a row known as a limit is
    drawn below it, as wide as a uniform law; traces stay below their limit."""
    amounts = (Amount("gamma", 80.0, 400.0), Amount("gamma", 15.0, 36.0),
               Amount("interval", limit=0.9), Amount("unseen"))  # fmt: skip
    zero, unseen = np.zeros(4), UnseenPrior("log-normal", 0.5, 0.6)
    prior = Prior(amounts, (CERTAIN, LOPSIDED, CERTAIN, CERTAIN), unseen, zero, zero, (3,))
    low = np.array([[0.0, 0.0, 0.0], [0.03, 0.1, 0.0], [0.0, 0.0, 0.6], [0.9, 0.0, 0.0]])
    change = np.zeros((4, 3))
    change[1, 0] = 0.56
    value, sd = np.array([3.0, 1.6, 0.4]), np.array([0.3, 0.1, 0.02])
    rows = Rows(("Fe2O3", "K2O", "TiO2"), value, sd, low[:, :, None], change[:, :, None],
                np.array([False, False, True]), np.zeros((4, 3)))  # fmt: skip
    rng = np.random.default_rng(4)
    trials = 5
    wanted = np.array([84.0, 15.0, 0.45, 0.55])[:, None] * np.exp(0.1 * rng.standard_normal((4, 5)))
    wanted *= 100.0 / wanted.sum(axis=0)
    place = np.zeros((4, trials))
    place[1] = 0.2 + 0.05 * rng.random(trials)
    noise, uniform = rng.standard_normal((3, trials)), 0.1 + 0.8 * rng.random((3, trials))
    spread = np.array([4.0, 2.5, 0.3, 1.5 * 0.5 / 0.9])
    side = 10.0 / 40.0 / 1.6448536  # of the wider half
    width = np.append(sd[:2], 0.4 / 3.5 + 0.02)
    found, places = chain_starts(prior, rows, wanted, place, noise, uniform)
    for trial in range(trials):
        target = np.append((value + sd * noise[:, trial])[:2], 0.4 * uniform[2, trial])
        rough = np.median(wanted[1])

        def off(v, trial=trial, target=target, rough=rough):
            iron = v[1] * (v[4] - place[1, trial]) / (side * rough)
            return np.concatenate([
                (target - v[:4] @ low - v[1] * v[4] * change[1]) / width,
                (v[:4] - wanted[:, trial]) / spread, [iron],
            ])  # fmt: skip

        best = optimize.minimize(
            lambda v, off=off: np.sum(off(v) ** 2), np.append(wanted[:, trial], 0.2),
            method="SLSQP", bounds=[(0.0, 100.0)] * 4 + [(0.0, 1.0)],
            options={"ftol": 1e-14, "maxiter": 800},
            constraints={"type": "eq", "fun": lambda v: v[:4].sum() - 100.0},
        )  # fmt: skip
        assert best.x[2] < 0.89  # below what a trace may be, so that nothing is cut
        assert found[:, trial] == pytest.approx(best.x[:4], rel=2e-3, abs=2e-3)
        assert places[1, trial] == pytest.approx(best.x[4], abs=1e-3)
    assert found.sum(axis=0) == pytest.approx(100.0)
    high = replace(rows, value=np.array([3.0, 1.6, 4.0]), capped=np.zeros(3, dtype=bool))
    cut, _ = chain_starts(prior, high, wanted, place, noise, uniform)
    assert cut[2] == pytest.approx(0.99 * 0.9)
    assert cut.sum(axis=0) == pytest.approx(100.0)
    none = replace(rows, value=np.array([3.0, 0.0, 0.4]), sd=np.array([0.3, 1e-3, 0.02]))
    pushed, _ = chain_starts(prior, none, wanted, place, 0.0 * noise, uniform)
    assert (pushed[1] >= 0.9e-3 * wanted[1]).all()  # no amount starts at nothing
    assert (pushed[1] < 0.1).all()


# --- contradictions -------------------------------------------------------------------------

FIRM = 1e10


def firm_prior(*, mica=FIRM, bulk=FIRM):
    amounts = (Amount("gamma", 59.5, bulk), Amount("gamma", 40.0, mica), Amount("unseen"))
    zero = np.zeros(3)
    return Prior(amounts, (CERTAIN,) * 3, UnseenPrior("log-normal", 0.45, 0.1), zero, zero, (2,))


SPLIT = np.array([59.5, 40.0, 0.5])


def rows_of(value, sd=1e-3, content=0.1, names=None):
    """Rows that the mica alone carries."""
    value = np.atleast_1d(np.asarray(value, dtype=float))
    number = len(value)
    low = np.zeros((3, number, 1))
    low[1] = content
    names = names or tuple(OXIDES[:number])
    return Rows(names, value, np.full(number, sd), low, 0.0 * low, np.zeros(number, dtype=bool),
                np.zeros((3, number)))  # fmt: skip


@pytest.mark.parametrize(
    ("name", "counted", "held"),
    [("K2O", False, 0.1), ("K2O", True, 0.02), ("TiO2", False, 0.0), ("TiO2", True, 0.0),
     ("Fe2O3", False, 0.0), ("ZrO2", False, 0.0), ("SiO2", True, 0.02)],
)  # fmt: skip
@pytest.mark.parametrize("content", [0.1, 0.001])
def test_four_sd_between_laboratories_and_with_what_phases_below_detection_hold(
    name, counted, held, content
):
    """3 % of the figure, and a tenth of a per cent (0.02 where grains were counted) of oxides that
    any phase may bring; oxides of few carriers get no such room."""
    expected = 40.0 * content

    def excess(v):
        return v - expected - 4.0 * (0.001**2 + (0.03 * v) ** 2 + held**2) ** 0.5

    border = optimize.brentq(excess, expected, 20.0 * expected + 2.0)
    for part, stop in ((0.98, False), (1.02, True)):
        value = expected + part * (border - expected)
        rows = rows_of(value, content=content, names=(name,))
        assert contradict(firm_prior(), rows, SPLIT, counted) == stop


def test_listed_amounts_have_half_as_much_again_of_their_error_between_methods():
    """Mica 40, sd 1, in a bulk that gives way: the assay's 3 % and 1.5 sd of the amount add up."""
    prior = firm_prior(mica=1600.0, bulk=0.25)

    def excess(d):
        assay = (0.001**2 + (0.03 * (4.0 - 0.1 * d)) ** 2) ** 0.5 / 0.1
        return d - 4.0 * (1.5**2 + assay**2) ** 0.5

    border = optimize.brentq(excess, 0.0, 30.0)
    for part, stop in ((0.97, False), (1.03, True)):
        rows = rows_of(4.0 - 0.1 * part * border, names=("TiO2",))
        assert contradict(prior, rows, SPLIT, False) == stop


def test_many_small_misfits_contradict_as_one_great_one_does():
    """Of five rows one beyond 4 sd, or all at 2.4: chi-square 28.8 of five has the chance of 4 sd
    both ways, 6.3e-5, or less; 26.5 has not."""
    assert stats.chi2.sf(5 * 2.4**2, 5) < 2.0 * stats.norm.sf(4.0) < stats.chi2.sf(5 * 2.3**2, 5)
    names = ("TiO2", "Fe2O3", "MnO", "P2O5", "Cr2O3")
    for off, stop in (
        ([3.9, 0, 0, 0, 0], False), ([-4.1, 0, 0, 0, 0], True), ([2.3] * 5, False),
        ([-2.3, 2.3, -2.3, 2.3, -2.3], False), ([-2.5, 2.5, -2.5, -2.5, -2.5], True),
    ):  # fmt: skip
        values = []
        for score in off:
            sign = np.sign(score)
            values.append(
                optimize.brentq(
                    lambda v, s=score: v - 4.0 - s * (0.5**2 + (0.03 * v) ** 2) ** 0.5, -9.0, 19.0
                ) if sign else 4.0
            )  # fmt: skip
        rows = rows_of(values, sd=0.5, names=names)
        assert contradict(firm_prior(), rows, SPLIT, True) == stop, off


def agreement(scores, **prior):
    rows = rows_of(4.0 + 0.1 * np.array(scores), sd=0.1)
    x, t = typical_fit(firm_prior(**prior), rows, SPLIT)
    fit = Fit(x[None], t[None], True, np.zeros(3))
    return agreement_of(firm_prior(**prior), rows, ("bulk", "mica", "unseen"), fit, SPLIT)[0]


def test_a_datum_is_doubted_beyond_two_sd_or_below_one_chance_in_twenty():
    assert stats.norm.isf(0.025) == pytest.approx(1.96, abs=1e-3)
    assert agreement([1.94]).doubtful is None
    assert agreement([-1.98]).doubtful is not None
    assert agreement([1.96, 0.0, 0.0, 0.0, 0.0]).doubtful is None
    assert agreement([-2.05, 0.0, 0.0, 0.0, 0.0]).doubtful is not None
    assert agreement([1.52] * 5).doubtful is not None  # 11.6 of five: 0.041
    assert agreement([1.45, -1.45, 1.45, -1.45, 1.45]).doubtful is None  # 10.5: 0.062


def test_what_doubting_a_datum_gains_is_its_own_square():
    found = agreement([3.0, 1.0, 0.0])
    assert found.chi_square == pytest.approx(10.0, abs=0.01)
    assert found.degrees_of_freedom == 3
    assert found.doubtful == ("the assay of SiO2 (without it chi-square falls from 10.0 to 1.0)")


def test_a_listed_amount_off_by_half_its_error_or_less_is_not_doubted():
    """One sd of 1 and an assay worth 1 sd of the amount share a gap: half the gap each."""

    def doubted(gap):
        prior = firm_prior(mica=1600.0, bulk=0.01)
        rows = rows_of([4.0 - 0.1 * gap, 9.0], sd=0.1)
        rows = replace(rows, low=rows.low * np.array([1.0, 0.0])[None, :, None],
                       value=np.array([4.0 - 0.1 * gap, 0.205]))  # fmt: skip
        x, t = typical_fit(prior, rows, SPLIT)
        fit = Fit(x[None], t[None], True, np.zeros(3))
        return agreement_of(prior, rows, ("bulk", "mica", "unseen"), fit, SPLIT)

    found, misfit = doubted(6.0)
    assert misfit.minerals["mica"] == pytest.approx(3.0, abs=0.05)
    assert found.residual_sd["SiO2"] == pytest.approx(-3.0, abs=0.05)
    assert found.doubtful is not None
    assert found.chi_square == pytest.approx(6.0**2 / 2.0 + 2.05**2, rel=0.02)
