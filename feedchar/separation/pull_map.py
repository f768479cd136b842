"""Maps of the pull on grains over height and axial position, all pairs of harmonics in.

The square of the field is a sum over pairs of harmonics, B_n B_m e^(-(n+m)ky) cos((n-m)kz), and
the average of each pair over a sphere or a flat flake is known in closed form, so that the pull
on a grain of finite size is exact but for the grid. Pull is stored as one complex number a point:
towards the roll, and along its axis. Heights are even steps of e^(-ky), the decay of the first
harmonic, in which the pull is nearly a parabola: close steps on the belt, none wasted above.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property, lru_cache
from math import pi

import numpy as np
from numpy.typing import NDArray

from feedchar.magnetics.pull import flake_average, scaled_sphere_average
from feedchar.separation.grain_nodes import GrainNodes, Kind, grain_nodes

Array = NDArray[np.float64]

HEIGHTS = 128
"""Levels from the contact, the first, up to where nothing pulls any more, the last."""
AXIAL_CELLS = 128
"""Points over one pitch; a power of two, so that a position is folded by its low bits."""

LINEAR, MOMENT = "linear", "moment"
"""Pull laws: of a susceptibility (T²/m over mu0), of a constant moment (T/m)."""


@dataclass(frozen=True)
class PullMap:
    """Pull per unit of susceptibility over mu0, or per unit of moment, on each grain node."""

    values: NDArray[np.complex128]
    """(P, heights, axial cells): towards the roll + i times along the axis. [T² m⁻¹ or T m⁻¹]"""
    pitch_m: float

    @cached_property
    def single(self) -> NDArray[np.complex64]:
        """The values in single precision, the first axial cell again after the last; belts of all
        speeds share them."""
        around = np.empty((*self.values.shape[:2], AXIAL_CELLS + 1), dtype=np.complex64)
        around[:, :, :-1] = self.values
        around[:, :, -1] = self.values[:, :, 0]
        return around.reshape(-1)

    @property
    def decay_per_m(self) -> float:
        """Decay of the first harmonic with height. [m⁻¹]"""
        return pi / self.pitch_m

    @property
    def cells_per_m(self) -> float:
        """Cells per metre along the axis. [m⁻¹]"""
        return AXIAL_CELLS / self.pitch_m

    @property
    def heights_m(self) -> Array:
        """Height of each level above the contact, (heights,); the last is out of reach. [m]"""
        return level_heights(self.pitch_m)

    def at_contact(self, axial_m: Array) -> Array:
        """Pull towards the roll on the belt, (P, positions)."""
        along = axial_m * self.cells_per_m
        left = np.floor(along).astype(np.intp)
        right_share = along - left
        left, right = left % AXIAL_CELLS, (left + 1) % AXIAL_CELLS
        on_belt = self.values[:, 0].real
        return on_belt[:, left] * (1.0 - right_share) + on_belt[:, right] * right_share


def level_heights(pitch_m: float) -> Array:
    """Heights of the levels of a map.

    Parameters
    ----------
    pitch_m : float
        Magnet plus steel. [m]

    Returns
    -------
    array, shape (heights,)
        Above the contact; infinite at the last. [m]

    References
    ----------
    Even steps of e^(-ky), derived here.
    """
    fallen = np.linspace(1.0, 0.0, HEIGHTS)
    heights = np.full(HEIGHTS, np.inf)
    heights[:-1] = np.log(fallen[:-1]) * (-pitch_m / pi)
    return heights


@lru_cache(maxsize=6)
def pull_map(
    harmonics_tesla: tuple[float, ...],
    pitch_m: float,
    roll_radius_m: float,
    belt_thickness_m: float,
    kinds: tuple[Kind, ...],
    diameters_m: tuple[float, ...],
    law: str,
) -> PullMap:
    """Pull on every grain node over height above the contact and axial position.

    Parameters
    ----------
    harmonics_tesla : tuple of float
        Odd radial harmonics at the bare roll surface. [T]
    pitch_m : float
        Magnet plus steel. [m]
    roll_radius_m : float
        Radius of the bare roll. [m]
    belt_thickness_m : float
        Belt thickness. [m]
    kinds : tuple of Kind
        Shapes and densities of the nodes. [-]
    diameters_m : tuple of float
        Sizes of the nodes. [m]
    law : str
        linear | moment; the mean field over the grain stands for |B| in the second. [-]

    Returns
    -------
    PullMap
        Kept for the run. [T² m⁻¹ or T m⁻¹]

    References
    ----------
    Pairs of harmonics and their closed-form averages, derived here; the cylinder enters as
    R / (R + y), the leading term of the Bessel ratios.
    """
    nodes = grain_nodes(kinds, diameters_m)
    k = pi / pitch_m
    order: Array = np.arange(1.0, 2.0 * len(harmonics_tesla), 2.0)
    first, second = np.triu_indices(len(order))
    apart = second - first
    by_apart = np.argsort(apart, kind="stable")
    first, second, apart = first[by_apart], second[by_apart], apart[by_apart]
    field = np.asarray(harmonics_tesla)
    amplitude = field[first] * field[second] * np.where(apart > 0, 2.0, 1.0)
    total = (order[first] + order[second]) * k
    average = _grain_average(nodes, belt_thickness_m, order[first] * k, order[second] * k)
    average *= amplitude

    height = level_heights(pitch_m)
    fall = np.exp(-np.multiply.outer(total, height))
    starts = np.searchsorted(apart, np.arange(len(order) + 1))
    square = np.empty((len(order), len(nodes), HEIGHTS))
    slope = np.empty_like(square)
    sloped = average * (0.5 * total)
    for step in range(len(order)):
        pair = slice(starts[step], starts[step + 1])
        square[step] = average[:, pair] @ fall[pair]
        slope[step] = sloped[:, pair] @ fall[pair]
    contact = roll_radius_m + belt_thickness_m + nodes.half_height_m[:, None]
    cylinder = roll_radius_m / (contact + height)
    flat_slope = (slope * cylinder).reshape(len(order), -1)
    flat_square = (square * cylinder).reshape(len(order), -1)

    # From the middle of a magnet to the middle of the steel; the rest of a pitch mirrors it.
    cells = AXIAL_CELLS // 2 + 1
    wave = 2.0 * k * np.arange(len(order))
    phase = np.multiply.outer(wave, np.arange(cells) / AXIAL_CELLS * pitch_m)
    shape = (len(nodes), HEIGHTS, cells)
    values = np.empty((len(nodes), HEIGHTS, AXIAL_CELLS), dtype=complex)
    half = values[:, :, :cells]
    half.real = (flat_slope.T @ np.cos(phase)).reshape(shape)
    half.imag = (flat_square.T @ (-0.5 * wave[:, None] * np.sin(phase))).reshape(shape)
    if law == MOMENT:
        half /= np.sqrt(np.maximum((flat_square.T @ np.cos(phase)).reshape(shape), 1e-30))
    np.conjugate(values[:, :, cells - 2 : 0 : -1], out=values[:, :, cells:])
    return PullMap(values, pitch_m)


def _grain_average(
    nodes: GrainNodes, belt_thickness_m: float, first: Array, second: Array
) -> Array:
    """Average of each pair over a grain on the belt, decay to its centre included: (P, pairs)."""
    total = first + second
    average = np.empty((len(nodes), len(total)))
    flat = nodes.is_flake
    size = nodes.diameter_m[:, None]
    centre = belt_thickness_m + nodes.half_height_m[:, None]
    # k d sqrt(nm) never exceeds (n+m) k d / 2, so the joint exponent is never positive.
    x = size[~flat] * np.sqrt(first * second)
    average[~flat] = scaled_sphere_average(x) * np.exp(x - total * centre[~flat])
    disc = flake_average(
        2.0 * nodes.half_height_m[flat, None], size[flat], total, np.abs(second - first)
    )
    average[flat] = disc * np.exp(-total * centre[flat])
    return average
