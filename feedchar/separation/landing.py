"""Where every grain node lands, on a grid of pull and of angle of release; kept for the run.

The grid does not depend on the sample's composition, nor on the edges. Pull is measured on the
belt, as a ratio to v^2/Rc. Adhesion only delays the release, so it is not a node: each pull has
an earliest release (no adhesion), one midway to 90 degrees, and from there on the grain drops
inside the edge; any spread of adhesion is then an integral over the angle (see `capture`).
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from math import pi

import numpy as np
from numpy.typing import NDArray

from feedchar.constants import GRAVITY_M_S2, VACUUM_PERMEABILITY_T_M_A
from feedchar.separation.grain_nodes import GrainNodes, Kind, grain_nodes
from feedchar.separation.pull_map import LINEAR, pull_map
from feedchar.separation.thrower import Release, Thrower
from feedchar.separation.trajectories import landing_positions

Array = NDArray[np.float64]

PULL_RATIOS = np.array(
    [-1.15, -0.5, -0.2, 0.0, 0.1, 0.2, 0.28, 0.35, 0.41, 0.46, 0.51, 0.55, 0.59, 0.63, 0.67, 0.71,
     0.745, 0.78, 0.815, 0.85, 0.88, 0.91, 0.94, 0.97, 1.0, 1.04, 1.1, 1.17, 1.25]
)  # fmt: skip
"""Pull on the belt over v^2/Rc; beyond the last the grain is carried round. The first serve sand on
slow belts, which is pushed off with up to a quarter of its weight."""
HARDEST_PUSH_M_S2 = GRAVITY_M_S2
"""Harder pushes, which no common mineral feels, count as the hardest that is flown."""
AXIAL_NODES = 6
"""Axial positions over a quarter period, middle of a magnet to middle of the steel."""
LATE = 0.5
"""The second release lies this far from the earliest one to 90 degrees."""
TYPICAL_ADHESION_N = 1e-8
"""Adhesion of a grain that leaves at the earliest angle and meets the belt again, at most."""
STRONGEST_ADHESION_N = 1e-6
"""Where a delay would take more than this, the later release is not flown."""


@dataclass(frozen=True)
class LandingGrid:
    """Landing positions of P nodes at Z axial positions and L pull ratios."""

    nodes: GrainNodes
    earliest_m: Array
    """(P, Z, L) released without adhesion."""
    late_m: Array
    """(P, Z, L) released midway to 90 degrees."""
    centrifugal_m_s2: Array
    """(P,) v^2 / Rc."""
    path_radius_m: Array
    """(P,)"""
    pull_per_unit: Array
    """(P, Z) pull on the belt per unit of susceptibility, or of moment. [m s⁻² per unit]"""


def axial_nodes(pitch_m: float) -> Array:
    """Axial positions of the grid.

    Parameters
    ----------
    pitch_m : float
        Magnet plus steel. [m]

    Returns
    -------
    array, shape (6,)
        From mid-magnet. [m]

    References
    ----------
    Midpoint rule over a quarter period, derived here.
    """
    return (np.arange(AXIAL_NODES) + 0.5) / AXIAL_NODES * 0.5 * pitch_m


@lru_cache(maxsize=64)
def landing_grid(
    harmonics_tesla: tuple[float, ...],
    thrower: Thrower,
    kinds: tuple[Kind, ...],
    diameters_m: tuple[float, ...],
    law: str = LINEAR,
) -> LandingGrid:
    """Fly every node once over the grid of pull and release.

    Parameters
    ----------
    harmonics_tesla : tuple of float
        Odd radial harmonics at the bare roll surface. [T]
    thrower : Thrower
        Belt and roll. [SI]
    kinds : tuple of Kind
        Shapes and densities. [-]
    diameters_m : tuple of float
        Sizes. [m]
    law : str
        linear | moment: how the pull fades with height. [-]

    Returns
    -------
    LandingGrid
        Kept for the run. [SI]

    References
    ----------
    Radial balance and flight, derived here; checked against single grains in the tests.
    """
    nodes = grain_nodes(kinds, diameters_m)
    pulls = pull_map(
        harmonics_tesla,
        thrower.pitch_m,
        thrower.roll_radius_m,
        thrower.belt_thickness_m,
        kinds,
        diameters_m,
        law,
    )
    axial = axial_nodes(thrower.pitch_m)
    radius = thrower.path_radius_m(nodes)
    centrifugal = thrower.turn_rad_s**2 * radius
    on_belt = pulls.at_contact(axial)
    shape = (len(nodes), AXIAL_NODES, len(PULL_RATIOS))

    surplus = centrifugal[:, None, None] * (1.0 - PULL_RATIOS)
    surplus = np.broadcast_to(surplus, shape)
    first = np.arccos(np.clip(surplus / GRAVITY_M_S2, -1.0, 1.0))
    hardest = int(np.sum(PULL_RATIOS * centrifugal.min() < -HARDEST_PUSH_M_S2))
    flown_first = (first < pi / 2 - 1e-9) & (np.arange(len(PULL_RATIOS)) >= hardest)
    later = first + LATE * (pi / 2 - first)
    held_back = np.maximum(surplus - GRAVITY_M_S2 * np.cos(first), 0.0)
    typical = np.minimum(TYPICAL_ADHESION_N / nodes.mass_kg[:, None, None], 0.7 * held_back)
    reachable = held_back * nodes.mass_kg[:, None, None] < STRONGEST_ADHESION_N
    flown_later = flown_first & reachable
    adhesion_later = surplus - GRAVITY_M_S2 * np.cos(later)

    scale = PULL_RATIOS * (centrifugal[:, None] / on_belt)[:, :, None]
    node = np.broadcast_to(np.arange(len(nodes))[:, None, None], shape)
    place = np.broadcast_to(axial[:, None], shape)
    release = Release(
        node=np.concatenate([node[flown_first], node[flown_later]]),
        scale=np.concatenate([scale[flown_first], scale[flown_later]]),
        axial_m=np.concatenate([place[flown_first], place[flown_later]]),
        angle_rad=np.concatenate([first[flown_first], later[flown_later]]),
        adhesion_m_s2=np.concatenate([typical[flown_first], adhesion_later[flown_later]]),
    )
    landed = landing_positions(thrower, nodes, pulls, release)
    count = int(flown_first.sum())
    # Released at 90 degrees or later a grain only drops: inside its own path.
    dropped = radius[:, None, None] * np.sin(np.maximum(first, pi / 2))
    earliest = dropped.copy()
    earliest[flown_first] = landed[:count]
    late = dropped.copy()
    late[flown_later] = landed[count:]
    for position in (earliest, late):
        position[:, :, :hardest] = position[:, :, hardest, None]
    per_unit = on_belt / VACUUM_PERMEABILITY_T_M_A if law == LINEAR else on_belt
    return LandingGrid(nodes, earliest, late, centrifugal, radius, per_unit)
