"""Chains against weighted draws from the prior, for every kind of amount, iron and row at once.

The prior is drawn as its words say (gamma shares that fill what small amounts leave, a log-normal
that was missed, an interval, hidden iron by its total, iron by its two half-normals) and weighted
by the likelihood: nothing of the moves or of their densities takes part.
"""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache

import numpy as np
import pytest
from scipy.special import log_ndtr, ndtr

from feedchar.chemistry.chains import Chains
from feedchar.chemistry.fit import fit_mineralogy
from feedchar.chemistry.iron_moves import move_iron, trade
from feedchar.chemistry.iron_prior import IronPrior
from feedchar.chemistry.line_moves import along_lines
from feedchar.chemistry.mineral_trials import Amount
from feedchar.chemistry.system import Prior, Rows
from feedchar.chemistry.unseen import UnseenPrior

NAMES = ("bulk", "mica", "oxide", "spinel", "trace", "unseen")
AMOUNTS = (
    Amount("gamma", 80.0, 60.0),
    Amount("gamma", 15.0, 9.0),
    Amount("gamma", 5.0, 3.0),
    Amount("not found", limit=1.5),
    Amount("interval", limit=0.8),
    Amount("unseen"),
)
CERTAIN = IronPrior(0.0, 0.0, 0.0, 0.0, 0.0)
MICA = IronPrior(8.0, 12.0, 20.0, 4.0, 28.0)
OXIDE = IronPrior(1.0, 4.0, 12.0, 0.2, 30.0)  # wide: normal halves in ln
SPINEL = IronPrior(40.0, 55.0, 62.0, 30.0, 65.0)
IRON = (CERTAIN, MICA, OXIDE, SPINEL, CERTAIN, CERTAIN)
PER_FE = 1.43
LOW = np.array([0.0, 4.0, 0.2, 30.0, 0.0, 0.0]) * PER_FE / 100.0
CHANGE = np.array([0.0, 24.0, 29.8, 35.0, 0.0, 0.0]) * PER_FE / 100.0
SEEN = LOW + np.array([0.0, 0.0, 0.0, 0.0, 0.0, 0.9])
HIDDEN = (3, 5)
TRIALS = 2000
DRAWS = 400_000


def rows_of(iron, potash, titania):
    """Iron of all, potash of the mica (less where it is rich in iron), a limit of titania."""
    low = np.stack([SEEN, [0.0, 0.11, 0.0, 0.0, 0.3, 0.0], [0.0, 0.0, 0.5, 0.1, 0.0, 0.0]])
    change = np.stack([CHANGE, [0.0, -0.03, 0.0, 0.0, 0.0, 0.0], np.zeros(6)])
    value, sd = np.array([iron, potash, titania]).T
    return Rows(
        ("Fe2O3", "K2O", "TiO2"), value, sd, low.T[:, :, None], change.T[:, :, None],
        np.array([False, False, True]), np.zeros((6, 3)),
    )  # fmt: skip


def drawn(unseen, number, seed):
    """Draws of the prior, weight 0 where the total leaves no room for what is unseen."""
    rng = np.random.default_rng(seed)
    gammas = np.stack([rng.gamma(a.shape, a.mean / a.shape, number) for a in AMOUNTS[:3]])
    looked = 0.15 * np.exp(1.5 * rng.standard_normal(number))
    missed = ndtr((1.5 - looked) / 0.5)  # a third of the limit is the sd of the method
    trace = 0.8 * rng.random(number)
    z = rng.standard_normal((6, number))
    place = np.zeros((6, number))
    for j in (1, 2, 3):
        prior = IRON[j]
        points = np.array([prior.low_wt_pct, prior.typical_wt_pct, prior.high_wt_pct])
        if j == 2:
            points = np.log(points)
        half = np.where(z[j] < 0.0, points[1] - points[0], points[2] - points[1])
        iron = points[1] + half / 1.6448536 * z[j]
        iron = np.exp(iron) if j == 2 else iron
        iron = np.clip(iron, prior.floor_wt_pct, prior.ceiling_wt_pct)
        place[j] = (iron - prior.floor_wt_pct) / (prior.ceiling_wt_pct - prior.floor_wt_pct)
    if unseen.kind == "log-uniform":
        # As the prior says of itself: flat below its low end, where nothing is known either.
        flat = rng.random(number) < 1.0 / (1.0 + np.log(0.3 / 0.003))
        spread = rng.random(number)
        total = np.where(flat, 0.003 * spread, 0.003 * (0.3 / 0.003) ** spread)
    else:
        total = unseen.median_wt_pct * np.exp(unseen.ln_sd * rng.standard_normal(number))
    rest = (total - looked * (LOW[3] + place[3] * CHANGE[3])) / 0.9
    small = looked + trace + rest
    fill = (100.0 - small) / gammas.sum(axis=0)
    x = np.concatenate([gammas * fill, [looked, trace, rest]])
    weight = np.where((rest > 1e-9) & (small < 100.0), missed, 0.0)
    return x, place, z, weight


