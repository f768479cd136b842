"""How much belt a stream needs, and of which widths."""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil

import numpy as np
from numpy.typing import NDArray

from feedchar.separation.capacity import sauter_mean, single_layer_capacity
from feedchar.separation.load import FULL_COVERAGE
from feedchar.separation.records import Grains
from feedchar.units import KG_S_PER_T_H

Array = NDArray[np.float64]

USUAL_WIDTHS_M = (0.5, 1.0, 1.5)
"""Belt widths that one can buy; common practice, no source. [m]"""


@dataclass(frozen=True)
class Lay:
    """A stream as it lies on a belt."""

    sauter_m: float
    density_kg_m3: float

    def capacity_t_h_m(self, belt_speed_m_s: float) -> float:
        """Feed of a full single layer, per metre of belt. [t h⁻¹ m⁻¹]"""
        full = single_layer_capacity(
            self.density_kg_m3, self.sauter_m, FULL_COVERAGE, belt_speed_m_s
        )
        return float(full) / KG_S_PER_T_H


def lay_of(mass: Array, grains: Grains) -> Lay:
    """Sauter mean and density of a stream, from the shadows that its grains throw on a belt.

    Parameters
    ----------
    mass : array, shape (C,)
        Mass of each class in the stream. [any]
    grains : Grains
        Sizes, shapes and densities of the classes. [SI]

    Returns
    -------
    Lay
        Flakes lie flat and count as spheres that cover as much for their mass. [SI]

    References
    ----------
    Geometry of spheres and discs, derived here.
    """
    low = np.where(grains.retained_m > 0.0, grains.retained_m, grains.passing_m / 2.0)
    size = np.sqrt(grains.passing_m * low)
    # A disc covers 1 / (rho t), a sphere 3 / (2 rho d).
    size = np.where(grains.is_flake, 1.5 * grains.thickness_ratio * size, size)
    volume = mass / grains.density_kg_m3
    if not volume.sum() > 0.0:
        return Lay(float(size.mean()), float(grains.density_kg_m3.mean()))
    return Lay(sauter_mean(volume, size), float(mass.sum() / volume.sum()))


def units_of(metres: float) -> tuple[int, float]:
    """The fewest belts of a usual width that together are wide enough.

    Parameters
    ----------
    metres : float
        Belt needed. [m]

    Returns
    -------
    count : int
        Belts side by side. [-]
    width_m : float
        The narrowest usual width that does with so many. [m]

    References
    ----------
    common practice, no source
    """
    count = belts_of(metres, USUAL_WIDTHS_M[-1])
    width = next(one for one in USUAL_WIDTHS_M if count * one >= metres * (1.0 - 1e-9))
    return count, width


def belts_of(metres: float, width_m: float) -> int:
    """Belts of one width that together are wide enough.

    Parameters
    ----------
    metres : float
        Belt needed. [m]
    width_m : float
        Width of each. [m]

    Returns
    -------
    int
        At least one. [-]

    References
    ----------
    computed_here
    """
    return max(1, ceil(metres / width_m - 1e-9))
