"""Stain follows surface where nobody measured the sizes of the iron."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from feedchar.particles.surface import sized_by_surface, spread_over_sizes
from feedchar.sample.records import Sample, Texture


def iron_free(sand, name):
    return [p.name for p in sand.mineralogy.phases].index(name)


def test_stain_times_size_is_flat_over_the_classes(sand):
    """Stain follows surface: iron times size is flat across washed classes (sanity rules)."""
    textures = (Texture("goethite", None, "stain", 100.0),)
    after = sized_by_surface(Sample("x", textures=textures), sand.mineralogy, sand.sizes)
    share = after.size_share[0, iron_free(sand, "goethite")]
    per_sand = share / np.array([0.03, 0.10, 0.20, 0.25, 0.20, 0.12, 0.07, 0.03])
    flat = per_sand * sand.sizes.middle_um
    assert flat == pytest.approx(flat.mean(), rel=1e-9)


def test_classes_and_phases_keep_their_mass(sand):
    textures = (Texture("goethite", None, "stain", 80.0),)
    after = sized_by_surface(Sample("x", textures=textures), sand.mineralogy, sand.sizes)
    assert after.size_share.sum(axis=2) == pytest.approx(1.0, abs=1e-12)
    before = np.einsum("tm,ms->ts", sand.mineralogy.mass_fraction, sand.mineralogy.size_share[0])
    now = np.einsum("tm,tms->ts", after.mass_fraction, after.size_share)
    assert now == pytest.approx(before, abs=1e-12)
    ilmenite = iron_free(sand, "ilmenite")
    assert np.array_equal(
        after.size_share[:5, ilmenite], np.tile(after.size_share[0, ilmenite], (5, 1))
    )


def test_sizes_that_were_measured_are_left_alone(sand):
    sizes = np.repeat(sand.mineralogy.size_share, len(sand.mineralogy.mass_fraction), axis=0)
    for name in ("goethite", "unseen"):
        sizes[:, iron_free(sand, name)] = [0.0, 0.0, 0.1, 0.2, 0.2, 0.2, 0.2, 0.1]
    measured = replace(sand.mineralogy, size_share=sizes)
    textures = (Texture("goethite", None, "stain", 80.0),)
    after = sized_by_surface(Sample("x", textures=textures), measured, sand.sizes)
    assert after is measured


def test_forms_and_sizes_keep_their_totals():
    mass = np.array([[4.0, 3.0, 2.0, 1.0]])
    form = np.array([[0.3, 0.7]])
    seeds = np.array([[[1.0, 2.0, 4.0, 8.0], [4.0, 3.0, 2.0, 1.0]]])
    out = spread_over_sizes(mass, form, seeds)
    assert out.sum(axis=1) == pytest.approx(mass, rel=1e-12)
    assert out.sum(axis=2) == pytest.approx(np.array([[3.0, 7.0]]), rel=1e-6)
    assert np.all(np.diff(out[0, 0] / mass[0]) > 0.0)


def test_a_form_without_a_place_goes_to_the_last_form():
    mass = np.array([[1.0, 1.0]])
    out = spread_over_sizes(mass, np.array([[0.9, 0.1]]), np.array([[[1.0, 0.0], [1.0, 1.0]]]))
    assert out.sum(axis=1) == pytest.approx(mass)
    assert out[0, 0, 1] == 0.0
