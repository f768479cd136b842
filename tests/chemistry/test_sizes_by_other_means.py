"""How phases spread over size classes, against minimisers, weighted draws and cross ratios."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy import optimize, stats

from feedchar.chemistry.ingredients import feed_of
from feedchar.chemistry.mineralogy import OXIDES
from feedchar.chemistry.size_assays import conditioned_table
from feedchar.chemistry.size_split import size_shares
from feedchar.chemistry.sizes import ClassAssay, size_classes
from feedchar.chemistry.table_margins import fitted_table
from feedchar.sample.records import Determination, MineralAmount, Sample, SieveClass

FE, K = OXIDES.index("Fe2O3"), OXIDES.index("K2O")
CLASSES = np.array([0.2, 0.5, 0.3])
PHASES = np.array([0.9940, 0.0045, 0.0015])
"""A clean bulk, spread as sieved, and two traces of which only the sieves' own spread is known."""
ODDS = np.array([[1.0, 1.0, 1.0], [0.6, 1.0, 1.8], [1.0, 1.0, 1.0]])
TABLE = fitted_table((ODDS * PHASES[:, None] * CLASSES)[None], PHASES[None], CLASSES)
LN_SD = np.array([1e-6, 0.3, 1.0])


def contents(trials):
    oxides = np.zeros((trials + 1, 3, len(OXIDES)))
    oxides[:, 1, FE], oxides[:, 2, FE] = 20.0, 90.0
    oxides[:, 1, K] = 9.0
    return oxides


def assay(oxide, value, sd, members, below=False):
    share = float(CLASSES[list(members)].sum())
    return ClassAssay(oxide, value, sd, below, members, share, 500.0, 0.0)


FIRST, LAST_TWO, MIDDLE = (True, False, False), (False, True, True), (False, True, False)
# Before any assay: Fe2O3 0.19 and 0.23 %, K2O 0.038 % of these classes.
ASSAYS = (
    assay("Fe2O3", 0.260, 0.020, FIRST),
    assay("Fe2O3", 0.215, 0.010, LAST_TWO),
    assay("K2O", 0.045, 0.004, MIDDLE),
)
VALUES = np.array([one.value for one in ASSAYS])
SDS = np.array([one.sd for one in ASSAYS])


def of_classes(table):
    """What each assay would find in a table, by a sum over its cells."""
    found = []
    for one in ASSAYS:
        content = contents(0)[0, :, OXIDES.index(one.oxide)]
        inside = table[..., list(one.members)]
        found.append(np.einsum("...ms,m->...", inside, content) / one.share)
    return np.stack(found, axis=-1)


def most_likely(values, below=()):
    """Least squares over the logarithms of all cells by scipy, margins met inside."""

    def table_of(z):
        return fitted_table(TABLE * np.exp(z.reshape(3, 3)), PHASES[None], CLASSES)[0]

    def off(z):
        misses = (of_classes(table_of(z)) - values) / SDS
        for k in below:
            misses[k] = max(misses[k], 0.0)
        return np.concatenate([(z.reshape(3, 3) / LN_SD[:, None]).ravel(), misses])

    best = optimize.least_squares(off, np.zeros(9), xtol=1e-12, ftol=1e-12, x_scale=0.1)
    return table_of(best.x)


def test_the_typical_table_is_the_most_likely_one():
    found = conditioned_table(TABLE, ASSAYS, contents(0), LN_SD, 1)[0]
    expected = most_likely(VALUES)
    assert found == pytest.approx(expected, rel=0.02)
    assert np.abs(expected / TABLE[0] - 1.0).max() > 0.2  # the assays do move it
    assert found.sum(axis=1) == pytest.approx(PHASES)
    assert found.sum(axis=0) == pytest.approx(CLASSES)


def test_less_than_holds_a_class_below_its_end_beside_figures():
    capped = (ASSAYS[0], replace(ASSAYS[1], value=0.15, below_detection=True), ASSAYS[2])
    values = np.array([one.value for one in capped])
    found = conditioned_table(TABLE, capped, contents(0), LN_SD, 1)[0]
    assert found == pytest.approx(most_likely(values, below=(1,)), rel=0.03)
    passed = (*ASSAYS[:2], replace(ASSAYS[2], value=0.2, below_detection=True))
    without = conditioned_table(TABLE, ASSAYS[:2], contents(0), LN_SD, 1)
    assert conditioned_table(TABLE, passed, contents(0), LN_SD, 1) == pytest.approx(
        without, rel=1e-6
    )


def test_an_assay_that_agrees_moves_nothing_and_a_vague_one_little():
    as_it_is = of_classes(TABLE[0])
    agreeing = tuple(replace(a, value=v) for a, v in zip(ASSAYS, as_it_is, strict=True))
    assert conditioned_table(TABLE, agreeing, contents(0), LN_SD, 1) == pytest.approx(TABLE)
    vague = tuple(replace(a, sd=1e3) for a in ASSAYS)
    assert conditioned_table(TABLE, vague, contents(0), LN_SD, 1) == pytest.approx(TABLE, rel=1e-4)


