"""Shares of variance by binning, with the bias of the binning taken off."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


def rank_bins(values: Array, bins: int) -> NDArray[np.intp]:
    """Bin of each draw, bins of nearly equal count; equal values share a bin.

    Parameters
    ----------
    values : array, shape (N,)
        Draws of one input. [any]
    bins : int
        Number of bins. [-]

    Returns
    -------
    array of int, shape (N,)
        Bin from 0 to bins - 1. [-]

    References
    ----------
    computed_here
    """
    _, place, counts = np.unique(values, return_inverse=True, return_counts=True)
    middle = np.cumsum(counts) - (counts + 1) / 2.0  # mean rank of each distinct value
    return np.asarray(np.minimum(middle[place] * bins / len(values), bins - 1).astype(np.intp))


def explained_share(output: Array, groups: NDArray[np.intp], inputs: Array) -> float:
    """Share of variance explained by a line (a plane) in each group, the chance part taken off.

    With p fitted figures and n draws, 1 - (residual sum of squares / (n - p)) / (total / (n - 1)):
    the plain ratio would give p/n to an input that does nothing. A slope inside each bin removes
    what a few wide bins lose of a smooth dependence.

    Parameters
    ----------
    output : array, shape (N,)
        Draws of the output. [any]
    groups : array of int, shape (N,)
        Group of each draw. [-]
    inputs : array, shape (N, D)
        Draws of the inputs, for the slopes. [any]

    Returns
    -------
    float
        Share from 0 to 1; 0 when the output does not vary. [-]

    References
    ----------
    common practice, no source (adjusted coefficient of determination)
    """
    values = np.asarray(output, dtype=float)
    _, place = np.unique(groups, return_inverse=True)
    counts = np.bincount(place)
    number, count = len(values), len(counts)
    deviation = values - values.mean()
    total = float(deviation @ deviation)
    free = number - count * (1 + inputs.shape[1])
    if free < 1 or total <= (1e-14 * np.abs(values).max()) ** 2 * number:
        return 0.0
    means = np.bincount(place, weights=deviation) / counts
    rest = deviation - means[place]
    spread = inputs.std(axis=0)
    scaled = (inputs - inputs.mean(axis=0)) / np.where(spread > 0.0, spread, 1.0)
    centres = np.stack([np.bincount(place, weights=x) / counts for x in scaled.T], axis=1)
    scaled = scaled - centres[place]
    cross = np.stack([np.bincount(place, weights=x * rest) for x in scaled.T], axis=1)
    square = np.array([[np.bincount(place, weights=x * z) for z in scaled.T] for x in scaled.T])
    ridge = 1e-9 * counts[:, None, None] * np.eye(inputs.shape[1])
    slope = np.linalg.solve(square.transpose(2, 0, 1) + ridge, cross[:, :, None])[:, :, 0]
    residual = float(rest @ rest) - float((slope * cross).sum())
    return float(np.clip(1.0 - residual / free / (total / (number - 1)), 0.0, 1.0))


def bins_for(draws: int, dimensions: int = 1) -> int:
    """Bins on each axis that keep binning and chance errors both small.

    Parameters
    ----------
    draws : int
        Number of draws. [-]
    dimensions : int
        Inputs binned together. [-]

    Returns
    -------
    int
        Bins on each axis, 1 to 24. [-]

    References
    ----------
    computed_here, tried on the functions of the tests
    """
    return int(np.clip(round((draws / 40.0) ** (1.0 / (dimensions + 0.5))), 1, 24))


def variance_share(inputs: Array, output: Array, bins: int | None = None) -> float:
    """First-order share of an output's variance that an input, or several together, explain.

    Var(E[Y|X]) / Var(Y) for one input. Draws with any undefined value are left out. Shares of
    several inputs sum to 1 only when the inputs are independent and their effects add.

    Parameters
    ----------
    inputs : array, shape (N,) or (N, D)
        Draws of one input or of D inputs taken together. [any]
    output : array, shape (N,)
        Draws of the output. [any]
    bins : int or None
        Bins on each axis; None chooses them from N and D. [-]

    Returns
    -------
    float
        Share from 0 to 1. [-]

    References
    ----------
    saltelli_ishigami for the index; common practice, no source (the bias correction)
    """
    values = np.asarray(output, dtype=float)
    given = np.asarray(inputs, dtype=float).reshape(len(values), -1)
    known = np.isfinite(values) & np.isfinite(given).all(axis=1)
    values, given = values[known], given[known]
    if len(values) < 4:
        return 0.0
    number = bins_for(len(values), given.shape[1]) if bins is None else bins
    groups = np.zeros(len(values), dtype=np.intp)
    for column in given.T:
        groups = groups * number + rank_bins(column, number)
    return explained_share(values, groups, given)
