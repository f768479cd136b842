"""Grains that meet the belt again, by the radial balance and by a general solver.

The reference sums all pairs of harmonics, flies with scipy's DOP853 from contact to contact and
lets a grain go where v^2/Rc - pull - adhesion = g cos(angle), or where it met the belt if that is
later. A grain that grazes the belt is no figure to compare: 2 um to the side it lands elsewhere.
"""

from __future__ import annotations

from math import acos, cos, degrees, pi, sin

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from feedchar.separation.fine_flight import fine_flights
from feedchar.separation.flight_steps import TOUCH_M, first_dip
from feedchar.separation.grain_nodes import Kind, grain_nodes
from feedchar.separation.pull_map import LINEAR, PullMap, pull_map
from feedchar.separation.thrower import Release, Thrower
from feedchar.separation.trajectories import landing_positions

RADIUS, BELT, PITCH, SAND, DENSITY = 0.05, 0.0002, 0.005, 3e-4, 2650.0
PATH = RADIUS + BELT + SAND / 2
QUARTZ = (Kind(False, DENSITY),)
G, MU0, VISCOSITY, AIR = 9.81, 4e-7 * pi, 1.81e-5, 1.204
EVEN = (0.6,)
"""One harmonic: the pull is the same all along the roll, and nothing moves a grain sideways."""
UNEVEN = (0.6, -0.25)
"""Grains are drawn sideways, to where the pull is stronger."""


class Alone:
    """One grain whose pull at its first place on the belt is a share of v^2/Rc."""

    def __init__(self, direct, harmonics, speed, ratio, axial, adhesion=0.0, size=SAND):
        self.direct, self.size, self.path = direct, size, RADIUS + BELT + size / 2
        self.machine = direct.Machine(harmonics, PITCH, RADIUS, BELT, speed)
        self.axial, self.adhesion = axial, adhesion
        self.turn = speed / (RADIUS + BELT)
        self.throws = self.turn**2 * self.path
        self.factor = 1.0
        self.factor = ratio * self.throws / self.pull(0.0, axial)[0]

    def pull(self, height, axial):
        there = self.direct.force(
            self.machine, self.size, None, BELT + self.size / 2 + height, axial
        )
        return self.factor * float(there[0]), self.factor * float(there[1])

    def lift(self, axial):
        """cos of the angle at which the belt lets it go."""
        return (self.throws - self.pull(0.0, axial)[0] - self.adhesion) / G

    def fly(self, angle, axial):
        """End of one flight, and whether on the belt."""
        stokes = 18.0 * VISCOSITY / (DENSITY * self.size**2)

        def rate(_, s):
            distance = np.hypot(s[0], s[1])
            towards, along = self.pull(max(distance - self.path, 0.0), s[2])
            drag = stokes * (
                1.0 + 0.15 * (AIR * self.size / VISCOSITY * np.linalg.norm(s[3:])) ** 0.687
            )
            down = -towards * s[1] / distance - drag * s[4] - G
            return [*s[3:], -towards * s[0] / distance - drag * s[3], down, along - drag * s[5]]

        def lands(_, s):
            return s[1] + RADIUS + 0.010

        def touches(_, s):
            return np.hypot(s[0], s[1]) - self.path + 1e-9

        lands.terminal = touches.terminal = True
        lands.direction = touches.direction = -1.0
        face = self.turn * self.path
        start = [
            self.path * sin(angle),
            self.path * cos(angle),
            axial,
            face * cos(angle),
            -face * sin(angle),
        ]
        found = solve_ivp(
            rate, (0.0, 3.0), [*start, 0.0], "DOP853", events=(lands, touches),
            rtol=1e-9, atol=1e-11, max_step=0.005,
        )  # fmt: skip
        return found.y[:, -1], bool(found.t_events[1].size)

    def lands(self):
        """Landing, and the angle of every contact."""
        axial, angle, contacts = self.axial, 0.0, []
        while True:
            lift = self.lift(axial)
            if lift < -1.0:
                return 0.0, contacts
            angle = max(angle, acos(min(lift, 1.0)))
            if angle >= pi / 2:
                return self.path * sin(angle), contacts
            end, met = self.fly(angle, axial)
            if not met:
                return float(end[0]), contacts
            axial, angle = end[2], float(np.arctan2(end[0], end[1]))
            contacts.append(degrees(angle))

    def by_the_grid(self, angle):
        """As the package flies thousands."""
        nodes = grain_nodes(QUARTZ, (self.size,))
        pulls = pull_map(self.machine.harmonics, PITCH, RADIUS, BELT, QUARTZ, (self.size,), LINEAR)
        told = (self.factor, self.axial, angle, self.adhesion)
        release = Release(np.zeros(1, dtype=np.intp), *(np.full(1, value) for value in told))
        thrower = Thrower(RADIUS, BELT, PITCH, self.machine.speed)
        return float(landing_positions(thrower, nodes, pulls, release)[0])

    def by_fine_steps(self):
        """As the package flies some dozens."""
        nodes = grain_nodes(QUARTZ, (self.size,))
        pulls = pull_map(self.machine.harmonics, PITCH, RADIUS, BELT, QUARTZ, (self.size,), LINEAR)
        pulls = PullMap(pulls.values * self.factor, PITCH)
        thrower = Thrower(RADIUS, BELT, PITCH, self.machine.speed)
        node = np.zeros(1, dtype=np.intp)
        return float(fine_flights(thrower, nodes, pulls, node, np.array([self.axial])).landed_m[0])


