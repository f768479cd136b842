"""A gaussmeter over a roll: what an element of finite size reads, and the magnets behind it.

The readings of a 1 mm element over a 6:1 roll, 1.24, 1.11 and 0.95 T at 0.25, 0.35 and 0.50 mm,
were computed apart from this project with another finite-element solution.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from feedchar.errors import SettingError
from feedchar.field import roll_flux_density
from feedchar.field.reading import probe_flux_density, probe_reading
from feedchar.field.roll_of_reading import remanence_reach, roll_of_reading
from feedchar.field.rolls import harmonics_of, table_roll

SIX_TO_ONE = table_roll("fine-100-6to1")


@pytest.mark.parametrize(("height_mm", "tesla"), [(0.25, 1.24), (0.35, 1.11), (0.50, 0.95)])
def test_a_one_millimetre_element_over_a_six_to_one_roll(height_mm, tesla):
    found = probe_reading(harmonics_of(SIX_TO_ONE), 0.005, 0.05, 1e-3, height_mm * 1e-3)
    assert found == pytest.approx(tesla, abs=0.006)


def test_the_element_reads_the_mean_of_the_field_over_its_disc():
    harmonics, height, size, axial = harmonics_of(SIX_TO_ONE), 3e-4, 2e-3, 1.9e-3
    # Rings of equal area, and points around each.
    ring = size / 2 * np.sqrt((np.arange(40) + 0.5) / 40)[:, None]
    angle = 2 * np.pi * (np.arange(80) + 0.5) / 80
    disc = np.stack([(ring * np.cos(angle)).ravel(), (ring * np.sin(angle)).ravel()], axis=1)
    distance = np.hypot(0.05 + height, disc[:, 0])
    radial, _ = roll_flux_density(harmonics, 0.005, 0.05, distance - 0.05, axial + disc[:, 1])
    mean = (radial * (0.05 + height) / distance).mean()
    found = probe_flux_density(harmonics, 0.005, 0.05, size, height, axial)
    assert found == pytest.approx(mean, rel=1e-3)


def test_a_point_reads_the_field_itself():
    harmonics = harmonics_of(SIX_TO_ONE)
    axial = np.linspace(0, 5e-3, 21)
    radial, _ = roll_flux_density(harmonics, 0.005, 0.05, 3e-4, axial)
    found = probe_flux_density(harmonics, 0.005, 0.05, 0.0, 3e-4, axial)
    assert found == pytest.approx(radial, abs=1e-12)


def test_a_larger_or_higher_element_reads_less():
    harmonics = harmonics_of(SIX_TO_ONE)
    sizes = [probe_reading(harmonics, 0.005, 0.05, size, 3e-4) for size in (0.0, 5e-4, 1e-3, 3e-3)]
    heights = [probe_reading(harmonics, 0.005, 0.05, 1e-3, y) for y in (2e-4, 3e-4, 1e-3)]
    assert sizes == sorted(sizes, reverse=True)
    assert heights == sorted(heights, reverse=True)


@pytest.mark.parametrize("remanence", [0.4, 1.0, 1.25, 1.42])
def test_the_magnets_behind_a_reading_are_found_again(remanence):
    roll = replace(SIX_TO_ONE, remanence_tesla=remanence)
    reading = probe_reading(harmonics_of(roll), roll.pitch_m, roll.roll_radius_m, 1e-3, 4e-4)
    found = roll_of_reading(SIX_TO_ONE, reading, 1e-3, 4e-4)
    assert found.remanence_tesla == pytest.approx(remanence, abs=1e-4)
    assert "reading" in found.source


def test_the_reading_ranks_rolls_poorly():
    # Thin steel reads more and pulls less: the reason not to buy by the gaussmeter.
    thick, thin = table_roll("fine-100-2to1"), SIX_TO_ONE
    readings = [probe_reading(harmonics_of(r), 0.005, 0.05, 0.0, 1e-4) for r in (thick, thin)]
    from feedchar.field import mean_force_product

    forces = [mean_force_product(harmonics_of(r), 0.005, 0.05, 4e-4) for r in (thick, thin)]
    assert readings[1] > readings[0]
    assert forces[0] > forces[1]


@pytest.mark.parametrize("reading", [0.0, -1.0, float("nan")])
def test_a_reading_that_cannot_be_is_refused(reading):
    with pytest.raises(SettingError, match="10 kG is 1 T"):
        roll_of_reading(SIX_TO_ONE, reading, 1e-3, 4e-4)


@pytest.mark.parametrize("reading", [0.01, 3.0, 11_000.0])
def test_a_reading_no_magnet_explains_is_refused_with_what_to_check(reading):
    with pytest.raises(SettingError, match="Check the height"):
        roll_of_reading(SIX_TO_ONE, reading, 1e-3, 4e-4)


def test_remanences_stay_within_the_table():
    low, high = remanence_reach(2.1)
    assert 0.0 < low < 0.3
    assert 1.5 < high <= 2.1
