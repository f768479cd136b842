"""Fine flights taken apart, in pulls made up so that every figure has a closed form.

A map of one value everywhere is a steady pull, one of a single point shows the weights by which
neighbours are blended; both leave Newton's law, the balance on the belt and the bookkeeping of
paths to be written out here by hand. Grains, belt and roll are odd figures of no real machine.
"""

from __future__ import annotations

from math import acos, cos, hypot, pi, sin, sqrt

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from feedchar.separation.fine_flight import (
    LONGEST_STEP_S,
    MOST_CONTACTS,
    NEAR_STEP,
    STALLED_M,
    STEP_OF_RESPONSE,
    TOUCH_M,
    _Flights,
    fine_flights,
)
from feedchar.separation.grain_nodes import Kind, grain_nodes
from feedchar.separation.pull_map import AXIAL_CELLS, HEIGHTS, PullMap
from feedchar.separation.thrower import Thrower

RADIUS, BELT, PITCH, SPEED = 0.047, 3e-4, 0.0061, 1.37
THROWER = Thrower(RADIUS, BELT, PITCH, SPEED)
KINDS = (Kind(False, 2710.0), Kind(True, 2830.0, 0.3))
SIZES = (2.1e-4, 3.7e-4)
NODES = grain_nodes(KINDS, SIZES)
G, VISCOSITY, AIR = 9.81, 1.81e-5, 1.204
PLANE = -(RADIUS + 0.010)
TURN = SPEED / (RADIUS + BELT)


def path_radius(node):
    size, flake = SIZES[node % 2], node >= 2
    return RADIUS + BELT + 0.5 * size * (0.3 if flake else 1.0)


def drag_rate(node, speed):
    """Schiller and Naumann (from memory) for the sphere of equal volume, 2.5 times for a flake."""
    size, flake = SIZES[node % 2], node >= 2
    sphere = (1.5 * size**3 * 0.3) ** (1.0 / 3.0) if flake else size
    density, more = (2830.0, 2.5) if flake else (2710.0, 1.0)
    stokes = more * 18.0 * VISCOSITY / (density * sphere**2)
    return stokes, stokes * (1.0 + 0.15 * (AIR * sphere * speed / VISCOSITY) ** 0.687)


def newton(node, pull, state):
    """Rates of x, y, z and their speeds, in a steady pull towards the roll and along it."""
    x, y, _, vx, vy, vz = state
    distance, rate = hypot(x, y), drag_rate(node, sqrt(vx * vx + vy * vy + vz * vz))[1]
    return [
        vx, vy, vz,
        -pull.real * x / distance - rate * vx,
        -pull.real * y / distance - rate * vy - G,
        pull.imag - rate * vz,
    ]  # fmt: skip


def steady(*pulls):
    """A map with one value for each node."""
    values = np.broadcast_to(
        np.array(pulls, dtype=complex)[:, None, None], (4, HEIGHTS, AXIAL_CELLS)
    )
    return PullMap(values, PITCH)


def in_the_air(node, state, pulls=(0.0,) * 4, paths=False):
    """Flights whose grains are put where a test wants them."""
    node = np.array(node, dtype=np.intp)
    flights = _Flights(THROWER, NODES, steady(*pulls), node, np.zeros(len(node)), paths)
    flights.going, flights.state = np.arange(len(node)), np.array(state, dtype=float).T.copy()
    flights.landed[:] = np.nan
    return flights


PULLS = (0.7 - 0.3j, 3.1 + 1.7j, -2.3 + 0.9j, 5.2 - 2.9j)
SOMEWHERE = [
    [0.031, 0.044, 0.0007, 0.9, -0.7, 0.23],
    [-0.012, 0.061, -0.0031, 0.4, 0.5, -0.11],
    [0.083, -0.021, 0.0119, 1.3, -1.9, 0.05],
]


