"""Running the chains of many rows until each row has settled."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from feedchar.batch.folded import FoldedChains
from feedchar.chemistry.fit import DRIFT_SD, MOST_RUNS, SWEEPS, WIDTHS

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]


def sweep(chains: FoldedChains, number: int) -> None:
    """One round of moves, in the order of feedchar.chemistry.fit.

    Parameters
    ----------
    chains : FoldedChains
        Changed in place. [-]
    number : int
        Which round. [-]

    References
    ----------
    Derived: as feedchar.chemistry.fit.
    """
    phases, biggest, choose = chains.phases, chains.biggest, chains.choose
    width = WIDTHS[number % len(WIDTHS)]
    for j in range(phases):
        i = biggest if choose.random() < 0.4 else int(choose.integers(phases))
        if i == j:
            i = biggest if j != biggest else (j + 1) % phases
        if i != j:
            chains.exchange(j, i)
    # Partners of factors are drawn for every phase, though only some rows take them.
    partners = [
        biggest if choose.random() < 0.5 else int(choose.integers(phases)) for _ in range(phases)
    ]
    for j in np.flatnonzero(chains.takes_factors.any(axis=1)).tolist():
        i = partners[j] if partners[j] != j else (j + 1) % phases
        if i != j:
            chains.factor(j, i, 2.0 * width)
    for turn, j in enumerate(chains.variable):
        chains.iron(j, width, with_mass=bool((turn + number) % 2))
    chains.along_lines()
    if number % 10 == 9:
        chains.refresh()


def settle(chains: FoldedChains) -> tuple[Array, Array, Flags]:
    """Sweep until the means of every row stand still, or give up.

    Parameters
    ----------
    chains : FoldedChains
        Starts of N rows. [-]

    Returns
    -------
    amounts : array, shape (M, C)
        Of all chains. [wt %]
    scores : array, shape (M, C)
        Standard normal scores of iron. [-]
    settled : array of bool, shape (N,)
        Rows that settled. [-]

    References
    ----------
    Derived: as feedchar.chemistry.fit; a row that has settled is left where it stands.
    """
    trials = chains.trials_a_row
    rows = chains.trials // trials
    x, z = chains.x.copy(), chains.z.copy()
    settled = np.zeros(rows, dtype=bool)
    running = np.arange(rows)
    for run in range(MOST_RUNS):
        halfway = chains.x
        for number in range(run * SWEEPS, (run + 1) * SWEEPS):
            if number == run * SWEEPS + SWEEPS // 2:
                halfway = chains.x.copy()
            sweep(chains, number)
        done = _drift(chains.x, halfway, trials) < DRIFT_SD + 4.0 * np.sqrt(2.0 / trials)
        places = (running[:, None] * trials + np.arange(trials)).ravel()
        x[:, places], z[:, places] = chains.x, chains.z
        settled[running[done]] = True
        if done.all() or run == MOST_RUNS - 1:
            break
        running, chains = running[~done], chains.of_rows(~done)
    return x, z, settled


def _drift(now: Array, before: Array, trials: int) -> Array:
    """Largest shift of a mean of each row, in sd of its phase. (N,)"""
    now, before = (a.reshape(len(a), -1, trials) for a in (now, before))
    sd = np.maximum(now.std(axis=2), 1e-9)
    shift = np.abs(now.mean(axis=2) - before.mean(axis=2)) / sd
    return np.asarray(shift.max(axis=0))