@pytest.fixture(scope="module")
def many():
    trials = 1500
    table = np.repeat(TABLE, trials + 1, axis=0)
    return conditioned_table(table, ASSAYS, contents(trials), LN_SD, 1)


def test_trials_of_the_table_have_mean_and_spread_of_weighted_draws(many):
    """Draws of the table by its words, weighted by the likelihood of the assays."""
    rng = np.random.default_rng(5)
    z = rng.standard_normal((60_000, 3, 3)) * LN_SD[:, None]
    tables = fitted_table(TABLE * np.exp(z), np.repeat(PHASES[None], len(z), axis=0), CLASSES)
    weight = np.exp(-0.5 * np.sum(((of_classes(tables) - VALUES) / SDS) ** 2, axis=1))
    assert weight.sum() ** 2 / (weight**2).sum() > 1500
    mean = np.average(tables, weights=weight, axis=0)[1:]
    sd = np.sqrt(np.average((tables[:, 1:] - mean) ** 2, weights=weight, axis=0))
    # Exact where assays are linear in the logarithms: here nearly so.
    assert np.abs((many[1:, 1:].mean(axis=0) - mean) / sd).max() < 0.25
    assert many[1:, 1:].std(axis=0) == pytest.approx(sd, rel=0.15)


def test_all_trials_keep_both_margins_and_the_first_is_the_typical_one(many):
    assert many.sum(axis=2) == pytest.approx(np.repeat(PHASES[None], len(many), axis=0), abs=1e-12)
    assert many.sum(axis=1) == pytest.approx(np.repeat(CLASSES[None], len(many), axis=0), abs=1e-9)
    assert many[0] == pytest.approx(conditioned_table(TABLE, ASSAYS, contents(0), LN_SD, 7)[0])


def test_classes_of_a_trial_scatter_about_its_assays_by_their_errors_at_most(many):
    found = of_classes(many)[1:]
    assert (np.abs(found.mean(axis=0) - VALUES) < SDS).all()
    assert (found.std(axis=0) < 1.05 * SDS).all()


# --- a bag ----------------------------------------------------------------------------------

SIEVES = (SieveClass(500, 250, 40.0), SieveClass(250, 125, 35.0), SieveClass(125, 0, 25.0))


def row(mineral, value, **more):
    return MineralAmount(mineral, "mass_pct", value, sd=0.0, **more)


def shares(minerals, sieves=SIEVES, trials=0, oxides=None, **more):
    sample = Sample("x", minerals=tuple(minerals), sieves=sieves, **more)
    feed, _ = feed_of(sample, {})
    mass = np.array([a.mean or 1.0 for a in feed.amounts])
    mass = np.repeat([mass / mass.sum()], trials + 1, axis=0)
    content = np.ones((trials + 1, len(feed.names), len(OXIDES))) if oxides is None else oxides
    return feed.names, mass, size_shares(sample, feed, mass, content, 1)


def ln_odds(share, a, b):
    """Logarithm of the cross ratio of two phases over two classes, which margins do not move."""
    return np.log(share[:, a, 0] * share[:, b, 1] / (share[:, a, 1] * share[:, b, 0]))


def test_a_phase_may_differ_from_the_sieves_by_half_unseen_iron_by_one_known_phases_by_less():
    """Four independent cells make a cross ratio: variances of their logarithms add up. The assay
    is a limit that nothing passes, so that it tells nothing."""
    bag = [row("quartz", 60.0), row("albite", 30.0), row("biotite", 10.0)]
    limit = (Determination("feed", 500.0, 250.0, "Fe2O3", 99.0, True),)
    names, _, found = shares(bag, trials=4000, determinations=limit)
    albite, quartz, unseen = (names.index(n) for n in ("albite", "quartz", "unseen"))
    assert ln_odds(found[1:], albite, quartz).std() == pytest.approx(1.0, rel=0.04)
    assert ln_odds(found[1:], unseen, quartz).std() == pytest.approx(2.5**0.5, rel=0.04)
    by_class = [
        replace(one, passing_um=top, retained_um=bottom)
        for top, bottom in ((500.0, 250.0), (250.0, 125.0), (125.0, 0.0))
        for one in bag[:2]
    ]
    names, _, found = shares([*bag, *by_class], trials=4000, determinations=limit)
    albite, quartz, biotite = (names.index(n) for n in ("albite", "quartz", "biotite"))
    assert ln_odds(found[1:], albite, quartz).std() == pytest.approx(0.6, rel=0.04)
    both = (2.0 * 0.3**2 + 2.0 * 0.5**2) ** 0.5
    assert ln_odds(found[1:], biotite, quartz).std() == pytest.approx(both, rel=0.04)


