"""A roll from figures: what is given, what a named roll gives, what is missing or said twice."""

from __future__ import annotations

import numpy as np
import pytest

from feedchar.errors import SettingError
from feedchar.field.construction import roll_of_figures
from feedchar.field.roll_of_reading import roll_of_reading
from feedchar.field.rolls import table_roll
from feedchar.field.series import LARGEST_ARGUMENT, radial_decay
from feedchar.field.surface import MAGNET_STATIONS, STEEL_STATIONS, station_positions

OWN = {"roll_radius_mm": 50.0, "magnet_mm": 4.0, "steel_mm": 1.0, "remanence_tesla": 1.25}
READING = {"reading_tesla": 1.0, "probe_mm": 1.0, "probe_height_mm": 0.4}
BASE = table_roll("fine-100")


def test_a_roll_of_ones_own_is_what_was_given_and_says_what_was_assumed():
    roll = roll_of_figures(OWN)
    assert roll.roll_radius_m == pytest.approx(0.05)
    assert roll.bore_radius_m == pytest.approx(0.01)
    assert (roll.magnet_m, roll.steel_m) == pytest.approx((0.004, 0.001))
    assert roll.belt_thickness_m == pytest.approx(0.0002)
    assert (roll.remanence_tesla, roll.steel_saturation_tesla) == (1.25, 2.1)
    for told in ("bore_radius_mm 10 assumed", "steel_saturation_tesla 2.1 assumed",
                 "belt_mm 0.2 assumed"):  # fmt: skip
        assert told in roll.source
    given = roll_of_figures({**OWN, "belt_mm": 0.5, "bore_radius_mm": 12.0})
    assert given.belt_thickness_m == pytest.approx(0.0005)
    assert given.bore_radius_m == pytest.approx(0.012)
    assert "belt_mm" not in given.source
    assert "bore" not in given.source


def test_figures_change_a_named_roll_and_leave_the_rest_of_it():
    roll = roll_of_figures({"belt_mm": 0.5, "remanence_tesla": 1.1}, BASE)
    assert roll.belt_thickness_m == pytest.approx(0.0005)
    assert roll.remanence_tesla == 1.1
    assert (roll.magnet_m, roll.roll_radius_m) == (BASE.magnet_m, BASE.roll_radius_m)
    assert roll.roll == "fine-100, changed"
    assert roll.source.endswith("with belt_mm 0.5, remanence_tesla 1.1")
    assert roll_of_figures({}, BASE) == BASE


@pytest.mark.parametrize("base", [None, BASE])
def test_a_reading_takes_the_place_of_the_remanence(base):
    lengths = {key: value for key, value in OWN.items() if key != "remanence_tesla"}
    roll = roll_of_figures({**READING, **(lengths if base is None else {})}, base)
    by_hand = roll_of_reading(base or roll_of_figures(OWN), 1.0, 1e-3, 4e-4)
    assert roll.remanence_tesla == pytest.approx(by_hand.remanence_tesla, rel=1e-12)


@pytest.mark.parametrize("missing", ["roll_radius_mm", "magnet_mm", "steel_mm"])
def test_a_length_that_is_missing_is_named(missing):
    left = {key: value for key, value in OWN.items() if key != missing}
    with pytest.raises(SettingError, match=f"missing: {missing}[.]"):
        roll_of_figures(left)
    assert roll_of_figures(left, BASE).remanence_tesla == 1.25


@pytest.mark.parametrize("missing", ["probe_mm", "probe_height_mm"])
def test_a_reading_without_its_probe_names_what_lacks_and_nothing_else(missing):
    left = {key: value for key, value in READING.items() if key != missing}
    with pytest.raises(SettingError, match=f"missing: {missing}[.]"):
        roll_of_figures(left, BASE)


def test_the_strength_is_given_in_one_way():
    with pytest.raises(SettingError, match="two ways"):
        roll_of_figures({**OWN, **READING})
    with pytest.raises(SettingError, match="strength of the magnets is missing"):
        roll_of_figures({k: v for k, v in OWN.items() if k != "remanence_tesla"})


def test_the_decay_far_from_any_axis_joins_that_of_the_library():
    # A roll so large that its face is a plane: exp(-n k h), whichever form of K is used.
    pitch, height = 0.005, 0.0003
    for order_of_size in (0.5, 2.0):
        radius = order_of_size * LARGEST_ARGUMENT * pitch / 3.141592653589793
        nk, radial, axial = radial_decay(1, pitch, radius, height)
        assert radial[..., 0] == pytest.approx(np.exp(-nk[0] * height), rel=1e-6)
        assert axial[..., 0] == pytest.approx(np.exp(-nk[0] * height), rel=1e-6)


@pytest.mark.parametrize("magnet_to_steel", [1.0, 4.0, 6.0])
def test_stations_lie_on_magnet_and_steel_crowd_at_its_edge(magnet_to_steel):
    places = station_positions(magnet_to_steel)
    edge = 0.5 * magnet_to_steel / (1.0 + magnet_to_steel)
    assert len(places) == MAGNET_STATIONS + STEEL_STATIONS
    over_magnet, over_steel = places[:MAGNET_STATIONS], places[MAGNET_STATIONS:]
    # From the edge inward, then outward; mid-magnet is a point of symmetry and not tabulated.
    assert over_magnet[0] == pytest.approx(edge)
    assert (np.diff(over_magnet) < 0).all()
    assert (np.diff(over_steel) > 0).all()
    assert 0.0 < over_magnet[-1] < edge / MAGNET_STATIONS
    assert edge < over_steel[0] < edge + 0.01 * (0.5 - edge)
    assert over_steel[-1] == pytest.approx(0.5)
    # The field bends at the edge: stations crowd there, by the square of Chebyshev's points.
    cosine = 0.5 * (1.0 - np.cos(np.pi * np.arange(1, STEEL_STATIONS + 1) / STEEL_STATIONS))
    assert over_steel == pytest.approx(edge + (0.5 - edge) * cosine**2)
    cosine = 0.5 * (1.0 - np.cos(np.pi * np.arange(MAGNET_STATIONS) / MAGNET_STATIONS))
    assert over_magnet == pytest.approx(edge * (1.0 - cosine**2))
