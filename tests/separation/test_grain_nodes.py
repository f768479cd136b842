"""Nodes of grain character and how classes are spread over them, weight by weight."""

from __future__ import annotations

from dataclasses import replace
from math import log, pi

import numpy as np
import pytest
from scipy.special import ndtri

from feedchar.errors import SettingError
from feedchar.separation.grain_nodes import (
    FLAKE_DRAG_FACTOR,
    FLAKE_RATIOS,
    SPHERE_DENSITIES_KG_M3,
    FlakeSpread,
    Kind,
    grain_nodes,
    kinds_of,
    spread_over_nodes,
)
from feedchar.separation.records import Grains


def three_classes():
    """Quartz, a flake and ilmenite, in two sizes of class."""
    return Grains(
        passing_m=np.array([3.0e-4, 3.0e-4, 1.5e-4]), retained_m=np.array([2.1e-4, 2.1e-4, 4e-5]),
        is_flake=np.array([False, True, False]), thickness_ratio=np.array([1.0, 0.07, 1.0]),
        density_kg_m3=np.array([2660.0, 2900.0, 4700.0]), susceptibility_m3_kg=np.zeros((1, 3)),
        moment_A_m2_kg=np.zeros((1, 3)), order=np.zeros(3, dtype=int), grain_ln_sd=np.zeros(3),
    )  # fmt: skip


def test_spheres_and_flat_discs_by_geometry():
    nodes = grain_nodes((Kind(False, 2710.0), Kind(True, 2830.0, 0.3)), (2.1e-4, 3.7e-4))
    assert len(nodes) == 4
    assert nodes.is_flake.tolist() == [False, False, True, True]
    assert nodes.diameter_m.tolist() == [2.1e-4, 3.7e-4, 2.1e-4, 3.7e-4]
    assert nodes.half_height_m == pytest.approx([1.05e-4, 1.85e-4, 0.315e-4, 0.555e-4])
    assert nodes.density_kg_m3.tolist() == [2710.0, 2710.0, 2830.0, 2830.0]
    for place, size in enumerate((2.1e-4, 3.7e-4)):
        assert nodes.mass_kg[place] == pytest.approx(2710.0 * pi / 6.0 * size**3)
        assert nodes.sphere_diameter_m[place] == pytest.approx(size)
        disc = 0.3 * size * pi / 4.0 * size**2
        assert nodes.mass_kg[2 + place] == pytest.approx(2830.0 * disc)
        assert pi / 6.0 * nodes.sphere_diameter_m[2 + place] ** 3 == pytest.approx(disc)
    assert nodes.drag_factor.tolist() == [1.0, 1.0, FLAKE_DRAG_FACTOR, FLAKE_DRAG_FACTOR]


def share_of(ladder, value):
    """Straight line in the logarithm between two rungs, held at the ends."""
    position = np.interp(log(value), np.log(ladder), np.arange(len(ladder)))
    return np.maximum(1.0 - np.abs(position - np.arange(len(ladder))), 0.0)


def test_the_weight_of_every_class_on_every_node():
    """Sizes by Gauss points in ln d, densities by rungs, thickness by four even quantiles."""
    flakes = FlakeSpread(thickness_ln_sd=0.6, book_share=0.2)
    spread = spread_over_nodes(three_classes(), flakes)
    every = [Kind(False, density) for density in SPHERE_DENSITIES_KG_M3]
    thin = [kind for kind in spread.kinds if kind.is_flake]
    every += [Kind(True, thin[0].density_kg_m3, ratio) for ratio in FLAKE_RATIOS]
    middles = 0.07 * np.exp(0.6 * ndtri([0.125, 0.375, 0.625, 0.875]))
    flat = np.mean([share_of(FLAKE_RATIOS, ratio) for ratio in middles], axis=0)
    none = np.zeros(len(FLAKE_RATIOS))
    by_kind = np.array(
        [
            [*share_of(SPHERE_DENSITIES_KG_M3, 2660.0), *none],
            [*(0.2 * share_of(SPHERE_DENSITIES_KG_M3, 2900.0)), *(0.8 * flat)],
            [*share_of(SPHERE_DENSITIES_KG_M3, 4700.0), *none],
        ]
    )
    used = np.flatnonzero(by_kind.max(axis=0) > 0.0)
    assert spread.kinds == tuple(every[k] for k in used)
    # Two sizes for a class of root 2, five for one of 3.75; classes of one size share theirs.
    sizes, by_size = [], np.zeros((3, 7))
    for places, low, high, first, count in (
        ([2], 4e-5, 1.5e-4, 0, 5),
        ([0, 1], 2.1e-4, 3e-4, 5, 2),
    ):
        points, weights = np.polynomial.legendre.leggauss(count)
        sizes += list(np.exp(0.5 * (log(low) + log(high)) + 0.5 * points * log(high / low)))
        for place in places:
            by_size[place, first : first + count] = weights / 2.0
    assert spread.diameters_m == pytest.approx(sizes)
    wanted = by_kind[:, used, None] * by_size[:, None, :]
    assert spread.weight == pytest.approx(wanted.reshape(3, -1), abs=1e-12)


def test_an_equant_grain_lies_on_no_disc_even_beside_the_thickest_flake():
    thick = replace(three_classes(), thickness_ratio=np.array([1.0, FLAKE_RATIOS[-1], 1.0]))
    spread = spread_over_nodes(thick, FlakeSpread())
    by_kind = spread.weight.reshape(3, len(spread.kinds), -1).sum(axis=2)
    disc = [kind.is_flake for kind in spread.kinds]
    assert by_kind[[0, 2]][:, disc] == pytest.approx(np.zeros((2, sum(disc))), abs=0.0)
    assert by_kind[1, disc].max() > 0.1


def test_kinds_are_those_that_the_classes_asked_about_lie_on():
    spread = spread_over_nodes(three_classes(), FlakeSpread())
    spheres = tuple(Kind(False, density) for density in SPHERE_DENSITIES_KG_M3)
    asked = {}
    for name, some in (("quartz", [1, 0, 0]), ("flake", [0, 1, 0]), ("ilmenite", [0, 0, 1]),
                       ("both", [1, 0, 1]), ("none", [0, 0, 0]), ("all", [1, 1, 1])):  # fmt: skip
        asked[name] = kinds_of(spread, np.array(some, dtype=bool))
    assert asked["quartz"] == spheres[:2]
    assert asked["ilmenite"] == spheres[1:]
    assert asked["both"] == spheres
    assert asked["none"] == ()
    assert asked["all"] == spread.kinds
    # Books of a flake are spheres of its density; the rest lies flat.
    assert asked["flake"][:2] == spheres[:2]
    assert all(kind.is_flake for kind in asked["flake"][2:])
    assert len(asked["flake"]) > 4


@pytest.mark.parametrize(
    ("passing", "retained"), [(2.1e-4, 2.1e-4), (1e-4, 2e-4), (3e-4, -1e-6), (0.0, 0.0)]
)
def test_one_size_class_that_cannot_be_is_refused_among_good_ones(passing, retained):
    grains = three_classes()
    bad = replace(
        grains, passing_m=np.array([3e-4, passing, 1.5e-4]),
        retained_m=np.array([2.1e-4, retained, 4e-5]),
    )  # fmt: skip
    with pytest.raises(SettingError, match="lower bound"):
        spread_over_nodes(bad, FlakeSpread())