def test_without_sieves_or_with_one_class_all_phases_are_alike():
    _, _, found = shares([row("quartz", 90.0), row("biotite", 10.0)], sieves=())
    share = size_classes(Sample("x"))[2]
    assert found.shape == (1, 3, 7)
    assert found[0] == pytest.approx(np.repeat([share], 3, axis=0))
    one = (SieveClass(500, 0, 100.0, {"Fe2O3": 1.0}),)
    _, _, found = shares([row("quartz", 90.0), row("biotite", 10.0)], sieves=one)
    assert found.tolist() == [[[1.0]] * 3]
    _, _, found = shares([row("quartz", 90.0), row("biotite", 10.0)])
    assert found[0] == pytest.approx(np.repeat([[0.4, 0.35, 0.25]], 3, axis=0))


def by_class(listed):
    out = []
    for (top, bottom), amounts in listed.items():
        out += [row(n, v, passing_um=top, retained_um=bottom) for n, v in amounts.items()]
    return out


def test_a_class_that_nobody_looked_at_is_like_the_nearest_in_the_logarithm_of_size():
    """Middle of 450 to 63 is 168 um: nearer to 600 (800 to 450) than to 45 (63 to half of it)."""
    for coarse, like in ((800.0, 0), (1100.0, 2)):
        sieves = (SieveClass(coarse, 450, 30.0), SieveClass(450, 63, 40.0), SieveClass(63, 0, 30.0))
        rows = by_class({
            (coarse, 450.0): {"quartz": 99.0, "biotite": 1.0},
            (63.0, 0.0): {"quartz": 80.0, "biotite": 20.0},
        })  # fmt: skip
        names, _, found = shares(rows, sieves)
        biotite, quartz = names.index("biotite"), names.index("quartz")
        ratio = found[0, biotite] / found[0, quartz]
        assert ratio[1] == pytest.approx(ratio[like], rel=1e-6)
        assert ratio[2] / ratio[0] == pytest.approx((20.0 / 80.0) / (1.0 / 99.0), rel=1e-6)


def test_a_class_that_joins_sieves_speaks_for_each_of_them():
    rows = by_class({
        (500.0, 125.0): {"quartz": 98.0, "biotite": 2.0},
        (125.0, None): {"quartz": 90.0, "biotite": 10.0},
    })  # fmt: skip
    names, mass, found = shares(rows)
    biotite, quartz = names.index("biotite"), names.index("quartz")
    ratio = found[0, biotite] / found[0, quartz]
    assert ratio[0] == pytest.approx(ratio[1], rel=1e-9)
    assert ratio[2] / ratio[0] == pytest.approx((10.0 / 90.0) / (2.0 / 98.0), rel=1e-6)
    assert (mass[0, :, None] * found[0]).sum(axis=0) == pytest.approx([0.4, 0.35, 0.25], abs=1e-9)


def test_a_mineral_found_in_one_class_alone_sits_there():
    rows = by_class({
        (500.0, 250.0): {"quartz": 100.0},
        (250.0, 125.0): {"quartz": 90.0, "rutile": 10.0},
        (125.0, 0.0): {"quartz": 100.0},
    })  # fmt: skip
    names, _, found = shares(rows)
    assert found[0, names.index("rutile")] == pytest.approx([0.0, 1.0, 0.0], abs=1e-6)


def test_counts_of_a_class_scatter_as_counts_do():
    """Twenty and eighty of one class, ten thousand of the other: the odds of two gammas of
    20.5 and 80.5 have the spread of the trigamma function."""
    from scipy.special import polygamma

    rows = [
        MineralAmount("quartz", "points", 80.0, passing_um=500.0, retained_um=250.0),
        MineralAmount("zircon", "points", 20.0, passing_um=500.0, retained_um=250.0),
        MineralAmount("quartz", "points", 1e4, passing_um=250.0, retained_um=0.0),
        MineralAmount("zircon", "points", 1e4, passing_um=250.0, retained_um=0.0),
    ]
    sieves = (SieveClass(500, 250, 50.0), SieveClass(250, 0, 50.0))
    names, _, found = shares(rows, sieves, trials=4000)
    odds = ln_odds(found[1:], names.index("quartz"), names.index("zircon"))
    spread = (polygamma(1, 20.5) + polygamma(1, 80.5) + 2.0 * polygamma(1, 1e4)) ** 0.5
    assert odds.std() == pytest.approx(spread, rel=0.04)


# --- no sieves ------------------------------------------------------------------------------


def test_sieves_nobody_gave_are_every_third_of_the_twenty_series():
    """ISO 565, R 20/3: ten to three twentieths, 1.41, from one sieve to the next."""
    passing, retained, share = size_classes(Sample("x"))
    assert retained[:-1].tolist() == passing[1:].tolist()
    steps = np.append(passing, retained[-1])
    assert steps == pytest.approx(500.0 / 10.0 ** (0.15 * np.arange(8)), rel=0.02)
    law = stats.lognorm(0.5, scale=200.0).cdf(steps)
    assert share == pytest.approx((law[:-1] - law[1:]) / (law[0] - law[-1]))
