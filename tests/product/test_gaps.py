"""The gaps between the curves add up and say why."""

from __future__ import annotations

import numpy as np
import pytest

from feedchar.particles.build import build_classes
from feedchar.product.best_possible import best_possible
from feedchar.product.curves import grade_at_yield
from feedchar.product.gaps import gaps
from feedchar.product.outlets import outlets
from feedchar.sample.records import Sample


def test_gaps_lead_from_the_hand_to_this_setting(sand):
    classes = build_classes(Sample("x"), sand.mineralogy, sand.sizes)[0]
    shares = [sand.shares(classes, cut) for cut in (20.0, 60.0, 200.0)]
    best = best_possible(
        classes,
        sand.mineralogy,
        sand.response(classes),
        [one.non_magnetics[0] for one in shares],
    )
    made = outlets(classes, shares[1], sand.mineralogy)
    here, iron = float(made.yield_pct()[0]), float(made.non_magnetics.oxide("Fe2O3")[0])
    found = gaps(best, here, iron)
    assert [gap.worse for gap in found] == ["ideal magnet", "this roll", "this setting"]
    hand = grade_at_yield(best.every_grain_sorted, best.yields_pct, here)
    assert sum(gap.Fe2O3_ppm for gap in found) == pytest.approx(1e4 * (iron - hand))
    assert found[0].Fe2O3_ppm >= 0.0
    assert all(gap.words for gap in found)


def test_a_curve_that_does_not_reach_the_yield_is_left_out(sand):
    classes = build_classes(Sample("x"), sand.mineralogy, sand.sizes)[0]
    none = [np.full(len(classes.size), 0.99)]
    best = best_possible(classes, sand.mineralogy, sand.response(classes), none)
    found = gaps(best, 60.0, 0.1)
    assert [(gap.better, gap.worse) for gap in found] == [
        ("every grain sorted", "ideal magnet"),
        ("ideal magnet", "this setting"),
    ]
