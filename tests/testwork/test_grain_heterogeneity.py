"""The sum over classes of grains against the short formula of sampling, Poisson and a draw."""

from __future__ import annotations

import csv
from math import log
from pathlib import Path

import numpy as np
import pytest

from feedchar.errors import InputError
from feedchar.testwork.grain_numbers import grain_mass_g, grains_for_relative_sd, mass_for_grains
from feedchar.testwork.heterogeneity import (
    class_grain_mass_g,
    heterogeneity_parts_g,
    sampling_mass_g,
    sampling_relative_sd,
)
from feedchar.testwork.sampling import sampling_constant

CASES = Path(__file__).parents[1] / "published" / "data" / "sampling_gy.csv"


def cases():
    with CASES.open(encoding="utf-8") as lines:
        rows = list(csv.DictReader(lines))
    kept = [row for row in rows if row["mineral_mass_fraction"] and row["host_density_g_cm3"]]
    assert len(kept) >= 4
    return [pytest.param(row, id=row["case"]) for row in kept]


@pytest.mark.parametrize("row", cases())
def test_two_kinds_of_grains_of_one_size_give_the_published_formula_with_g_and_l_one(row):
    """sampling_gy.csv (wills_2006, wills_1982): its cases without size range and locking."""
    a = float(row["mineral_mass_fraction"])
    d = float(row["top_size_cm"])
    densities = float(row["mineral_density_g_cm3"]), float(row["host_density_g_cm3"])
    grains = [float(grain_mass_g(d, rho, shape=0.5)) for rho in densities]
    parts = heterogeneity_parts_g([a, 1.0 - a], grains, [1.0, 0.0])
    short = sampling_constant(d, d, a, *densities, shape=0.5, granulometric=1.0)
    assert parts.sum() == pytest.approx(short, rel=1e-12)


def test_few_grains_follow_poisson():
    """minkkinen_2004: n grains have the relative sd 1/sqrt(n)."""
    mass = mass_for_grains(grains_for_relative_sd(0.1), 1e-5, 0.025, 4.7)
    grain = grain_mass_g(0.025, 4.7)
    constant = heterogeneity_parts_g([1e-5, 1 - 1e-5], [grain, 1e-9], [1.0, 0.0]).sum()
    assert sampling_relative_sd(constant, mass) == pytest.approx(0.1, rel=1e-4)


def test_locked_grains_need_less_sand_than_free_ones():
    grain = 4e-5
    free = heterogeneity_parts_g([0.001, 0.999], [grain, grain], [1.0, 0.0]).sum()
    locked = heterogeneity_parts_g([0.01, 0.99], [grain, grain], [0.1, 0.0]).sum()
    assert locked < 0.15 * free


def test_drawing_grains_gives_the_predicted_spread():
    """Against a draw of grains, number by number (Poisson of each class)."""
    random = np.random.default_rng(3)
    fraction = np.array([0.002, 0.03, 0.968])
    grain = np.array([6e-5, 3e-5, 4e-5])
    content = np.array([0.9, 0.05, 0.0003])
    mass = 20.0
    counts = random.poisson(mass * fraction / grain, (20_000, 3))
    drawn = (counts * grain * content).sum(axis=1) / (counts * grain).sum(axis=1)
    constant = heterogeneity_parts_g(fraction, grain, content).sum()
    found = drawn.std() / drawn.mean()
    assert found == pytest.approx(float(sampling_relative_sd(constant, mass)), rel=0.02)


def test_the_mass_that_is_asked_for_gives_the_sd_that_is_asked_for():
    for lot in (np.inf, 500.0):
        mass = sampling_mass_g(2.0, 0.07, lot)
        assert sampling_relative_sd(2.0, mass, lot) == pytest.approx(0.07, rel=1e-12)
    assert sampling_mass_g(1e9, 0.07, 500.0) == pytest.approx(500.0, rel=1e-3)


def test_the_grain_of_a_class_lies_between_its_sieves():
    one = float(class_grain_mass_g(0.05, 0.025, 2.65))
    low, high = (float(grain_mass_g(d, 2.65)) for d in (0.025, 0.05))
    cube = (0.05**3 - 0.025**3) / (3 * log(2))
    assert low < one < high
    assert one == pytest.approx(float(grain_mass_g(cube ** (1 / 3), 2.65)))
    assert float(class_grain_mass_g(0.05, 0.025, 2.65, 0.1)) == pytest.approx(0.1 * one)
    assert float(class_grain_mass_g(0.0075, 0.0, 2.65)) > 0.0


@pytest.mark.parametrize(
    "case", [([0, 0], [1, 1], [1, 0]), ([1, 1], [1, 1], [0, 0]), ([1, -1], [1, 1], [1, 0])]
)
def test_grains_that_cannot_be_are_refused(case):
    with pytest.raises(InputError):
        heterogeneity_parts_g(*case)


def test_no_sampling_is_without_error():
    with pytest.raises(InputError):
        sampling_mass_g(1.0, 0.0)
