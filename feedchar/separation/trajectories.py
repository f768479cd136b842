"""Many flights at once: release from the belt, drag, residual pull, meeting the belt again.

Near the roll, Nystroem steps of fourth order, short on the belt where the pull changes within
tenths of a millimetre, under the drag rate of their middle, whose decay is exact: dust stays
stable. Beyond the reach of the pull, longer steps of fourth order under weight and drag alone.
The plane of the edges is met on the cubic through both ends of a step.
"""

from __future__ import annotations

from math import pi, sqrt

import numpy as np
from numpy.typing import NDArray

from feedchar.constants import AIR_DENSITY_KG_M3, AIR_VISCOSITY_PA_S, GRAVITY_M_S2
from feedchar.separation.flight_steps import TOUCH_M, cubic, first_dip, in_air, in_field
from feedchar.separation.grain_nodes import GrainNodes
from feedchar.separation.pull_lookup import PullLookup
from feedchar.separation.pull_map import PullMap
from feedchar.separation.thrower import PLANE_BELOW_ROLL_M, Release, Thrower

Array = NDArray[np.float64]
Index = NDArray[np.intp]

BELT_STEP = 0.2
"""Step on the belt over sqrt(R pitch) / v: half the time of an e-fold of a departure."""
STEP_GROWTH = 4.0
"""The step grows by this per pitch of height."""
REACH_PITCHES = 1.5
"""Above this height the pull, 1/12000 of that on the belt, is left out."""
LONGEST_STEP_S = 0.012
STEP_OF_RESPONSE = 3.0
"""Step over the response time of the grain in air; beyond the pull a step is one at most. [-]"""
MOST_STEPS = 90
"""Near the roll, and as many far from it. A grain still near is dust or a thin flake that never
clears the roll and counts as carried round; in still air it would land at the face of the roll,
inside an edge as well. One still far is dust that sinks."""
AT_ONCE = 12288
"""Grains stepped together, so that their state stays in cache."""
STALLED_M = 1e-4
"""A grain with less way left to go forward falls straight down."""
STALL_EVERY = 5
SPEED_NODES = 16384
NEWTON_STEPS = 3
RADIUS, STOKES, INERTIAL, LIMIT, SCALE = range(5)
"""Rows of what is a grain's own; adhesion is the last."""
DRAG = 6
"""Row of the state with the drag rate of the last step, after place and velocity."""


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
    Schiller and Naumann 1933 (from memory) for the drag, its power of speed from a table of 16384
    points; checked against a general solver in the tests.
    """
    flight = _Flight(thrower, nodes, pulls, release)
    while flight.near.size or flight.far.size:
        flight.step()
    return flight.landed


class _Flight:
    """State of all grains, a row a quantity: near the roll or far from it, until they land."""

    def __init__(
        self, thrower: Thrower, nodes: GrainNodes, pulls: PullMap, release: Release
    ) -> None:
        self.thrower, self.pull = thrower, PullLookup(pulls)
        self.plane = -(thrower.roll_radius_m + PLANE_BELOW_ROLL_M)
        self.first_step = BELT_STEP * sqrt(thrower.roll_radius_m * thrower.pitch_m)
        self.first_step /= thrower.belt_speed_m_s
        self.growth = STEP_GROWTH * self.first_step / thrower.pitch_m
        self.windy = thrower.air_layer_m > 0.0
        self.reach = np.inf if self.windy else REACH_PITCHES * thrower.pitch_m
        fastest = 1.5 * thrower.belt_speed_m_s + 3.0
        self.power = (np.arange(SPEED_NODES) / (SPEED_NODES - 1) * fastest) ** 0.687
        self.per_speed = (SPEED_NODES - 1) / fastest

        node = release.node
        radius = thrower.path_radius_m(nodes)
        stokes = 18.0 * AIR_VISCOSITY_PA_S * nodes.drag_factor
        stokes = stokes / (nodes.density_kg_m3 * nodes.sphere_diameter_m**2)
        re = AIR_DENSITY_KG_M3 * nodes.sphere_diameter_m / AIR_VISCOSITY_PA_S
        inertial = stokes * 0.15 * re**0.687
        # Drag at the belt's speed and a fall of 1 m/s bounds the step.
        drag = stokes + inertial * (thrower.belt_speed_m_s + 1.0) ** 0.687
        constants = np.stack([radius, stokes, inertial, STEP_OF_RESPONSE / drag])[:, node]
        self.own = np.concatenate([constants, [release.scale, release.adhesion_m_s2]])
        self.base = self.pull.place_of(node)
        self.landed = np.zeros(len(node))
        sine, cosine = np.sin(release.angle_rad), np.cos(release.angle_rad)
        radius = self.own[0]
        speed = thrower.turn_rad_s * radius
        self.state = np.stack(
            [
                radius * sine, radius * cosine, release.axial_m,
                speed * cosine, -speed * sine, np.zeros_like(speed), drag[node],
            ]
        )  # fmt: skip
        self.near = np.arange(len(node))
        self.far = np.arange(0)
        self.steps = {True: 0, False: 0}
        """Near the roll, and far from it."""

    def step(self) -> None:
        """One step of the grains near the roll, or of those far from it, whichever are more."""
        is_near = self.near.size >= self.far.size
        self.steps[is_near] += 1
        going, waiting = (self.near, self.far) if is_near else (self.far, self.near)
        near, far = ([], [waiting]) if is_near else ([waiting], [])
        for start in range(0, going.size, AT_ONCE):
            left, height = self._advance(going[start : start + AT_ONCE], is_near)
            beyond = height > self.reach
            near.append(left[~beyond])
            far.append(left[beyond])
        self.near, self.far = np.concatenate(near), np.concatenate(far)
        if self.steps[True] >= MOST_STEPS:
            self.near = self.near[:0]
        if self.steps[False] >= MOST_STEPS:
            self.landed[self.far] = self.state[0, self.far]
            self.far = self.far[:0]

    def _advance(self, which: Index, is_near: bool) -> tuple[Index, Array]:
        """Step some grains; those left in the air, and their heights."""
        # No index is out of range; to clip is the quickest way to go without the test.
        before = self.state.take(which, axis=1, mode="clip")
        own = self.own.take(which, axis=1, mode="clip")
        place, velocity, drag = before[:3], before[3:6], before[DRAG]
        dt = np.sqrt(place[0] ** 2 + place[1] ** 2)
        dt -= own[RADIUS]
        dt *= self.growth
        dt += self.first_step
        np.minimum(dt, LONGEST_STEP_S, out=dt)
        np.minimum(dt, own[LIMIT], out=dt)
        after = np.empty_like(before)
        if is_near:
            base = self.base.take(which)
            first = self._push(place, own, base, drag)
            middle = 0.5 * dt * (first - drag * velocity)
            middle += velocity
            after[DRAG] = self._drag_rate(middle, place, own)

            def push(at: Array) -> Array:
                return self._push(at, own, base, after[DRAG])

            first = push(place) if self.windy else first
            after[:3], after[3:6] = in_field(push, first, place, velocity, after[DRAG], dt)
        else:
            np.minimum(dt, 1.0 / drag, out=dt)
            after[:3], after[3:6], after[DRAG] = in_air(
                lambda speed: self._drag_rate(speed, place, own), place, velocity, dt
            )
        height = np.sqrt(after[0] ** 2 + after[1] ** 2)
        height -= own[RADIUS]
        live = np.ones(len(which), dtype=bool)
        self._land(which, before, after, dt, live)
        self._meet_belt(which, before, after, own, dt, height, live)
        if self.steps[is_near] % STALL_EVERY == 0:
            self._stall(which, after, own, height, live)
        for row, value in zip(self.state, after, strict=True):
            row[which] = value
        return which[live], height[live]

    def _push(self, place: Array, own: Array, base: Index, drag: Array) -> Array:
        """Acceleration by weight, pull and the air that the belt drags along, (3, N)."""
        x, y, z = place
        distance = np.sqrt(x * x + y * y)
        pull = self.pull(base, distance - own[RADIUS], z)
        push = np.empty_like(place)
        inward = pull.real * own[SCALE]
        inward /= distance
        np.multiply(x, inward, out=push[0])
        np.multiply(y, inward, out=push[1])
        push[1] += GRAVITY_M_S2
        np.negative(push[:2], out=push[:2])
        np.multiply(pull.imag, own[SCALE], out=push[2])
        if self.windy:
            push += drag * self._wind(place, own[RADIUS])
        return push

    def _drag_rate(self, velocity: Array, place: Array, own: Array) -> Array:
        """Deceleration over the speed through the air. [s⁻¹]"""
        vx, vy, vz = velocity
        if self.windy:
            wind = self._wind(place, own[RADIUS])
            vx, vy = vx - wind[0], vy - wind[1]
        speed = vx * vx
        speed += vy * vy
        speed += vz * vz
        np.sqrt(speed, out=speed)
        speed *= self.per_speed
        speed += 0.5
        drag = self.power.take(speed.astype(np.intp), mode="clip")
        drag *= own[INERTIAL]
        drag += own[STOKES]
        return drag

    def _wind(self, place: Array, radius: Array) -> Array:
        """Air dragged by the belt, along the belt and fading with height, (3, N)."""
        x, y, _ = place
        distance = np.sqrt(x * x + y * y)
        above = np.maximum(distance - radius, 0.0)
        wind = np.exp(-above / self.thrower.air_layer_m) / distance
        wind *= self.thrower.belt_speed_m_s
        return np.stack([wind * y, -wind * x, np.zeros_like(wind)])

    def _land(
        self, which: Index, before: Array, after: Array, dt: Array, live: NDArray[np.bool_]
    ) -> None:
        """Grains through the plane of the edges, on the cubic through both ends of the step."""
        down = np.flatnonzero(after[1] < self.plane)
        if not down.size:
            return
        start, end, time = before[:, down], after[:, down], dt[down]
        part = (start[1] - self.plane) / (start[1] - end[1])
        for _ in range(NEWTON_STEPS):
            height, slope = cubic(part, start[1], time * start[4], end[1], time * end[4])
            part -= (height - self.plane) / slope
        x, _ = cubic(part, start[0], time * start[3], end[0], time * end[3])
        self.landed[which[down]] = x
        live[down] = False

    def _meet_belt(
        self,
        which: Index,
        before: Array,
        after: Array,
        own: Array,
        dt: Array,
        height: Array,
        live: NDArray[np.bool_],
    ) -> None:
        """Grains back on the belt take its speed and are tested again there."""
        met = np.flatnonzero((height < -TOUCH_M) & live)
        if not met.size:
            return
        grains = which[met]
        radius, _, _, _, scale, adhesion = own.take(met, axis=1, mode="clip")
        start, end = (each.take(met, axis=1, mode="clip") for each in (before, after))
        x, y, z = first_dip(start, end, dt[met], radius)
        angle = np.arctan2(x, y)
        pull = self.pull(self.base.take(grains), np.zeros(len(met)), z).real * scale
        speed = self.thrower.turn_rad_s * radius
        lift = speed * self.thrower.turn_rad_s
        lift -= pull
        lift -= adhesion
        lift /= GRAVITY_M_S2
        leaves = np.maximum(np.arccos(np.clip(lift, -1.0, 1.0)), angle)
        round_ = (lift < -1.0) | (angle < 0.0)
        inside = round_ | (leaves >= pi / 2)
        sine, cosine = np.sin(leaves), np.cos(leaves)
        self.landed[grains[inside]] = np.where(round_, 0.0, radius * sine)[inside]
        live[met[inside]] = False
        height[met] = 0.0
        speeds = (speed * cosine, -speed * sine, 0.0)
        for row, value in enumerate((radius * sine, radius * cosine)):
            after[row, met] = value
        for row, value in enumerate(speeds, start=3):
            after[row, met] = value

    def _stall(
        self, which: Index, after: Array, own: Array, height: Array, live: NDArray[np.bool_]
    ) -> None:
        """Grains beside the roll that have lost their way forward fall straight down.

        The pull that is left can only bring them nearer. Moving air must be behind them first.
        """
        slow = (after[3] < STALLED_M * own[STOKES]) & live
        slow &= (after[0] >= own[RADIUS]) | (after[1] < 0.0)
        if self.windy:
            slow &= height > 3.0 * self.thrower.air_layer_m
        self.landed[which[slow]] = after[0][slow]
        live[slow] = False