def test_speeds_and_accelerations_are_newtons():
    nodes = (1, 3, 0)
    flights = in_the_air(nodes, SOMEWHERE, PULLS)
    found = flights._rate(flights.state)
    wanted = [newton(n, PULLS[n], s) for n, s in zip(nodes, SOMEWHERE, strict=True)]
    assert found == pytest.approx(np.array(wanted).T, rel=1e-9)


def test_the_pull_is_asked_at_the_height_above_the_contact_and_the_place_along_the_roll(
    monkeypatch,
):
    seen = []
    monkeypatch.setattr(_Flights, "_pull", lambda _, *asked: seen.append(asked) or np.zeros(2))
    flights = in_the_air((3, 0), SOMEWHERE[:2])
    flights.going, flights.state = flights.going[::-1], flights.state[:, ::-1]
    seen.clear()
    flights._rate(flights.state)
    node, height, axial = seen[0]
    assert node.tolist() == [0, 3]
    out = [hypot(*SOMEWHERE[g][:2]) - path_radius(n) for g, n in ((1, 0), (0, 3))]
    assert height == pytest.approx(out, rel=1e-12)
    assert axial.tolist() == [SOMEWHERE[1][2], SOMEWHERE[0][2]]


def test_a_step_ends_where_a_general_solver_ends():
    """Short near the belt, 2 ms beyond a pitch, a quarter of the response time of slow dust."""
    near = NEAR_STEP * sqrt(RADIUS * PITCH) / SPEED
    dust = (Kind(False, 2710.0),)
    for size, place, wanted in ((3.7e-4, 0.052, near), (3.7e-4, 0.0545, LONGEST_STEP_S),
                                (3.1e-5, 0.0545, None)):  # fmt: skip
        nodes = grain_nodes(dust, (size,))
        values = np.full((1, HEIGHTS, AXIAL_CELLS), 3.1 + 1.7j)
        none = np.zeros(1, dtype=np.intp)
        flights = _Flights(THROWER, nodes, PullMap(values, PITCH), none, np.zeros(1), False)
        start = [0.6 * place, 0.8 * place, 0.001, 1.1, 0.4, -0.3]
        flights.going, flights.state = none, np.array(start)[:, None]
        stokes = 18.0 * VISCOSITY / (2710.0 * size**2)

        def rate(_, s, stokes=stokes, size=size):
            speed = sqrt(s[3] ** 2 + s[4] ** 2 + s[5] ** 2)
            drag = stokes * (1.0 + 0.15 * (AIR * size * speed / VISCOSITY) ** 0.687)
            far = hypot(s[0], s[1])
            return [*s[3:], -3.1 * s[0] / far - drag * s[3], -3.1 * s[1] / far - drag * s[4] - G,
                    1.7 - drag * s[5]]  # fmt: skip

        first = rate(0.0, start)
        if wanted is None:
            drag = -(first[5] - 1.7) / start[5]
            wanted = STEP_OF_RESPONSE / drag
            assert wanted < 0.8 * LONGEST_STEP_S
        solved = solve_ivp(rate, (0.0, wanted), start, "DOP853", rtol=1e-12, atol=1e-15).y[:, -1]
        flights.step()
        moved = np.abs(solved - start)
        assert np.all(np.abs(flights.state[:, 0] - solved) < 1e-4 * moved + 1e-9)


def test_a_grain_lands_on_the_straight_line_through_the_plane():
    start = [0.083, PLANE + 0.0008, 0.0, 1.3, -1.9, 0.0]
    flights = in_the_air((1, 1), [start, [0.09, PLANE + 0.5, 0.0, 1.3, -1.9, 0.0]])
    flights.step()
    assert flights.landed[0] == pytest.approx(0.083 + 0.0008 * 1.3 / 1.9, abs=5e-6)
    assert np.isnan(flights.landed[1])
    assert flights.going.tolist() == [1]
    assert flights.state.shape == (6, 1)
    assert flights.state[1, 0] > 0.4


