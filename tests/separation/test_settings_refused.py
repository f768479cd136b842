"""Settings that cannot be run, and what is told about those that can."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from feedchar.errors import SettingError
from feedchar.field.setting import Pass, Setting
from feedchar.separation.capacity import sauter_mean, single_layer_capacity
from feedchar.separation.grain_nodes import FlakeSpread, spread_over_nodes
from feedchar.separation.parameters import Calibration
from feedchar.separation.setting_checks import calibration_notes, check_setting, setting_notes


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


def test_a_note_names_the_pass_only_where_there_is_more_than_one(sand):
    """sqrt(9.81 x 0.0502) = 0.7018 m/s, and a tenth above it is still close."""
    one = sand.setting(0.05, 0.5)
    assert setting_notes(one)[0].text.startswith("belt at 0.5 m/s")
    two = setting_notes(replace(one, passes=(Pass(1.5), Pass(0.5), Pass(0.77))))
    assert [note.text[:15] for note in two] == ["pass 2 at 0.5 m", "pass 3 at 0.77 "]
    codes = [note.code for note in two]
    assert codes == ["belt-below-throw-off", "belt-near-throw-off"]
    assert setting_notes(sand.setting(0.05, 0.775)) == ()
    with pytest.raises(SettingError, match=r"^Pass 1: belt speed .* above 0\.70 m/s"):
        check_setting(replace(one, passes=(Pass(16.0), Pass(1.5))))
    with pytest.raises(SettingError, match=r"^belt speed must be above 0 and at most 15"):
        check_setting(sand.setting(0.05, 15.1))


def test_a_slow_belt_is_no_mistake_and_of_two_passes_each_is_named(sand):
    crawling = sand.setting(0.05, 0.01)
    assert check_setting(crawling) is crawling
    two = setting_notes(replace(crawling, passes=(Pass(0.5), Pass(1.5))))
    assert [note.text[:6] for note in two] == ["pass 1"]


def test_edges_stand_between_the_belt_and_a_metre(sand):
    """On a belt of 0.2 mm, in millimetres as a person sets them."""
    assert check_setting(sand.setting(0.05, 15.0, 1.0)).passes[0].splitter_m == 1.0
    with pytest.raises(SettingError, match=r"more than 0\.2 mm .* found 0\.2\."):
        check_setting(sand.setting(0.05, 1.5, 0.0002))
    with pytest.raises(SettingError, match="at most 1000 mm beyond the bare roll, found 1001"):
        check_setting(sand.setting(0.05, 1.5, 1.001))
    both = replace(sand.setting(0.05, 1.5), passes=(Pass(1.5, 0.02, 0.02),))
    with pytest.raises(SettingError, match=r"first \(20 mm\), found 20 mm"):
        check_setting(both)
    check_setting(replace(both, passes=(Pass(1.5, 0.02, 1.0),)))
    with pytest.raises(SettingError, match="found 1001 mm"):
        check_setting(replace(both, passes=(Pass(1.5, 0.02, 1.001),)))
    # Only the last pass may keep its middlings without a second edge.
    last = (Pass(1.5, 0.01, 0.02), Pass(1.5, 0.01))
    check_setting(replace(both, passes=last, retreat="middlings"))


def calibrated(machine="permanent-roll", roll="tested"):
    return Calibration(*(np.full(2, v) for v in (0.03, 0.01, 1.0, 1e-8)), "a test", machine, roll)


def test_a_calibration_speaks_for_its_own_machine_and_roll_alone(sand):
    setting = sand.setting(0.05, 1.5)
    assert calibration_notes(None, setting) == ()
    assert calibration_notes(calibrated(machine=""), setting) == ()
    own = calibration_notes(calibrated(), setting)
    assert [(note.code, note.severity) for note in own] == [("calibrated", "note")]
    other = calibration_notes(calibrated(roll="another"), setting)
    assert [note.code for note in other] == ["calibrated", "calibration-of-another-roll"]
    with pytest.raises(SettingError, match="what one misses says nothing of the other"):
        calibration_notes(calibrated(machine="induced-roll"), setting)


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
    for cover in (1.2, 1.02, np.array([0.7, 1.2])):
        with pytest.raises(SettingError, match=r"0\.907"):
            single_layer_capacity(2650, 3e-4, cover, 1.5)
    assert single_layer_capacity(2650, 3e-4, 1.0, 1.5) == pytest.approx(2650 * 2e-4 * 1.5)
    with pytest.raises(SettingError, match="no mass"):
        sauter_mean([0.0, 0.0], [1e-4, 2e-4])
