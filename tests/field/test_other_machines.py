"""Drums and the induced roll, and the field a setting works with."""

from __future__ import annotations

from dataclasses import replace
from math import pi

import numpy as np
import pytest

from feedchar.errors import SettingError, UnknownNameError
from feedchar.field import mean_force_product
from feedchar.field.drum import (
    STRONG_DRUM,
    WEAK_DRUM,
    drum_flux_density,
    drum_force_product,
    drum_of,
)
from feedchar.field.force import local_force_product
from feedchar.field.induced import (
    equivalent_harmonics,
    gap_flux_density,
    induced_force_product,
    induced_top_size,
    surface_speed,
    tooth_harmonic,
)
from feedchar.field.rolls import harmonics_of, table_roll
from feedchar.field.setting import InducedRoll, Setting
from feedchar.field.working import felt_harmonics, working_field


@pytest.mark.parametrize("drum", [WEAK_DRUM, STRONG_DRUM])
def test_the_pull_of_a_drum_is_the_gradient_of_the_square_of_its_field(drum):
    height, along, step = np.array([0.0, 2e-3, 1e-2]) + 1e-6, 0.013, 1e-7

    def square(y):
        radial, tangential = drum_flux_density(drum, y, along)
        return radial**2 + tangential**2

    numeric = -(square(height + step) - square(height - step)) / (4 * step)
    assert drum_force_product(drum, height) == pytest.approx(numeric, rel=1e-5)


def test_the_field_of_a_drum_has_no_sources():
    drum, step = WEAK_DRUM, 1e-6
    height, along = 5e-3, 0.02
    radius = drum.drum_radius_m + height
    up, down = (drum_flux_density(drum, height + s, along)[0] for s in (step, -step))
    ahead, behind = (drum_flux_density(drum, height, along + s)[1] for s in (step, -step))
    radial, _ = drum_flux_density(drum, height, along)
    # A step along the shell is a longer step further out.
    further = 2 * step * radius / drum.drum_radius_m
    divergence = (up - down) / (2 * step) + radial / radius + (ahead - behind) / further
    assert abs(divergence) < 1e-6 * abs(radial) / step


def test_generic_drums_lie_in_the_range_of_their_class():
    # Orders of magnitude, from memory: ferrite 0.4 to 0.8, rare earth 14 to 34 T2/m.
    assert 0.4 <= drum_force_product(drum_of("weak"), 0.0) <= 0.8
    assert 14 <= drum_force_product(drum_of("strong"), 0.0) <= 34
    with pytest.raises(UnknownNameError, match="weak, strong"):
        drum_of("medium")
    with pytest.raises(SettingError, match="Give metres"):
        drum_force_product(WEAK_DRUM, -1e-3)


def test_the_gap_fills_with_current_up_to_saturation():
    current = np.linspace(0, 40, 200)
    flux = gap_flux_density(current, 4.0)
    assert flux[0] == 0.0
    assert np.all(np.diff(flux) >= 0)
    assert flux[-1] == pytest.approx(2.0)
    assert gap_flux_density(0.04, 4.0) == pytest.approx(0.02, rel=1e-3)
    with pytest.raises(SettingError, match="amperes"):
        gap_flux_density(-1.0, 4.0)


def test_teeth_add_in_proportion_until_they_saturate():
    assert tooth_harmonic(0.01, 0.35, 0.006, 0.004) == pytest.approx(0.0035, rel=1e-3)
    assert tooth_harmonic(50.0, 0.35, 0.006, 0.004) <= 2.1 / pi
    # The limit is the series of a row of charged tips: half of the area at +Js, field on two sides.
    n = np.arange(200_001) / 200_000
    square = np.where(n < 0.5, 2.1, 0.0)
    first = 2 * np.trapezoid(square * np.cos(2 * pi * (n - 0.25)), n) / 2
    assert tooth_harmonic(1e4, 0.35, 0.006, 10.0) == pytest.approx(first, rel=1e-3)