@pytest.mark.parametrize(
    ("speed", "ratio", "adhesion"),
    [(0.6, 0.0, 0.0), (0.5, 0.0, 0.0), (1.5, 0.80, 0.0), (1.5, 0.86, 0.0), (1.5, 0.85, 3.0),
     (2.0, 0.92, 2.0)],
)  # fmt: skip
def test_a_grain_let_go_too_early_rides_to_where_the_balance_lets_it_go(
    direct, speed, ratio, adhesion
):
    """Let go at the top by mistake, it is back on the belt at once and leaves where it should.

    Without pull that is the edge of the discharge of any belt over a pulley, cos a = v^2/(g Rc).
    """
    grain = Alone(direct, EVEN, speed, ratio, 0.0, adhesion)
    angle = acos(grain.lift(0.0))
    assert 0.3 < angle < 1.4
    end, met = grain.fly(angle, 0.0)
    assert not met
    assert grain.by_the_grid(0.0) == pytest.approx(end[0], abs=1e-4)


def test_one_that_rides_past_the_side_drops_inside_the_face(direct):
    grain = Alone(direct, EVEN, 1.5, 1.1, 0.0)
    assert -1.0 < grain.lift(0.0) < 0.0
    dropped = PATH * sin(acos(grain.lift(0.0)))
    assert grain.by_the_grid(0.0) == pytest.approx(dropped, abs=2e-5)


@pytest.mark.parametrize(("ratio", "adhesion"), [(1.3, 0.0), (1.229, 0.0), (0.9, 20.0)])
def test_one_that_is_held_is_carried_round(direct, ratio, adhesion):
    grain = Alone(direct, EVEN, 1.5, ratio, 0.0, adhesion)
    assert grain.lift(0.0) < -1.0
    assert grain.by_the_grid(0.0) == 0.0


@pytest.mark.parametrize(
    ("speed", "ratio", "axial", "ends"),
    [(1.5, 0.70, 0.2e-3, "carried round"), (2.5, 0.80, 0.6e-3, "carried round"),
     (1.5, 0.70, 1.4e-3, "past the side"), (1.5, 0.75, 1.9e-3, "thrown again"),
     (1.0, 0.55, 1.4e-3, "thrown again")],
)  # fmt: skip
def test_a_grain_drawn_back_to_a_stronger_place_is_tested_again_there(
    direct, speed, ratio, axial, ends
):
    grain = Alone(direct, UNEVEN, speed, ratio, axial)
    wanted, contacts = grain.lands()
    assert len(contacts) == 1
    assert 5.0 < contacts[0] < 50.0
    beyond = {"carried round": 0.0, "past the side": wanted, "thrown again": max(wanted, 0.053)}
    assert wanted == beyond[ends]
    # The grid looks for a contact in quarters of a step, fine steps at their ends.
    angle = acos(min(grain.lift(axial), 1.0))
    assert grain.by_the_grid(angle) == pytest.approx(wanted, abs=2.5e-3)
    assert grain.by_fine_steps() == pytest.approx(wanted, abs=1.5e-3)


@pytest.mark.parametrize(
    ("speed", "size"), [(1.0, 5e-5), (2.0, 3.5e-5), (2.0, 5e-5), (3.0, 3.5e-5), (3.0, 5e-5)]
)
def test_dust_hops_along_the_belt_to_the_side_of_the_roll(direct, speed, size):
    """The air stops it and it sinks onto the belt, which throws it anew."""
    dust = Alone(direct, EVEN, speed, 0.0, 0.0, size=size)
    wanted, contacts = dust.lands()
    assert len(contacts) >= 1
    assert dust.by_the_grid(0.0) == pytest.approx(wanted, abs=1.5e-4)


def test_a_contact_is_looked_for_in_quarters_of_a_step():
    """Straight chords across the belt's circle, by hand: the first quarter below, else the end."""
    radius, time = 1.0, 0.5
    # Along y = 0.6 the circle lies between x = -0.8 and 0.8; lower down it is missed till later.
    x_ends = np.array([[-0.9, 0.1], [-1.4, 0.0], [-1.2, -0.7], [-1.6, -0.1]])
    wanted = [-0.65, -0.7, -0.7, -0.475]
    start, end = np.zeros((6, 4)), np.zeros((6, 4))
    start[0], end[0] = x_ends.T
    start[1] = end[1] = 0.6
    start[3] = end[3] = (x_ends[:, 1] - x_ends[:, 0]) / time
    found = first_dip(start, end, np.full(4, time), np.full(4, radius))
    assert found[0] == pytest.approx(wanted)
    assert found[1] == pytest.approx(0.6)
    # A thousandth of a millimetre below the belt is rounding, three are contact.
    for depth, place in ((0.5 * TOUCH_M, -0.75), (1.5 * TOUCH_M, -0.8)):
        near = np.zeros((6, 1))
        far = near.copy()
        near[0], far[0] = -0.85, -0.65
        near[3] = far[3] = 0.2 / time
        # The quarter at -0.8 lies this deep below a circle about the axis.
        circle = np.array([0.8 + depth])
        assert first_dip(near, far, np.array([time]), circle)[0, 0] == pytest.approx(place)
