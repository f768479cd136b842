"""The pull on spheres and flakes: closed forms against sums over points, and what must hold."""

from __future__ import annotations

from math import pi

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import quad

from feedchar.constants import VACUUM_PERMEABILITY_T_M_A
from feedchar.errors import SettingError
from feedchar.magnetics.pull import (
    flake_average,
    magnetic_acceleration,
    scaled_sphere_average,
    sphere_average,
)


@pytest.mark.parametrize("x", [0.02, 0.3, 0.499, 0.501, 1.0, 4.0, 12.0])
def test_the_sphere_average_is_the_integral_over_slices_of_a_sphere(x):
    # Slices at s (in radii) weigh 3/4 (1 - s^2); the square of the field falls as e^(-x s).
    integral, _ = quad(lambda s: 0.75 * (1 - s * s) * np.exp(-x * s), -1, 1, epsrel=1e-12)
    assert sphere_average(x) == pytest.approx(integral, rel=1e-10)
    assert scaled_sphere_average(x) == pytest.approx(integral * np.exp(-x), rel=1e-10)


def test_the_sphere_average_of_a_random_sphere_of_points():
    rng = np.random.default_rng(3)
    points = rng.uniform(-1, 1, (400_000, 3))
    inside = points[(points**2).sum(axis=1) < 1]
    assert sphere_average(2.0) == pytest.approx(np.exp(2.0 * inside[:, 2]).mean(), rel=3e-3)


def test_series_and_closed_form_meet():
    x = np.array([0.5 - 1e-9, 0.5 + 1e-9])
    low, high = sphere_average(x)
    assert low == pytest.approx(high, rel=1e-9)


@pytest.mark.parametrize("x", [0.0, 1e-300, 1e-8, 700.0, 722.0, 800.0, 1e9])
def test_no_grain_size_overflows(x):
    assert np.isfinite(sphere_average(x))
    assert sphere_average(x) >= 1.0
    assert 0.0 <= scaled_sphere_average(x) <= 1.0


def test_the_flake_average_is_the_integral_over_a_disc():
    thickness, diameter = 2e-4, 1.5e-3
    k = pi / 0.005
    rng = np.random.default_rng(5)
    square = rng.uniform(-1, 1, (400_000, 2))
    disc = square[(square**2).sum(axis=1) < 1] * diameter / 2
    height = rng.uniform(-thickness / 2, thickness / 2, len(disc))
    for n, m in ((1, 1), (1, 3), (3, 5), (1, 9)):
        points = np.exp(-(n + m) * k * height) * np.cos((n - m) * k * disc[:, 0])
        found = flake_average(thickness, diameter, (n + m) * k, (n - m) * k)
        assert found == pytest.approx(points.mean(), abs=4e-3)
    assert flake_average(0.0, 0.0, 2 * k) == 1.0


def test_a_thin_flake_is_a_point_and_a_thick_one_does_not_overflow():
    assert flake_average(1e-9, 0.0, 2 * pi / 0.005) == pytest.approx(1.0)
    assert np.isfinite(flake_average(1.0, 1.0, 1e6))


@given(
    chi=st.floats(-1e-4, 1e-4),
    b1=st.floats(0.01, 3.0),
    pitch=st.floats(1e-3, 0.05),
    height=st.floats(0, 0.02),
    size=st.floats(0, 3e-3),
)
@settings(max_examples=200, deadline=None)
def test_the_pull_goes_with_the_square_of_the_field_and_with_susceptibility(
    chi, b1, pitch, height, size
):
    once = magnetic_acceleration(chi, b1, pitch, height, size)
    assert magnetic_acceleration(chi, 2 * b1, pitch, height, size) == pytest.approx(4 * once)
    assert magnetic_acceleration(-chi, b1, pitch, height, size) == pytest.approx(-once)
    farther = magnetic_acceleration(chi, b1, pitch, height + 1e-3, size)
    assert abs(farther) <= abs(once)
    assert np.sign(once) in (np.sign(chi), 0)


def test_the_pull_takes_arrays_and_broadcasts():
    chi = np.array([5e-7, 1e-6])[:, None]
    size = np.array([1e-4, 3e-4, 1e-3])
    found = magnetic_acceleration(chi, 1.1, 0.005, 0.00025 + size / 2, size)
    assert found.shape == (2, 3)
    assert found[1] == pytest.approx(2 * found[0])
    assert isinstance(magnetic_acceleration(5e-7, 1.1, 0.005, 0.001), float)


def test_a_grain_of_one_micrometre_and_one_of_a_metre_give_numbers():
    surface = 5e-7 / VACUUM_PERMEABILITY_T_M_A * pi / 0.005 * 1.1**2
    assert magnetic_acceleration(5e-7, 1.1, 0.005, 0.0, 1e-6) == pytest.approx(surface, rel=1e-6)
    assert np.isfinite(magnetic_acceleration(5e-7, 1.1, 0.005, 0.5, 1.0))
    assert magnetic_acceleration(5e-7, 1.1, 1e-6, 1.0, 1e-3) == 0.0


@pytest.mark.parametrize(
    "figures",
    [
        (float("nan"), 1.1, 0.005, 0.0, 0.0),
        (5e-7, -1.0, 0.005, 0.0, 0.0),
        (5e-7, 1.1, 0.0, 0.0, 0.0),
        (5e-7, 1.1, -0.005, 0.0, 0.0),
        (5e-7, 1.1, 0.005, -1e-4, 0.0),
        (5e-7, 1.1, 0.005, float("inf"), 0.0),
        (5e-7, 1.1, 0.005, 0.0, -1e-4),
    ],
)
def test_what_cannot_be_is_refused_with_what_would_be_right(figures):
    with pytest.raises(SettingError, match="Give"):
        magnetic_acceleration(*figures)
