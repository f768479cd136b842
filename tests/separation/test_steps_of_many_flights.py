"""Thousands of flights taken apart: what pulls, how long a step is, when a grain has landed.

Pulls are made up (one value of a node everywhere) and the figures of grains, belt and roll are odd
ones of no real machine, so that Newton's law, the balance on the belt and the lengths of steps are
written out here for one grain after another.
"""

from __future__ import annotations

from math import acos, cos, exp, hypot, sin, sqrt

import numpy as np
import pytest
from scipy.interpolate import CubicHermiteSpline
from scipy.optimize import brentq

from feedchar.separation import trajectories
from feedchar.separation.flight_steps import TOUCH_M
from feedchar.separation.grain_nodes import Kind, grain_nodes
from feedchar.separation.pull_map import AXIAL_CELLS, HEIGHTS, PullMap
from feedchar.separation.thrower import Release, Thrower
from feedchar.separation.trajectories import (
    BELT_STEP,
    LONGEST_STEP_S,
    MOST_STEPS,
    REACH_PITCHES,
    SPEED_NODES,
    STALL_EVERY,
    STALLED_M,
    STEP_GROWTH,
    STEP_OF_RESPONSE,
    _Flight,
)

RADIUS, BELT, PITCH, SPEED = 0.047, 3e-4, 0.0061, 1.37
KINDS = (Kind(False, 2710.0), Kind(True, 2830.0, 0.3))
SIZES = (2.1e-4, 3.7e-4)
NODES = grain_nodes(KINDS, SIZES)
G, VISCOSITY, AIR = 9.81, 1.81e-5, 1.204
PLANE = -(RADIUS + 0.010)
TURN = SPEED / (RADIUS + BELT)
PULLS = (0.7 - 0.3j, 3.1 + 1.7j, -2.3 + 0.9j, 5.2 - 2.9j)
FOUR = [
    [0.031, 0.044, 0.0007, 0.9, -0.7, 0.23],
    [-0.012, 0.061, -0.0031, 0.4, 0.5, -0.11],
    [0.083, -0.021, 0.0119, 1.3, -1.9, 0.05],
    [0.022, 0.047, 0.0041, 0.3, 0.2, -0.71],
]
NODE = (1, 3, 0, 2)
SCALE = (1.3, 0.7, 2.1, 0.4)


def path_radius(node):
    size, flake = SIZES[node % 2], node >= 2
    return RADIUS + BELT + 0.5 * size * (0.3 if flake else 1.0)


def drag_parts(node):
    """Schiller and Naumann (from memory): what is steady and what grows with speed^0.687."""
    size, flake = SIZES[node % 2], node >= 2
    sphere = (1.5 * size**3 * 0.3) ** (1.0 / 3.0) if flake else size
    density, more = (2830.0, 2.5) if flake else (2710.0, 1.0)
    stokes = more * 18.0 * VISCOSITY / (density * sphere**2)
    return stokes, stokes * 0.15 * (AIR * sphere / VISCOSITY) ** 0.687


def drag_rate(node, speed):
    stokes, inertial = drag_parts(node)
    return stokes + inertial * speed**0.687


def in_the_air(node=NODE, state=FOUR, pulls=PULLS, scale=None, adhesion=None, layer=0.0):
    """Flights whose grains are put where a test wants them."""
    values = np.broadcast_to(
        np.array(pulls, dtype=complex)[:, None, None], (4, HEIGHTS, AXIAL_CELLS)
    )
    count = len(node)
    release = Release(
        np.array(node, dtype=np.intp), np.array(scale or np.ones(count)), np.zeros(count),
        np.zeros(count), np.array(adhesion or np.zeros(count), dtype=float),
    )  # fmt: skip
    thrower = Thrower(RADIUS, BELT, PITCH, SPEED, layer)
    flight = _Flight(thrower, NODES, PullMap(values, PITCH), release)
    flight.state[:6] = np.array(state, dtype=float).T
    flight.landed[:] = np.nan
    return flight


def wind_at(place, node, layer):
    """Along the belt, from the top towards the splitters; 1/e at each layer above the grain."""
    distance = hypot(place[0], place[1])
    speed = SPEED * exp(-max(distance - path_radius(node), 0.0) / layer)
    return np.array([speed * place[1] / distance, -speed * place[0] / distance, 0.0])


