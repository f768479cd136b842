"""Every move of the chains against the rule of Metropolis and Hastings, chain by chain.

The density is written out once, as its words say, and the step of a move is taken from the same
random numbers: each chain must go where the rule sends it and stay where the rule holds it.
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from feedchar.chemistry.chains import Chains
from feedchar.chemistry.iron_moves import move_iron, trade
from feedchar.chemistry.iron_prior import IronPrior
from feedchar.chemistry.line_moves import along_lines
from feedchar.chemistry.mineral_trials import Amount
from feedchar.chemistry.system import Prior, Rows
from feedchar.chemistry.unseen import UnseenPrior
from feedchar.uncertainty.streams import stream

NAMES = ("bulk", "mica", "ore", "spinel", "trace", "unseen")
AMOUNTS = (
    Amount("gamma", 71.0, 57.0), Amount("count", 17.0, 7.5), Amount("assumed", 6.0, 1.3),
    Amount("not found", limit=1.7), Amount("interval", limit=0.9), Amount("unseen"),
)  # fmt: skip
CERTAIN = IronPrior(0.0, 0.0, 0.0, 0.0, 0.0)
IRON = (
    CERTAIN, IronPrior(8.0, 12.0, 20.0, 4.0, 28.0), IronPrior(31.0, 44.0, 52.0, 20.0, 60.0),
    IronPrior(40.0, 55.0, 62.0, 30.0, 65.0), CERTAIN, CERTAIN,
)  # fmt: skip
LOW = np.array([0.004, 0.06, 0.29, 0.43, 0.0, 0.9])
CHANGE = np.array([0.0, 0.34, 0.57, 0.5, 0.0, 0.0])
HIDDEN = (3, 5)
UNSEEN = {
    "log-normal": UnseenPrior("log-normal", 0.55, 0.8),
    "log-uniform": UnseenPrior("log-uniform", high_wt_pct=0.9),
}
CONTENT = np.array([[0.004, 0.06, 0.29, 0.43, 0.0, 0.9], [0.013, 0.11, 0.0, 0.03, 0.3, 0.0],
                    [0.002, 0.015, 0.4, 0.1, 0.05, 0.0]])  # fmt: skip
MOVES_BY = np.array([CHANGE, [0.0, -0.04, 0.0, 0.02, 0.0, 0.0], [0.0, 0.01, -0.3, 0.0, 0.0, 0.0]])
VALUE, SD = np.array([5.7, 2.9, 2.6]), np.array([0.9, 0.35, 0.4])
CAPPED = np.array([False, True, False])  # between the figures, so that an order must be kept
T = 241  # odd: one chain stays out of both halves


def prior_with(kind):
    return Prior(AMOUNTS, IRON, UNSEEN[kind], LOW, CHANGE, HIDDEN)


def start(kind):
    rng = np.random.default_rng(5)
    x = np.array([[71.0], [17.0], [6.0], [0.2], [0.4], [0.3]]) * np.exp(
        0.35 * rng.standard_normal((6, T))
    )
    x[4] = np.minimum(x[4], 0.85)
    x[0] = 100.0 - x[1:].sum(axis=0)
    z = rng.standard_normal((6, T))
    rows = Rows(("Fe2O3", "K2O", "TiO2"), VALUE, SD, CONTENT.T[:, :, None], MOVES_BY.T[:, :, None],
                CAPPED, np.zeros((6, 3)))  # fmt: skip
    return Chains(prior_with(kind), rows, NAMES, x, z, 9)


def rows_log(x, t):
    """Normal rows, and for the limit the chance that the error hides what is above it."""
    log = np.zeros(x.shape[1])
    for k in range(3):
        off = (VALUE[k] - CONTENT[k] @ x - MOVES_BY[k] @ (x * t)) / SD[k]
        log += stats.norm.logcdf(off) if CAPPED[k] else -0.5 * off**2
    return log


def amounts_log(x, t, kind):
    """Shares of gammas that fill what the others leave; what was missed, a trace, unseen iron by
    the total of what is hidden."""
    found = x[:3]
    shape = np.array([a.shape for a in AMOUNTS[:3]])
    rate = shape / np.array([a.mean for a in AMOUNTS[:3]])
    log = (shape - 1.0) @ np.log(found) - shape.sum() * np.log(rate @ found)
    log += np.log(found.sum(axis=0))
    log += stats.lognorm.logpdf(x[3], 1.5, scale=0.17)
    log += stats.norm.logcdf((1.7 - x[3]) / (1.7 / 3.0))
    log += np.where((x[4] >= 0.0) & (x[4] <= 0.9), 0.0, -np.inf)
    total = x[3] * (LOW[3] + CHANGE[3] * t[3]) + x[5] * LOW[5]
    if kind == "log-normal":
        log += stats.lognorm.logpdf(total, 0.8, scale=0.55)
    else:
        held = np.where(total < 0.003, 0.003, total)
        log += np.where(total <= 0.9, -np.log(held), -np.inf)
    return log


def firm():
    """The normal that a move takes for a firmly known amount: centre and precision."""
    known = np.array([a.kind in ("gamma", "count") and a.shape > 2.0 for a in AMOUNTS])
    mean = np.array([a.mean if a.shape > 2.0 else 0.0 for a in AMOUNTS])
    return mean, np.array([a.shape / a.mean**2 if k else 0.0
                           for a, k in zip(AMOUNTS, known, strict=True)])  # fmt: skip


def normal_along(x, t, d):
    """Mean and sd of the step along d by figures and firm amounts."""
    mean, q = firm()
    precision, slope = 1e-10 + q @ (d * d), (q[:, None] * (mean[:, None] - x) * d).sum(axis=0)
    for k in np.flatnonzero(~CAPPED):
        c = CONTENT[k][:, None] + MOVES_BY[k][:, None] * t
        along = (c * d).sum(axis=0) / SD[k]
        off = (VALUE[k] - (c * x).sum(axis=0)) / SD[k]
        precision = precision + along**2
        slope = slope + along * off
    return slope / precision, 1.0 / np.sqrt(precision)


def between(mean, sd, low, high, uniform):
    """From the side of the bound that is nearer to the middle of the normal."""
    uniform = np.where(low > mean, 1.0 - uniform, uniform)
    return stats.truncnorm.ppf(uniform, (low - mean) / sd, (high - mean) / sd, loc=mean, scale=sd)


def agree(chains, x, t):
    assert np.allclose(chains.x, x, rtol=1e-7, atol=1e-8)
    assert np.allclose(chains.t, t, rtol=1e-9, atol=1e-12)


PAIRS = [(0, 1), (1, 2), (2, 0), (3, 0), (0, 3), (4, 1), (5, 0), (1, 5), (3, 5), (5, 4), (2, 3)]


@pytest.mark.parametrize("kind", UNSEEN)
@pytest.mark.parametrize("move", ["exchange", "rescale"])
def test_mass_goes_between_two_phases_as_the_rule_says(kind, move):
    went = 0
    for j, i in PAIRS:
        chains = start(kind)
        x, t = chains.x.copy(), chains.t.copy()
        random, d = stream(9, f"{NAMES[j]}/fit"), np.zeros_like(x)
        d[j], d[i] = 1.0, -1.0
        before = rows_log(x, t) + amounts_log(x, t, kind)
        if move == "exchange":
            uniform, level = random.random((2, T))
            chains.exchange(j, i)
            mean, sd = normal_along(x, t, d)
            step = between(mean, sd, 1e-9 - x[j], x[i] - 1e-9, uniform)
            drawn = 0.5 * ((step - mean) ** 2 - mean**2) / sd**2  # there over back
        else:
            factor, level = np.exp(0.7 * random.standard_normal(T)), random.random(T)
            chains.rescale(j, i, 0.7)
            step = x[j] * (factor - 1.0)
            drawn = np.log(factor)  # the step is even in the logarithm
        possible = (x[j] + step > 0.0) & (x[i] - step > 0.0)
        new = x + np.where(possible, step, 0.0) * d
        with np.errstate(invalid="ignore"):
            gain = rows_log(new, t) + amounts_log(new, t, kind) - before + drawn
        taken = possible & (np.log(level) < gain)
        agree(chains, np.where(taken, new, x), t)
        went += int(taken.sum())
        assert not taken.all()
    assert went > 0.15 * T * len(PAIRS)


@pytest.mark.parametrize("kind", UNSEEN)
def test_iron_moves_as_its_rows_and_the_hidden_total_allow(kind):
    """The step keeps the normal scores as they are spread, so that only the rest accepts."""
    for j in (1, 2, 3):
        chains = start(kind)
        x, t, z = chains.x.copy(), chains.t.copy(), chains.z.copy()
        random = stream(9, f"{NAMES[j]}/fit")
        to = z.copy()
        to[j] = 0.8 * z[j] + 0.6 * random.standard_normal(T)
        level = np.log(random.random(T))
        move_iron(chains, j, 0.6)
        new = t.copy()
        iron, span = IRON[j].quantile(to[j]), IRON[j].ceiling_wt_pct - IRON[j].floor_wt_pct
        new[j] = (iron - IRON[j].floor_wt_pct) / span
        gain = rows_log(x, new) - rows_log(x, t)
        gain += amounts_log(x, new, kind) - amounts_log(x, t, kind)
        taken = level < gain
        agree(chains, x, np.where(taken, new, t))
        assert np.allclose(chains.z, np.where(taken, to, z))
        assert 0 < taken.sum() < T


@pytest.mark.parametrize("kind", UNSEEN)
def test_iron_of_one_phase_is_traded_for_the_mass_of_another(kind):
    """The mass keeps the iron of the bag: what j gains, c less h gives back."""
    for j, c, h in ((1, 5, 0), (2, 5, 0), (1, 5, 2), (2, 3, 0)):
        chains = start(kind)
        x, t, z = chains.x.copy(), chains.t.copy(), chains.z.copy()
        random = stream(9, f"{NAMES[j]}/fit")
        to = 0.8 * z[j] + 0.6 * random.standard_normal(T)
        level = np.log(random.random(T))
        trade(chains, j, c, h, 0.6)
        new_t, new = t.copy(), x.copy()
        new_t[j] = IRON[j].place(to)
        content = LOW[:, None] + CHANGE[:, None] * t
        gap = np.maximum(content[c] - content[h], 1e-6)
        step = -x[j] * (new_t[j] - t[j]) * CHANGE[j] / gap
        possible = (x[c] + step > 1e-9) & (x[h] - step > 1e-9)
        new[c], new[h] = x[c] + step * possible, x[h] - step * possible
        gain = rows_log(new, new_t) - rows_log(x, t)
        with np.errstate(invalid="ignore"):
            gain += amounts_log(new, t, kind) - amounts_log(x, t, kind)
        taken = possible & (level < gain)
        agree(chains, np.where(taken, new, x), np.where(taken, new_t, t))
        assert 0 < taken.sum() < T


@pytest.mark.parametrize("kind", UNSEEN)
def test_half_of_the_chains_follows_differences_of_the_other_half(kind):
    chains = start(kind)
    x, t = chains.x.copy(), chains.t.copy()
    random, half = stream(9, "fit/lines"), T // 2
    along_lines(chains)
    at = np.arange(half)
    for here, there in ((at, at + half), (at + half, at)):
        first = random.permutation(half)
        shift = 1 + int(random.integers(half - 1))
        d = x[:, there[first]] - x[:, there[np.roll(first, shift)]]
        uniform, level = random.random((2, half))
        mean, sd = normal_along(x[:, here], t[:, here], d)
        reach = (1e-9 - x[:, here]) / d
        low = np.where(d > 0.0, reach, -np.inf).max(axis=0)
        high = np.where(d < 0.0, reach, np.inf).min(axis=0)
        step = between(mean, sd, low, high, uniform)
        new = x[:, here] + step * d
        with np.errstate(invalid="ignore", divide="ignore"):
            gain = rows_log(new, t[:, here]) - rows_log(x[:, here], t[:, here])
            gain += amounts_log(new, t[:, here], kind) - amounts_log(x[:, here], t[:, here], kind)
        gain += 0.5 * ((step - mean) ** 2 - mean**2) / sd**2
        taken = np.log(level) < gain
        x[:, here] = np.where(taken, new, x[:, here])
        assert 0 < taken.sum() < half
    agree(chains, x, t)


def test_chains_fewer_than_eight_have_no_halves_to_follow():
    kind = "log-normal"
    for number, moves in ((7, False), (8, True)):
        rows = Rows(("Fe2O3",), VALUE[:1], SD[:1], CONTENT[:1].T[:, :, None],
                    MOVES_BY[:1].T[:, :, None], CAPPED[:1], np.zeros((6, 1)))  # fmt: skip
        x = start(kind).x[:, :number]
        chains = Chains(prior_with(kind), rows, NAMES, x, np.zeros((6, number)), 2)
        for _ in range(5):
            along_lines(chains)
        assert np.array_equal(chains.x, x) != moves


def test_a_start_that_cannot_be_takes_the_first_way_out():
    """Hidden iron above the most that a log-uniform allows: anything that can be is better."""
    chains = start("log-uniform")
    x = chains.x.copy()
    x[5], x[0] = 2.0, x[0] + x[5] - 2.0
    out = Chains(chains.prior, Rows(("K2O",), VALUE[1:2], SD[1:2], CONTENT[1:2].T[:, :, None],
                 MOVES_BY[1:2].T[:, :, None], CAPPED[:1], np.zeros((6, 1))), NAMES, x,
                 chains.z, 3)  # fmt: skip
    assert (out.hidden > 0.9).all()
    inside = np.zeros(T, dtype=bool)
    for _ in range(40):
        out.exchange(5, 0)
        assert (out.hidden[inside] <= 0.9).all()  # none goes back
        inside = out.hidden <= 0.9
    assert np.mean(inside) > 0.8


@pytest.mark.parametrize("kind", UNSEEN)
def test_what_chains_keep_in_mind_is_the_density_by_parts(kind):
    chains = start(kind)
    x = chains.x
    shape = np.array([a.shape for a in AMOUNTS[:3]])
    rate = shape / np.array([a.mean for a in AMOUNTS[:3]])
    shared = np.log(x[:3].sum(axis=0)) - shape.sum() * np.log(rate @ x[:3])
    assert np.allclose(chains.shared, shared, rtol=1e-12)
    assert np.allclose(chains.filled, 100.0 - x[3:].sum(axis=0))
    assert np.allclose(chains.weighed, rate @ x[:3])
    hidden = x[3] * (LOW[3] + CHANGE[3] * chains.t[3]) + x[5] * LOW[5]
    assert np.allclose(chains.hidden, hidden)
    assert np.allclose(chains.log_hidden, UNSEEN[kind].log_density(hidden))
    parts = chains.log_x.sum(axis=0) + chains.shared + chains.log_hidden
    assert np.ptp(parts - amounts_log(x, chains.t, kind)) < 1e-9
