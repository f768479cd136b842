"""The mineralogy that honours minerals and assay together, by Metropolised Gibbs."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from feedchar.chemistry.chains import Chains
from feedchar.chemistry.iron_moves import move_iron, trade
from feedchar.chemistry.line_moves import along_lines
from feedchar.chemistry.mineralogy import Array
from feedchar.chemistry.start import chain_starts, typical_fit
from feedchar.chemistry.system import Prior, Rows
from feedchar.uncertainty.streams import stream

SWEEPS = 20
"""Sweeps of a chain before it is looked at. [-]"""
MOST_RUNS = 4
"""A chain that has not settled goes on, up to so many times the sweeps. [-]"""
WIDTHS = (0.3, 1.0, 0.6, 0.15)
"""Steps of the moves, taken in turn: wide ones cross, narrow ones are accepted. [-]"""
DRIFT_SD = 0.2
"""A chain has settled when means of all chains move less than this in the second half. [-]"""


@dataclass(frozen=True)
class Fit:
    """Amounts and places on the mixing lines, row 0 the least-squares solution."""

    amounts: Array
    """(T, M) wt % of the bag, rows sum to 100."""
    place: Array
    """(T, M) place on the mixing line, 0 to 1."""
    settled: bool
    drift_sd: Array
    """(M,) shift of the mean of each phase over the second half of the run, in its own sd."""


def fit_mineralogy(
    prior: Prior, rows: Rows, names: tuple[str, ...], amounts: Array, z: Array, seed: int,
    sweeps: int = SWEEPS,
) -> Fit:  # fmt: skip
    """Trials of a mineralogy that honours amounts, iron contents and measured rows together.

    Parameters
    ----------
    prior : Prior
        Amounts and iron before the assay, M phases. [-]
    rows : Rows
        Measured rows, K of them. [-]
    names : tuple of str
        Phases in canonical order. [-]
    amounts : array, shape (T, M)
        Trials before the assay, row 0 typical. [wt %]
    z : array, shape (T, M)
        Standard normal scores of iron before the assay. [-]
    seed : int
        The run's seed. [-]
    sweeps : int
        Sweeps of each chain. [-]

    Returns
    -------
    Fit
        One chain a trial, its last state. [wt %]

    References
    ----------
    Metropolis within Gibbs: textbook method. Closure and bounds hold exactly because every move
    is an exchange.
    """
    best, place = typical_fit(prior, rows, amounts[0])
    trials = amounts.shape[0] - 1
    if trials == 0:
        return Fit(best[None, :], place[None, :], True, np.zeros(len(names)))
    columns = _columns(rows, 1)
    drawn = np.stack([iron.place(z[1:, j]) for j, iron in enumerate(prior.iron)])
    noise = np.stack([stream(seed, f"{n}/assay").standard_normal(trials) for n in rows.names])
    uniform = np.stack([stream(seed, f"{n}/limit").random(trials) for n in rows.names])
    x, t = chain_starts(prior, columns, amounts[1:].T, drawn, noise, uniform)
    scores = np.stack([iron.score_at(t[j]) for j, iron in enumerate(prior.iron)])
    moved = np.abs(t - drawn) > 1e-12
    chains = Chains(prior, columns, names, x, np.where(moved, scores, z[1:].T), seed)
    number, settled, drift = 0, False, np.zeros(len(names))
    while not settled and number < MOST_RUNS * sweeps:
        halfway = chains.x.copy()
        for sweep in range(number, number + sweeps):
            if sweep == number + sweeps // 2:
                halfway = chains.x.copy()
            _sweep(chains, sweep)
        number += sweeps
        drift = _drift(chains.x, halfway)
        settled = bool(np.all(drift < DRIFT_SD + 4.0 * np.sqrt(2.0 / trials)))
    final = chains.x / chains.x.sum(axis=0) * 100.0
    return Fit(np.vstack([best, final.T]), np.vstack([place, chains.t.T]), settled, drift)


def _columns(rows: Rows, first: int) -> Rows:
    """Rows without the typical trial."""
    if rows.low.shape[2] == 1 and rows.change.shape[2] == 1:
        return rows
    cut = [a if a.shape[2] == 1 else a[:, :, first:] for a in (rows.low, rows.change)]
    return replace(rows, low=cut[0], change=cut[1])


def _sweep(chains: Chains, number: int) -> None:
    phases = chains.phases
    biggest = int(np.argmax(chains.centre))
    width = WIDTHS[number % len(WIDTHS)]
    for j in range(phases):
        i = biggest if chains.choose.random() < 0.4 else int(chains.choose.integers(phases))
        if i == j:
            i = biggest if j != biggest else (j + 1) % phases
        if i != j:
            chains.exchange(j, i)
    for j in chains.small:
        i = biggest if chains.choose.random() < 0.5 else int(chains.choose.integers(phases))
        if i == j:
            i = (j + 1) % phases
        if i != j:
            chains.rescale(j, i, 2.0 * width)
    unseen = phases - 1
    for turn, j in enumerate(chains.variable):
        tradable = j not in chains.prior.hidden and biggest not in (j, unseen)
        if tradable and (turn + number) % 2:
            trade(chains, j, unseen, biggest, width)
        else:
            move_iron(chains, j, width)
    along_lines(chains)
    if number % 10 == 9:
        chains.refresh()


def _drift(now: Array, before: Array) -> Array:
    sd = np.maximum(now.std(axis=1), 1e-9)
    return np.abs(now.mean(axis=1) - before.mean(axis=1)) / sd
