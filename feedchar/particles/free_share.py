"""How much of a mineral a grind frees, by published models as plain functions over arrays.

All of them break a rock at random. Micas and heavy minerals of natural sands weather free along
their boundaries, so for a sand these figures are a pessimistic bound; for crushed rock they are
a fair first guess.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]


def gaudin_free_share(size_ratio: ArrayLike) -> Array:
    """Share of a sparse mineral that is free, cubic grains cut by a cubic lattice.

    Parameters
    ----------
    size_ratio : array_like
        Grain size over particle size, K. [-]

    Returns
    -------
    array
        (1 - 1/K)^3 for K above 1, else 0; shape of `size_ratio`. [-]

    References
    ----------
    gaudin_1939 (from memory)
    """
    ratio = np.asarray(size_ratio, dtype=float)
    return np.asarray((1.0 - 1.0 / np.maximum(ratio, 1.0)) ** 3)


def wiegel_li_free_share(size_ratio: ArrayLike, volume_fraction: ArrayLike) -> Array:
    """Share of a mineral that is free, grains of two minerals at random in a cubic lattice.

    A particle meets n + 1 or n + 2 grains in each direction, n = floor(1/K); it is free when
    all the grains that it meets are of the same mineral.

    Parameters
    ----------
    size_ratio : array_like
        Grain size over particle size, K, above 0. [-]
    volume_fraction : array_like
        Volume fraction of the mineral in the rock. [-]

    Returns
    -------
    array
        Free share of the mineral, arguments broadcast. [-]

    References
    ----------
    wiegel_li_1967 (form from memory, re-derived)
    """
    ratio, volume = np.broadcast_arrays(
        np.asarray(size_ratio, dtype=float), np.asarray(volume_fraction, dtype=float)
    )
    whole = np.floor(1.0 / ratio)
    more = 1.0 / ratio - whole  # chance of meeting n + 2 grains in one direction
    fewer = 1.0 - more
    low, high = whole + 1.0, whole + 2.0
    power = [low**3, low**2 * high, low * high**2, high**3]
    weight = [fewer**3, 3 * fewer**2 * more, 3 * fewer * more**2, more**3]
    share = np.zeros(ratio.shape)
    for p, w in zip(power, weight, strict=True):
        share = share + w * volume ** (p - 1.0)
    return np.asarray(share)


def king_free_share(size_over_intercept: ArrayLike, steps: int = 2000) -> Array:
    """Share of a mineral that is free, from linear intercepts that are exponential.

    L(D) = 1 - (1/mu) integral_0^D [1 - N(l|D)] exp(-l/mu) dl with
    1 - N(l|D) = (1 - l/D) (1 - l^2/D^2)^(1/2).

    Parameters
    ----------
    size_over_intercept : array_like
        Particle size over the mineral's mean intercept, D/mu. [-]
    steps : int
        Intervals of the midpoint rule. [-]

    Returns
    -------
    array
        Free share, shape of `size_over_intercept`. [-]

    References
    ----------
    king_1979 (form from memory, integral computed)
    """
    ratio = np.asarray(size_over_intercept, dtype=float)
    x = (np.arange(steps) + 0.5) / steps
    kernel = (1.0 - x) * np.sqrt(1.0 - x**2)
    integral = (kernel * np.exp(-ratio[..., None] * x)).mean(axis=-1)
    return np.asarray(1.0 - ratio * integral)
