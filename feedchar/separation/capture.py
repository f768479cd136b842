"""From landing positions to the share of each grain node that a pass takes.

Adhesion is log-normal between grains; each value of it is an angle of release, so the share
beyond an edge is an integral over the angle, for any median adhesion. Positions are interpolated
over the pull before they are held against the edge, which finds the critical pull within a grid
step; then axial positions are averaged, since a grain takes a new one each pass.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise
from math import log, pi

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr

from feedchar.constants import GRAVITY_M_S2
from feedchar.separation.grain_nodes import Kind
from feedchar.separation.landing import LATE, PULL_RATIOS, LandingGrid, landing_grid
from feedchar.separation.pull_map import LINEAR, MOMENT
from feedchar.separation.thrower import Thrower

Array = NDArray[np.float64]

ADHESION_LN_SD = 1.0
"""Grain-to-grain ln-sd of adhesion (guess). [-]"""
FINE_RATIOS = np.linspace(PULL_RATIOS[0], PULL_RATIOS[-1], 161)
"""Pull ratios at which the edge is applied."""
RESPONSE_SCALE = 0.05
"""Below this share of the balancing pull the response axis is linear, above it logarithmic."""
RESPONSE = np.linspace(np.arcsinh(-1.0 / RESPONSE_SCALE), np.arcsinh(5e3 / RESPONSE_SCALE), 176)
"""asinh(pull ratio / scale) of a grain at the reference height."""
MOMENT_SHARES = (0.0, 0.5, 1.0)
"""Nodes of the share of the pull that a constant moment gives."""


@dataclass(frozen=True)
class Reference:
    """What turns susceptibility and moment into one response and a share of moment."""

    pull_per_susceptibility: float
    """Pull at the reference height over susceptibility, over v^2/R of the first pass. [kg m⁻³]"""
    susceptibility_per_moment: float
    """Susceptibility that pulls as much as a moment of 1 at the reference height. [m³ A⁻¹ m⁻²]"""


def response_of(ratio: Array) -> Array:
    """Position on the response axis of a pull ratio at the reference height.

    Parameters
    ----------
    ratio : array
        Pull over v^2/R. [-]

    Returns
    -------
    array
        Fractional index into RESPONSE, clipped to it. [-]

    References
    ----------
    Derived here: asinh joins a linear axis for weak and negative pulls to a logarithmic one.
    """
    step = (RESPONSE[-1] - RESPONSE[0]) / (len(RESPONSE) - 1)
    place = (np.arcsinh(ratio / RESPONSE_SCALE) - RESPONSE[0]) / step
    return np.clip(place, 0.0, len(RESPONSE) - 1.0)


@lru_cache(maxsize=128)
def capture_table(
    harmonics_tesla: tuple[float, ...],
    thrower: Thrower,
    kinds: tuple[Kind, ...],
    diameters_m: tuple[float, ...],
    edge_m: float,
    adhesions_N: tuple[float, ...],
    reference: Reference,
    with_moment: bool,
    moment_kinds: tuple[Kind, ...] | None = None,
) -> Array:
    """Share of each node that lands inside an edge, over response, moment share and adhesion.

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
    edge_m : float
        Distance of the edge from the roll axis. [m]
    adhesions_N : tuple of float
        Median adhesions, A of them. [N]
    reference : Reference
        Of the response axis. [SI]
    with_moment : bool
        False: the first moment share only, no moment is flown. [-]
    moment_kinds : tuple of Kind or None
        Kinds that fly a second time, with a constant moment; None: all. [-]

    Returns
    -------
    array, shape (P, A, F, U)
        Nodes, adhesions, moment shares (1 or 3), responses. [-]

    References
    ----------
    Derived here; checked against single grains in the tests.
    """
    linear = landing_grid(harmonics_tesla, thrower, kinds, diameters_m, LINEAR)
    inside = _share_inside(linear, edge_m, adhesions_N)
    susceptibility = np.sinh(RESPONSE) * RESPONSE_SCALE / reference.pull_per_susceptibility
    unit = linear.pull_per_unit / linear.centrifugal_m_s2[:, None]
    if not with_moment:
        return _over_response(inside, unit[:, :, None] * susceptibility)[:, :, None, :]

    again = kinds if moment_kinds is None else moment_kinds
    # Other kinds keep their linear flights: no class with a moment looks them up, or in a gap of
    # steady flux density its moment is pulled as a susceptibility is.
    inside_moment, unit_moment = inside.copy(), unit.copy()
    if again:
        constant = landing_grid(harmonics_tesla, thrower, again, diameters_m, MOMENT)
        flown = np.repeat([kind in again for kind in kinds], len(diameters_m))
        inside_moment[flown] = _share_inside(constant, edge_m, adhesions_N)
        per_moment = constant.pull_per_unit / constant.centrifugal_m_s2[:, None]
        unit_moment[flown] = per_moment / reference.susceptibility_per_moment
    shares = []
    for share in MOMENT_SHARES:
        by_linear = (1.0 - share) * unit
        by_moment = share * unit_moment
        total = by_linear + by_moment
        ratio = total[:, :, None] * susceptibility
        local = (by_moment / total)[:, :, None]
        parts = []
        if share < 1.0:
            parts.append(_over_response(inside, ratio, 1.0 - local))
        if share > 0.0:
            parts.append(_over_response(inside_moment, ratio, local))
        shares.append(sum(parts[1:], start=parts[0]))
    return np.stack(shares, axis=2)


def _share_inside(grid: LandingGrid, edge_m: float, adhesions_N: tuple[float, ...]) -> Array:
    """(P, Z, A, fine ratios): chance over the spread of adhesion to land inside the edge.

    Along the angle of release the landing position is a chain of straight lines, so the chance to
    land beyond the edge is the sum, with sign, of the chance of release before each crossing.
    """
    positions = (
        _refined(grid.earliest_m),
        _refined(grid.late_m),
        np.broadcast_to(grid.path_radius_m[:, None, None], (*grid.earliest_m.shape[:2], 1)),
    )
    shape = positions[0].shape
    surplus = grid.centrifugal_m_s2[:, None, None] * (1.0 - FINE_RATIOS)
    first = np.arccos(np.clip(surplus / GRAVITY_M_S2, -1.0, 1.0))
    surplus, first = np.broadcast_to(surplus, shape), np.broadcast_to(first, shape)
    mass = np.broadcast_to(grid.nodes.mass_kg[:, None, None], shape)
    # Released at 90 degrees or later even without adhesion: never beyond.
    leaves = first < pi / 2
    ends = (0.0, LATE, 1.0)

    def ln_force(where: tuple[NDArray[np.intp], ...], part: Array | float) -> Array:
        """Logarithm of the adhesion that delays the release to a part of the way to 90 degrees."""
        angle = first[where] + part * (pi / 2 - first[where])
        force = (surplus[where] - GRAVITY_M_S2 * np.cos(angle)) * mass[where]
        return np.log(np.maximum(force, np.finfo(float).tiny))

    turns = []
    for i, (start, end) in enumerate(pairwise(positions)):
        sign = (start > edge_m).astype(float) - (end > edge_m)
        where = np.nonzero((sign != 0.0) & leaves)
        begin, finish = np.broadcast_to(start, shape)[where], np.broadcast_to(end, shape)[where]
        share = (edge_m - begin) / (finish - begin)
        part = ends[i] + share * (ends[i + 1] - ends[i])
        turns.append((where, sign[where], ln_force(where, part)))
    where = np.nonzero(np.broadcast_to(positions[-1] > edge_m, shape) & leaves)
    turns.append((where, np.ones(len(where[0])), ln_force(where, 1.0)))

    inside = np.ones((*shape[:2], len(adhesions_N), shape[2]))
    for a, median in enumerate(adhesions_N):
        for where, sign, force in turns:
            inside[where[0], where[1], a, where[2]] -= sign * ndtr(
                (force - log(median)) / ADHESION_LN_SD
            )
    return inside


def _refined(position: Array) -> Array:
    """Landing positions on the fine ratios, linear between the flown ones."""
    right = np.clip(np.searchsorted(PULL_RATIOS, FINE_RATIOS), 1, len(PULL_RATIOS) - 1)
    left = right - 1
    share = (FINE_RATIOS - PULL_RATIOS[left]) / (PULL_RATIOS[right] - PULL_RATIOS[left])
    return position[..., left] * (1.0 - share) + position[..., right] * share


def _over_response(inside: Array, ratio: Array, weight: Array | float = 1.0) -> Array:
    """Mean over axial positions at the pull ratios of the response axis: (P, A, U)."""
    nodes, axial, adhesions, fine = inside.shape
    step = FINE_RATIOS[1] - FINE_RATIOS[0]
    place = np.clip((ratio - FINE_RATIOS[0]) / step, 0.0, fine - 1.001)
    low = place.astype(np.intp)
    high_share = (place - low) * weight
    low_share = weight - high_share
    base = (np.arange(nodes)[:, None] * axial + np.arange(axial)) * (adhesions * fine)
    flat = inside.reshape(-1)
    low = low + base[:, :, None]
    taken = np.empty((nodes, adhesions, ratio.shape[2]))
    for a in range(adhesions):
        at = low + a * fine
        taken[:, a] = (flat.take(at) * low_share + flat.take(at + 1) * high_share).mean(axis=1)
    return taken
