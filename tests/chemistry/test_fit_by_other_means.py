"""Least squares, agreement, ranges and size classes against other ways to compute them."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy import optimize, stats

from feedchar.chemistry.agreement import (
    Misfit,
    agreement_of,
    chi_square_chance,
    contradict,
    fitted_rows,
    least_chi_square,
    misfit_of,
    row_residuals,
)
from feedchar.chemistry.assay import assay_rows, fraction_rows, joined
from feedchar.chemistry.build import mineralogy_of
from feedchar.chemistry.draws import draw, hidden_phases, line_ends, places, prior_of
from feedchar.chemistry.fit import Fit
from feedchar.chemistry.ingredients import feed_of
from feedchar.chemistry.iron_prior import IronPrior
from feedchar.chemistry.mineral_trials import Amount
from feedchar.chemistry.mineralogy import OXIDES
from feedchar.chemistry.ranges import amount_ranges
from feedchar.chemistry.size_assays import conditioned_table
from feedchar.chemistry.sizes import ClassAssay, class_assays, inside, size_classes
from feedchar.chemistry.start import amount_spreads, splits, typical_fit
from feedchar.chemistry.system import Prior, Rows
from feedchar.chemistry.table_margins import fitted_table
from feedchar.chemistry.unseen import UnseenPrior, unseen_prior
from feedchar.sample.records import (
    Determination,
    Fraction,
    MineralAmount,
    OxideValue,
    Sample,
    SieveClass,
    Texture,
)

CERTAIN = IronPrior(0.0, 0.0, 0.0, 0.0, 0.0)
MOVING = IronPrior(8.0, 12.0, 16.0, 4.0, 24.0)
NAMES = ("bulk", "mica", "ore", "unseen")
WANTED = np.array([80.0, 14.5, 5.0, 0.5])
LOW = np.array([[0.0, 0.04, 0.6, 0.9], [0.01, 0.10, 0.0, 0.0], [0.9, 0.4, 0.0, 0.0]])


def prior_of_three(iron=(CERTAIN, MOVING, CERTAIN, CERTAIN)):
    amounts = (Amount("gamma", 80.0, 400.0), Amount("gamma", 15.0, 36.0),
               Amount("gamma", 5.0, 16.0), Amount("unseen"))  # fmt: skip
    zero = np.zeros(4)
    return Prior(amounts, iron, UnseenPrior("log-normal", 0.5, 0.85), LOW[0], zero, (3,))


def rows_of_three(value=(4.6, 2.2, 78.0), sd=(0.1, 0.05, 1.0), moves=0.0, capped=(False,) * 3):
    change = np.zeros((4, 3, 1))
    change[1, 0, 0] = moves
    return Rows(("Fe2O3", "K2O", "SiO2"), np.array(value), np.array(sd), LOW.T[:, :, None], change,
                np.array(capped), np.zeros((4, 3)))  # fmt: skip


def objective(v, prior, rows, unseen_term=True):
    """Sum of squares of assay, listed amounts, iron and the logarithm of what is unseen."""
    x, t = v[:4], v[4]
    low, change = rows.low[:, :, 0], rows.change[:, :, 0]
    off = (rows.value - x @ low - x[1] * t * change[1]) / rows.sd
    total = np.sum(np.where(rows.capped, np.minimum(off, 0.0), off) ** 2)
    for j in range(3):
        a = prior.amounts[j]
        total += ((x[j] - WANTED[j]) / (a.mean / a.shape**0.5)) ** 2
    total += ((t - 0.4) / (0.2 / 1.6448536)) ** 2
    if unseen_term:
        total += (np.log(max(x[3], 1e-9) / 0.5) / 0.85) ** 2
    return total


@pytest.mark.parametrize("moves", [0.0, 0.35])
def test_the_typical_case_is_the_least_of_all_squares(moves):
    """Amounts and iron by scipy's minimiser under closure."""
    prior, rows = prior_of_three(), rows_of_three(moves=moves)
    amounts, place = typical_fit(prior, rows, WANTED)
    assert amounts.sum() == pytest.approx(100.0, abs=1e-9)
    best = optimize.minimize(
        objective, np.append(WANTED, 0.4), args=(prior, rows), method="SLSQP",
        bounds=[(1e-6, 100.0)] * 4 + [(0.0, 1.0)], options={"ftol": 1e-12, "maxiter": 500},
        constraints={"type": "eq", "fun": lambda v: v[:4].sum() - 100.0},
    )  # fmt: skip
    assert best.success
    found = np.append(amounts, place[1])
    assert objective(found, prior, rows) <= best.fun * 1.02 + 1e-3
    assert found[:4] == pytest.approx(best.x[:4], abs=0.08)
    assert found[4] == pytest.approx(best.x[4], abs=0.02)


