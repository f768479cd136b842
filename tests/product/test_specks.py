"""Grains counted in 100 g."""

from __future__ import annotations

import numpy as np
import pytest

from feedchar.particles.build import build_classes
from feedchar.product.specks import grains_per_kg, specks
from feedchar.sample.records import Sample, Texture

FREE = Sample("x", textures=(Texture("biotite", None, "free", 100.0),))


def test_chromite_grains_of_the_trade_rule():
    """2 ppm Cr2O3 is about 57 grains of 0.3 mm per kg (sanity rules, common practice): chromite
    with 55 wt % Cr2O3 (from memory) and 4.6 g/cm3, a class of no width."""
    each = float(grains_per_kg(300.01, 299.99, 4600.0, 1.0))
    chromite = 2e-6 / 0.55
    assert chromite * each == pytest.approx(57.0, rel=0.05)


def test_a_class_of_some_width_against_its_grains_laid_out():
    """Mass even in ln d: the mean of 1/(rho pi d^3/6), by a fine midpoint sum."""
    d = 250e-6 * (355.0 / 250.0) ** ((np.arange(20_000) + 0.5) / 20_000)
    expected = np.mean(1.0 / (3000.0 * np.pi / 6.0 * d**3))
    assert float(grains_per_kg(355.0, 250.0, 3000.0, 1.0)) == pytest.approx(expected, rel=1e-6)


def test_a_flake_a_tenth_as_thick_counts_six_and_two_thirds_times():
    """pi/6 d^3 over pi/4 d^2 x d/10."""
    sphere, flake = (float(grains_per_kg(355.0, 250.0, 3000.0, r)) for r in (1.0, 0.1))
    assert flake / sphere == pytest.approx(20.0 / 3.0)


def test_only_dark_grains_above_250_um_are_specks(sand):
    classes = build_classes(FREE, sand.mineralogy, sand.sizes)[0]
    found = specks(classes, sand.shares(classes), sand.mineralogy)
    assert (found.dark_expected[:, :2] > 0.0).all()
    assert found.dark_expected[:, 2:].max() == 0.0
    assert (found.refractory_expected[:, 1:-1] > 0.0).all()


def test_specks_of_free_mica_by_hand(sand_of):
    """1 % biotite in quartz, all grains free, nothing removed: 355-500 and 250-355 um flakes."""
    sand = sand_of(trials=1, typical={"quartz": 99.0, "biotite": 1.0})
    classes = build_classes(FREE, sand.mineralogy, sand.sizes)[0]
    found = specks(classes, sand.shares(classes, cut=1e30, carried=0.0), sand.mineralogy, 1)
    per_size = [
        0.1 * 0.01 * part * float(grains_per_kg(top, low, 3000.0, 0.1))
        for part, top, low in ((0.03, 500.0, 355.0), (0.10, 355.0, 250.0))
    ]
    product = 1.0 - (1.0 / (1.0 + (sand.sizes.middle_um / 50.0) ** 6)) @ np.array(
        [0.03, 0.10, 0.20, 0.25, 0.20, 0.12, 0.07, 0.03]
    )
    kept = 1.0 - 0.97 / (1.0 + (sand.sizes.middle_um[:2] / 50.0) ** 6)
    missed_too = 0.97 * product + 0.03  # the machine misses 3 % of the fines it would take
    expected = np.array(per_size) * kept / missed_too
    assert found.dark_expected[0, :2] == pytest.approx(expected, rel=1e-6)


def test_counts_have_the_spread_of_poisson(sand_of):
    sand = sand_of(trials=4000)
    classes = build_classes(FREE, sand.mineralogy, sand.sizes)[0]
    found = specks(classes, sand.shares(classes), sand.mineralogy)
    expected = found.dark_expected.sum(axis=1)
    assert found.dark[0] == expected[0]
    counted = found.dark[1:]
    assert np.array_equal(counted, np.round(counted))
    scaled = (counted - expected[1:]) / np.sqrt(expected[1:])
    assert scaled.mean() == pytest.approx(0.0, abs=0.06)
    assert scaled.std() == pytest.approx(1.0, abs=0.04)


def test_a_joined_grain_is_a_speck_when_its_dark_lump_is_large_enough(sand):
    coarse = (Texture("ilmenite", "quartz", "joined", 100.0),)
    free = (Texture("ilmenite", "quartz", "free", 100.0),)
    joined, loose = (
        specks(classes, sand.shares(classes, cut=1e30), sand.mineralogy).dark_expected[0]
        for classes in (
            build_classes(Sample("x", textures=t + FREE.textures), sand.mineralogy, sand.sizes)[0]
            for t in (coarse, free)
        )
    )
    assert np.all(joined[2:] == 0.0)
    biotite = specks(
        classes := build_classes(
            Sample("x", textures=(*FREE.textures, Texture("ilmenite", None, "stain", 100.0))),
            sand.mineralogy, sand.sizes,
        )[0],
        sand.shares(classes, cut=1e30), sand.mineralogy,
    ).dark_expected[0]  # fmt: skip
    # Lumps of rich joined grains still count; poor ones have lumps below 250 um.
    assert biotite[0] < joined[0]
    assert joined[1] - biotite[1] < loose[1] - biotite[1]


def test_a_lump_on_a_heavier_host_is_larger(sand_of):
    # A grain of given size and share by weight holds more of a light mineral's volume
    # the heavier its host, so fewer such grains weigh a kilogram.
    counts = []
    for host in ("quartz", "zircon"):
        sand = sand_of(typical={"quartz": 60.0, "zircon": 30.0, "ilmenite": 10.0})
        joined = (Texture("ilmenite", host, "joined", 100.0),)
        classes = build_classes(Sample("x", textures=joined), sand.mineralogy, sand.sizes)[0]
        shares = sand.shares(classes, cut=1e30)
        counts.append(specks(classes, shares, sand.mineralogy).dark_expected[0].sum())
    assert counts[1] > 1.02 * counts[0]


def test_an_outlet_without_mass_has_no_count(sand):
    classes = build_classes(FREE, sand.mineralogy, sand.sizes)[0]
    found = specks(classes, sand.shares(classes), sand.mineralogy, outlet="middlings")
    assert np.isnan(found.dark).all()