def test_a_grain_without_a_way_forward_falls_straight_down_beside_the_roll_or_below_its_axis():
    """Speed over the Stokes rate is the way left; above the roll it may still slide forward."""
    stokes, _ = drag_rate(1, 0.0)
    slow, quick = 0.7 * STALLED_M * stokes, 1.2 * STALLED_M * stokes
    r = path_radius(1)
    stops = [[r + 0.002, 0.01, 0, slow, -1.0, 0], [0.03, -0.045, 0, slow, -0.2, 0]]
    flies = [
        [r + 0.002, 0.01, 0, quick, -1.0, 0],
        [r - 0.002, 0.03, 0, slow, -0.2, 0],
        [-0.03, 0.06, 0, -0.2, -0.2, 0],
    ]
    flights = in_the_air((1,) * 5, [*stops, *flies])
    flights.step()
    assert flights.landed[:2] == pytest.approx([r + 0.002, 0.03], abs=1e-5)
    assert np.isnan(flights.landed[2:]).all()
    assert flights.going.tolist() == [2, 3, 4]


def test_where_the_balance_lets_go_and_how_the_grain_leaves():
    """cos a = (turn^2 Rc - pull)/g; past the side it drops, where it is held it goes round."""
    r = path_radius(1)
    throws = TURN**2 * r
    lifts = (1.4, 0.62, 0.62, -0.35, -1.02, 0.62)
    starts = (0.0, 0.0, 1.1, 0.2, 0.0, -0.3)
    node = np.arange(6)
    nodes = grain_nodes((Kind(False, 2710.0),), (3.7e-4,) * 6)
    values = np.empty((6, HEIGHTS, AXIAL_CELLS), dtype=complex)
    values[:] = np.array([throws - G * lift for lift in lifts])[:, None, None]
    flights = _Flights(THROWER, nodes, PullMap(values, PITCH), node, np.zeros(6), False)
    flights.going, flights.landed = node.copy(), np.full(6, np.nan)
    axial = 0.001 * np.arange(6)
    found = flights._leave(np.array(starts), axial)
    wanted = np.array([0.0, acos(0.62), 1.1, acos(-0.35), pi, pi])
    assert found == pytest.approx(wanted, abs=1e-12)
    state = flights.state
    assert state[0] == pytest.approx(r * np.sin(wanted), abs=1e-12)
    assert state[1] == pytest.approx(r * np.cos(wanted), abs=1e-12)
    assert np.array_equal(state[2], axial)
    assert state[3] == pytest.approx(TURN * r * np.cos(wanted), abs=1e-12)
    assert state[4] == pytest.approx(-TURN * r * np.sin(wanted), abs=1e-12)
    assert np.array_equal(state[5], np.zeros(6))
    assert np.isnan(flights.landed[:3]).all()
    assert flights.landed[3] == pytest.approx(r * sqrt(1.0 - 0.35**2))
    assert flights.landed[4:].tolist() == [0.0, 0.0]


def test_grains_back_on_the_belt_ride_on_and_one_that_creeps_lets_go_at_the_side():
    """Which of the grains in the air they are is kept: their places on the belt are their own."""
    r = path_radius(1)
    pull = TURN**2 * r - G * 0.62
    flights = in_the_air((1,) * 6, [[0.0, 0.2, 0, 1, 0, 0]] * 6, (0.0, pull, 0.0, 0.0))
    at = [0.4, 1.2, 1.2, 0.4, -0.3]
    for place, angle in enumerate(at, start=1):
        flights.state[:3, place] = r * sin(angle), r * cos(angle), 0.001 * place
    flights.contacts[:] = [0, 0, MOST_CONTACTS - 1, MOST_CONTACTS, 7, MOST_CONTACTS]
    settled = flights._meet_belt(np.array([1, 2, 3, 4, 5]))
    assert settled.tolist() == [False, False, True, False, True]
    more = [0, 1, MOST_CONTACTS, MOST_CONTACTS + 1, 8, MOST_CONTACTS + 1]
    assert flights.contacts.tolist() == more
    leaves = [acos(0.62), 1.2, 1.2, acos(0.62), pi]
    assert flights.state[0] == pytest.approx([0.0, *(r * sin(a) for a in leaves)])
    assert flights.state[1] == pytest.approx([0.2, *(r * cos(a) for a in leaves)])
    assert flights.state[2] == pytest.approx([0.0, 0.001, 0.002, 0.003, 0.004, 0.005])
    # One that met the belt behind the top is carried round, however often it has hopped.
    assert flights.landed[[3, 5]] == pytest.approx([r, 0.0])
    assert np.isnan(flights.landed[[0, 1, 2, 4]]).all()
    assert flights.going.tolist() == [0, 1, 2, 3, 4, 5]