def test_a_limit_counts_only_where_it_is_exceeded():
    prior = prior_of_three()
    free, _ = typical_fit(prior, rows_of_three(sd=(1e3, 1e3, 1e3)), WANTED)
    loose = rows_of_three(value=(4.6, 9.0, 78.0), sd=(1e3, 0.01, 1e3), capped=(False, True, False))
    assert typical_fit(prior, loose, WANTED)[0] == pytest.approx(free, abs=1e-6)
    tight = rows_of_three(value=(4.6, 1.5, 78.0), sd=(1e3, 0.01, 1e3), capped=(False, True, False))
    amounts, _ = typical_fit(prior, tight, WANTED)
    assert amounts @ LOW[1] == pytest.approx(1.5, abs=0.02)


def test_rough_errors_of_each_kind_of_amount():
    amounts = (Amount("gamma", 9.0, 9.0), Amount("not found", limit=0.6),
               Amount("interval", limit=0.3), Amount("unseen"))  # fmt: skip
    for unseen, last in ((UnseenPrior("log-normal", 0.6, 0.85), 1.5 * 0.6 / 0.9),
                         (UnseenPrior("log-uniform"), 2.0 * 0.03 / 0.9)):  # fmt: skip
        prior = replace(prior_of_three(), amounts=amounts, unseen=unseen)
        assert amount_spreads(prior) == pytest.approx([3.0, 0.2, 0.1, last])


def test_iron_is_fitted_where_one_sd_of_it_moves_a_row_by_a_fifth_of_its_sd():
    prior = prior_of_three()
    sd = 0.2 / 1.6448536
    for part, noticed in ((0.19, 0), (0.21, 1)):
        moves = part * 0.1 / (14.5 * sd)
        assert len(splits(prior, rows_of_three(moves=moves), WANTED)) == noticed
    certain = prior_of_three((CERTAIN,) * 4)
    assert len(splits(certain, rows_of_three(moves=1.0), WANTED)) == 0


# --- agreement ------------------------------------------------------------------------------


@pytest.mark.parametrize(("chi", "degrees"), [(3.2, 1), (10.0, 4), (40.0, 11)])
def test_chances_of_a_misfit_are_those_of_chi_square(chi, degrees):
    assert chi_square_chance(chi, degrees) == pytest.approx(stats.chi2.sf(chi, degrees))


def test_predicted_rows_are_sums_over_phases_in_every_trial():
    rng = np.random.default_rng(1)
    rows = replace(rows_of_three(), low=rng.random((4, 3, 6)), change=rng.random((4, 3, 6)))
    x, t = rng.random((6, 4)), rng.random((6, 4))
    found = fitted_rows(rows, x, t)
    for trial in range(6):
        for k in range(3):
            expected = sum(
                x[trial, j] * (rows.low[j, k, trial] + t[trial, j] * rows.change[j, k, trial])
                for j in range(4)
            )
            assert found[trial, k] == pytest.approx(expected)
    one = fitted_rows(rows, x[:1], t[:1])
    assert one[0] == pytest.approx(found[0])


def test_a_limit_misses_only_when_it_is_exceeded():
    rows = rows_of_three((1.0, 1.0, 1.0), (0.1, 0.1, 0.1), capped=(False, True, True))
    found = row_residuals(rows, np.array([0.5, 0.5, 1.3]))
    assert found == pytest.approx([5.0, 0.0, -3.0])