def likelihood(rows, x, place):
    low, change = rows.low[:, :, 0], rows.change[:, :, 0]
    log = np.zeros(x.shape[1])
    for k in range(3):
        off = (rows.value[k] - low[:, k] @ x - change[:, k] @ (x * place)) / rows.sd[k]
        log += log_ndtr(off) if rows.capped[k] else -0.5 * off**2
    return np.exp(log - log.max())


def prior_with(unseen):
    oxide_low = LOW + np.array([0.0, 0.0, 0.0, 0.0, 0.0, 0.9])
    return Prior(AMOUNTS, IRON, unseen, oxide_low, CHANGE, HIDDEN)


LOG_NORMAL = UnseenPrior("log-normal", 0.25, 0.7)
LOG_UNIFORM = UnseenPrior("log-uniform")
CASES = {
    "an assay that narrows": (LOG_NORMAL, rows_of((3.4, 0.25), (1.3, 0.15), (1.6, 0.25))),
    "an assay that says little": (LOG_NORMAL, rows_of((3.0, 30.0), (1.5, 15.0), (40.0, 5.0))),
    "an assay of potash that is sharp": (
        LOG_NORMAL,
        rows_of((3.2, 0.5), (1.7, 0.04), (1.6, 0.4)),
    ),
    "unseen iron of any size": (LOG_UNIFORM, rows_of((2.6, 0.3), (1.9, 0.2), (2.5, 0.4))),
}


@lru_cache
def both(case):
    unseen, rows = CASES[case]
    x, place, _, weight = drawn(unseen, DRAWS, 3)
    weight = weight * likelihood(rows, x, place)
    few, _, score, _ = drawn(unseen, TRIALS + 1, 4)
    few = np.maximum(few, 1e-6)
    few = few * (100.0 / few.sum(axis=0))
    few[:, 0] = [79.0, 14.9, 5.0, 0.1, 0.4, 0.6]
    score[:, 0] = 0.0
    fit = fit_mineralogy(prior_with(unseen), rows, NAMES, few.T, score.T, 1, 40)
    return x, place, weight, fit


def effective(weight):
    return weight.sum() ** 2 / (weight**2).sum()


@pytest.mark.parametrize("case", CASES)
def test_amounts_and_iron_have_the_mean_and_spread_of_weighted_draws(case):
    x, place, weight, fit = both(case)
    number = min(effective(weight), TRIALS)
    assert effective(weight) > 2.0 * TRIALS, effective(weight)
    for j, name in enumerate(NAMES):
        for values, found in ((x[j], fit.amounts[1:, j]), (place[j], fit.place[1:, j])):
            mean = np.average(values, weights=weight)
            sd = np.sqrt(np.average((values - mean) ** 2, weights=weight))
            assert abs(found.mean() - mean) <= 4.5 * sd * (1.5 / number) ** 0.5, name
            if sd > 0.0:
                tails = np.average((values - mean) ** 4, weights=weight) / sd**4
                wide = 4.5 * ((tails - 1.0) / 4.0 * 1.5 / number) ** 0.5
                assert found.std() == pytest.approx(sd, rel=wide), name


