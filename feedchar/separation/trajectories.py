"""Many flights at once: release from the belt, drag, residual pull, meeting the belt again.

Drift-kick-drift steps of second order, every grain with its own step, short near the belt where
the pull changes within tenths of a millimetre. Drag enters implicitly, so that dust stays stable.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import pi, sqrt

import numpy as np
from numpy.typing import NDArray

from feedchar.constants import AIR_DENSITY_KG_M3, AIR_VISCOSITY_PA_S, GRAVITY_M_S2
from feedchar.separation.grain_nodes import GrainNodes
from feedchar.separation.pull_map import AXIAL_CELLS, HEIGHTS, PullMap

Array = NDArray[np.float64]
Index = NDArray[np.intp]

PLANE_BELOW_ROLL_M = 0.010
"""The splitter edges lie this far below the lowest point of the bare roll."""
BELT_STEP = 0.1
"""Step on the belt over sqrt(R pitch) / v: a quarter of the time of an e-fold of a departure."""
STEP_GROWTH = 4.0
"""The step grows by this per pitch of height."""
LONGEST_STEP_S = 0.02
MOST_STEPS = 300
"""A grain still afloat then is dust that never clears the roll and counts as carried round."""
COMPACT_BELOW = 0.85
TOUCH_M = 1e-9
STALLED_M = 1e-4
"""A grain with less way left to go forward falls straight down."""
STALL_EVERY = 5
SPEED_NODES = 4096


@dataclass(frozen=True)
class Thrower:
    """Belt and roll as the grains meet them."""

    roll_radius_m: float
    belt_thickness_m: float
    pitch_m: float
    belt_speed_m_s: float
    air_layer_m: float = 0.0
    """Height over which the air dragged by the belt falls to 1/e of its speed; 0: still air."""

    def path_radius_m(self, nodes: GrainNodes) -> Array:
        """Radius of the path of each node's centre, (P,). [m]"""
        return self.roll_radius_m + self.belt_thickness_m + nodes.half_height_m

    @property
    def turn_rad_s(self) -> float:
        """Angular speed of belt and roll. [rad s⁻¹]"""
        return self.belt_speed_m_s / (self.roll_radius_m + self.belt_thickness_m)


@dataclass(frozen=True)
class Release:
    """N grains at the moment they leave the belt."""

    node: Index
    scale: Array
    """Times the map is the pull. [m s⁻² per unit of the map]"""
    axial_m: Array
    angle_rad: Array
    """From the top of the roll."""
    adhesion_m_s2: Array
    """Adhesion per mass, which acts again when the grain meets the belt again."""


def landing_positions(
    thrower: Thrower, nodes: GrainNodes, pulls: PullMap, release: Release
) -> Array:
    """Distance from the roll axis at which released grains cross the plane of the splitter edges.

    A grain that meets the belt again takes the belt's speed at once and is tested again there,
    with its own adhesion; one that is then held past 90 degrees is given where it would drop.

    Parameters
    ----------
    thrower : Thrower
        Belt and roll. [SI]
    nodes : GrainNodes
        Grain nodes. [SI]
    pulls : PullMap
        Pull on the nodes. [T² m⁻¹ or T m⁻¹]
    release : Release
        Grains as they leave. [SI]

    Returns
    -------
    array, shape (N,)
        0 for grains carried round. [m]

    References
    ----------
    Schiller and Naumann 1933 (from memory) for the drag, its power of speed from a table of 4096
    points; checked against fine Runge-Kutta flights and a general solver in the tests.
    """
    flight = _Flight(thrower, nodes, pulls, release)
    while flight.afloat and flight.steps < MOST_STEPS:
        flight.step()
    return flight.landed


