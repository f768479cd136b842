"""Surface potential of a roll at a few stations, and the harmonics that follow from it.

The harmonics of high order swing with the position of the pole edge, so they cannot be
interpolated between rolls; the scalar potential along the surface, taken at stations that move
with the edge, changes smoothly. All lengths here are in pitches and the potential mu0 phi in
remanence times pitch. z runs from the middle of a magnet (0) to the middle of the steel (1/2).
"""

from __future__ import annotations

from functools import lru_cache
from math import pi

import numpy as np
from numpy.typing import NDArray
from scipy.special import kve

Array = NDArray[np.float64]

MAGNET_STATIONS = 13
"""Stations over the magnet, from the edge inward; the potential is 0 in its middle."""

STEEL_STATIONS = 9
"""Stations over the steel, from beside the edge to the middle."""

STATIONS = MAGNET_STATIONS + STEEL_STATIONS

EDGE_POWER = 2
"""Distance from the edge goes with this power of the interpolation variable, which takes the
singularity of the corner off. [-]"""

QUADRATURE_POINTS = 200


def station_positions(magnet_to_steel: float) -> Array:
    """Where the potential is tabulated.

    Parameters
    ----------
    magnet_to_steel : float
        Thickness of magnet over steel. [-]

    Returns
    -------
    array, shape (22,)
        Distance from mid-magnet over pitch: over the magnet from the edge inward, then over the
        steel from the edge outward. [-]

    References
    ----------
    Chebyshev points by definition, drawn together at the edge.
    """
    edge = _edge(magnet_to_steel)
    over_magnet = edge * (1.0 - _chebyshev(MAGNET_STATIONS + 1)[:-1] ** EDGE_POWER)
    over_steel = edge + (0.5 - edge) * _chebyshev(STEEL_STATIONS + 1)[1:] ** EDGE_POWER
    return np.concatenate([over_magnet, over_steel])


def harmonics_of_potential(
    potential: Array, magnet_to_steel: float, pitch_to_radius: float, count: int
) -> Array:
    """Odd radial harmonics at the surface from the potential at the stations.

    psi_n = 4 integral of psi sin(n pi z) over a quarter period, and outside the roll
    B_n = n pi K1(n pi R) / K0(n pi R) psi_n with R in pitches.

    Parameters
    ----------
    potential : array, shape (22,)
        Potential over remanence times pitch at `station_positions`. [-]
    magnet_to_steel : float
        Thickness of magnet over steel. [-]
    pitch_to_radius : float
        Pitch over roll radius. [-]
    count : int
        How many odd harmonics. [-]

    Returns
    -------
    array, shape (count,)
        B_n over remanence. [-]

    References
    ----------
    Separation of variables outside a cylinder (from memory).
    """
    edge = _edge(magnet_to_steel)
    t, weight, from_magnet, from_steel = _quadrature()
    over_magnet = from_magnet @ np.append(potential[:MAGNET_STATIONS], 0.0)
    over_steel = from_steel @ np.append(potential[0], potential[MAGNET_STATIONS:])
    stretch = weight * EDGE_POWER * t ** (EDGE_POWER - 1)
    n_pi: Array = pi * (2.0 * np.arange(count, dtype=float) + 1.0)
    along_magnet = np.sin(np.multiply.outer(n_pi, edge * (1.0 - t**EDGE_POWER)))
    along_steel = np.sin(np.multiply.outer(n_pi, edge + (0.5 - edge) * t**EDGE_POWER))
    amplitude = 4.0 * (
        edge * along_magnet @ (over_magnet * stretch)
        + (0.5 - edge) * along_steel @ (over_steel * stretch)
    )
    return outside_slope(n_pi, pitch_to_radius) * amplitude


def outside_slope(n_pi: Array, pitch_to_radius: float) -> Array:
    """Radial flux density over potential of each harmonic at the surface of a cylinder.

    Parameters
    ----------
    n_pi : array, shape (N,)
        Wave number times pitch. [-]
    pitch_to_radius : float
        Pitch over radius of the cylinder. [-]

    Returns
    -------
    array, shape (N,)
        n pi K1(n pi R) / K0(n pi R). [-]

    References
    ----------
    Separation of variables outside a cylinder (from memory).
    """
    argument = n_pi / pitch_to_radius
    return n_pi * kve(1, argument) / kve(0, argument)


def _edge(magnet_to_steel: float) -> float:
    """Distance of the pole edge from mid-magnet, in pitches."""
    return 0.5 * magnet_to_steel / (1.0 + magnet_to_steel)


def _chebyshev(count: int) -> Array:
    """Chebyshev points of the second kind from 0 to 1."""
    return 0.5 * (1.0 - np.cos(pi * np.arange(count) / (count - 1)))


@lru_cache(maxsize=1)
def _quadrature() -> tuple[Array, Array, Array, Array]:
    """Gauss points and weights from 0 to 1, and the two interpolations from stations to them."""
    points, weights = np.polynomial.legendre.leggauss(QUADRATURE_POINTS)
    t = 0.5 * (points + 1.0)
    return (
        t,
        0.5 * weights,
        _interpolation(MAGNET_STATIONS + 1, t),
        _interpolation(STEEL_STATIONS + 1, t),
    )


def _interpolation(count: int, t: Array) -> Array:
    """Matrix of the polynomial through Chebyshev points (barycentric form)."""
    sign = (-1.0) ** np.arange(count)
    sign[[0, -1]] *= 0.5
    terms = sign / (t[:, None] - _chebyshev(count))
    return np.asarray(terms / terms.sum(axis=1, keepdims=True))