def test_chi_square_counts_assay_amounts_and_iron():
    prior, rows = prior_of_three(), rows_of_three(moves=0.35)
    x, t = np.array([79.0, 15.5, 5.0, 0.5]), np.array([0.0, 0.55, 0.0, 0.0])
    off = (rows.value - x @ rows.low[:, :, 0] - (x * t) @ rows.change[:, :, 0]) / rows.sd
    iron = 4.0 + 0.55 * 20.0
    expected = np.sum(off**2) + (1.0 / 4.0) ** 2 + (0.5 / 2.5) ** 2
    expected += ((iron - 12.0) / (4.0 / 1.6448536)) ** 2
    assert least_chi_square(prior, rows, x, t) == pytest.approx(expected)


def some_fit(trials=500, seed=2):
    rng = np.random.default_rng(seed)
    amounts = WANTED * np.exp(0.02 * rng.standard_normal((trials + 1, 4)))
    amounts[0] = WANTED
    return Fit(amounts, np.full((trials + 1, 4), 0.4), True, np.zeros(4))


def test_misfits_are_of_the_mean_of_the_trials_in_sd():
    prior, rows, fit = prior_of_three(), rows_of_three(), some_fit()
    found = misfit_of(prior, rows, NAMES, fit)
    mean = fit.amounts[1:].mean(axis=0)
    assert list(found.rows.values()) == pytest.approx(
        (rows.value - mean @ rows.low[:, :, 0]) / rows.sd
    )
    assert found.minerals == pytest.approx(
        {
            "bulk": (80.0 - mean[0]) / 4.0,
            "mica": (15.0 - mean[1]) / 2.5,
            "ore": (5.0 - mean[2]) / 1.25,
        }
    )
    alone = Fit(fit.amounts[:1], fit.place[:1], True, np.zeros(4))
    assert misfit_of(prior, rows, NAMES, alone).minerals["mica"] == pytest.approx(0.5 / 2.5)
    two = Fit(fit.amounts[:2], fit.place[:2], True, np.zeros(4))
    one = misfit_of(prior, rows, NAMES, two).minerals["mica"]
    assert one == pytest.approx((15.0 - fit.amounts[1, 1]) / 2.5)


def test_the_worst_misfit_is_named():
    assert Misfit({"K2O": -3.0, "TiO2": 1.0}, {"mica": 2.0}).worst == ("the assay of K2O", -3.0)
    assert Misfit({"K2O": 1.0}, {"mica": -2.0}).worst == ("the amount of mica", -2.0)
    assert Misfit({}, {}).worst == ("", 0.0)


def test_the_predictive_chance_is_the_mean_over_the_trials():
    prior, rows, fit = prior_of_three(), rows_of_three(), some_fit()
    found, misfit = agreement_of(prior, rows, NAMES, fit, None)
    each = []
    for x in fit.amounts[1:]:
        off = (rows.value - x @ rows.low[:, :, 0]) / rows.sd
        listed = (x[:3] - [80.0, 15.0, 5.0]) / [4.0, 2.5, 1.25]
        each.append(stats.chi2.sf(np.sum(off**2) + np.sum(listed**2), 6))
    assert found.predictive_probability == pytest.approx(np.mean(each))
    assert found.degrees_of_freedom == 3
    assert found.chi_square == pytest.approx(
        least_chi_square(prior, rows, fit.amounts[0], fit.place[0])
    )
    assert found.residual_sd == misfit.rows
    assert found.doubtful is None


