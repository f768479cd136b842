"""Trials weighed by how well they foretell what was measured."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from feedchar.uncertainty.streams import stream

Array = NDArray[np.float64]
Index = NDArray[np.intp]


def weights_of(ln_weight: Array) -> Array:
    """Weights that sum to 1.

    Parameters
    ----------
    ln_weight : array, shape (N,)
        Their logarithms, up to a constant. [-]

    Returns
    -------
    array, shape (N,)
        All alike where every trial is impossible. [-]

    References
    ----------
    Definition.
    """
    top = np.max(ln_weight)
    if not np.isfinite(top):
        return np.full(len(ln_weight), 1.0 / len(ln_weight))
    raw = np.exp(ln_weight - top)
    return np.asarray(raw / raw.sum())


def effective_sample(weight: Array) -> float:
    """Number of equally weighted trials that are worth as much.

    Parameters
    ----------
    weight : array, shape (N,)
        Weights that sum to 1. [-]

    Returns
    -------
    float
        1 / sum of squares. [-]

    References
    ----------
    Survey sampling (from memory).
    """
    return float(1.0 / np.sum(weight**2))


def resampled(weight: Array, count: int, seed: int, name: str) -> Index:
    """Trials drawn by their weights, evenly spaced so that little chance enters.

    Parameters
    ----------
    weight : array, shape (N,)
        Weights that sum to 1. [-]
    count : int
        How many to draw. [-]
    seed : int
        Seed of the stream. [-]
    name : str
        Name of the stream. [-]

    Returns
    -------
    array of int, shape (count,)
        Indices, rising. [-]

    References
    ----------
    Systematic resampling; common practice, no source.
    """
    start = stream(seed, name).random()
    places = (start + np.arange(count)) / count
    upto = np.cumsum(weight)
    return np.searchsorted(upto / upto[-1], places, side="right").clip(0, len(weight) - 1)
