"""What tests teach of machine and feed: weights on finished trials, or a walk when few are left.

The state of a trial is four scores of the machine and one row of the finished trials of each feed.
When weights leave too few effective trials, the likelihood is let in by steps: at each step the
trials are drawn by their weights and then moved, the machine by a random walk in its scores, each
feed by a step to a neighbouring row, both accepted by Metropolis' rule with the same prediction.
Neighbours are rows that predict alike, so feeds are ordered by one figure at a time; a step along
an order and back are equally likely.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.random import Generator
from numpy.typing import NDArray

from feedchar.testwork.likelihood import Observed, ln_likelihood
from feedchar.testwork.scores import STATED, MachinePrior
from feedchar.testwork.weighing import effective_sample, resampled, weights_of
from feedchar.uncertainty.streams import stream

Array = NDArray[np.float64]
Index = NDArray[np.intp]
Predict = Callable[[Index, Array], Array]
"""Rows of the feeds (S, N), numbered from 0 over the draws, and scores (N, 4): figures (Q, N)."""

LEAST_EFFECTIVE = 200.0
"""Effective trials below which weights are no longer trusted. [-]"""
WALKERS = 600
"""Trials that walk; each stands for several in the end. [-]"""
KEPT_A_STEP = 0.4
"""Effective trials that a step of the likelihood may leave, as a share of the walkers. [-]"""
MOVES_A_STEP = 5
MOVES_AT_THE_END = 15
MOST_STEPS = 12
MACHINE_MOVES, FEED_MOVES = 0.65, 0.6
"""Shares of the moves in which the machine walks, and the feed steps; the rest do both. [-]"""
WALK = 0.7
"""Step of the walk over the spread of the living trials. [-]"""
NEAR = 0.07
"""Farthest neighbour along an order of the feeds, as a share of them. [-]"""

WEIGHTS, METROPOLIS = "weights", "Metropolis"


@dataclass(frozen=True)
class Learned:
    """Trials after the tests, equally likely, N of them."""

    rows: Index
    """(S, N) row of each feed's finished trials, from 0 over the draws."""
    scores: Array
    """(N, 4) of the machine."""
    predicted: Array
    """(Q, N) what they say of the tests."""
    before: Array
    """(Q, N) what the trials said before."""
    method: str
    """weights | Metropolis"""
    effective: float
    """Effective trials under weights alone. [-]"""
    accepted: float | None = None
    """Share of moves accepted; None where none were made. [-]"""


