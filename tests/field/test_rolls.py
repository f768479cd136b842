"""Rolls by name and from a person's file; their magnets when they are warm."""

from __future__ import annotations

from dataclasses import replace

import pytest

from feedchar.errors import FeedcharError, InputError, SettingError, UnknownNameError
from feedchar.field.reading import probe_reading
from feedchar.field.rolls import (
    checked_roll,
    harmonics_of,
    read_roll,
    table_roll,
    warm_remanence,
)
from feedchar.tables.rolls import roll_rows

OWN = """\
roll = "test bench"
roll_radius_mm = 60
bore_radius_mm = 12.5
magnet_mm = 6
steel_mm = 2
remanence_tesla = 1.3
steel_saturation_tesla = 2.0
belt_mm = 0.3
"""


@pytest.fixture
def file(tmp_path):
    def write(text: str | bytes):
        path = tmp_path / "own.toml"
        path.write_bytes(text if isinstance(text, bytes) else text.encode())
        return str(path)

    return write


def test_the_default_roll_is_the_one_the_handbook_of_the_project_states():
    roll = table_roll("fine-100")
    assert (roll.roll_radius_m, roll.bore_radius_m) == pytest.approx((0.05, 0.01))
    assert (roll.magnet_m, roll.steel_m, roll.belt_thickness_m) == pytest.approx(
        (0.004, 0.001, 0.0002)
    )
    assert (roll.remanence_tesla, roll.steel_saturation_tesla) == (1.25, 2.1)
    assert roll.pitch_m == pytest.approx(0.005)


@pytest.mark.parametrize("name", list(roll_rows()))
def test_every_generic_roll_can_be_built_and_is_named_by_its_construction(name):
    roll = checked_roll(read_roll(name))
    pitch, diameter, *ratio = name.split("-")
    assert 2e3 * roll.roll_radius_m == pytest.approx(float(diameter))
    reach = {"fine": (4, 6), "medium": (8, 12), "coarse": (15, 25)}[pitch]
    assert reach[0] <= 1e3 * roll.pitch_m <= reach[1]
    wanted = float(ratio[0].split("to")[0]) if ratio else 4.0
    assert roll.magnet_m / roll.steel_m == pytest.approx(wanted, rel=0.005)
    assert "guess" in roll.source


def test_a_file_gives_every_figure(file):
    roll = read_roll(file(OWN))
    assert roll.roll == "test bench"
    assert roll.roll_radius_m == pytest.approx(0.06)
    assert roll.pitch_m == pytest.approx(0.008)
    assert roll.remanence_tesla == 1.3
    assert "own.toml" in roll.source
    assert "assumed" not in roll.source


def test_what_a_file_leaves_out_is_assumed_and_said(file):
    text = "roll_radius_mm = 50\nmagnet_mm = 4\nsteel_mm = 1\nremanence_tesla = 1.25\n"
    roll = read_roll(file(text))
    generic = table_roll("fine-100")
    assert harmonics_of(roll) == pytest.approx(harmonics_of(generic))
    for word in ("bore_radius_mm 10 assumed", "steel_saturation_tesla 2.1 assumed", "belt_mm"):
        assert word in roll.source


def test_a_file_may_give_a_reading_in_place_of_the_magnets(file):
    text = OWN.replace(
        "remanence_tesla = 1.3", "reading_tesla = 1.05\nprobe_mm = 1\nprobe_height_mm = 0.4"
    )
    roll = read_roll(file(text))
    again = probe_reading(harmonics_of(roll), roll.pitch_m, roll.roll_radius_m, 1e-3, 4e-4)
    assert again == pytest.approx(1.05, abs=1e-4)


