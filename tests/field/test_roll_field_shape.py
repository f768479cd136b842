"""The field above a roll: what Maxwell's equations and a magnetostatics library say it must be."""

from __future__ import annotations

from math import pi

import magpylib
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from feedchar.errors import SettingError
from feedchar.field import mean_force_product, roll_flux_density, roll_harmonics
from feedchar.field.force import local_force_product
from feedchar.field.harmonics import bare_harmonics
from feedchar.field.series import radial_decay

ROLL = (0.004, 0.001, 0.05, 0.010, 1.25, 2.1)
PITCH, RADIUS = 0.005, 0.05


def flux_along_z(harmonics, height, axial):
    """Radial flux density and the component along +z (the tables count it the other way)."""
    radial, axial_component = roll_flux_density(harmonics, PITCH, RADIUS, height, axial)
    return radial, -axial_component


def test_the_field_has_neither_sources_nor_curl():
    harmonics, step = roll_harmonics(*ROLL), 1e-7
    height, axial = np.meshgrid([2e-4, 1e-3, 3e-3], [0.0, 7e-4, 2.2e-3, 4.9e-3])
    up, _ = flux_along_z(harmonics, height + step, axial)
    down, _ = flux_along_z(harmonics, height - step, axial)
    _, right = flux_along_z(harmonics, height, axial + step)
    _, left = flux_along_z(harmonics, height, axial - step)
    radial, _ = flux_along_z(harmonics, height, axial)
    divergence = (up - down) / (2 * step) + radial / (RADIUS + height) + (right - left) / (2 * step)
    assert np.abs(divergence).max() < 1e-4 * 600  # gradients reach 600 T/m
    right_r, _ = flux_along_z(harmonics, height, axial + step)
    left_r, _ = flux_along_z(harmonics, height, axial - step)
    _, up_z = flux_along_z(harmonics, height + step, axial)
    _, down_z = flux_along_z(harmonics, height - step, axial)
    curl = (right_r - left_r) / (2 * step) - (up_z - down_z) / (2 * step)
    assert np.abs(curl).max() < 1e-4 * 600


def test_polarity_alternates_from_pole_to_pole():
    harmonics = roll_harmonics(*ROLL)
    axial = np.linspace(0, PITCH, 37)
    here, there = (
        roll_flux_density(harmonics, PITCH, RADIUS, 3e-4, z) for z in (axial, axial + PITCH)
    )
    assert np.allclose(here[0], -there[0], atol=1e-12)
    assert np.allclose(here[1], -there[1], atol=1e-12)
    assert roll_flux_density(harmonics, PITCH, RADIUS, 3e-4, 0.0)[0] == 0.0
    assert roll_flux_density(harmonics, PITCH, RADIUS, 3e-4, PITCH / 2)[0] > 0.0


def test_the_local_force_is_the_gradient_of_the_square_of_the_field():
    harmonics, step = roll_harmonics(*ROLL), 1e-8
    height, axial = np.meshgrid([2.5e-4, 8e-4, 2e-3], [1e-4, 1.3e-3, 2.4e-3, 4e-3])

    def square(y, z):
        radial, along = roll_flux_density(harmonics, PITCH, RADIUS, y, z)
        return radial**2 + along**2

    towards, along = local_force_product(harmonics, PITCH, RADIUS, height, axial)
    assert towards == pytest.approx(
        -(square(height + step, axial) - square(height - step, axial)) / (4 * step), rel=1e-4
    )
    assert along == pytest.approx(
        (square(height, axial + step) - square(height, axial - step)) / (4 * step),
        rel=1e-4,
        abs=1e-2,
    )


@pytest.mark.parametrize("height", [2e-4, 5e-4, 1e-3, 3e-3])
def test_the_mean_force_is_the_mean_of_the_local_force(height):
    harmonics = roll_harmonics(*ROLL)
    # More places than twice the highest harmonic: the mean over the period is exact.
    axial = (np.arange(400) + 0.5) / 400 * 2 * PITCH
    towards, along = local_force_product(harmonics, PITCH, RADIUS, height, axial)
    assert mean_force_product(harmonics, PITCH, RADIUS, height) == pytest.approx(
        towards.mean(), rel=1e-10
    )
    assert abs(along.mean()) < 1e-6 * towards.mean()