@pytest.mark.parametrize(("wrong", "named"), [(1, "the assay of K2O"), (2, "the assay of SiO2")])
def test_the_datum_that_is_wrong_is_the_one_to_doubt(wrong, named):
    prior = prior_of_three()
    right = WANTED @ LOW.T
    value = right.copy()
    value[wrong] *= 1.35
    rows = rows_of_three(value, (0.1, 0.02, 0.3))
    x, t = typical_fit(prior, rows, WANTED)
    fit = Fit(x[None], t[None], True, np.zeros(4))
    agreement, _ = agreement_of(prior, rows, NAMES, fit, WANTED)
    assert agreement.doubtful.startswith(f"{named} (without it chi-square falls from")
    fine = rows_of_three(right, (0.1, 0.02, 0.3))
    x, t = typical_fit(prior, fine, WANTED)
    fit = Fit(x[None], t[None], True, np.zeros(4))
    assert agreement_of(prior, fine, NAMES, fit, WANTED)[0].doubtful is None


def test_a_listed_amount_that_is_wrong_is_doubted():
    """Twice the mica that two assays allow; loosened, it follows them and all agrees."""
    prior = prior_of_three()
    amounts = (*prior.amounts[:1], Amount("gamma", 30.0, 400.0), *prior.amounts[2:])
    prior = replace(prior, amounts=amounts)
    rows = rows_of_three(WANTED @ LOW.T, (0.05, 0.02, 0.2))
    wanted = np.array([65.0, 29.5, 5.0, 0.5])
    x, t = typical_fit(prior, rows, wanted)
    fit = Fit(x[None], t[None], True, np.zeros(4))
    agreement, _ = agreement_of(prior, rows, NAMES, fit, wanted)
    assert agreement.doubtful.startswith("the amount of mica")
    loose = prior.loosened(1).amounts[1]
    assert loose.sd == pytest.approx(1e4)
    assert loose.mean == 30.0


@pytest.mark.parametrize(("off", "stop"), [(1.0, False), (1.12, False), (1.9, True)])
def test_data_contradict_beyond_four_sd_between_laboratories(off, stop):
    prior = prior_of_three((CERTAIN,) * 4)
    value = WANTED @ LOW.T * np.array([1.0, off, 1.0])
    rows = rows_of_three(value, (0.1, 0.02, 0.3))
    assert contradict(prior, rows, WANTED, False) == stop


# --- ranges ---------------------------------------------------------------------------------


def test_ranges_are_the_corners_of_what_the_assay_allows():
    """Three phases of one row: x holds 1, y half, z none; 30 +- 2 sd of 1. x from 0 to 32 (no y);
    y from 0 to 64 (no x); z at least 36 (all y at 64) and at most 72 (all x at 28)."""
    content = np.array([1.0, 0.5, 0.0])[:, None, None]
    rows = Rows(("o",), np.array([30.0]), np.array([1.0]), content, 0.0 * content,
                np.array([False]), np.zeros((3, 1)))  # fmt: skip
    found = amount_ranges(rows, ("x", "y", "z"))
    assert found["x"] == pytest.approx((0.0, 32.0), abs=1e-6)
    assert found["y"] == pytest.approx((0.0, 64.0), abs=1e-6)
    assert found["z"] == pytest.approx((36.0, 72.0), abs=1e-6)
    limit = replace(rows, capped=np.array([True]))
    found = amount_ranges(limit, ("x", "y", "z"))
    assert found["z"] == pytest.approx((40.0, 100.0), abs=1e-6)
    moving = replace(rows, low=0.5 * content, change=0.5 * content)
    assert amount_ranges(moving, ("x", "y", "z"))["x"][1] == pytest.approx(64.0, abs=1e-6)


def test_ranges_widen_until_a_mixture_is_found_and_give_up_at_sixteen_sd():
    content = np.array([1.0, 1.0])[:, None, None]
    rows = Rows(("o",), np.array([90.0]), np.array([3.0]), content, 0.0 * content,
                np.array([False]), np.zeros((2, 1)))  # fmt: skip
    assert amount_ranges(rows, ("x", "y"))["x"] == pytest.approx((0.0, 100.0), abs=1e-6)
    near = replace(rows, sd=np.array([0.63]))
    assert set(amount_ranges(near, ("x", "y"))) == {"x", "y"}
    assert amount_ranges(replace(rows, sd=np.array([0.6])), ("x", "y")) == {}