def test_a_grain_leaves_with_the_speed_of_its_place_on_the_belt():
    angle, axial = np.array([0.0, 0.3, 0.9, 1.4]), np.array([0.1, -0.2, 0.3, 0.7]) * PITCH
    values = np.zeros((4, HEIGHTS, AXIAL_CELLS), dtype=complex)
    release = Release(np.array(NODE), np.array(SCALE), axial, angle, np.arange(4.0))
    flight = _Flight(Thrower(RADIUS, BELT, PITCH, SPEED), NODES, PullMap(values, PITCH), release)
    for g, n in enumerate(NODE):
        r, a = path_radius(n), angle[g]
        start = [r * sin(a), r * cos(a), axial[g], TURN * r * cos(a), -TURN * r * sin(a), 0.0]
        # Its first drag is that at the speed of the belt and a fall of 1 m/s.
        first = drag_rate(n, SPEED + 1.0)
        assert flight.state[:, g] == pytest.approx([*start, first], rel=1e-12, abs=1e-15)
        stokes, inertial = drag_parts(n)
        own = [r, stokes, inertial, STEP_OF_RESPONSE / first, SCALE[g], float(g)]
        assert flight.own[:, g] == pytest.approx(own, rel=1e-12)
    assert flight.near.tolist() == [0, 1, 2, 3]
    assert flight.far.size == 0
    assert np.array_equal(flight.landed, np.zeros(4))


@pytest.mark.parametrize("layer", [0.0, 0.0043])
def test_pull_weight_and_air_push_as_newton_says(layer):
    flight = in_the_air(scale=SCALE, layer=layer)
    drag = np.array([3.0, 5.0, 7.0, 11.0])
    found = flight._push(flight.state[:3], flight.own, flight.base, drag)
    for g, n in enumerate(NODE):
        x, y, _ = FOUR[g][:3]
        pull, distance = SCALE[g] * PULLS[n], hypot(x, y)
        wanted = np.array([-pull.real * x / distance, -pull.real * y / distance - G, pull.imag])
        if layer:
            wanted += drag[g] * wind_at(FOUR[g], n, layer)
        assert found[:, g] == pytest.approx(wanted, rel=1e-6, abs=1e-6), g


@pytest.mark.parametrize("layer", [0.0, 0.0043])
def test_drag_is_that_of_the_speed_through_the_air(layer):
    flight = in_the_air(layer=layer)
    found = flight._drag_rate(flight.state[3:6], flight.state[:3], flight.own)
    for g, n in enumerate(NODE):
        through = np.array(FOUR[g][3:])
        if layer:
            through = through - wind_at(FOUR[g], n, layer)
        assert found[g] == pytest.approx(drag_rate(n, np.linalg.norm(through)), rel=1e-3), g


def test_the_power_of_speed_is_taken_from_the_nearest_point_of_its_table():
    """To one and a half times the speed of the belt and 3 m/s more; faster grains as that."""
    flight = in_the_air()
    step = (1.5 * SPEED + 3.0) / (SPEED_NODES - 1)
    steps = np.array([0.48, 100.48, 100.52, 5000.47])
    velocity = np.zeros((3, 4))
    velocity[2] = step * steps
    found = flight._drag_rate(velocity, flight.state[:3], flight.own)
    for g, nearest in enumerate((0, 100, 101, 5000)):
        assert found[g] == pytest.approx(drag_rate(NODE[g], step * nearest), rel=1e-12)
    velocity[2] = 50.0
    fastest = flight._drag_rate(velocity, flight.state[:3], flight.own)
    assert fastest[0] == pytest.approx(drag_rate(NODE[0], 1.5 * SPEED + 3.0), rel=1e-12)


def spied(monkeypatch, name):
    """Arguments of every step of this kind."""
    seen, true = [], getattr(trajectories, name)

    def step(*arguments):
        seen.append([np.copy(each) for each in arguments[1:]])
        return true(*arguments)

    monkeypatch.setattr(trajectories, name, step)
    return seen


