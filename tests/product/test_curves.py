"""Best possible: no machine beats the hand, and the envelope is an envelope."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from feedchar.particles.build import build_classes
from feedchar.product.best_possible import best_possible
from feedchar.product.curves import (
    grade_at_yield,
    never_worse_with_less,
    roll_curve,
    roll_points,
    yield_at_grade,
    yield_grid_pct,
)
from feedchar.product.grains import (
    Grains,
    every_grain_sorted,
    ideal_magnet,
    sortable_grains,
    sorted_curve,
)
from feedchar.product.outlets import outlets
from feedchar.sample.records import Sample, Texture

TEXTURES = (
    Texture("goethite", "quartz", "stain", 40.0),
    Texture("magnetite", "albite", "inclusion", 50.0),
    Texture("ilmenite", None, "joined", None, grain_size_um=150.0),
)
SAMPLE = Sample("invented", textures=TEXTURES)
GRID = yield_grid_pct()


def test_curves_are_given_at_each_whole_per_cent_and_each_tenth_from_95():
    assert len(GRID) == 96
    assert GRID[0] == 50.0
    assert GRID[-1] == 100.0
    assert np.diff(GRID[:46]) == pytest.approx(1.0)
    assert np.diff(GRID[45:]) == pytest.approx(0.1)


@settings(max_examples=20, deadline=None)
@given(
    trial=st.integers(0, 50),
    cuts=st.lists(st.floats(1.0, 5000.0), min_size=1, max_size=4),
    missed=st.floats(0.0, 0.2),
    seed=st.integers(0, 5),
)
def test_no_curve_lies_below_sorting_by_hand_in_any_trial(sand, trial, cuts, missed, seed):
    classes = build_classes(SAMPLE, sand.mineralogy, sand.sizes, seed)[0]
    grains = sortable_grains(classes, sand.mineralogy, 500.0, 45.0, trial)
    settings_ = [sand.shares(classes, cut, missed).non_magnetics[trial] for cut in cuts]
    hand = every_grain_sorted(grains, GRID)
    magnet = ideal_magnet(grains, sand.response(classes), GRID)
    roll = roll_curve(*roll_points(grains, settings_), grains, GRID)
    for other in (magnet, roll):
        both = np.isfinite(other)
        assert np.isfinite(hand[both]).all()
        assert (hand[both] <= other[both] * (1.0 + 1e-9)).all()


def test_the_ideal_magnet_beats_a_roll_that_pulls_in_the_same_order(sand):
    """The invented machine also takes fines whatever their pull, which only costs it sand."""
    classes = build_classes(SAMPLE, sand.mineralogy, sand.sizes)[0]
    curves = best_possible(
        classes,
        sand.mineralogy,
        sand.response(classes),
        [sand.shares(classes, cut).non_magnetics[0] for cut in (1.0, 20.0, 60.0, 600.0)],
        500.0,
        45.0,
    )
    both = np.isfinite(curves.this_roll) & np.isfinite(curves.ideal_magnet)
    assert both.sum() > 10
    assert (curves.ideal_magnet[both] <= curves.this_roll[both] * (1.0 + 1e-9)).all()


def test_the_roll_curve_passes_at_or_below_every_setting(sand):
    classes = build_classes(SAMPLE, sand.mineralogy, sand.sizes)[0]
    grains = sortable_grains(classes, sand.mineralogy)
    shares = [sand.shares(classes, cut).non_magnetics[0] for cut in (20.0, 60.0, 200.0, 600.0)]
    x, y = roll_points(grains, shares)
    for k in range(len(x)):
        here = roll_curve(x, y, grains, np.array([100.0 * x[k]]))
        assert float(here[0]) <= y[k] / x[k] * (1.0 + 1e-12)


def test_a_setting_on_the_curve_is_the_product_of_the_outlets(sand):
    classes = build_classes(SAMPLE, sand.mineralogy, sand.sizes)[0]
    shares = sand.shares(classes)
    grains = sortable_grains(classes, sand.mineralogy, 500.0, 45.0)
    x, y = roll_points(grains, [shares.non_magnetics[0]])
    made = outlets(classes, shares, sand.mineralogy, 500.0, 45.0)
    assert 100.0 * x[0] == pytest.approx(made.yield_pct()[0], rel=1e-12)
    assert y[0] / x[0] == pytest.approx(made.non_magnetics.oxide("Fe2O3")[0], rel=1e-12)


def test_curves_end_where_the_window_ends_and_there_all_say_the_feed(sand):
    classes = build_classes(SAMPLE, sand.mineralogy, sand.sizes)[0]
    grains = sortable_grains(classes, sand.mineralogy, None, 45.0)
    feed = grains.iron.sum() / grains.mass.sum()
    hand = every_grain_sorted(grains, GRID)
    assert np.isnan(hand[GRID > 97.05]).all()
    top = np.array([100.0 * grains.mass.sum()])
    for curve in (
        every_grain_sorted(grains, top),
        ideal_magnet(grains, sand.response(classes), top),
    ):
        assert float(curve[0]) == pytest.approx(feed, rel=1e-9)


def test_sorting_by_hand_gets_worse_with_yield(sand):
    classes = build_classes(SAMPLE, sand.mineralogy, sand.sizes)[0]
    hand = every_grain_sorted(sortable_grains(classes, sand.mineralogy), GRID)
    assert (np.diff(hand) >= -1e-15).all()


def test_a_case_worked_by_hand():
    """Three grains: 60 at 0, 30 at 1, 10 at 10 %; at 80 % yield (60 x 0 + 20 x 1)/80."""
    grains = Grains(
        np.array([0.1, 0.6, 0.3]), np.array([0.1 * 10, 0.0, 0.3 * 1]), np.array([0, 1, 2])
    )
    assert every_grain_sorted(grains, np.array([60.0, 80.0, 100.0])) == pytest.approx(
        [0.0, 0.25, 1.3]
    )
    backwards = sorted_curve(grains, -grains.iron / grains.mass, np.array([10.0, 40.0]))
    assert backwards == pytest.approx([10.0, 3.25])


def test_grade_and_yield_are_each_others_inverse(sand):
    classes = build_classes(SAMPLE, sand.mineralogy, sand.sizes)[0]
    hand = every_grain_sorted(sortable_grains(classes, sand.mineralogy), GRID)
    for wanted in (72.5, 90.0, 97.31):
        grade = grade_at_yield(hand, GRID, wanted)
        assert yield_at_grade(hand, GRID, grade) == pytest.approx(wanted, abs=0.05)
    assert grade_at_yield(hand, GRID, 30.0) is None
    assert yield_at_grade(hand, GRID, 1e-9) is None
    assert yield_at_grade(hand, GRID, 99.0) == 100.0


def test_the_roll_is_known_at_every_setting_that_bounds_its_curve(sand):
    """Also where whole per cents of yield leave a setting between two points of the curve."""
    classes = build_classes(SAMPLE, sand.mineralogy, sand.sizes)[0]
    best = best_possible(
        classes,
        sand.mineralogy,
        sand.response(classes),
        [sand.shares(classes, cut).non_magnetics[0] for cut in (5.0, 20.0, 60.0, 200.0)],
    )
    for curve in (best.every_grain_sorted, best.ideal_magnet, best.this_roll):
        known = curve[np.isfinite(curve)]
        assert (np.diff(known) >= -1e-15).all()
    least = int(np.argmin(best.settings_yield_pct))
    for k, here in enumerate(best.settings_yield_pct):
        found = best.at_yield("this_roll", float(here))
        assert found <= best.settings_fe2o3_wt_pct[k] * (1.0 + 1e-9)
    lowest = best.at_yield("this_roll", float(best.settings_yield_pct[least]))
    assert lowest == pytest.approx(float(np.min(best.settings_fe2o3_wt_pct)))
    assert best.at_yield("this_roll", float(best.settings_yield_pct[least]) - 0.1) is None


def test_less_yield_is_never_dirtier_since_product_may_be_thrown_away():
    curve = np.array([np.nan, 0.5, 0.3, 0.4, np.nan])
    assert never_worse_with_less(curve) == pytest.approx(
        np.array([np.nan, 0.3, 0.3, 0.4, np.nan]), nan_ok=True
    )