def learn(
    observed: Observed,
    predict: Predict,
    scores: Array,
    feeds: int,
    seed: int,
    prior: MachinePrior = STATED,
    *,
    rows: int | None = None,
) -> Learned:
    """Machine and feeds after the tests.

    Parameters
    ----------
    observed : Observed
        Q measured figures. [-]
    predict : callable
        From rows (S, N) and scores (N, 4) to figures (Q, N). [-]
    scores : array, shape (N, 4)
        Machines before the tests, one a trial. [-]
    feeds : int
        Number of feeds S. [-]
    seed : int
        Seed of every stream. [-]
    prior : MachinePrior
        What `scores` were drawn from. [-]
    rows : int or None
        Finished trials of each feed; None: as many as machines. [-]

    Returns
    -------
    Learned
        As many trials as came in. [-]

    References
    ----------
    Importance weights, tempering and Metropolis' rule (from memory); arrangement derived here.
    """
    count = len(scores)
    finished = count if rows is None else rows
    start = np.tile(np.arange(count, dtype=np.intp) % finished, (feeds, 1))
    before = predict(start, scores)
    fit = ln_likelihood(observed, before)
    weight = weights_of(fit)
    effective = effective_sample(weight)
    if effective >= LEAST_EFFECTIVE:
        at = resampled(weight, count, seed, "tested/drawn")
        return Learned(start[:, at], scores[at], before[:, at], before, WEIGHTS, effective)
    walkers = min(count, WALKERS)
    walk = _Walk(observed, predict, prior, _orders(before, start, finished), seed)
    state = _State(start, scores, before, fit)
    power = 0.0
    for step in range(MOST_STEPS):
        last = step == MOST_STEPS - 1
        power, weight = _next_power(state.fit, power, KEPT_A_STEP * walkers, last=last)
        state = state.at(resampled(weight, walkers, seed, f"tested/drawn {step}"))
        moves = MOVES_A_STEP if power < 1.0 else MOVES_AT_THE_END
        for move in range(moves):
            state = walk.moved(state, power, f"{step} {move}")
        if power >= 1.0:
            break
    accepted = walk.accepted / max(walk.tried, 1)
    # Each walker stands for as many of the trials that were asked for.
    state = state.at((np.arange(count) * walkers) // count)
    return Learned(
        state.rows, state.scores, state.predicted, before, METROPOLIS, effective, accepted
    )


@dataclass(frozen=True)
class _State:
    rows: Index
    scores: Array
    predicted: Array
    fit: Array

    def at(self, index: Index) -> _State:
        return _State(
            self.rows[:, index], self.scores[index], self.predicted[:, index], self.fit[index]
        )


class _Walk:
    """Moves of all trials at once; the same seed makes the same moves."""

    def __init__(
        self,
        observed: Observed,
        predict: Predict,
        prior: MachinePrior,
        orders: list[tuple[Index, Index]],
        seed: int,
    ) -> None:
        self.observed, self.predict, self.prior = observed, predict, prior
        self.orders, self.seed = orders, seed
        self.made = self.tried = self.accepted = 0

    def moved(self, state: _State, power: float, name: str) -> _State:
        """One move: of some trials the machine, of some the feed, of some both at once."""
        draw = stream(self.seed, f"tested/move {name}")
        spread = np.cov(state.scores.T) + 1e-6 * np.eye(4)
        noise = draw.standard_normal(state.scores.shape)
        walked = state.scores + WALK * noise @ np.linalg.cholesky(spread).T
        kind = draw.random(len(noise))
        scores = np.where((kind < MACHINE_MOVES)[:, None], walked, state.scores)
        there = self._neighbours(state.rows, draw)
        rows = np.where(kind > 1.0 - FEED_MOVES, there, state.rows)
        return self._kept(state, rows, scores, power, draw)

    def _neighbours(self, rows: Index, draw: Generator) -> Index:
        order, rank = self.orders[self.made % len(self.orders)]
        self.made += 1
        finished = len(order)
        reach = max(1, round(NEAR * finished))
        far = draw.integers(1, reach + 1, rows.shape) * draw.choice((-1, 1), rows.shape)
        # Steps wrap at the ends, so that each is as likely as its way back.
        there = order[(rank[rows] + far) % finished]
        # One feed at a time where there are several.
        chosen = draw.integers(0, len(rows), rows.shape[1])
        return np.where(np.arange(len(rows))[:, None] == chosen, there, rows)

    def _kept(
        self, state: _State, rows: Index, scores: Array, power: float, draw: Generator
    ) -> _State:
        predicted = self.predict(rows, scores)
        fit = ln_likelihood(self.observed, predicted)
        with np.errstate(invalid="ignore"):
            gain = power * (fit - state.fit)
        gain += self.prior.ln_density(scores) - self.prior.ln_density(state.scores)
        taken = np.log(draw.random(len(fit))) < np.nan_to_num(gain, nan=-np.inf)
        self.tried += len(fit)
        self.accepted += int(taken.sum())
        return _State(
            np.where(taken, rows, state.rows),
            np.where(taken[:, None], scores, state.scores),
            np.where(taken, predicted, state.predicted),
            np.where(taken, fit, state.fit),
        )


def _orders(before: Array, rows: Index, finished: int) -> list[tuple[Index, Index]]:
    """Feeds in the order of each figure: which row stands where, and where each row stands."""
    found = []
    first = {int(row): place for place, row in reversed(list(enumerate(rows[0])))}
    for figure in before:
        known = np.array([figure[first[row]] if row in first else 0.0 for row in range(finished)])
        order = np.argsort(np.nan_to_num(known, nan=np.inf), kind="stable").astype(np.intp)
        rank = np.empty_like(order)
        rank[order] = np.arange(finished)
        found.append((order, rank))
    return found


def _next_power(fit: Array, power: float, wanted: float, *, last: bool) -> tuple[float, Array]:
    """How far the likelihood may be let in, and the weights that this makes."""
    if last:
        return 1.0, weights_of(_grown(fit, 1.0 - power))
    if effective_sample(weights_of(_grown(fit, 1.0 - power))) >= wanted:
        return 1.0, weights_of(_grown(fit, 1.0 - power))
    low, high = 0.0, 1.0 - power
    for _ in range(40):
        middle = 0.5 * (low + high)
        if effective_sample(weights_of(_grown(fit, middle))) >= wanted:
            low = middle
        else:
            high = middle
    return power + high, weights_of(_grown(fit, high))


def _grown(fit: Array, by: float) -> Array:
    return np.where(np.isfinite(fit), by * np.where(np.isfinite(fit), fit, 0.0), -np.inf)
