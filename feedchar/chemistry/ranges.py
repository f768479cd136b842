"""Least and greatest amount of each phase that an assay allows, by linear programming."""

from __future__ import annotations

import numpy as np
from scipy.optimize import linprog

from feedchar.chemistry.mineralogy import Array
from feedchar.chemistry.system import Rows

_WIDENINGS = (2.0, 4.0, 8.0, 16.0)


def amount_ranges(rows: Rows, names: tuple[str, ...]) -> dict[str, tuple[float, float]]:
    """Range of each phase that honours the assay within 2 sd, whatever the minerals say.

    Parameters
    ----------
    rows : Rows
        K measured rows over M phases. [-]
    names : tuple of str
        Phases. [-]

    Returns
    -------
    dict of str to tuple of float
        Least and greatest amount; empty when no mixture comes within 16 sd. Each phase enters as
        two columns, the ends of its mixing line, which stand for every iron content between.
        [wt %]

    References
    ----------
    Posch & Kurz 2007 (from memory): the answer is a polytope, given by its extent.
    """
    low = rows.low[:, :, 0]
    high = low + rows.change[:, :, 0]
    columns = np.vstack([low, high]).T
    phases = len(names)
    for width in _WIDENINGS:
        upper = rows.value + np.where(rows.capped, 0.0, width * rows.sd)
        lower = np.where(rows.capped, 0.0, rows.value - width * rows.sd)
        scale = np.maximum(rows.sd, 1e-9)
        matrix = np.vstack([columns / scale[:, None], -columns / scale[:, None]])
        bound = np.concatenate([upper / scale, -lower / scale])
        found = _ranges(matrix, bound, phases)
        if found is not None:
            return {name: found[j] for j, name in enumerate(names)}
    return {}


def _ranges(matrix: Array, bound: Array, phases: int) -> list[tuple[float, float]] | None:
    whole, hundred = np.ones((1, 2 * phases)), np.array([100.0])
    out = []
    for phase in range(phases):
        cost = np.zeros(2 * phases)
        cost[[phase, phases + phase]] = 1.0
        ends = []
        for sign in (1.0, -1.0):
            answer = linprog(
                sign * cost, A_ub=matrix, b_ub=bound, A_eq=whole, b_eq=hundred, method="highs"
            )
            if answer.status != 0:
                return None
            ends.append(float(np.clip(sign * answer.fun, 0.0, 100.0)))
        out.append((ends[0], ends[1]))
    return out
