"""Some dozens of grains flown finely, with their paths: for a calculator and for pictures.

`trajectories` flies thousands of grains in steps chosen for speed; here steps of fourth order are
fine enough that the landing does not depend on them. The rules at the belt are the same: a grain
that meets it again takes its speed at once and is tested again there. No adhesion, still air.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import pi, sqrt

import numpy as np
from numpy.typing import NDArray

from feedchar.constants import AIR_DENSITY_KG_M3, AIR_VISCOSITY_PA_S, GRAVITY_M_S2
from feedchar.separation.grain_nodes import GrainNodes
from feedchar.separation.pull_map import AXIAL_CELLS, HEIGHTS, PullMap
from feedchar.separation.thrower import PLANE_BELOW_ROLL_M, Thrower

Array = NDArray[np.float64]
Index = NDArray[np.intp]

NEAR_STEP = 0.06
"""Step within a pitch of the belt, over sqrt(R pitch) / v. [-]"""
LONGEST_STEP_S = 2e-3
STEP_OF_RESPONSE = 0.25
"""Step over the response time of the grain in air, far inside the stability of the method. [-]"""
MOST_STEPS = 8000
MOST_CONTACTS = 30
"""A grain that met the belt so often creeps along it, and lets go at the side of the roll."""
TOUCH_M = 1e-9
STALLED_M = 1e-5
"""A grain with less way left to go forward falls straight down."""


@dataclass(frozen=True)
class Flown:
    """N grains from the top of the roll to the plane of the splitter edges."""

    released_rad: Array
    """(N,) angle from the top at which each first leaves the belt, pi when it never does."""
    landed_m: Array
    """(N,) from the roll axis; 0 when carried round."""
    paths_m: tuple[Array, ...]
    """(2, points) each: distance from the roll axis and height above it; empty unless asked."""


def fine_flights(
    thrower: Thrower,
    nodes: GrainNodes,
    pulls: PullMap,
    node: Index,
    axial_m: Array,
    with_paths: bool = False,
) -> Flown:
    """Release, flight with drag and residual pull, meeting the belt again.

    Parameters
    ----------
    thrower : Thrower
        Belt and roll, in still air. [SI]
    nodes : GrainNodes
        Grain nodes. [SI]
    pulls : PullMap
        Acceleration of each node over height and axis. [m s⁻²]
    node : array of int, shape (N,)
        Node of each grain. [-]
    axial_m : array, shape (N,)
        Where each lies on the belt, from mid-magnet. [m]
    with_paths : bool
        Whether the paths are kept. [-]

    Returns
    -------
    Flown
        Angles, landing positions, paths. [SI]

    References
    ----------
    Radial balance and Newton's law, derived here; Schiller and Naumann 1933 (from memory) for the
    drag; checked against a general solver in the tests.
    """
    flights = _Flights(thrower, nodes, pulls, node, axial_m, with_paths)
    for _ in range(MOST_STEPS):
        if not flights.going.size:
            break
        flights.step()
    return flights.flown()


class _Flights:
    """All grains; `going` are those in the air, `state` their x, y, z, vx, vy, vz."""

    def __init__(
        self,
        thrower: Thrower,
        nodes: GrainNodes,
        pulls: PullMap,
        node: Index,
        axial_m: Array,
        with_paths: bool,
    ) -> None:
        self.thrower, self.pulls, self.node = thrower, pulls, node
        self.radius = thrower.path_radius_m(nodes)[node]
        size = nodes.sphere_diameter_m
        stokes = 18.0 * AIR_VISCOSITY_PA_S * nodes.drag_factor / (nodes.density_kg_m3 * size**2)
        self.stokes = stokes[node]
        self.inertial = (0.15 * (AIR_DENSITY_KG_M3 * size / AIR_VISCOSITY_PA_S) ** 0.687)[node]
        self.plane = -(thrower.roll_radius_m + PLANE_BELOW_ROLL_M)
        near = NEAR_STEP * sqrt(thrower.roll_radius_m * thrower.pitch_m) / thrower.belt_speed_m_s
        self.near = min(near, LONGEST_STEP_S)
        self.landed = np.zeros(len(node))
        self.contacts = np.zeros(len(node), dtype=int)
        self.points: list[list[tuple[float, float]]] = [[] for _ in node] if with_paths else []
        self.state = np.zeros((6, len(node)))
        self.going = np.arange(len(node))
        angle = self._leave(np.zeros(len(node)), axial_m)
        self.released = angle
        keep = np.flatnonzero(angle < pi / 2)
        self.going, self.state = self.going[keep], self.state[:, keep]

    def step(self) -> None:
        """One step of every grain in the air."""
        going, s = self.going, self.state
        height = np.hypot(s[0], s[1]) - self.radius[going]
        rate = self.stokes[going] * (
            1.0 + self.inertial[going] * np.sqrt(np.sum(s[3:] ** 2, axis=0)) ** 0.687
        )
        h = np.where(height < self.thrower.pitch_m, self.near, LONGEST_STEP_S)
        h = np.minimum(h, STEP_OF_RESPONSE / rate)
        k1 = self._rate(s)
        k2 = self._rate(s + 0.5 * h * k1)
        k3 = self._rate(s + 0.5 * h * k2)
        k4 = self._rate(s + h * k3)
        new = s + h / 6.0 * (k1 + 2.0 * k2 + 2.0 * k3 + k4)
        crossed = new[1] <= self.plane
        start, end = s[:, crossed], new[:, crossed]
        share = (start[1] - self.plane) / (start[1] - end[1])
        self.landed[going[crossed]] = start[0] + share * (end[0] - start[0])
        radius = self.radius[going]
        stalls = ~crossed & (new[3] < STALLED_M * self.stokes[going])
        stalls &= (new[0] >= radius) | (new[1] < 0.0)
        self.landed[going[stalls]] = new[0][stalls]
        self._remember(going, new, crossed | stalls)
        self.state = new
        settled = crossed | stalls
        touches = np.flatnonzero(~settled & (np.hypot(new[0], new[1]) < radius - TOUCH_M))
        if touches.size:
            settled[touches] = self._meet_belt(touches)
        if settled.any():
            self.going, self.state = going[~settled], self.state[:, ~settled]

    def flown(self) -> Flown:
        """What is known once nothing flies any more; what still does is dust."""
        self.landed[self.going] = self.state[0]
        return Flown(
            self.released,
            self.landed,
            tuple(np.array(points, dtype=float).T for points in self.points),
        )

    def _rate(self, s: Array) -> Array:
        going = self.going
        distance = np.hypot(s[0], s[1])
        pull = self._pull(self.node[going], distance - self.radius[going], s[2])
        speed = np.sqrt(np.sum(s[3:] ** 2, axis=0))
        drag = self.stokes[going] * (1.0 + self.inertial[going] * speed**0.687)
        inward = pull.real / distance
        return np.stack(
            [
                *s[3:],
                -inward * s[0] - drag * s[3],
                -inward * s[1] - drag * s[4] - GRAVITY_M_S2,
                pull.imag - drag * s[5],
            ]
        )

    def _pull(self, node: Index, height: Array, axial: Array) -> NDArray[np.complex128]:
        """Pull from the map, cubic in both directions."""
        values = self.pulls.values
        fallen = np.exp(np.minimum(height * -self.pulls.decay_per_m, 0.0))
        up = (HEIGHTS - 1.0) * (1.0 - fallen)
        first = np.clip(up.astype(np.intp) - 1, 0, HEIGHTS - 4)
        along = axial * self.pulls.cells_per_m
        left = np.floor(along).astype(np.intp) - 1
        beside = _cubic(along - left)
        total = np.zeros(len(node), dtype=complex)
        for level, weight in enumerate(_cubic(up - first)):
            for cell, share in enumerate(beside):
                there = values[node, first + level, (left + cell) % AXIAL_CELLS]
                total += weight * share * there
        return total

    def _leave(self, angle: Array, axial: Array) -> Array:
        """Put the grains `going` on the belt at an angle; they leave it where it lets them go.

        Returns the angle of release, pi for those that are carried round; those that let go at the
        side or later are settled.
        """
        going = self.going
        radius, turn = self.radius[going], self.thrower.turn_rad_s
        pull = self._pull(self.node[going], np.zeros(len(going)), axial).real
        lift = (turn**2 * radius - pull) / GRAVITY_M_S2
        leaves = np.maximum(np.arccos(np.clip(lift, -1.0, 1.0)), angle)
        round_ = (lift < -1.0) | (angle < 0.0)
        leaves = np.where(round_, pi, leaves)
        sine, cosine = np.sin(leaves), np.cos(leaves)
        speed = turn * radius
        still = np.zeros_like(radius)
        self.state = np.stack(
            [radius * sine, radius * cosine, axial, speed * cosine, -speed * sine, still]
        )
        inside = leaves >= pi / 2
        self.landed[going[inside]] = np.where(round_, 0.0, radius * sine)[inside]
        self._ride(going, angle, leaves, inside & ~round_)
        return leaves

    def _meet_belt(self, which: Index) -> NDArray[np.bool_]:
        """Grains back on the belt; tells which are settled there."""
        all_going, all_state = self.going, self.state
        here = all_state[:, which]
        self.going = all_going[which]
        angle = np.arctan2(here[0], here[1])
        leaves = self._leave(angle, here[2])
        self.contacts[self.going] += 1
        creeps = (self.contacts[self.going] > MOST_CONTACTS) & (leaves < pi / 2)
        self.landed[self.going[creeps]] = self.radius[self.going[creeps]]
        all_state[:, which] = self.state
        self.going, self.state = all_going, all_state
        return np.asarray((leaves >= pi / 2) | creeps)

    def _ride(self, going: Index, start: Array, end: Array, drops: NDArray[np.bool_]) -> None:
        """Keep the points on the belt, and the fall of those that let go at the side or later."""
        if not self.points:
            return
        for place, grain in enumerate(going):
            r = float(self.radius[grain])
            angles = np.linspace(
                start[place], end[place], 2 + int(40 * (end[place] - start[place]))
            )
            self.points[grain] += [(r * np.sin(a), r * np.cos(a)) for a in angles]
            if drops[place]:
                self.points[grain].append((r * float(np.sin(end[place])), self.plane))

    def _remember(self, going: Index, new: Array, settled: NDArray[np.bool_]) -> None:
        if not self.points:
            return
        for place, grain in enumerate(going):
            at = (float(new[0, place]), float(new[1, place]))
            if settled[place]:
                at = (float(self.landed[grain]), self.plane)
            self.points[grain].append(at)


def _cubic(place: Array) -> tuple[Array, ...]:
    """Weights of four neighbours at 0, 1, 2, 3 for a place among them."""
    from_1, from_2, from_3 = place - 1.0, place - 2.0, place - 3.0
    return (
        from_1 * from_2 * from_3 / -6.0,
        place * from_2 * from_3 / 2.0,
        place * from_1 * from_3 / -2.0,
        place * from_1 * from_2 / 6.0,
    )