@pytest.mark.parametrize(("depth", "back"), [(0.5 * TOUCH_M, False), (3.0 * TOUCH_M, True)])
def test_a_hair_below_the_belt_is_rounding(depth, back):
    """A step that ends this deep: along the vertical above the roll the end is known."""
    flights = in_the_air((1,), [[0.0, 0.0, 0, 0.0, 0.0, 0]])
    flights.state[:, 0] = 0.0, path_radius(1) + 0.002, 0.0, 0.0, -1.0, 0.0
    flights.step()
    end = flights.state[1, 0]
    again = in_the_air((1,), [[0.0, path_radius(1) + 0.002, 0.0, 0.0, -1.0, 0.0]])
    again.radius = np.array([end + depth])
    again.near = flights.near
    again.step()
    assert bool(again.contacts[0]) == back


def test_what_still_flies_at_the_end_is_taken_where_it_is():
    flights = in_the_air((0, 1), [[0.051, 0.01, 0, 0, 0, 0], [0.063, 0.02, 0, 0, 0, 0]])
    flights.landed[:] = 0.0
    flights.going, flights.state = flights.going[1:], flights.state[:, 1:]
    flown = flights.flown()
    assert flown.landed_m.tolist() == [0.0, 0.063]
    assert flown.paths_m == ()


def weight_of(part):
    """Share of a neighbour this many steps away in the cubic through four of them."""
    t = abs(part)
    if t < 1.0:
        return (1.0 - t * t) * (2.0 - t) / 2.0
    return (1.0 - t) * (2.0 - t) * (3.0 - t) / 6.0 if t < 2.0 else 0.0


def at_end(part):
    """The same for the last of four neighbours, which stands at 3."""
    return part * (part - 1.0) * (part - 2.0) / 6.0


@pytest.mark.parametrize("cell", [0, 1, 53, AXIAL_CELLS - 1])
def test_a_pull_between_the_points_of_a_map_is_cubic_in_both_directions(cell):
    """One point of the map alone is 1: what is found around it is its weight."""
    values = np.zeros((2, HEIGHTS, AXIAL_CELLS), dtype=complex)
    values[1, 50, cell] = 1.0 - 2.0j
    flights = _Flights(
        THROWER, NODES, PullMap(values, PITCH), np.zeros(1, dtype=np.intp), np.zeros(1), False
    )
    up, along = np.meshgrid([-2.3, -1.6, -0.7, 0.0, 0.4, 1.3, 2.2], [-2.2, -1.4, -0.8, 0.3, 1.9])
    up, along = up.ravel(), along.ravel()
    height = -np.log(1.0 - (50.0 + up) / (HEIGHTS - 1.0)) * PITCH / pi
    for turns in (0, -3, 2):
        axial = ((cell + along) / AXIAL_CELLS + turns) * PITCH
        found = flights._pull(np.ones(len(up), dtype=np.intp), height, axial)
        wanted = [weight_of(u) * weight_of(a) for u, a in zip(up, along, strict=True)]
        assert found == pytest.approx(np.array(wanted) * (1.0 - 2.0j), abs=1e-9)
        other = flights._pull(np.zeros(len(up), dtype=np.intp), height, axial)
        assert not other.any()