class _Flight:
    """State of all grains in flight, one row a quantity, compacted as grains land."""

    def __init__(
        self, thrower: Thrower, nodes: GrainNodes, pulls: PullMap, release: Release
    ) -> None:
        self.thrower, self.pulls = thrower, pulls
        self.table = pulls.values.reshape(-1)
        self.plane = -(thrower.roll_radius_m + PLANE_BELOW_ROLL_M)
        self.first_step = BELT_STEP * sqrt(thrower.roll_radius_m * thrower.pitch_m)
        self.first_step /= thrower.belt_speed_m_s
        self.growth = STEP_GROWTH * self.first_step / thrower.pitch_m
        fastest = 1.5 * thrower.belt_speed_m_s + 3.0
        self.power = (np.arange(SPEED_NODES) / (SPEED_NODES - 1) * fastest) ** 0.687
        self.per_speed = (SPEED_NODES - 1) / fastest

        node = release.node
        radius = thrower.path_radius_m(nodes)[node]
        stokes = 18.0 * AIR_VISCOSITY_PA_S * nodes.drag_factor
        stokes = (stokes / (nodes.density_kg_m3 * nodes.sphere_diameter_m**2))[node]
        re = AIR_DENSITY_KG_M3 * nodes.sphere_diameter_m / AIR_VISCOSITY_PA_S
        inertial = stokes * (0.15 * re**0.687)[node]
        sine, cosine = np.sin(release.angle_rad), np.cos(release.angle_rad)
        speed = thrower.turn_rad_s * radius
        nothing = np.zeros_like(radius)
        self.rows = np.stack(
            [
                radius * sine, radius * cosine, release.axial_m,
                speed * cosine, -speed * sine, nothing, nothing,
                radius, stokes, inertial, release.scale, release.adhesion_m_s2,
            ]
        )  # fmt: skip
        self.places = np.stack([node * (HEIGHTS * AXIAL_CELLS), np.arange(len(node))])
        self.landed = np.zeros(len(node))
        self.live = np.ones(len(node), dtype=bool)
        self.afloat = len(node)
        self.steps = 0

    def step(self) -> None:
        """One step of every grain."""
        x, y, z, vx, vy, vz, height, radius, stokes, inertial, scale, _ = self.rows
        base = self.places[0]
        dt = height * self.growth
        dt += self.first_step
        np.minimum(dt, LONGEST_STEP_S, out=dt)
        half = 0.5 * dt
        xm, ym, zm = x + half * vx, y + half * vy, z + half * vz
        distance = np.sqrt(xm * xm + ym * ym)
        pull = self._pull(base, distance - radius, zm)
        pull *= scale

        wind = self._wind(xm, ym, distance, radius)
        if wind is None:
            speed = vx * vx
            speed += vy * vy
        else:
            speed = (vx - wind[0]) ** 2 + (vy - wind[1]) ** 2
        speed += vz * vz
        np.sqrt(speed, out=speed)
        speed *= self.per_speed
        drag = self.power.take(speed.astype(np.intp), mode="clip")
        drag *= inertial
        drag += stokes
        drag *= half
        share = 1.0 / (1.0 + drag)
        kept = (1.0 - drag) * share
        share *= dt

        inward = pull.real / distance
        vx *= kept
        vx -= inward * xm * share
        vy *= kept
        vy -= (inward * ym + GRAVITY_M_S2) * share
        vz *= kept
        vz += pull.imag * share
        if wind is not None:
            vx += (1.0 - kept) * wind[0]
            vy += (1.0 - kept) * wind[1]

        before_x, before_y = x.copy(), y.copy()
        np.add(xm, half * vx, out=x)
        np.add(ym, half * vy, out=y)
        np.add(zm, half * vz, out=z)
        np.sqrt(x * x + y * y, out=height)
        height -= radius
        self.steps += 1
        self._land(before_x, before_y)
        self._meet_belt()
        if self.steps % STALL_EVERY == 0:
            self._stall()
        if 0 < self.afloat < COMPACT_BELOW * len(self.live):
            left = np.flatnonzero(self.live)
            self.rows = self.rows.take(left, axis=1)
            self.places = self.places.take(left, axis=1)
            self.live = np.ones(len(left), dtype=bool)

    def _pull(self, base: Index, height: Array, axial: Array) -> NDArray[np.complex128]:
        """Pull from the map: linear in height, nearest cell along the axis."""
        height *= self.pulls.heights_per_m
        np.maximum(height, 0.0, out=height)
        np.minimum(height, HEIGHTS - 1.001, out=height)
        place = height.astype(np.intp)
        height -= place
        place *= AXIAL_CELLS
        place += base
        place += self._cell(axial)
        low = self.table.take(place)
        place += AXIAL_CELLS
        high = self.table.take(place)
        high -= low
        high *= height
        low += high
        return low

    def _cell(self, axial: Array) -> Index:
        return np.floor(axial * self.pulls.cells_per_m).astype(np.intp) & (AXIAL_CELLS - 1)

    def _wind(
        self, x: Array, y: Array, distance: Array, radius: Array
    ) -> tuple[Array, Array] | None:
        """Air dragged by the belt, along the belt and fading with height; None: still air."""
        if self.thrower.air_layer_m <= 0.0:
            return None
        above = np.maximum(distance - radius, 0.0)
        wind = self.thrower.belt_speed_m_s * np.exp(-above / self.thrower.air_layer_m) / distance
        return wind * y, -wind * x

    def _settle(self, which: Index, position: Array | float) -> None:
        self.landed[self.places[1, which]] = position
        self.live[which] = False
        self.afloat -= len(which)

    def _land(self, before_x: Array, before_y: Array) -> None:
        x, y = self.rows[0], self.rows[1]
        which = np.flatnonzero((y < self.plane) & self.live)
        if which.size:
            share = (self.plane - before_y[which]) / (y[which] - before_y[which])
            self._settle(which, before_x[which] + share * (x[which] - before_x[which]))

    def _meet_belt(self) -> None:
        which = np.flatnonzero((self.rows[6] < -TOUCH_M) & self.live)
        if not which.size:
            return
        x, y, z, _, _, _, _, radius, _, _, scale, adhesion = self.rows[:, which]
        angle = np.arctan2(x, y)
        pull = self.table[self.places[0, which] + self._cell(z)].real * scale
        speed = self.thrower.turn_rad_s * radius
        lift = (speed * self.thrower.turn_rad_s - pull - adhesion) / GRAVITY_M_S2
        leaves = np.maximum(np.arccos(np.clip(lift, -1.0, 1.0)), angle)
        round_ = (lift < -1.0) | (angle < 0.0)
        inside = round_ | (leaves >= pi / 2)
        dropped = np.where(round_, 0.0, radius * np.sin(leaves))
        self._settle(which[inside], dropped[inside])
        again = ~inside
        sine, cosine = np.sin(leaves[again]), np.cos(leaves[again])
        radius, speed = radius[again], speed[again]
        nothing = np.zeros_like(radius)
        self.rows[:2, which[again]] = radius * sine, radius * cosine
        self.rows[3:7, which[again]] = speed * cosine, -speed * sine, nothing, nothing

    def _stall(self) -> None:
        """Grains beside the roll that have lost their way forward fall straight down.

        The pull that is left can only bring them nearer. Moving air must be behind them first.
        """
        x, y, _, vx, _, _, height, radius, stokes, _, _, _ = self.rows
        slow = (vx < STALLED_M * stokes) & ((x >= radius) | (y < 0.0)) & self.live
        if self.thrower.air_layer_m > 0.0:
            slow &= height > 3.0 * self.thrower.air_layer_m
        which = np.flatnonzero(slow)
        if which.size:
            self._settle(which, x[which])
