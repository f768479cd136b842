"""Settings that cannot be run, and what is told about those that can."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from feedchar.errors import SettingError
from feedchar.field.setting import Pass, Setting
from feedchar.separation.capacity import sauter_mean, single_layer_capacity
from feedchar.separation.grain_nodes import FlakeSpread, spread_over_nodes
from feedchar.separation.setting_checks import check_setting, setting_notes


@pytest.mark.parametrize(
    ("change", "told"),
    [
        ({"passes": ()}, "at least one pass"),
        ({"passes": (Pass(0.0),)}, "above 0"),
        ({"passes": (Pass(-1.5),)}, "above 0"),
        ({"passes": (Pass(float("nan")),)}, "above 0"),
        ({"passes": (Pass(150.0),)}, "at most 15"),
        ({"passes": (Pass(1.5, 0.0001),)}, "clear of the belt"),
        ({"passes": (Pass(1.5, float("inf")),)}, "clear of the belt"),
        ({"passes": (Pass(1.5, 0.02, 0.01),)}, "beyond the first"),
        ({"passes": (Pass(1.5), Pass(0.0))}, "Pass 2"),
        ({"passes": (Pass(1.5), Pass(1.5)), "retreat": "middlings"}, "second edge"),
        ({"retreat": "magnetics"}, "cannot be retreated"),
        ({"machine": "hand magnet"}, "no known machine"),
    ],
)
def test_a_setting_that_cannot_be_is_refused(sand, change, told):
    with pytest.raises(SettingError, match=told):
        check_setting(replace(sand.setting(0.05, 1.5), **change))


@pytest.mark.parametrize(
    ("change", "told"),
    [
        ({"magnet_m": 0.05}, "larger than the roll radius"),
        ({"belt_thickness_m": 0.006}, "thinner than"),
        ({"belt_thickness_m": 0.0}, "thicker than 0"),
        ({"bore_radius_m": 0.05}, "bore"),
    ],
)
def test_a_roll_that_cannot_be_is_refused(sand, change, told):
    roll = replace(sand.roll(0.05), **change)
    with pytest.raises(SettingError, match=told):
        check_setting(Setting(roll, (Pass(1.5),)))


def test_slow_belts_run_and_tell_that_sand_clings(sand):
    slow, near, fast = (setting_notes(sand.setting(0.05, v)) for v in (0.5, 0.75, 1.5))
    assert [note.code for note in slow] == ["belt-below-throw-off"]
    assert "0.70 m/s" in slow[0].text
    assert [note.code for note in near] == ["belt-near-throw-off"]
    assert fast == ()


def test_a_size_class_upside_down_is_refused(sand):
    grains, _ = sand.classes()
    turned = replace(grains, passing_m=grains.retained_m, retained_m=grains.passing_m)
    with pytest.raises(SettingError, match="lower bound"):
        spread_over_nodes(turned, FlakeSpread())


def test_every_class_is_spread_over_nodes_that_sum_to_one(sand):
    grains, _ = sand.classes()
    pan = replace(grains, retained_m=np.where(grains.retained_m < 4e-5, 0.0, grains.retained_m))
    for spread in (spread_over_nodes(g, FlakeSpread()) for g in (grains, pan)):
        assert spread.weight.sum(axis=1) == pytest.approx(np.ones(len(grains.passing_m)))
        sizes = np.tile(spread.diameters_m, len(spread.kinds))
        mean = np.exp(spread.weight @ np.log(sizes))
        middle = np.sqrt(grains.passing_m * grains.retained_m)
        inside = grains.retained_m > 4e-5
        assert mean[inside] == pytest.approx(middle[inside], rel=1e-9)


def test_a_layer_that_covers_more_than_the_belt_is_refused():
    with pytest.raises(SettingError, match=r"0\.907"):
        single_layer_capacity(2650, 3e-4, 1.2, 1.5)
    with pytest.raises(SettingError, match="no mass"):
        sauter_mean([0.0, 0.0], [1e-4, 2e-4])
