"""Published models of how grains are joined after breakage, as plain functions over arrays.

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


def mass_grade(
    volume_grade: ArrayLike, mineral_density_kg_m3: ArrayLike, host_density_kg_m3: ArrayLike
) -> Array:
    """Mass fraction of a mineral in a composite grain from its volume fraction.

    Parameters
    ----------
    volume_grade : array_like
        Volume fraction of the mineral in the grain. [-]
    mineral_density_kg_m3, host_density_kg_m3 : array_like
        Densities. [kg m⁻³]

    Returns
    -------
    array
        Mass fraction, arguments broadcast. [-]

    References
    ----------
    computed_here (composite_grain.csv)
    """
    grade = np.asarray(volume_grade, dtype=float)
    mineral = grade * np.asarray(mineral_density_kg_m3, dtype=float)
    return np.asarray(mineral / (mineral + (1.0 - grade) * np.asarray(host_density_kg_m3)))


def volume_grade(
    mass_grade: ArrayLike, mineral_density_kg_m3: ArrayLike, host_density_kg_m3: ArrayLike
) -> Array:
    """Volume fraction of a mineral in a composite grain from its mass fraction.

    Parameters
    ----------
    mass_grade : array_like
        Mass fraction of the mineral in the grain. [-]
    mineral_density_kg_m3, host_density_kg_m3 : array_like
        Densities. [kg m⁻³]

    Returns
    -------
    array
        Volume fraction, arguments broadcast. [-]

    References
    ----------
    computed_here (composite_grain.csv)
    """
    grade = np.asarray(mass_grade, dtype=float)
    mineral = grade / np.asarray(mineral_density_kg_m3, dtype=float)
    return np.asarray(mineral / (mineral + (1.0 - grade) / np.asarray(host_density_kg_m3)))


def composite_density(
    volume_grade: ArrayLike, mineral_density_kg_m3: ArrayLike, host_density_kg_m3: ArrayLike
) -> Array:
    """Density of a composite grain.

    Parameters
    ----------
    volume_grade : array_like
        Volume fraction of the mineral. [-]
    mineral_density_kg_m3, host_density_kg_m3 : array_like
        Densities. [kg m⁻³]

    Returns
    -------
    array
        Density, arguments broadcast. [kg m⁻³]

    References
    ----------
    computed_here (composite_grain.csv)
    """
    grade = np.asarray(volume_grade, dtype=float)
    return np.asarray(
        grade * np.asarray(mineral_density_kg_m3)
        + (1.0 - grade) * np.asarray(host_density_kg_m3, dtype=float)
    )


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
