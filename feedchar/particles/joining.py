"""Grains of two minerals that are joined: their grade, density and spread after breakage."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from feedchar.particles.free_share import wiegel_li_free_share

Array = NDArray[np.float64]


def beta_parameters(mean: ArrayLike, variance: ArrayLike) -> tuple[Array, Array]:
    """Exponents of the beta distribution of particle grade from its mean and variance.

    Parameters
    ----------
    mean : array_like
        Mean grade of the joined grains, between 0 and 1. [-]
    variance : array_like
        Variance of their grade, below mean (1 - mean). [-]

    Returns
    -------
    tuple of array
        The exponents a and b, arguments broadcast. [-]

    References
    ----------
    common practice, no source (moments of the beta distribution)
    """
    centre = np.asarray(mean, dtype=float)
    gamma = centre * (1.0 - centre) / np.asarray(variance, dtype=float) - 1.0
    return np.asarray(gamma * centre), np.asarray(gamma * (1.0 - centre))


def same_grain_share(size_ratio: ArrayLike) -> Array:
    """Chance that two points of a cubic particle lie in the same cubic grain of the lattice.

    Along one direction two points at distance x (density 2 (1 - x)) share a grain with chance
    1 - x/K, which integrates to 1 - 1/(3K) for K >= 1 and K - K^2/3 below; three directions cube
    it. The variance of particle grade by volume is then V (1 - V) times this chance.

    Parameters
    ----------
    size_ratio : array_like
        Grain size over particle size, K, above 0. [-]

    Returns
    -------
    array
        Chance, shape of `size_ratio`. [-]

    References
    ----------
    computed_here, on the lattice of wiegel_li_1967
    """
    ratio = np.asarray(size_ratio, dtype=float)
    along = np.where(
        ratio >= 1.0, 1.0 - 1.0 / (3.0 * np.maximum(ratio, 1.0)), ratio - ratio**2 / 3.0
    )
    return np.asarray(along**3)


def joined_grade_moments(
    size_ratio: ArrayLike, volume_fraction: ArrayLike
) -> tuple[Array, Array, Array]:
    """Free share of a mineral with mean and variance of the volume grade of its joined grains.

    From the two free shares and the variance of all particles on the same random lattice:
    L1 + (1 - L0 - L1) M = V, and L1 + (1 - L0 - L1)(s^2 + M^2) = V^2 + V (1 - V) times
    `same_grain_share`.

    Parameters
    ----------
    size_ratio : array_like
        Grain size over particle size, K, above 0. [-]
    volume_fraction : array_like
        Volume fraction V of the mineral in the rock, between 0 and 1. [-]

    Returns
    -------
    tuple of array
        Free share of the mineral, mean M and variance s^2 of the grade of joined grains by
        volume, arguments broadcast. [-]

    References
    ----------
    wiegel_li_1967 for the lattice; computed_here for the moments
    """
    ratio, volume = np.broadcast_arrays(
        np.asarray(size_ratio, dtype=float),
        np.clip(np.asarray(volume_fraction, dtype=float), 1e-9, 1.0 - 1e-9),
    )
    free = wiegel_li_free_share(ratio, volume)
    free_host = wiegel_li_free_share(ratio, 1.0 - volume)
    pure_mineral, pure_host = volume * free, (1.0 - volume) * free_host
    joined = np.maximum(1.0 - pure_mineral - pure_host, 1e-15)
    mean = np.clip(volume * (1.0 - free) / joined, 1e-9, 1.0 - 1e-9)
    square = volume**2 + volume * (1.0 - volume) * same_grain_share(ratio)
    variance = (square - pure_mineral) / joined - mean**2
    most = mean * (1.0 - mean)
    return free, mean, np.clip(variance, 1e-3 * most, 0.98 * most)