@pytest.mark.parametrize(("over", "width"), [(1.5, 2.0), (3.0, 4.0), (6.0, 8.0), (12.0, 16.0)])
def test_ranges_are_those_of_the_least_doubling_that_a_mixture_reaches(over, width):
    """All of x would give 100; 100 + `over` is assayed with an sd of 1, so y may be what the next
    of 2, 4, 8 and 16 sd leaves."""
    content = np.array([1.0, 0.0])[:, None, None]
    rows = Rows(("o",), np.array([100.0 + over]), np.array([1.0]), content, 0.0 * content,
                np.array([False]), np.zeros((2, 1)))  # fmt: skip
    assert amount_ranges(rows, ("x", "y"))["y"] == pytest.approx((0.0, width - over), abs=1e-6)


# --- rows of the fit ------------------------------------------------------------------------


def row(mineral, value, **more):
    return MineralAmount(mineral, "mass_pct", value, **more)


BAG = (row("quartz", 95.0), row("ilmenite", 1.0), row("biotite", 4.0))


def test_rows_of_the_head_hold_contents_errors_and_what_no_mineral_carries():
    feed, _ = feed_of(Sample("x", minerals=BAG), {})
    assay = {"TiO2": OxideValue(0.6, 0.05), "LOI": OxideValue(0.3, 0.05),
             "K2O": OxideValue(0.4, None, below_detection=True),
             "BaO": OxideValue(1.0, 0.1)}  # fmt: skip
    rows = assay_rows(feed, assay)
    assert rows.names == ("TiO2", "K2O", "LOI")
    assert rows.sd == pytest.approx([0.05, 0.04, np.hypot(0.05, 0.10)])
    skins = assay_rows(feed, {"MnO": OxideValue(0.05, 0.04)})
    assert skins.sd == pytest.approx([0.05])  # 0.04 of the assay, 0.03 of manganese skins
    assert rows.capped.tolist() == [False, True, False]
    for j, part in enumerate(feed.ingredients):
        low, high = part.model.oxides_low_wt_pct, part.model.oxides_high_wt_pct
        for k, name in enumerate(rows.names):
            column = OXIDES.index(name)
            assert rows.low[j, k, 0] == pytest.approx(low[column] / 100.0)
            assert rows.low[j, k, 0] + rows.change[j, k, 0] == pytest.approx(high[column] / 100.0)
            assert rows.spread[j, k] == pytest.approx(part.spread[column] / 100.0)
    amounts = np.array([4.0, 1.0, 94.9, 0.1])
    wide = rows.widened(amounts)
    extra = [sum((amounts[j] * rows.spread[j, k]) ** 2 for j in range(4)) for k in range(3)]
    assert wide.sd == pytest.approx(np.sqrt(rows.sd**2 + extra))
    assert not wide.spread.any()


def test_a_fraction_holds_its_share_of_each_mineral():
    """Sinks of 2 %, half ilmenite, half biotite: all of the one, a quarter of the other."""
    sinks = (row("ilmenite", 30.0, fraction="sinks"), row("biotite", 30.0, fraction="sinks"),
             row("zircon", 1.0, fraction="sinks", below_detection=True))  # fmt: skip
    part = Fraction(
        "sinks", 2.0, oxides_wt_pct={"TiO2": 27.0, "K2O": 4.0}, below_detection=("K2O",)
    )
    feed, _ = feed_of(Sample("x", minerals=BAG), {})
    typical = np.array([4.0, 1.0, 94.9, 0.1])
    rows = fraction_rows(feed, Sample("x", minerals=(*BAG, *sinks), fractions=(part,)), typical)
    assert rows.names == ("TiO2 of sinks", "K2O of sinks")
    assert rows.value == pytest.approx([27.0, 4.0])
    assert rows.capped.tolist() == [False, True]
    assert rows.sd[0] == pytest.approx(np.hypot(0.03 * 27.0 + 0.002, 2.7))
    share = {"ilmenite": 1.0, "biotite": 0.25}
    for j, name in enumerate(feed.names):
        low = feed.ingredients[j].model.oxides_low_wt_pct[OXIDES.index("TiO2")]
        assert rows.low[j, 0, 0] == pytest.approx(low * share.get(name, 0.0) / 2.0)
    # More of a mineral in the sinks than the bag holds: all of it, and no more.
    poor = fraction_rows(
        feed, Sample("x", minerals=(*BAG, *sinks), fractions=(part,)), typical / [8.0, 4.0, 1, 1]
    )
    assert poor.low[feed.names.index("ilmenite"), 0, 0] == rows.low[1, 0, 0]
    assert poor.low[feed.names.index("biotite"), 1, 0] == pytest.approx(4.0 * rows.low[0, 1, 0])
    assert fraction_rows(feed, Sample("x", minerals=BAG, fractions=(part,)), typical) is None
    nothing = (replace(part, mass_pct=0.0), replace(part, passing_um=100.0))
    bag = Sample("x", minerals=(*BAG, *sinks), fractions=nothing)
    assert fraction_rows(feed, bag, typical) is None


