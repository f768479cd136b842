"""A table of mass by phase and class, scaled to both of its margins."""

from __future__ import annotations

import numpy as np

from feedchar.chemistry.mineralogy import Array

ROUNDS = 60
CLOSE = 1e-13
LEAST = 1e-15


def fitted_table(table: Array, rows: Array, columns: Array) -> Array:
    """Table of mass scaled to both margins.

    Parameters
    ----------
    table : array, shape (T, M, S)
        Positive first guess. [-]
    rows : array, shape (T, M)
        Mass of each phase. [-]
    columns : array, shape (S,) or (T, S)
        Mass of each class; both sum to 1. [-]

    Returns
    -------
    array, shape (T, M, S)
        Same interactions, margins met: phases exactly, classes to rounding. [-]

    References
    ----------
    Iterative proportional fitting (Deming and Stephan 1940, from memory).
    """
    # Trials last: every sum then runs over long rows, in the same order.
    out = np.ascontiguousarray(table.transpose(2, 1, 0))
    rows = np.ascontiguousarray(rows.T)
    columns = columns[:, None] if columns.ndim == 1 else columns.T
    for _ in range(ROUNDS):
        out *= (columns / np.maximum(out.sum(axis=1), LEAST))[:, None, :]
        sums = out.sum(axis=0)
        out *= rows / np.maximum(sums, LEAST)
        if np.max(np.abs(sums - rows)) < CLOSE:
            break
    return np.ascontiguousarray(out.transpose(2, 1, 0))