def test_steps_grow_with_height_to_the_longest_or_three_response_times(monkeypatch):
    seen = spied(monkeypatch, "in_field")
    flight = in_the_air(scale=SCALE)
    # At the belt, half a pitch and a pitch above it, and far out of reach.
    height = (0.0, 0.5 * PITCH, PITCH, 50.0 * PITCH)
    for g, (n, up) in enumerate(zip(NODE, height, strict=True)):
        out = path_radius(n) + up
        flight.state[:2, g] = 0.6 * out, 0.8 * out
    start = flight.state.copy()
    dust = flight.own[3].copy()
    dust[2] = 1e-4
    flight.own[3] = dust
    before = flight.state[6].copy()
    flight._advance(np.arange(4), True)
    (first, place, velocity, drag, dt) = seen[0]
    belt = BELT_STEP * sqrt(RADIUS * PITCH) / SPEED
    wanted = [belt * (1.0 + STEP_GROWTH * up / PITCH) for up in height]
    assert wanted[1] == pytest.approx(3.0 * belt)
    wanted[2], wanted[3] = 1e-4, LONGEST_STEP_S
    assert dt == pytest.approx(wanted, rel=1e-9)
    assert np.array_equal(place, start[:3])
    assert np.array_equal(velocity, start[3:6])
    for g, n in enumerate(NODE):
        # Half a step on, under the drag of the step before, the drag of this one is asked.
        middle = velocity[:, g] + 0.5 * dt[g] * (first[:, g] - before[g] * velocity[:, g])
        assert drag[g] == pytest.approx(drag_rate(n, np.linalg.norm(middle)), rel=1e-3)
    assert np.array_equal(flight.state[6], drag)


def test_steps_far_from_the_roll_are_one_response_time_at_most(monkeypatch):
    seen = spied(monkeypatch, "in_air")
    flight = in_the_air()
    flight.state[1] += 1.0
    flight.state[6] = [1.0, 1.0 / 0.003, 1.0 / 0.009, 2.0]
    flight.own[3] = [9.0, 9.0, 9.0, 0.005]
    flight._advance(np.arange(4), False)
    assert seen[0][2] == pytest.approx([LONGEST_STEP_S, 0.003, 0.009, 0.005])


def test_in_moving_air_the_push_is_asked_again_under_the_drag_of_the_step(monkeypatch):
    seen = spied(monkeypatch, "in_field")
    flight = in_the_air(layer=0.0043)
    flight.state[6] *= 1.7
    place = flight.state[:3].copy()
    flight._advance(np.arange(4), True)
    first, _, _, drag, _ = seen[0]
    assert first == pytest.approx(flight._push(place, flight.own, flight.base, drag), rel=1e-12)


def test_a_landing_is_the_root_of_the_cubic_through_both_ends_of_a_step():
    flight = in_the_air()
    before, after = np.zeros((7, 3)), np.zeros((7, 3))
    dt = np.array([0.011, 0.007, 0.009])
    before[:2] = [0.1, 0.2, 0.3], [-0.050, -0.055, -0.04]
    before[3:5] = [1.1, 0.4, 1.0], [-1.0, -2.0, -1.0]
    after[:2] = [0.113, 0.202, 0.31], [-0.062, -0.071, -0.049]
    after[3:5] = [0.9, 0.1, 1.0], [-1.4, -2.7, -1.0]
    live = np.ones(3, dtype=bool)
    flight._land(np.array([3, 1, 0]), before, after, dt, live)
    assert live.tolist() == [False, False, True]
    for place, grain in ((0, 3), (1, 1)):
        x, y = (
            CubicHermiteSpline(
                [0.0, dt[place]], [before[row, place], after[row, place]],
                [before[row + 3, place], after[row + 3, place]],
            )
            for row in (0, 1)
        )  # fmt: skip
        when = brentq(lambda t, y=y: y(t) - PLANE, 0.0, dt[place], xtol=1e-15)
        assert flight.landed[grain] == pytest.approx(float(x(when)), abs=1e-12)
    assert np.isnan(flight.landed[[0, 2]]).all()


