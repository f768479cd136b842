"""The curves at their ends and corners, against every blend tried one by one."""

from __future__ import annotations

import numpy as np
import pytest

from feedchar.particles.build import build_classes
from feedchar.product.best_possible import best_possible
from feedchar.product.curves import (
    grade_at_yield,
    never_worse_with_less,
    roll_curve,
    roll_hull,
    roll_points,
    yield_at_grade,
)
from feedchar.product.grains import Grains, cumulate, every_grain_sorted, sortable_grains
from feedchar.sample.records import Sample, Texture

TEXTURES = (
    Texture("goethite", "quartz", "stain", 40.0),
    Texture("ilmenite", "quartz", "joined", 30.0),
)
GRAINS = Grains(np.array([0.5, 0.3, 0.2]), np.array([0.0, 0.3, 2.0]), np.array([0, 1, 2]))
"""Half is clean, three tenths hold 1 %, two tenths 10 %: 2.3 % of the bag."""


def every_blend(x, y, wanted):
    """Least iron at a yield over one setting or a mixture of any two."""
    found = [y[k] for k in range(len(x)) if x[k] == wanted]
    for a in range(len(x)):
        for b in range(len(x)):
            if x[a] < wanted <= x[b]:
                share = (wanted - x[a]) / (x[b] - x[a])
                found.append((1.0 - share) * y[a] + share * y[b])
    return min(found, default=np.nan)


@pytest.mark.parametrize("seed", range(4))
def test_the_roll_reaches_what_its_best_blend_of_two_settings_reaches(seed):
    rng = np.random.default_rng(seed)
    x = rng.uniform(0.5, 1.0, 9)
    x[3] = x[5]  # two settings of one yield
    y = rng.uniform(0.1, 2.3, 9)
    found = roll_curve(x, y, GRAINS, 100.0 * (grid := np.linspace(0.45, 1.0, 45)))
    points, iron = np.append(x, 1.0), np.append(y, 2.3)
    for wanted, made in zip(grid, found, strict=True):
        best = every_blend(points, iron, wanted)
        assert made == pytest.approx(best / wanted, nan_ok=True)


def test_the_curve_of_a_roll_is_known_at_both_of_its_ends():
    x, y = np.array([0.61, 0.83]), np.array([0.2, 0.7])
    ends = roll_curve(x, y, GRAINS, np.array([61.0, 100.0]))
    assert ends == pytest.approx([0.2 / 0.61, 2.3])
    assert np.isnan(roll_curve(x, y, GRAINS, np.array([60.99, 100.01]))).all()


def test_no_treatment_is_a_corner_and_a_setting_above_the_line_is_none():
    x, y = roll_hull(np.array([0.6, 0.8]), np.array([0.3, 1.4]), GRAINS)
    # At 80 % the blend of the first setting with no treatment holds 0.3 + 2.0/2 = 1.3.
    assert x == pytest.approx([0.6, 1.0])
    assert y == pytest.approx([0.3, 2.3])


def test_a_setting_sends_each_grain_where_its_class_goes():
    grains = Grains(GRAINS.mass, GRAINS.iron, np.array([2, 0, 1]))
    x, y = roll_points(grains, [np.array([0.5, 0.0, 1.0]), np.array([1.0, 1.0, 0.0])])
    assert x == pytest.approx([0.5 + 0.15, 0.5])
    assert y == pytest.approx([0.15, 2.3])
    assert [len(one) for one in roll_points(grains, [])] == [0, 0]


def test_a_grade_is_read_between_two_yields_by_the_iron_they_carry():
    """1 % at 50 and 2 % at 100: 0.5 and 2 of the bag, so 1.25 at 75 %, 1.667 % of the product."""
    yields, curve = np.array([40.0, 50.0, 100.0, 110.0]), np.array([np.nan, 1.0, 2.0, np.nan])
    assert grade_at_yield(curve, yields, 75.0) == pytest.approx(1.25 / 0.75)
    assert grade_at_yield(curve, yields, 50.0) == pytest.approx(1.0)
    assert grade_at_yield(curve, yields, 100.0) == pytest.approx(2.0)
    assert grade_at_yield(curve, yields, 49.9) is None
    assert grade_at_yield(curve, yields, 100.1) is None
    assert grade_at_yield(np.full(4, np.nan), yields, 75.0) is None


def test_a_yield_is_read_between_two_grades():
    yields = np.array([50.0, 60.0, 70.0, 80.0])
    curve = np.array([1.0, 1.5, 2.5, np.nan])
    assert yield_at_grade(curve, yields, 2.0) == pytest.approx(65.0)
    assert yield_at_grade(curve, yields, 1.0) == pytest.approx(50.0)
    assert yield_at_grade(curve, yields, 2.5) == 70.0  # beyond it nothing is known
    assert yield_at_grade(curve, yields, 9.0) == 70.0
    assert yield_at_grade(curve[:3], yields[:3], 9.0) == 70.0
    assert yield_at_grade(curve, yields, 0.99) is None
    assert yield_at_grade(np.array([3.0, 1.0, 4.0]), yields[:3], 1.0) == 60.0