def test_a_byte_order_mark_is_read_over(file):
    assert read_roll(file(b"\xef\xbb\xbf" + OWN.encode())).roll == "test bench"


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (("magnet_mm = 6", "magnet_m = 6"), 'Did you mean "magnet_mm"'),
        (("magnet_mm = 6", "colour = 6\nmagnet_mm = 6"), "Allowed: roll"),
        (("magnet_mm = 6\n", ""), "magnet_mm"),
        (("magnet_mm = 6", 'magnet_mm = "6"'), "not a number"),
        (("magnet_mm = 6", "magnet_mm = true"), "not a number"),
        (("magnet_mm = 6", "magnet_mm = nan"), "finite"),
        (("magnet_mm = 6", "magnet_mm = inf"), "finite"),
        (("magnet_mm = 6", "magnet_mm = 6,5"), "no TOML"),
        (("magnet_mm = 6", "magnet_mm = [6]"), "not a number"),
        (('roll = "test bench"', "roll = 7"), "name in quotes"),
        (("remanence_tesla = 1.3", "reading_tesla = 1.1"), "one way"),
        (("remanence_tesla = 1.3\n", ""), "one way"),
        (
            (
                "remanence_tesla = 1.3",
                "remanence_tesla = 1.3\nreading_tesla = 1\nprobe_mm = 1\nprobe_height_mm = 1",
            ),
            "one way",
        ),
    ],
)
def test_a_file_that_cannot_be_used_says_where_and_what_would_be_right(file, change, words):
    with pytest.raises(InputError, match=r"own\.toml") as error:
        read_roll(file(OWN.replace(*change)))
    assert words in str(error.value)


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (("magnet_mm = 6", "magnet_mm = 60"), "larger than the roll radius"),
        (("magnet_mm = 6", "magnet_mm = -6"), "greater than 0"),
        (("steel_mm = 2", "steel_mm = 0"), "greater than 0"),
        (("bore_radius_mm = 12.5", "bore_radius_mm = 57"), "never extrapolated"),
        (("bore_radius_mm = 12.5", "bore_radius_mm = 60"), "below the roll radius"),
        (("belt_mm = 0.3", "belt_mm = 8"), "thinner than the pitch"),
        (("belt_mm = 0.3", "belt_mm = 0"), "thicker than 0"),
        (("belt_mm = 0.3", "belt_mm = -1"), "thicker than 0"),
        (("remanence_tesla = 1.3", "remanence_tesla = 0"), "greater than 0"),
        (("remanence_tesla = 1.3", "remanence_tesla = 13000"), "never extrapolated"),
    ],
)
def test_a_construction_that_cannot_be_is_refused(file, change, words):
    with pytest.raises(SettingError, match=words):
        read_roll(file(OWN.replace(*change)))


def test_a_file_that_is_not_there_or_not_text(tmp_path, file):
    with pytest.raises(InputError, match="cannot be read"):
        read_roll(str(tmp_path / "missing.toml"))
    with pytest.raises(InputError, match="UTF-8"):
        read_roll(file(OWN.encode("utf-16")))
    with pytest.raises(InputError, match="larger than"):
        read_roll(file("# " + "x" * 200_000))


@pytest.mark.parametrize("name", ["fine-101", "", "x" * 10_000, "[red]fine[/]\n", "a\0b", "/"])
def test_an_unknown_roll_is_refused_with_the_rolls_to_choose_from(name):
    with pytest.raises(UnknownNameError) as error:
        read_roll(name)
    assert "fine-100" in error.value.candidates
    assert len(str(error.value)) < 600
    assert "\n" not in str(error.value)
    assert isinstance(error.value, FeedcharError)


def test_magnets_lose_a_tenth_of_a_per_cent_a_kelvin_and_the_force_more():
    assert warm_remanence(1.25, 20.0) == 1.25
    assert warm_remanence(1.0, 70.0) == pytest.approx(0.945)
    roll = table_roll("fine-100")
    cold, warm = harmonics_of(roll), harmonics_of(roll, 80.0)
    # Saturated steel gives less of the lost remanence back: the fundamental falls by less.
    assert 0.93 < warm[0] / cold[0] < 0.97
    assert harmonics_of(replace(roll, remanence_tesla=1.25 * 0.934)) == pytest.approx(warm)


@pytest.mark.parametrize("celsius", [-60.0, 150.0, float("nan")])
def test_magnets_are_not_taken_beyond_what_they_bear(celsius):
    with pytest.raises(SettingError, match="temperature"):
        warm_remanence(1.25, celsius)
