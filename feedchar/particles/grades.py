"""Grade bins of joined grains: fixed edges, filled with incomplete-beta masses.

Edges are fixed so that classes keep their identity over the trials while their masses vary.
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
from scipy.special import betainc, ndtr

from feedchar.particles.composite_grain import volume_grade

Array = NDArray[np.float64]

STATED_GRADES = np.array([0.02, 0.10, 0.30, 0.60])
"""Mass grades of joined grains when nothing is known (guess). [-]"""
STATED_SHARES = np.array([0.10, 0.25, 0.35, 0.30])
"""Share of the joined mineral at each of those grades (guess). [-]"""

_EIGHT_EDGES = (0.0, 0.01, 0.03, 0.07, 0.15, 0.30, 0.50, 0.75, 1.0)


@lru_cache(maxsize=8)
def _edges(bins: int) -> tuple[float, ...]:
    position = np.linspace(0.0, 8.0, bins + 1)
    return tuple(np.interp(position, np.arange(9.0), _EIGHT_EDGES).tolist())


def grade_edges(bins: int = 8) -> Array:
    """Fixed edges of the grade bins, finer at the poor end where a magnet decides.

    Parameters
    ----------
    bins : int
        Number of bins. [-]

    Returns
    -------
    array, shape (bins + 1,)
        Mass fraction of the mineral in the grain. [-]

    References
    ----------
    computed_here
    """
    return np.array(_edges(bins))


def beta_bins(
    exponent_a: Array,
    exponent_b: Array,
    mineral_density_kg_m3: float,
    host_density_kg_m3: float,
    bins: int = 8,
) -> tuple[Array, Array]:
    """Shares of the joined mineral and of its host in each grade bin.

    The grade by volume is beta distributed over the grains' volume; weighting by the mineral
    raises the first exponent by one, weighting by the host the second.

    Parameters
    ----------
    exponent_a, exponent_b : array, any shape
        Exponents of the distribution of volume grade. [-]
    mineral_density_kg_m3, host_density_kg_m3 : float
        Densities. [kg m⁻³]
    bins : int
        Number of bins. [-]

    Returns
    -------
    tuple of array, shape (..., bins)
        Share of the mineral and share of the host in each bin, each summing to 1. [-]

    References
    ----------
    common practice, no source (beta distribution of particle grade)
    """
    edges = volume_grade(grade_edges(bins), mineral_density_kg_m3, host_density_kg_m3)
    a, b = np.asarray(exponent_a)[..., None], np.asarray(exponent_b)[..., None]
    # The last digits of the incomplete beta function may fall where it is all but flat.
    mineral = np.maximum.accumulate(betainc(a + 1.0, b, edges), axis=-1)
    host = np.maximum.accumulate(betainc(a, b + 1.0, edges), axis=-1)
    return np.diff(mineral, axis=-1), np.diff(host, axis=-1)


def inclusion_grades(bins: int, centre: Array) -> tuple[Array, Array]:
    """Edges and middles, evenly spaced in the logarithm, for minerals inside pale grains.

    Seven units of the logarithm are covered, more of them above the centre: few bearing grains
    hold more each.

    Parameters
    ----------
    bins : int
        Number of bins. [-]
    centre : array, shape (S,)
        Median mass fraction, weighted by the mineral, in the grains that hold it, typical case,
        by size. [-]

    Returns
    -------
    tuple of array, shapes (S, bins - 1) and (S, bins)
        Inner edges (the outer bins are open) and grades of the bins, at most 0.9. [-]

    References
    ----------
    computed_here
    """
    low = np.log(np.clip(np.asarray(centre), 1e-7, 0.5)) - 2.5
    high = np.minimum(low + 7.0, np.log(0.9))
    ends = low[:, None] + (high - low)[:, None] * np.linspace(0.0, 1.0, bins + 1)
    return np.exp(ends[:, 1:-1]), np.exp((ends[:, 1:] + ends[:, :-1]) / 2.0)


def log_normal_bins(median: Array, ln_sd: float, inner_edges: Array) -> Array:
    """Share of a log-normal quantity in bins with open ends.

    Parameters
    ----------
    median : array, any shape
        Median of the quantity. [as the edges]
    ln_sd : float
        Standard deviation of its logarithm. [-]
    inner_edges : array, shape (..., B - 1)
        Edges between the bins, broadcast against the median. [as the median]

    Returns
    -------
    array, shape (..., B)
        Shares, summing to 1. [-]

    References
    ----------
    common practice, no source
    """
    distance = (np.log(inner_edges) - np.log(np.asarray(median)[..., None])) / ln_sd
    below = ndtr(distance)
    ends = np.zeros((*below.shape[:-1], 1))
    return np.diff(np.concatenate([ends, below, ends + 1.0], axis=-1), axis=-1)