def test_the_equivalent_roll_pulls_as_the_attracting_half_of_the_teeth_does():
    induced = InducedRoll()
    harmonics = equivalent_harmonics(induced)
    quarter = induced.tooth_pitch_m / 4
    axial = np.linspace(-quarter, quarter, 2001)
    for height, tolerance in ((1.5e-4, 1e-4), (0.0, 0.06), (5e-4, 0.1)):
        whole = induced_force_product(induced, height, axial)
        attracting = np.trapezoid(whole, axial) / (2 * quarter)
        found = mean_force_product(harmonics, induced.tooth_pitch_m, 1e4, height)
        assert found == pytest.approx(attracting, rel=tolerance)


def test_an_induced_roll_lies_in_the_range_of_its_class():
    # 200 to 800 T2/m, gradients of 100 to 400 T/m (orders of magnitude, from memory).
    field = working_field(Setting(table_roll("fine-100"), machine="induced-roll"))
    assert 200 <= field.force_product_at_belt_tesla2_m <= 800
    assert field.background_tesla == pytest.approx(1.52, abs=0.01)
    assert field.belt_thickness_m == 0.0
    assert field.top_size_m == pytest.approx(0.002)
    assert induced_top_size(0.006) == pytest.approx(0.003)


def test_more_current_pulls_more_and_no_current_not_at_all():
    forces = [
        mean_force_product(
            equivalent_harmonics(replace(InducedRoll(), current_a=current)), 0.006, 0.05, 2e-4
        )
        for current in (0.0, 0.5, 2.0, 8.0)
    ]
    assert forces[0] == 0.0
    assert forces == sorted(forces)


def test_teeth_wider_than_the_roll_are_refused():
    with pytest.raises(SettingError, match="pitch of the teeth"):
        equivalent_harmonics(InducedRoll(tooth_pitch_m=0.06))


def test_rotation_gives_the_speed_of_the_face():
    assert surface_speed(60.0, 0.05) == pytest.approx(2 * pi * 0.05)
    with pytest.raises(SettingError, match="turns a minute"):
        surface_speed(0.0, 0.05)


def test_a_permanent_roll_setting_gives_the_field_at_its_temperature():
    roll = table_roll("fine-100")
    cold = working_field(Setting(roll))
    warm = working_field(Setting(roll, roll_temperature_c=60.0))
    assert cold.surface_flux_density_tesla == harmonics_of(roll)[0]
    assert warm.surface_flux_density_tesla < cold.surface_flux_density_tesla
    assert cold.force_product_at_belt_tesla2_m == pytest.approx(
        mean_force_product(harmonics_of(roll), 0.005, 0.05, 0.0002), rel=1e-4
    )
    assert hash(cold) == hash(working_field(Setting(roll)))


def test_harmonics_that_have_died_away_at_the_belt_are_left_out_without_a_trace():
    for name in ("fine-100", "medium-100-2to1", "coarse-200-6to1"):
        roll = table_roll(name)
        place = (roll.pitch_m, roll.roll_radius_m)
        full = harmonics_of(roll)
        felt = felt_harmonics(full, roll.pitch_m, roll.belt_thickness_m)
        assert 24 <= len(felt) < len(full)
        axial = np.linspace(0, roll.pitch_m, 101)
        all_of, kept = (
            local_force_product(h, *place, roll.belt_thickness_m, axial)[0] for h in (full, felt)
        )
        assert kept == pytest.approx(all_of, rel=0.005)


def test_an_unknown_machine_is_refused():
    with pytest.raises(SettingError, match="permanent-roll, induced-roll"):
        working_field(Setting(table_roll("fine-100"), machine="magic"))


def test_a_setting_with_a_roll_that_cannot_be_is_refused():
    roll = replace(table_roll("fine-100"), belt_thickness_m=0.01)
    with pytest.raises(SettingError, match="belt"):
        working_field(Setting(roll))