def test_grains_back_on_the_belt_are_thrown_anew_or_settled_by_the_balance():
    """cos a = (turn^2 Rc - pull - adhesion)/g at the place of the contact, if that is later."""
    r, node = path_radius(1), (1,) * 8
    throws = TURN**2 * r
    # Thrown at the balance; where it met; dropped past the side; held; behind the top; not met
    # (a hair below is rounding); landed already; back on the very top.
    lifts = np.array([0.62, 0.62, -0.35, -1.02, 0.62, 0.62, 0.62, 1.7])
    angles = np.array([0.4, 1.2, 0.4, 0.4, -0.2, 0.4, 0.4, 0.0])
    adhesion = np.array([0.0, 2.0, 3.0, 1.0, 0.0, 0.0, 0.0, 0.0])
    scale = list((throws - adhesion - G * lifts) / 1.9)
    flight = in_the_air(node, [FOUR[0]] * 8, (0.0, 1.9, 0.0, 0.0), scale, list(adhesion))
    deep = r - 2.0 * TOUCH_M
    after = np.zeros((7, 8))
    after[:3] = deep * np.sin(angles), deep * np.cos(angles), np.full(8, 0.001)
    before = after.copy()
    height = np.full(8, -2.0 * TOUCH_M)
    height[5] = -0.5 * TOUCH_M
    live = np.ones(8, dtype=bool)
    live[6] = False
    left_alone = after.copy()
    which = np.arange(8)
    flight._meet_belt(which, before, after, flight.own, np.full(8, 0.001), height, live)
    assert live.tolist() == [True, True, False, False, False, True, False, True]
    assert flight.landed[2:5] == pytest.approx([r * sqrt(1.0 - 0.35**2), 0.0, 0.0], rel=1e-6)
    assert np.isnan(flight.landed[[0, 1, 5, 6, 7]]).all()
    for g, a in ((0, acos(0.62)), (1, 1.2), (7, 0.0)):
        wanted = [r * sin(a), r * cos(a), 0.001, TURN * r * cos(a), -TURN * r * sin(a), 0.0]
        assert after[:6, g] == pytest.approx(wanted, rel=1e-6, abs=1e-12)
        assert height[g] == 0.0
    assert np.array_equal(after[:, 5:7], left_alone[:, 5:7])
    assert height[5:7] == pytest.approx([-0.5 * TOUCH_M, -2.0 * TOUCH_M])


@pytest.mark.parametrize("layer", [0.0, 0.0043])
def test_a_grain_without_a_way_forward_falls_straight_down_once_out_of_moving_air(layer):
    stokes, _ = drag_parts(1)
    r, slow = path_radius(1), 0.95 * STALLED_M * stokes
    after = np.zeros((7, 7))
    after[0] = [r + 0.002, r + 0.020, 0.03, r - 0.001, r + 0.020, r + 0.020, r]
    after[1] = [0.0, 0.0, -0.06, 0.02, 0.0, 0.0, 0.0]
    after[3] = [slow, slow, slow, slow, 1.05 * STALLED_M * stokes, slow, -slow]
    height = np.hypot(after[0], after[1]) - r
    live = np.ones(7, dtype=bool)
    live[5] = False
    flight = in_the_air((1,) * 7, [FOUR[0]] * 7, layer=layer)
    flight._stall(np.arange(7), after, flight.own, height, live)
    # At three heights of the layer its wind is 5 %: nearer than 13 mm the air still carries.
    stopped = [1, 2] if layer else [0, 1, 2, 6]
    if layer:
        assert height[2] > 3.0 * layer
        near = np.array([3.0 * layer, 3.001 * layer, *height[2:]])
        live_too, live_too[5] = np.ones(7, dtype=bool), False
        flight._stall(np.arange(7), after, flight.own, near, live_too)
        assert live_too[:2].tolist() == [True, False]
    assert np.flatnonzero(~live).tolist() == sorted([*stopped, 5])
    assert flight.landed[stopped] == pytest.approx(after[0, stopped])
    others = sorted({0, 3, 4, 5, 6} - set(stopped))
    assert np.isnan(flight.landed[others]).all()


def test_a_stall_is_looked_for_at_every_fifth_step():
    beside = [path_radius(1) + 0.002, 0.0, 0.0, 0.0, 0.0, 0.0]
    flight = in_the_air((1,), [beside], (0.0,) * 4)
    for _ in range(STALL_EVERY - 1):
        flight.step()
        assert flight.near.tolist() == [0]
    flight.step()
    assert flight.near.size == 0
    assert flight.landed[0] == pytest.approx(path_radius(1) + 0.002)