def test_rows_are_put_together_over_the_longest_trials():
    one = rows_of_three()
    many = replace(one, low=np.repeat(one.low, 4, axis=2), change=np.repeat(one.change, 4, axis=2))
    both = joined([one, many])
    assert both.names == one.names * 2
    assert both.low.shape == (4, 6, 4)
    assert np.array_equal(both.low[:, :3, 3], both.low[:, 3:, 0])
    assert both.spread.shape == (4, 6)


# --- draws before the assay -----------------------------------------------------------------


def test_draws_close_and_hold_the_iron_of_the_unseen_total():
    minerals = (row("quartz", 96.0), row("biotite", 3.0), row("hematite", 0.0), row("calcite", 0.0),
                row("unidentified", 1.0))  # fmt: skip
    feed, _ = feed_of(Sample("x", minerals=minerals), {})
    drawn = draw(feed, "as dug", None, 800, 1)
    assert drawn.amounts.sum(axis=1) == pytest.approx(100.0)
    assert drawn.amounts.min() >= 0.0
    names = {feed.names[j] for j in drawn.hidden}
    assert names == {"hematite", "unidentified", "unseen"}  # calcite hides no iron worth counting
    assert drawn.hidden == hidden_phases(feed)
    place = places(feed, drawn.scores)
    low, change = line_ends(feed)
    iron = (low[:, 3] + place * change[:, 3]) / 100.0
    alumina = float(drawn.amounts[0] @ (low[:, 2] + place[0] * change[:, 2])) / 100.0
    prior = unseen_prior("as dug", False, alumina, 0.0, None)
    assert drawn.unseen.median_wt_pct == pytest.approx(prior.median_wt_pct, rel=0.02)
    hidden = sum(drawn.amounts[:, j] * iron[:, j] for j in drawn.hidden)
    named = (
        drawn.amounts[:, feed.names.index("unidentified")]
        * iron[:, feed.names.index("unidentified")]
    )
    assert (hidden >= named * 0.99).all()
    found = prior_of(feed, drawn)
    assert found.iron_oxide_low == pytest.approx(low[:, 3] / 100.0)
    assert found.iron_oxide_change == pytest.approx(change[:, 3] / 100.0)
    assert found.hidden == drawn.hidden
    assert found.hidden_iron(drawn.amounts.T, place.T) == pytest.approx(hidden)


def test_places_are_those_of_the_drawn_iron():
    feed, _ = feed_of(Sample("x", minerals=BAG), {})
    scores = np.array([[0.0, 0.5, -1.0, 2.0], [1.0, -0.5, 0.0, 0.0]])
    found = places(feed, scores)
    for j, part in enumerate(feed.ingredients):
        span = part.iron.ceiling_wt_pct - part.iron.floor_wt_pct
        if part.iron.certain:
            assert not found[:, j].any()
        else:
            iron = part.iron.floor_wt_pct + found[:, j] * span
            assert iron == pytest.approx(part.iron.quantile(scores[:, j]))


# --- size classes ---------------------------------------------------------------------------

