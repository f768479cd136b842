"""Draws of a normal held between two bounds."""

from __future__ import annotations

import numpy as np
from scipy.special import ndtr, ndtri

from feedchar.chemistry.mineralogy import Array


def truncated_normal(mean: Array, sd: Array, low: Array, high: Array, uniform: Array) -> Array:
    """Draws of a normal held between two bounds, accurate in both tails.

    Parameters
    ----------
    mean, sd : array, shape (T,)
        Of the normal before it is cut. [any]
    low, high : array, shape (T,)
        Bounds. [as mean]
    uniform : array, shape (T,)
        Uniform draws. [-]

    Returns
    -------
    array, shape (T,)
        Draws within the bounds. [as mean]

    References
    ----------
    Inverse transform, on the side of the tail that keeps its digits (derived).
    """
    a, b = (low - mean) / sd, (high - mean) / sd
    flip = a > 0
    a, b = np.where(flip, -b, a), np.where(flip, -a, b)
    below, above = ndtr(a), ndtr(b)
    score = ndtri(below + uniform * (above - below))
    score = np.where(np.isfinite(score), score, np.clip(0.0, a, b))
    score = np.where(flip, -score, score)
    return np.clip(mean + sd * score, low, high)