def test_throwing_clean_product_away_never_makes_it_worse():
    rng = np.random.default_rng(3)
    curve = rng.uniform(0.1, 1.0, 20)
    curve[[0, 7, 19]] = np.nan
    found = never_worse_with_less(curve)
    for k, made in enumerate(found):
        if np.isnan(curve[k]):
            assert np.isnan(made)
        else:
            assert made == min(v for v in curve[k:] if not np.isnan(v))


@pytest.fixture(scope="module")
def best(sand_of):
    sand = sand_of(trials=2)
    classes = build_classes(Sample("x", textures=TEXTURES), sand.mineralogy, sand.sizes)[0]
    settings = [sand.shares(classes, cut).non_magnetics[0] for cut in (0.5, 5.0, 40.0, 300.0)]
    settings.append(np.zeros(len(classes.size)))
    made = best_possible(classes, sand.mineralogy, sand.response(classes), settings, 500.0, 45.0)
    return sand, classes, settings, made


def test_the_roll_at_any_yield_is_its_best_blend_at_that_yield_or_above(best):
    _, _, _, made = best
    x = made.roll_yield_pct
    for wanted in (x[1], 0.5 * (x[1] + x[2]), 97.0):
        grid = np.linspace(wanted, x[-1], 4001)
        product = 100.0 * np.interp(grid, x, made.roll_iron_wt_pct) / grid
        assert made.at_yield("this_roll", float(wanted)) == pytest.approx(product.min(), rel=1e-5)
    for end in (x[0], x[-1]):
        if end > 0.0:
            assert made.at_yield("this_roll", float(end)) is not None
    assert made.at_yield("this_roll", float(x[-1]) * 1.001) is None


def test_settings_are_shown_by_their_own_yield_and_product(best):
    sand, classes, settings, made = best
    fe2o3 = sand.mineralogy.oxides_wt_pct[0, :, 3]
    for k, share in enumerate(settings[:-1]):
        mass = iron = 0.0
        for c in range(len(classes.size)):
            if sand.sizes.retained_um[classes.size[c]] < 45.0:
                continue
            kept = classes.mass[0, c] * share[c]
            host = classes.host[c]
            grade = classes.grade[c] if host >= 0 else 1.0
            mass += kept
            iron += kept * grade * fe2o3[classes.mineral[c]]
            iron += kept * (1.0 - grade) * fe2o3[host] if host >= 0 else 0.0
        assert made.settings_yield_pct[k] == pytest.approx(100.0 * mass)
        assert made.settings_fe2o3_wt_pct[k] == pytest.approx(iron / mass)
    # One that keeps nothing has no product.
    assert made.settings_yield_pct[-1] == 0.0
    assert np.isnan(made.settings_fe2o3_wt_pct[-1])


def test_other_curves_are_read_on_the_grid(best):
    _, _, _, made = best
    for name in ("every_grain_sorted", "ideal_magnet"):
        curve = getattr(made, name)
        k = int(np.argmin(np.abs(made.yields_pct - 90.0)))
        assert made.at_yield(name, 90.0) == pytest.approx(curve[k])
    assert made.at_yield("every_grain_sorted", 40.0) is None


def test_a_rider_is_sorted_with_its_carrier(sand):
    classes = build_classes(Sample("x", textures=TEXTURES), sand.mineralogy, sand.sizes)[0]
    grains = sortable_grains(classes, sand.mineralogy, trial=3)
    assert grains.mass.sum() == pytest.approx(1.0)
    assert grains.iron.sum() == pytest.approx(sand.mineralogy.predicted_wt_pct[3, 3])
    riders = np.flatnonzero(classes.carrier != np.arange(len(classes.carrier)))
    assert len(riders) > 0
    assert not set(riders) & set(grains.cls)
    host = int(classes.carrier[riders[0]])
    own = [c for c in range(len(classes.size)) if classes.carrier[c] == host]
    assert len(own) > 1
    there = list(grains.cls).index(host)
    assert grains.mass[there] == pytest.approx(classes.mass[3, own].sum())


def test_running_means_are_those_of_the_first_so_many():
    """Three of 2, 0 and 1 at contents 5, 9 and 2, taken 1, 2, 3 in the order of the key."""
    mass, mean = cumulate(np.array([2.0, 0.0, 1.0]), np.array([5.0, 9.0, 2.0]), np.array([3, 1, 2]))
    assert mass == pytest.approx([0.0, 1.0, 3.0])
    assert mean == pytest.approx([0.0, 2.0, 4.0])


def test_a_curve_is_known_up_to_the_last_grain():
    top = every_grain_sorted(
        Grains(np.array([0.3, 0.4]), np.array([0.0, 0.4]), np.array([0, 1])),
        np.array([70.0, 70.01]),
    )
    assert top[0] == pytest.approx(0.4 / 0.7)
    assert np.isnan(top[1])
