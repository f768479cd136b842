"""What holds a grain on the belt, and what is refused."""

from __future__ import annotations

from math import pi

import numpy as np
import pytest

from feedchar.errors import SettingError
from feedchar.separation import detachment_angle, flux_density_to_hold
from feedchar.separation.hold import force_product_to_hold, highest_grain_speed
from feedchar.separation.mechanics import grain_speed

GRAIN = (5e-7, 3e-4, 1.5, 0.05, 2.5e-4, 0.005)
"""Susceptibility, diameter, speed, radius, belt, pitch."""


def test_the_field_needed_to_an_angle_releases_just_there():
    angles = np.radians([10.0, 45.0, 90.0, 135.0, 170.0])
    needed = flux_density_to_hold(*GRAIN, angles)
    assert detachment_angle(*GRAIN, needed) == pytest.approx(angles, abs=1e-9)


def test_more_field_never_releases_earlier():
    angles = detachment_angle(*GRAIN, np.linspace(0.0, 2.0, 200))
    assert np.all(np.diff(angles) >= 0.0)
    assert angles[0] == 0.0
    assert angles[-1] == pi


def test_a_slow_grain_without_pull_clings_past_the_top():
    # cos(angle) = v^2/(g Rc), quartz of no susceptibility
    angle = detachment_angle(0.0, 1e-7, 0.5, 0.05, 0.0, 0.005, 1.0)
    assert np.cos(angle) == pytest.approx(0.25 / (9.81 * 0.05), rel=1e-5)


def test_gravity_alone_holds_a_slow_grain_at_the_top_and_no_field_holds_a_diamagnet():
    assert flux_density_to_hold(-6e-9, 3e-4, 0.5, 0.05, 2e-4, 0.005, 0.0) == 0.0
    assert np.isinf(flux_density_to_hold(-6e-9, 3e-4, 1.5, 0.05, 2e-4, 0.005, pi / 2))
    assert np.isinf(force_product_to_hold(0.0, 1.5, 0.05))


def test_the_highest_speed_is_the_one_the_field_needed_belongs_to():
    needed = flux_density_to_hold(*GRAIN, pi / 2)
    chi, size, speed, radius, belt, pitch = GRAIN
    path = radius + belt + size / 2
    pull = speed**2 / path
    assert highest_grain_speed(pull, path) == pytest.approx(speed)
    faster = flux_density_to_hold(chi, size, 1.001 * speed, radius, belt, pitch, pi / 2)
    assert faster > needed


def test_the_balance_of_a_grain_at_an_angle_written_out():
    """chi k B1^2 S e^(-2k(t + d/2))/mu0 = v^2/Rc - g cos a, S the average over the sphere."""
    chi, size, speed, radius, belt, pitch = 4.3e-7, 3.7e-4, 1.13, 0.061, 3.1e-4, 0.0057
    k, path, mu0 = pi / pitch, radius + belt + size / 2, 4e-7 * pi
    x = k * size
    sphere = 3.0 * (x * np.cosh(x) - np.sinh(x)) / x**3
    per_square = chi * k / mu0 * sphere * np.exp(-2.0 * k * (belt + size / 2))
    for angle in (0.4, 1.3, 2.2):
        spare = speed**2 / path - 9.81 * np.cos(angle)
        wanted = np.sqrt(spare / per_square)
        figures = (chi, size, speed, radius, belt, pitch)
        assert flux_density_to_hold(*figures, angle) == pytest.approx(wanted, rel=1e-9)
        assert detachment_angle(*figures, wanted) == pytest.approx(angle, rel=1e-9)
        product = mu0 * spare / chi
        assert force_product_to_hold(chi, speed, path, angle) == pytest.approx(product, rel=1e-9)
        pull = per_square * wanted**2
        assert highest_grain_speed(pull, path, angle) == pytest.approx(speed, rel=1e-9)
    # At the top gravity holds what the belt hardly throws; half a m/s2 more must be held.
    slow = np.sqrt(9.81 * path * 0.999)
    assert flux_density_to_hold(chi, size, slow, radius, belt, pitch, 0.0) == 0.0
    fast = np.sqrt(9.81 * path + 0.5 * path)
    wanted = np.sqrt(0.5 / per_square)
    assert flux_density_to_hold(chi, size, fast, radius, belt, pitch, 0.0) == pytest.approx(wanted)
    assert force_product_to_hold(chi, fast, path, 0.0) == pytest.approx(mu0 * 0.5 / chi)
    with pytest.raises(SettingError, match="from 0"):
        flux_density_to_hold(*GRAIN, np.array([0.4, 3.5]))
    # To the side where no angle is told; under the roll its weight pulls away.
    assert force_product_to_hold(chi, speed, path) == pytest.approx(mu0 * speed**2 / path / chi)
    assert highest_grain_speed(3.0, path) == pytest.approx(np.sqrt(3.0 * path))
    assert highest_grain_speed(3.0, path, pi) == 0.0
    # Gravity alone holds a slow grain at the top, whatever its susceptibility.
    assert force_product_to_hold(-chi, 0.3, path, 0.0) == 0.0
    assert force_product_to_hold(chi, 0.3, path, 0.0) == 0.0
    assert np.isinf(force_product_to_hold(-chi, 1.5, path, 0.0))