@pytest.mark.parametrize("case", CASES)
def test_quartiles_of_what_matters_are_those_of_weighted_draws(case):
    x, place, weight, fit = both(case)
    for what in ("iron", "hidden", "mica"):
        share = {
            "iron": lambda p: SEEN[:, None] + CHANGE[:, None] * p,
            "hidden": lambda p: (
                (SEEN[:, None] + CHANGE[:, None] * p) * np.array([0, 0, 0, 1, 0, 1.0])[:, None]
            ),
            "mica": lambda p: np.array([0, 1.0, 0, 0, 0, 0])[:, None] * np.ones_like(p),
        }[what]
        values = (x * share(place)).sum(axis=0)
        found = (fit.amounts[1:].T * share(fit.place[1:].T)).sum(axis=0)
        order = np.argsort(values)
        below = np.cumsum(weight[order]) / weight.sum()
        for level in (0.1, 0.25, 0.5, 0.75, 0.9):
            border = values[order][np.searchsorted(below, level)]
            error = 4.5 * (level * (1.0 - level) * 1.5 / TRIALS) ** 0.5
            assert np.mean(found < border) == pytest.approx(level, abs=error), (what, level)


@pytest.mark.parametrize("case", CASES)
def test_every_trial_closes_and_keeps_its_bounds(case):
    _, _, _, fit = both(case)
    assert fit.amounts.sum(axis=1) == pytest.approx(100.0, abs=1e-9)
    assert fit.amounts.min() >= 0.0
    assert fit.amounts[1:, 4].max() <= 0.8 * (1.0 + 1e-9)
    assert (fit.place >= 0.0).all()
    assert (fit.place <= 1.0).all()
    assert (fit.place[:, [0, 4, 5]] == 0.0).all()
    assert fit.settled
    assert fit.drift_sd.shape == (6,)
    assert fit.drift_sd.max() < 0.4


def test_chains_of_a_few_trials_move_too():
    """Fewer than eight have no other half to follow; they still draw from the posterior."""
    unseen, rows = CASES["an assay that narrows"]
    x, _, weight, _ = both("an assay that narrows")
    mean = np.average(x[1], weights=weight)
    sd = np.sqrt(np.average((x[1] - mean) ** 2, weights=weight))
    found = []
    for seed in range(8):
        few, _, score, _ = drawn(unseen, 8, 100 + seed)
        few = np.maximum(few, 1e-6)
        few = few * (100.0 / few.sum(axis=0))
        fit = fit_mineralogy(prior_with(unseen), rows, NAMES, few.T, score.T, seed, 30)
        found.append(fit.amounts[1:, 1])
    every = np.concatenate(found)
    assert every.mean() == pytest.approx(mean, abs=4.5 * sd * (1.5 / len(every)) ** 0.5)


def test_rows_of_each_trial_take_their_own_content():
    """Trials whose potash content of the mica is half hold about twice the mica."""
    unseen, rows = CASES["an assay that narrows"]
    rows = replace(rows, sd=np.array([30.0, 0.03, 0.25]))
    few, _, score, _ = drawn(unseen, 401, 9)
    few = np.maximum(few, 1e-6)
    few = few * (100.0 / few.sum(axis=0))
    low = np.repeat(rows.low, 401, axis=2)
    low[1, 1, 201:] *= 0.5
    low[4, 1, :] = 0.0
    change = np.repeat(rows.change, 401, axis=2) * 0.0
    fit = fit_mineralogy(
        prior_with(unseen), replace(rows, low=low, change=change), NAMES, few.T, score.T, 1
    )
    mica = fit.amounts[:, 1]
    assert np.median(mica[1:201]) == pytest.approx(1.3 / 0.11, rel=0.03)
    assert np.median(mica[201:]) == pytest.approx(1.3 / 0.055, rel=0.06)


# --- each move alone ------------------------------------------------------------------------

CHAINS = 6000
PAIRS = [(j, i) for j in range(6) for i in range(6) if i != j]