def test_on_the_belt_and_out_of_reach_the_last_four_levels_are_blended():
    values = np.zeros((1, HEIGHTS, AXIAL_CELLS), dtype=complex)
    values[0, 0], values[0, -1] = 1.0, 1.0j
    flights = _Flights(
        THROWER, NODES, PullMap(values, PITCH), np.zeros(1, dtype=np.intp), np.zeros(1), False
    )
    last = HEIGHTS - 1.0
    up = np.array([0.0, 0.3, 0.9, last - 0.4, last - 0.9])
    height = -np.log(1.0 - up / last) * PITCH / pi
    found = flights._pull(np.zeros(5, dtype=np.intp), height, np.full(5, 0.0007))
    on_belt = [at_end(3.0 - u) for u in up[:3]]
    above = [at_end(3.0 + u - last) * 1j for u in up[3:]]
    assert found == pytest.approx(np.array([*on_belt, *above]), abs=1e-9)
    # Below the belt it is that on the belt.
    below = flights._pull(np.zeros(1, dtype=np.intp), np.full(1, -1e-4), np.zeros(1))
    assert below == pytest.approx([1.0])


def test_a_path_lies_on_the_belt_then_outside_it_and_ends_in_the_plane():
    """A point every fortieth of a radian on the belt; then one every step."""
    r, node = path_radius(1), np.array([1], dtype=np.intp)
    pull = TURN**2 * r - G * 0.3
    pulls = steady(0.0, pull, 0.0, 0.0)
    # Without the pull once it has left: a map whose lowest levels alone pull.
    values = pulls.values.copy()
    values[:, 4:] = 0.0
    found = fine_flights(THROWER, NODES, PullMap(values, PITCH), node, np.zeros(1), True)
    assert found.released_rad == pytest.approx([acos(0.3)])
    (x, y) = found.paths_m[0]
    arc = 2 + int(40 * acos(0.3))
    angles = np.linspace(0.0, acos(0.3), arc)
    assert x[:arc] == pytest.approx(r * np.sin(angles), abs=1e-12)
    assert y[:arc] == pytest.approx(r * np.cos(angles), abs=1e-12)
    assert np.all(np.hypot(x[arc:-1], y[arc:-1]) > r)
    assert np.all(np.diff(y) < 0.0)
    assert y[-2] > PLANE
    assert (x[-1], y[-1]) == (found.landed_m[0], PLANE)


def test_a_path_that_meets_the_belt_again_goes_on_along_it():
    r = path_radius(1)
    flights = in_the_air((1,), [[0.0, r, 0, 0, 0, 0]], (0, TURN**2 * r + 0.35 * G, 0, 0), True)
    flights.points = [[]]
    flights.state[:2, 0] = r * sin(0.4), r * cos(0.4)
    assert flights._meet_belt(np.array([0])).tolist() == [True]
    end = acos(-0.35)
    x, y = np.array(flights.points[0]).T
    assert len(x) == 2 + int(40 * (end - 0.4)) + 1
    assert (x[0], y[0]) == pytest.approx((r * sin(0.4), r * cos(0.4)))
    assert (x[-2], y[-2]) == pytest.approx((r * sin(end), r * cos(end)))
    assert (x[-1], y[-1]) == pytest.approx((r * sin(end), PLANE))


def test_paths_are_kept_for_each_grain_when_asked():
    """Three of four fly: their points are their own, and one that falls ends below where it is."""
    none = steady(0.0, 0.0, 0.0, TURN**2 * path_radius(3) + 2.0 * G)
    node = np.array([1, 3, 0, 2], dtype=np.intp)
    found = fine_flights(THROWER, NODES, none, node, np.zeros(4), True)
    for n, landed, (x, y) in zip(node, found.landed_m, found.paths_m, strict=True):
        assert (x[0], y[0]) == pytest.approx((0.0, path_radius(n)))
        if n == 3:
            assert landed == 0.0
            assert len(x) == 2 + int(40 * pi)
            assert (x[-1], y[-1]) == pytest.approx((0.0, -path_radius(3)), abs=1e-9)
            continue
        assert (x[-1], y[-1]) == (landed, PLANE)
        assert np.all(np.diff(x) >= 0.0)
        assert np.all(np.diff(y) <= 0.0)
    assert fine_flights(THROWER, NODES, none, node, np.zeros(4)).paths_m == ()
