"""Shares of variance for many samples at once: the binning of `shares`, rows beside draws."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from feedchar.uncertainty.shares import bins_for

Array = NDArray[np.float64]


def variance_shares(inputs: Array, outputs: Array, bins: int | None = None) -> Array:
    """First-order share of each row's variance that one input explains.

    Parameters
    ----------
    inputs : array, shape (N, T)
        Draws of the input of each row, no two of a row alike. [any]
    outputs : array, shape (N, T)
        Draws of the output. [any]
    bins : int or None
        Bins of equal count; None chooses them from T. [-]

    Returns
    -------
    array, shape (N,)
        Shares from 0 to 1, 0 with fewer than 4 draws or where the output does not vary. [-]

    References
    ----------
    saltelli_ishigami for the index; common practice, no source (the bias correction), as
    `feedchar.uncertainty.shares.variance_share`.
    """
    draws = outputs.shape[1]
    number = bins_for(draws) if bins is None else bins
    free = draws - 2 * number
    if draws < 4 or free < 1:
        return np.zeros(len(outputs))
    order = np.argsort(inputs, axis=1, kind="stable")
    values = np.take_along_axis(outputs, order, axis=1)
    values = values - values.mean(axis=1, keepdims=True)
    given = np.take_along_axis(inputs, order, axis=1)
    given = given - given.mean(axis=1, keepdims=True)
    given /= np.maximum(given.std(axis=1, keepdims=True), 1e-300)
    rank = np.arange(draws)
    place = np.minimum((rank * number / draws).astype(np.intp), number - 1)
    starts = np.searchsorted(place, np.arange(number))
    counts = np.diff(np.append(starts, draws))

    def summed(array: Array) -> Array:
        return np.asarray(np.add.reduceat(array, starts, axis=1))

    one, two = summed(values) / counts, summed(given) / counts
    rest = values - np.repeat(one, counts, axis=1)
    along = given - np.repeat(two, counts, axis=1)
    cross = summed(along * rest)
    residual = (rest * rest).sum(axis=1) - (
        cross * cross / (summed(along * along) + 1e-9 * counts)
    ).sum(axis=1)
    total = (values * values).sum(axis=1)
    still = total <= (1e-14 * np.abs(outputs).max(axis=1, initial=0.0)) ** 2 * draws
    ratio = np.divide(residual / free, total / (draws - 1), out=np.ones_like(total), where=~still)
    return np.clip(1.0 - ratio, 0.0, 1.0)
