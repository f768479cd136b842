"""Flight of a grain against a general solver of ordinary differential equations."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from feedchar.errors import SettingError
from feedchar.separation import landing_position, terminal_velocity
from feedchar.separation.drag import drag_rate

RADIUS, BELT, PLANE = 0.05, 2e-4, 0.2


def landing_by_solver(density, size, speed, radius, belt, plane):
    """scipy's solve_ivp (RK45 of order 8, rtol 1e-9), its own drag; NaN on meeting the belt.

    Steps of a millisecond at most, or a grazing contact between two steps goes unseen.
    """
    path = radius + belt + size / 2
    stokes = 18 * 1.81e-5 / (density * size**2)

    def rate(_, s):
        v = np.hypot(s[2], s[3])
        drag = stokes * (1 + 0.15 * (1.204 * size * v / 1.81e-5) ** 0.687)
        return [s[2], s[3], -drag * s[2], -9.81 - drag * s[3]]

    def crosses(_, s):
        return s[1] + plane

    def touches(t, s):
        return np.hypot(s[0], s[1]) - path if t > 1e-5 else 1.0

    crosses.terminal = touches.terminal = True
    crosses.direction = touches.direction = -1
    out = solve_ivp(
        rate,
        (0, 60),
        [0, path, speed, 0],
        "DOP853",
        events=(crosses, touches),
        rtol=1e-9,
        max_step=1e-3,
        atol=1e-12,
    )
    return out.y_events[0][0][0] if len(out.y_events[0]) else np.nan


@pytest.mark.parametrize("speed", [1.0, 1.5, 3.0])
@pytest.mark.parametrize("radius", [0.05, 0.1])
def test_landings_are_within_a_tenth_of_a_millimetre_of_a_general_solver(radius, speed):
    sizes = np.array([60, 80, 110, 160, 250, 400, 700, 1500]) * 1e-6
    found = landing_position(2650.0, sizes, speed, radius, BELT, PLANE)
    solved = [landing_by_solver(2650.0, size, speed, radius, BELT, PLANE) for size in sizes]
    assert np.array_equal(np.isnan(found), np.isnan(solved))
    both = ~np.isnan(found)
    assert both.sum() >= 2
    assert np.max(np.abs(found[both] - np.array(solved)[both])) < 1e-4


def test_without_drag_it_is_a_parabola():
    path = RADIUS + BELT + 1.5e-4
    expected = 1.5 * np.sqrt(2 * (path + PLANE) / 9.81)
    assert landing_position(2650, 3e-4, 1.5, RADIUS, BELT, PLANE, drag=False) == pytest.approx(
        expected
    )


def test_a_very_heavy_grain_flies_as_in_a_vacuum():
    heavy = landing_position(1e9, 3e-4, 1.5, RADIUS, BELT, PLANE)
    assert heavy == pytest.approx(
        landing_position(1e9, 3e-4, 1.5, RADIUS, BELT, PLANE, drag=False), rel=1e-5
    )


def test_dust_and_slow_grains_meet_the_belt_again():
    dust = landing_position(2650, np.array([1e-6, 1e-5, 5e-5]), 1.5, RADIUS, BELT, PLANE)
    assert np.all(np.isnan(dust))
    assert np.isnan(landing_position(2650, 5e-4, 0.6, RADIUS, BELT, PLANE))
    assert np.isnan(landing_position(2650, 5e-4, 0.6, RADIUS, BELT, PLANE, drag=False))


def test_a_grain_leaves_the_top_above_the_root_of_g_times_its_radius():
    """0.7030 m/s on a path of 50.35 mm, in a vacuum and for a grain that no air can stop."""
    path = RADIUS + BELT + 1.5e-4
    limit = np.sqrt(9.81 * path)
    for density, drag in ((2650.0, False), (1e9, True)):
        around = limit * np.array([0.999, 1.001])
        found = landing_position(density, 3e-4, around, RADIUS, BELT, PLANE, drag=drag)
        fall = np.sqrt(2.0 * (path + PLANE) / 9.81)
        assert np.isnan(found[0])
        assert found[1] == pytest.approx(around[1] * fall, rel=1e-4)


def test_a_plane_may_lie_anywhere_below_the_top_of_the_path():
    path = RADIUS + BELT + 1.5e-4
    place = (2650.0, 3e-4, 1.5, RADIUS, BELT)
    for above in (0.0, 0.02, 0.9 * path):
        found = landing_position(*place, -above, drag=False)
        assert found == pytest.approx(1.5 * np.sqrt(2.0 * (path - above) / 9.81), rel=1e-9)
        solved = landing_by_solver(*place, -above)
        assert landing_position(*place, -above) == pytest.approx(solved, abs=1e-5)
    top = RADIUS + (BELT + 1.5e-4)  # added up as the flight does, to the last digit
    for planes in (-top, np.array([0.2, -top, 0.1])):
        with pytest.raises(SettingError, match="below the top"):
            landing_position(*place, planes)


def test_arrays_broadcast_and_a_single_grain_gives_a_number():
    table = landing_position(
        np.array([2650.0, 4700.0])[:, None], np.array([2e-4, 3e-4, 5e-4]), 1.5, RADIUS, BELT, PLANE
    )
    assert table.shape == (2, 3)
    assert np.all(np.diff(table, axis=0) > 0)  # denser grains fly further
    one = landing_position(4700.0, 3e-4, 1.5, RADIUS, BELT, PLANE)
    assert np.ndim(one) == 0
    assert one == pytest.approx(table[1, 1], rel=1e-9)


def test_terminal_velocity_balances_weight_and_drag():
    sizes = np.geomspace(1e-6, 3e-3, 40)
    speed = terminal_velocity(2650.0, sizes)
    assert speed * drag_rate(speed, 2650.0, sizes) == pytest.approx(np.full(40, 9.81), rel=1e-12)


@pytest.mark.parametrize(
    ("figures", "told"),
    [
        ((0.0, 3e-4, 1.5, RADIUS, BELT, PLANE), "Grain density"),
        ((2650, 0.0, 1.5, RADIUS, BELT, PLANE), "Grain diameter"),
        ((2650, 3e-4, 0.0, RADIUS, BELT, PLANE), "belt at rest"),
        ((2650, 3e-4, 1.5, -1.0, BELT, PLANE), "Radius of the roll"),
        ((2650, 3e-4, 1.5, RADIUS, BELT, -0.06), "below the top"),
        ((2650, 3e-4, 1.5, RADIUS, BELT, np.nan), "Depth of the plane"),
    ],
)
def test_a_flight_that_cannot_be_is_refused(figures, told):
    with pytest.raises(SettingError, match=told):
        landing_position(*figures)