def test_beyond_the_reach_of_the_pull_a_grain_is_far_but_in_moving_air_never():
    up = [path_radius(1) + share * REACH_PITCHES * PITCH for share in (0.9, 1.1)]
    state = [[0.0, y, 0.0, 0.01, 0.0, 0.0] for y in up]
    for layer, far in ((0.0, [1]), (0.0043, [])):
        flight = in_the_air((1, 1), state, (0.0,) * 4, layer=layer)
        flight.step()
        assert flight.far.tolist() == far
        assert sorted([*flight.near, *flight.far]) == [0, 1]
        assert flight.steps == {True: 1, False: 0}
    # As many far as near: those near the roll go first, and the others wait.
    flight = in_the_air((1, 1), state, (0.0,) * 4)
    flight.step()
    waiting = flight.state[:, 1].copy()
    flight.step()
    assert flight.steps == {True: 2, False: 0}
    assert np.array_equal(flight.state[:, 1], waiting)
    flight.near = flight.near[:0]
    flight.step()
    assert flight.steps == {True: 2, False: 1}
    assert not np.array_equal(flight.state[:, 1], waiting)


def test_however_many_are_stepped_at_once_each_flies_as_by_itself(monkeypatch):
    node, state = [0, 1, 2, 3, 0, 1, 3], [FOUR[g % 4] for g in range(7)]
    scale = list(0.5 + 0.1 * np.arange(7))
    together = in_the_air(node, state, scale=scale)
    together.step()
    monkeypatch.setattr(trajectories, "AT_ONCE", 3)
    apart = in_the_air(node, state, scale=scale)
    apart.step()
    assert np.array_equal(apart.state, together.state)
    assert not np.any(apart.state[0] == np.array(state)[:, 0])
    assert sorted([*apart.near, *apart.far]) == list(range(7))


def test_what_hovers_over_the_roll_is_given_up_after_ninety_steps():
    """A push that bears its weight keeps it there; far from the roll it is let go where it is."""
    hover = [0.0, path_radius(1) + 0.001, 0.0, 0.0, 0.0, 0.0]
    flight = in_the_air((1,), [hover], (0.0, -G, 0.0, 0.0))
    flight.landed[:] = 0.0
    for _ in range(MOST_STEPS - 1):
        flight.step()
    assert flight.near.size == 1
    flight.step()
    assert flight.near.size == 0
    assert flight.landed[0] == 0.0
    # So high above the roll that ninety steps do not bring it down.
    high = in_the_air((0,), [[0.013, 9.0, 0.0, 0.0, 0.0, 0.0]])
    high.near, high.far = high.far, high.near
    for _ in range(MOST_STEPS - 1):
        high.step()
    assert high.far.size == 1
    assert np.isnan(high.landed[0])
    high.step()
    assert high.far.size == 0
    assert high.landed[0] == pytest.approx(0.013)


def test_a_whole_step_without_pull_is_a_throw():
    """From place and speed by weight and drag, in a general solver."""
    from scipy.integrate import solve_ivp

    stokes, inertial = drag_parts(0)
    start = [0.0, path_radius(0) + 0.004, 0.0, 1.2, 0.3, -0.2]

    def rate(_, s):
        drag = stokes + inertial * np.linalg.norm(s[3:]) ** 0.687
        return [*s[3:], -drag * s[3], -drag * s[4] - G, -drag * s[5]]

    for near in (True, False):
        flight = in_the_air((0,), [start], (0.0,) * 4)
        flight.state[6] = drag_rate(0, np.linalg.norm(start[3:]))
        belt = BELT_STEP * sqrt(RADIUS * PITCH) / SPEED * (1.0 + STEP_GROWTH * 0.004 / PITCH)
        dt = min(belt, LONGEST_STEP_S)
        which, height = flight._advance(np.arange(1), near)
        end = solve_ivp(rate, (0.0, dt), start, "DOP853", rtol=1e-11, atol=1e-13).y[:, -1]
        assert flight.state[:6, 0] == pytest.approx(end, abs=2e-5)
        assert which.tolist() == [0]
        out = hypot(flight.state[0, 0], flight.state[1, 0])
        assert height == pytest.approx([out - path_radius(0)], abs=1e-12)