def test_lengths_that_just_fit_are_taken():
    """A grain as large as the radius, a pitch as large, a belt as thick as the pitch."""
    chi, size, speed, radius, belt, pitch = GRAIN
    assert flux_density_to_hold(chi, radius, speed, radius, belt, pitch, 1.0) > 0.0
    assert flux_density_to_hold(chi, size, speed, radius, belt, radius, 1.0) > 0.0
    assert flux_density_to_hold(chi, size, speed, radius, pitch, pitch, 1.0) > 0.0
    assert flux_density_to_hold(chi, size, speed, radius, belt, pitch, pi + 0.9e-9) > 0.0
    with pytest.raises(SettingError, match="from 0"):
        flux_density_to_hold(chi, size, speed, radius, belt, pitch, pi + 1e-7)


def test_the_centre_of_a_grain_runs_ahead_of_the_belt_it_rides_on():
    """As a rigid wheel turns: 1.13 m/s x (61 + 0.31 + 0.185)/(61 + 0.31)."""
    assert grain_speed(1.13, 0.061, 3.1e-4, 1.85e-4) == pytest.approx(1.13 * 61.495 / 61.31)


@pytest.mark.parametrize(
    ("place", "two", "told"),
    [
        (1, [3e-4, 0.06], "larger than the roll radius"),
        (4, [1e-4, 0.006], "thicker than the pitch"),
        (5, [0.005, 0.06], "larger than the roll radius"),
        (2, [1.5, 0.0], "belt at rest"),
    ],
)
def test_one_that_cannot_be_is_refused_among_others(place, two, told):
    figures = list(GRAIN)
    figures[place] = np.array(two)
    with pytest.raises(SettingError, match=told):
        flux_density_to_hold(*figures, pi / 2)


def test_arrays_of_minerals_sizes_and_speeds_broadcast():
    found = flux_density_to_hold(
        np.array([1e-7, 5e-7])[:, None, None],
        np.array([1e-4, 3e-4, 1e-3])[:, None],
        np.array([0.5, 1.0, 1.5, 2.0]),
        0.05, 2.5e-4, 0.005, pi / 2,
    )  # fmt: skip
    assert found.shape == (2, 3, 4)
    assert np.all(np.diff(found, axis=2) > 0.0)
    assert np.all(np.diff(found, axis=1) > 0.0)


@pytest.mark.parametrize(
    ("place", "value", "told"),
    [
        (1, 0.0, "Grain diameter"),
        (1, -1e-4, "Grain diameter"),
        (1, 0.06, "larger than the roll radius"),
        (1, np.nan, "Grain diameter"),
        (2, 0.0, "belt at rest"),
        (2, -1.5, "Grain speed"),
        (3, 0.0, "Radius of the roll"),
        (4, -1e-4, "Belt thickness"),
        (4, 0.006, "thicker than the pitch"),
        (5, 0.0, "Pitch"),
        (5, 0.06, "larger than the roll radius"),
        (0, np.inf, "Mass susceptibility"),
    ],
)
def test_what_cannot_be_is_refused_with_what_would_be_right(place, value, told):
    figures = list(GRAIN)
    figures[place] = value
    with pytest.raises(SettingError, match=told):
        flux_density_to_hold(*figures, pi / 2)
    with pytest.raises(SettingError, match=told):
        detachment_angle(*figures, 1.0)


@pytest.mark.parametrize("angle", [-0.1, 3.5, np.nan])
def test_an_angle_outside_the_wrap_is_refused(angle):
    with pytest.raises(SettingError, match="from 0"):
        flux_density_to_hold(*GRAIN, angle)


def test_extreme_but_possible_grains_neither_overflow_nor_warn():
    dust = flux_density_to_hold(5e-7, 1e-6, 1.5, 0.05, 2e-4, 0.005, pi / 2)
    pebble = flux_density_to_hold(5e-7, 0.05, 1.5, 0.05, 2e-4, 0.001, pi / 2)
    assert np.isfinite(dust)
    assert pebble > dust
    assert detachment_angle(5e-7, 0.09, 1.5, 0.1, 2e-4, 1e-3, 1.0) >= 0.0