def exchanges(chains):
    for j, i in PAIRS:
        chains.exchange(j, i)


def rescalings(chains):
    for j, i in PAIRS:
        chains.rescale(j, i, 0.8)


def iron_alone(chains):
    for j in (1, 2, 3):
        move_iron(chains, j, 0.7)


def iron_for_mass(chains):
    for j in (1, 2):
        trade(chains, j, 5, 0, 0.5)


MOVES = {
    "exchange": (exchanges, 3),
    "rescale": (rescalings, 3),
    "iron": (iron_alone, 12),
    "trade": (iron_for_mass, 16),
    "lines": (along_lines, 30),
}


LEVELS = (0.1, 0.5, 0.9)


@lru_cache
def sampled(case):
    """Chains that start as a sample of the posterior; mean, sd and quantiles of the posterior by
    name; and how many independent draws the comparison is worth."""
    unseen, rows = CASES[case]
    x, place, z, weight = drawn(unseen, DRAWS // 4, 11)
    weight = weight * likelihood(rows, x, place)
    chosen = np.random.default_rng(12).choice(len(weight), CHAINS, p=weight / weight.sum())
    expected = {}
    for j, name in enumerate(NAMES):
        for what, values in (("amount", x[j]), ("place", place[j])):
            mean = np.average(values, weights=weight)
            sd = np.sqrt(np.average((values - mean) ** 2, weights=weight))
            order = np.argsort(values)
            below = np.cumsum(weight[order]) / weight.sum()
            borders = values[order][np.searchsorted(below, LEVELS)]
            expected[name, what] = (mean, sd, borders)
    number = 1.0 / (1.0 / effective(weight) + 1.0 / CHAINS)
    return x[:, chosen], z[:, chosen], expected, number


def chains_of(case):
    unseen, rows = CASES[case]
    x, z, *_ = sampled(case)
    return Chains(prior_with(unseen), rows, NAMES, x, z, 1)


@pytest.mark.parametrize("move", MOVES)
@pytest.mark.parametrize(
    "case", ["an assay that narrows", "an assay that says little", "unseen iron of any size"]
)
def test_each_move_alone_leaves_the_posterior_as_it_is(case, move):
    *_, expected, number = sampled(case)
    chains = chains_of(case)
    first = np.concatenate([chains.x, chains.t])
    make, times = MOVES[move]
    for _ in range(times):
        make(chains)
    for (name, what), (mean, sd, borders) in expected.items():
        found = (chains.x if what == "amount" else chains.t)[NAMES.index(name)]
        assert abs(found.mean() - mean) <= 4.0 * sd / number**0.5, (name, what)
        for level, border in zip(LEVELS, borders, strict=True) if sd > 0.0 else ():
            error = 4.0 * (level * (1.0 - level) / number) ** 0.5
            assert np.mean(found <= border) == pytest.approx(level, abs=error), (name, what, level)
    assert np.mean(np.any(np.concatenate([chains.x, chains.t]) != first, axis=0)) > 0.5
    assert np.abs(chains.x.sum(axis=0) - 100.0).max() < 1e-6


@pytest.mark.parametrize("move", MOVES)
def test_what_a_move_keeps_in_mind_is_what_a_fresh_sum_gives(move):
    chains = chains_of("an assay that narrows")
    make, _ = MOVES[move]
    for _ in range(3):
        make(chains)
    kept = ("residual", "filled", "weighed", "hidden", "log_x", "shared", "log_hidden", "content")
    before = {name: getattr(chains, name).copy() for name in kept}
    chains.content[:] = chains.low + chains.t[:, None, :] * chains.change
    chains.refresh()
    for name in kept:
        assert np.allclose(before[name], getattr(chains, name), rtol=1e-6, atol=1e-6), name
    for j, prior in enumerate(IRON):
        iron = prior.floor_wt_pct + chains.t[j] * (prior.ceiling_wt_pct - prior.floor_wt_pct)
        if not prior.certain:
            assert np.allclose(iron, prior.quantile(chains.z[j]))
