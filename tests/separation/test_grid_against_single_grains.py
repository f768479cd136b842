"""The flight grid holds against the direct simulation of single grains."""

from __future__ import annotations

import numpy as np
import pytest

from feedchar.field.harmonics import roll_harmonics

SPEEDS = (0.75, 1.0, 1.5, 2.0, 3.0)
RADII = (0.05, 0.1)
EDGES = (0.010, 0.020)
GRAINS = 4096
FEWER_GRAINS = 1024


def machine(direct, radius, speed):
    harmonics = roll_harmonics(0.004, 0.001, radius, 0.2 * radius, 1.25, 2.1)
    return direct.Machine(tuple(harmonics), 0.005, radius, 0.0002, speed)


def taken_by_single_grains(direct, feed, radius, speed, edges, grains):
    """Share not reaching the product, 1 % of sand carried along, for each edge."""
    (sample,) = direct.sobol_grains(grains)
    landed = {
        mineral.name: direct.landing(machine(direct, radius, speed), mineral, sample)
        for mineral in feed
        if mineral.name != "feldspar"
    }
    landed["feldspar"] = landed["quartz"]  # as light, as weak: the same flights within a per cent
    result = []
    for edge in edges:
        inside = {name: float(np.mean(x < radius + edge)) for name, x in landed.items()}
        result.append({name: p + 0.01 * (1.0 - p) for name, p in inside.items()})
    return result


def test_product_iron_and_sand_lost_at_one_setting(direct, feed, sand):
    reference = taken_by_single_grains(direct, feed, 0.05, 1.5, EDGES[:1], FEWER_GRAINS)[0]
    iron, _, lost = sand.product(reference)
    grid_iron, _, grid_lost = sand.product(sand.grid(sand.setting(0.05, 1.5)))
    assert grid_iron == pytest.approx(iron, rel=0.03)
    assert grid_lost == pytest.approx(lost, abs=3.0)


@pytest.mark.slow
@pytest.mark.parametrize("speed", SPEEDS)
@pytest.mark.parametrize("radius", RADII)
def test_product_iron_within_3_pct_and_sand_lost_within_3_points(direct, feed, sand, radius, speed):
    references = taken_by_single_grains(direct, feed, radius, speed, EDGES, GRAINS)
    for edge, reference in zip(EDGES, references, strict=True):
        iron, _, lost = sand.product(reference)
        grid_iron, _, grid_lost = sand.product(sand.grid(sand.setting(radius, speed, edge)))
        assert grid_iron == pytest.approx(iron, rel=0.03)
        assert grid_lost == pytest.approx(lost, abs=3.0)


PUBLISHED = [
    # R m, v m/s, product Fe %, yield %, quartz lost %, to magnetics: muscovite, biotite,
    # ilmenite, hematite %
    (0.05, 1.0, 0.0276, 87.7, 9.7, 98, 100, 100, 100),
    (0.05, 1.5, 0.0308, 93.3, 4.2, 83, 100, 100, 100),
    (0.05, 2.0, 0.0346, 94.5, 3.2, 65, 100, 100, 100),
    (0.05, 3.0, 0.0995, 96.8, 1.4, 34, 79, 99.8, 94.5),
    (0.1, 1.5, 0.0276, 91.1, 6.2, 98, 100, 100, 100),
    (0.1, 2.0, 0.0296, 91.8, 5.7, 89, 100, 100, 100),
    (0.1, 3.0, 0.0346, 94.8, 2.8, 66, 99.9, 100, 100),
]
"""One pass, edge 10 mm, all grains free, 1 % carried: another direct simulation, computed
(no measurement exists in the open literature); its re-landing rule is not told."""


APART = (
    "5.3 % more product iron than published, for 62 % of the muscovite and 99.5 % of the biotite "
    "taken; the single grains of this folder, whose flights a general solver confirms, say 61.4 "
    "and 99.4, the published table 66 and 99.9"
)


@pytest.mark.parametrize(
    "row",
    [*PUBLISHED[:-1], pytest.param(PUBLISHED[-1], marks=pytest.mark.xfail(reason=APART))],
    ids=lambda row: f"R{1e3 * row[0]:.0f}-{row[1]:g}",
)
def test_the_published_simulation_is_met_within_5_pct_of_its_iron(sand, row):
    radius, speed, iron, yield_pct, lost, *minerals = row
    taken = sand.grid(sand.setting(radius, speed))
    grid_iron, grid_yield, grid_lost = sand.product(taken)
    assert grid_iron == pytest.approx(iron, rel=0.05)
    assert grid_yield == pytest.approx(yield_pct, abs=1.5)
    assert grid_lost == pytest.approx(lost, abs=1.5)
    names = ("muscovite", "biotite", "ilmenite", "hematite")
    for name, share in zip(names, minerals, strict=True):
        assert 100.0 * taken[name] == pytest.approx(share, abs=5.0)


def test_grains_keep_what_is_permanent_in_a_second_pass(direct, feed, sand):
    """Muscovite through two passes, each grain followed: belt position and adhesion drawn anew."""
    muscovite = next(mineral for mineral in feed if mineral.name == "muscovite")
    roll = machine(direct, 0.05, 1.5)
    beyond = [
        direct.landing(roll, muscovite, sample) >= 0.06
        for sample in direct.sobol_grains(2048, passes=2)
    ]
    once, twice = float(np.mean(beyond[0])), float(np.mean(beyond[0] & beyond[1]))

    dry = sand.parameters(entrainment=0.0)
    one = sand.setting(0.05, 1.5)
    two = type(one)(one.roll, one.passes * 2)
    left = [1.0 - sand.grid(setting, dry)["muscovite"] for setting in (one, two)]
    assert left[0] == pytest.approx(once, abs=0.03)
    assert left[1] == pytest.approx(twice, abs=0.03)
    # A fresh chance for every grain would leave far less.
    assert left[1] > left[0] ** 2 + 0.05