SIEVES = (SieveClass(500, 250, 30.0), SieveClass(250, 125, 50.0), SieveClass(125, 0, 20.0))


def test_empty_classes_are_left_out_and_shares_are_of_what_was_sieved():
    rows = (SieveClass(500, 250, 0.0), SieveClass(250, 125, 30.0), SieveClass(125, 0, 10.0))
    passing, _, share = size_classes(Sample("x", sieves=rows))
    assert passing.tolist() == [250.0, 125.0]
    assert share == pytest.approx([0.75, 0.25])


def test_a_class_lies_inside_one_that_joins_several_within_rounding():
    passing, retained = np.array([500.0, 250.0, 125.0]), np.array([250.0, 125.0, 0.0])
    assert inside(passing, retained, 500.0, 125.0).tolist() == [True, True, False]
    assert inside(passing, retained, 249.99, 125.01).tolist() == [False, True, False]
    assert inside(passing, retained, 249.9, 125.0).tolist() == [False, False, False]
    assert inside(passing, retained, 250.0, 125.1).tolist() == [False, False, False]


def test_results_of_a_class_are_averaged_and_less_than_gives_way_to_figures():
    rows = (
        Determination("feed", 500.0, 250.0, "Fe2O3", 0.2, False),
        Determination("x", 500.0, 250.0, "Fe2O3", 0.4, False),
        Determination("feed", 500.0, 250.0, "Fe2O3", 0.9, True),
        Determination("feed", 250.0, 125.0, "TiO2", 0.05, True),
        Determination("feed", 250.0, 125.0, "TiO2", 0.02, True),
        Determination("feed", 250.0, None, "K2O", 0.5, False),
        Determination("feed", None, None, "K2O", 0.5, False),
        Determination("feed", 90.0, 63.0, "K2O", 0.5, False),
    )
    found = class_assays(Sample("x", sieves=SIEVES, determinations=rows))
    assert [(a.oxide, a.passing_um, a.retained_um) for a in found] == [
        ("Fe2O3", 500.0, 250.0), ("K2O", 250.0, 0.0), ("TiO2", 250.0, 125.0),
    ]  # fmt: skip
    iron, potash, titania = found
    assert (iron.value, iron.below_detection) == (pytest.approx(0.3), False)
    assert iron.sd == pytest.approx((0.03 * 0.3 + 0.002) / 2**0.5)
    assert (potash.members, potash.share) == ((False, True, True), pytest.approx(0.7))
    assert (titania.value, titania.below_detection) == (0.02, True)
    assert titania.sd == pytest.approx(0.002)
    assert class_assays(Sample("x", determinations=rows)) == ()
    both = SieveClass(500, 250, 100.0, {"TiO2": 0.01, "Fe2O3": 0.9})
    assert [a.oxide for a in class_assays(Sample("x", sieves=(both,)))] == ["Fe2O3", "TiO2"]


def test_tables_keep_their_odds_ratios_while_margins_are_met():
    """Iterative proportional fitting leaves the cross ratios as they are (Deming and Stephan)."""
    rng = np.random.default_rng(3)
    first, rows = rng.random((2, 4, 3)) + 0.1, rng.dirichlet(np.ones(4), 2)
    columns = rng.dirichlet(np.ones(3), 2)
    found = fitted_table(first, rows, columns)
    assert found.sum(axis=2) == pytest.approx(rows, abs=1e-12)
    assert found.sum(axis=1) == pytest.approx(columns, abs=1e-9)

    def odds(t):
        return t[:, 1:, 1:] * t[:, :1, :1] / (t[:, :1, 1:] * t[:, 1:, :1])

    assert odds(found) == pytest.approx(odds(first))
    assert np.array_equal(fitted_table(found, rows, columns).round(9), found.round(9))