def test_a_roll_of_great_radius_is_the_planar_series():
    harmonics, k = np.array([1.1, -0.45, 0.2]), pi / PITCH
    n = np.array([1, 3, 5])
    height = np.array([0.0, 3e-4, 2e-3])[:, None]
    planar = (n * k * harmonics**2 * np.exp(-2 * n * k * height)).sum(axis=1)
    found = mean_force_product(harmonics, PITCH, 1e4, height[:, 0])
    assert found == pytest.approx(planar, rel=1e-6)
    # What curvature adds on a roll of 50 mm is small: 0.1 % at the surface.
    assert mean_force_product(harmonics, PITCH, 0.05, 0.0) == pytest.approx(planar[0], rel=2e-3)


@given(
    scale=st.floats(0.1, 3.0),
    pitch=st.floats(1e-3, 0.04),
    radius=st.floats(0.04, 0.3),
    height=st.floats(0, 0.05),
    rise=st.floats(1e-5, 0.05),
)
@settings(max_examples=150, deadline=None)
def test_force_goes_with_the_square_of_the_field_and_only_falls_with_height(
    scale, pitch, radius, height, rise
):
    harmonics = np.array([1.1, -0.46, 0.19, 0.05])
    near = mean_force_product(harmonics, pitch, radius, height)
    assert mean_force_product(scale * harmonics, pitch, radius, height) == pytest.approx(
        scale**2 * near, rel=1e-12
    )
    assert mean_force_product(harmonics, pitch, radius, height + rise) < near or near == 0.0
    assert near >= 0.0


def test_a_whole_grid_is_answered_at_once():
    harmonics = roll_harmonics(*ROLL)
    height, axial = np.linspace(1e-4, 2e-3, 7)[:, None], np.linspace(0, PITCH, 11)
    radial, along = roll_flux_density(harmonics, PITCH, RADIUS, height, axial)
    assert radial.shape == along.shape == (7, 11)
    pitches = np.array([0.004, 0.005, 0.01])
    assert mean_force_product(harmonics[:3], pitches, RADIUS, height).shape == (7, 3)
    one = roll_flux_density(harmonics, PITCH, RADIUS, height[3, 0], axial[4])
    assert radial[3, 4] == pytest.approx(one[0], rel=1e-13)


def test_far_from_a_fine_roll_the_field_is_nothing_and_nothing_overflows():
    harmonics = np.ones(80)
    assert mean_force_product(harmonics, 1e-4, 0.5, [0.0, 1e-3, 1.0, 1e3])[-1] == 0.0
    assert np.all(np.isfinite(radial_decay(80, 1e-5, 1.0, [0.0, 1.0])[1]))


MAGNET, SPACER, BORE, REMANENCE = 0.004, 0.001, 0.010, 1.25


@pytest.fixture(scope="module")
def bare_stack() -> magpylib.Collection:
    """Annular magnets with like poles facing, without iron: outer less inner cylinders.

    The stack stands for one without ends: its last magnets fade out, as in the summation of an
    alternating series, so that the field of the ends is left out.
    """
    stack = magpylib.Collection()
    fading = {18: 0.875, 19: 0.5, 20: 0.125}
    for place in range(-20, 21):
        sign = (1.0 if place % 2 == 0 else -1.0) * fading.get(abs(place), 1.0)
        for radius, part in ((RADIUS, 1.0), (BORE, -1.0)):
            stack.add(
                magpylib.magnet.Cylinder(
                    polarization=(0, 0, sign * part * REMANENCE),
                    dimension=(2 * radius, MAGNET),
                    position=(0, 0, place * PITCH),
                )
            )
    return stack


@pytest.mark.parametrize("height", [2e-4, 5e-4, 1e-3, 2e-3])
def test_a_roll_without_iron_agrees_with_magpylib_within_two_tenths_of_a_per_cent(
    bare_stack, height
):
    axial = np.linspace(-PITCH, PITCH, 41)
    points = np.stack([np.full_like(axial, RADIUS + height), np.zeros_like(axial), axial], axis=1)
    field = bare_stack.getB(points)
    harmonics = roll_harmonics(MAGNET, SPACER, RADIUS, BORE, REMANENCE, 0.0)
    radial, along = flux_along_z(harmonics, height, axial)
    largest = np.hypot(field[:, 0], field[:, 2]).max()
    assert np.abs(radial - field[:, 0]).max() < 0.002 * largest
    assert np.abs(along - field[:, 2]).max() < 0.002 * largest


def test_deep_discs_of_a_large_roll_are_the_planar_series_of_the_magnets():
    n = 2 * np.arange(6) + 1
    planar = 2 * REMANENCE / (n * pi) * np.sin(n * pi * MAGNET / (2 * PITCH))
    flat = bare_harmonics(MAGNET, PITCH, 100.0, 50.0, REMANENCE, 6)
    assert flat == pytest.approx(planar, rel=1e-4, abs=1e-9)


def test_a_thin_shell_of_magnets_gives_less():
    shells = [bare_harmonics(MAGNET, PITCH, RADIUS, bore, 1.25, 1)[0] for bore in (0, 0.04, 0.049)]
    assert shells[0] > shells[1] > shells[2] > 0


NAN, INF = float("nan"), float("inf")


@pytest.mark.parametrize(
    ("figures", "words"),
    [
        ((0.0, 0.001, 0.05, 0.01, 1.25, 2.1), "magnet"),
        ((-0.004, 0.001, 0.05, 0.01, 1.25, 2.1), "magnet"),
        ((NAN, 0.001, 0.05, 0.01, 1.25, 2.1), "magnet"),
        ((0.004, 0.0, 0.05, 0.01, 1.25, 2.1), "steel"),
        ((0.004, 0.001, INF, 0.01, 1.25, 2.1), "roll"),
        ((0.004, 0.001, 0.05, -0.01, 1.25, 2.1), "bore"),
        ((0.004, 0.001, 0.05, 0.05, 1.25, 2.1), "bore"),
        ((0.004, 0.001, 0.05, 0.048, 1.25, 2.1), "never extrapolated"),
        ((0.004, 0.001, 0.05, 0.01, 0.0, 2.1), "Remanence"),
        ((0.004, 0.001, 0.05, 0.01, 1.25, NAN), "Saturation"),
        ((0.004, 0.001, 0.05, 0.01, 2.5, 2.1), "never extrapolated"),
        ((0.004, 0.00001, 0.05, 0.01, 1.25, 2.1), "never extrapolated"),
        ((0.004, 0.001, 5.0, 0.01, 1.25, 2.1), "never extrapolated"),
        ((0.04, 0.02, 0.05, 0.01, 1.25, 2.1), "larger than the roll radius"),
        ((4, 1, 50, 10, 12500, 2.1), "never extrapolated"),
    ],
)
def test_a_roll_that_cannot_be_is_refused_with_what_would_be_right(figures, words):
    with pytest.raises(SettingError, match=words):
        roll_harmonics(*figures)


@pytest.mark.parametrize("place", [(NAN, 0.05, 0.0), (0.005, 0.0, 0.0), (0.005, 0.05, -1e-4)])
def test_a_place_that_cannot_be_is_refused(place):
    with pytest.raises(SettingError, match="Give metres"):
        mean_force_product([1.0], *place)
    with pytest.raises(SettingError, match="Give metres"):
        roll_flux_density([1.0], *place, 0.0)


def test_the_answer_is_the_callers_own():
    first = roll_harmonics(*ROLL)
    first[0] = 0.0
    assert roll_harmonics(*ROLL)[0] > 1.0