def two_by_two(value, sd, trials=0, below=False):
    """A clean phase and one of a tenth iron over two classes of one half each."""
    table = np.repeat([[[0.45, 0.45], [0.05, 0.05]]], trials + 1, axis=0)
    oxides = np.zeros((trials + 1, 2, len(OXIDES)))
    oxides[:, 1, 3] = 10.0
    one = ClassAssay("Fe2O3", value, sd, below, (True, False), 0.5, 500.0, 250.0)
    return conditioned_table(table, (one,), oxides, np.array([0.5, 0.5]), 1)


def test_an_exact_assay_of_a_class_is_met_and_both_margins_stay():
    """1.5 % in the first half: 0.075 of the bag, so that 0.025 is left for the second."""
    found = two_by_two(1.5, 1e-4)[0]
    assert found[1] == pytest.approx([0.075, 0.025], abs=1e-4)
    assert found.sum(axis=0) == pytest.approx([0.5, 0.5])
    assert found.sum(axis=1) == pytest.approx([0.9, 0.1])
    assert two_by_two(1.0, 0.1)[0] == pytest.approx(np.array([[0.45, 0.45], [0.05, 0.05]]))
    assert two_by_two(1.5, 1e-4, below=True)[0][1] == pytest.approx([0.05, 0.05])
    assert two_by_two(0.5, 1e-3, below=True)[0][1, 0] == pytest.approx(0.025, abs=5e-4)


def test_trials_of_a_class_have_the_error_of_its_assay():
    """Also where a trial begins far from the assay: full steps would swing between two extremes."""
    found = two_by_two(1.2, 0.02, 1500)[1:, 1, 0] * 10.0 / 0.5
    assert found.mean() == pytest.approx(1.2, abs=0.003)
    assert found.std() == pytest.approx(0.02, rel=0.1)
    assert np.abs(found - 1.2).max() < 0.12


# --- the whole room -------------------------------------------------------------------------


def codes(sample, trials=0):
    return {note.code for note in mineralogy_of(sample, trials, 1).notes}


def test_an_assay_is_needed_only_where_iron_is_not_assayed_and_low_or_unseen():
    plain = Sample("x", origin="as dug", minerals=(row("quartz", 99.9), row("biotite", 0.1)))
    assert mineralogy_of(plain, 200, 1).predicted_wt_pct[1:, 3].mean() > 0.10
    rich = replace(plain, minerals=(row("quartz", 90.0), row("biotite", 10.0)))
    assert not mineralogy_of(rich, 0, 1).assay_needed
    counted = replace(
        plain,
        minerals=(
            MineralAmount("quartz", "points", 9990.0),
            MineralAmount("biotite", "points", 1.0),
        ),
    )
    assert mineralogy_of(counted, 0, 1).assay_needed
    assayed = replace(counted, assay={"Fe2O3": OxideValue(0.05, 0.01)})
    assert not mineralogy_of(assayed, 0, 1).assay_needed
    assert "assay-needed" in codes(counted)


def test_remarks_say_what_was_not_used_and_what_comes_first():
    bag = Sample("x", origin="as dug", rock="granite", minerals=(*BAG, row("hematite", 0.0)),
                 assay={"BaO": OxideValue(0.1, 0.01)})  # fmt: skip
    notes = {note.code: note.text for note in mineralogy_of(bag, 0, 1).notes}
    assert "BaO" in notes["assay-unused"]
    assert "hematite" in notes["unseen-precedence"]
    assert "biotite" in notes["iron-by-rock"]
    assert "granite" in notes["iron-by-rock"]
    plain = codes(Sample("x", origin="as dug", minerals=BAG))
    assert not {"assay-unused", "unseen-precedence", "iron-by-rock", "disagreement"} & plain


def test_stained_shares_are_those_of_the_textures():
    textures = (
        Texture("ilmenite", "quartz", "stain", 40.0), Texture("ilmenite", "quartz", "stain", 20.0),
        Texture("biotite", "quartz", "joined", 50.0), Texture("biotite", "quartz", "stain", None),
    )  # fmt: skip
    found = mineralogy_of(Sample("x", origin="as dug", minerals=BAG, textures=textures), 0, 1)
    assert found.stain_phase_share == pytest.approx({"ilmenite": 0.3})
