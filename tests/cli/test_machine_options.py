"""From options to a machine setting."""

from __future__ import annotations

from pathlib import Path

import pytest

from feedchar.cli.machine import setting_of
from feedchar.cli.main import build_parser, main
from feedchar.cli.wrong_line import WrongLineError
from feedchar.errors import FeedcharError, SettingError
from feedchar.field.rolls import read_roll
from feedchar.field.setting import Pass, Setting
from feedchar.sample.records import Sample

WARM = Sample("s", feed_temperature_c=60.0, roll_temperature_c=40.0)


def setting(*options: str) -> Setting | None:
    return setting_of(build_parser().parse_args(["assess", "x", *options]), WARM)


def test_no_option_leaves_the_machine_open() -> None:
    assert setting("--trials", "5", "--limit", "x") is None


def test_one_option_keeps_the_other_defaults() -> None:
    found = setting("--belt-speed", "1.2")
    assert found is not None
    assert found.passes == (Pass(1.2, 0.010, None),)
    assert found.roll == read_roll("fine-100")
    assert (found.treated_passing_um, found.treated_retained_um) == (None, None)


def test_every_option_reaches_the_setting_in_si() -> None:
    found = setting(
        "--splitter-mm", "12", "--splitter-2-mm", "30", "--passes", "3", "--treat", "500-100"
    )  # fmt: skip
    assert found is not None
    assert found.passes == (Pass(1.5, 0.012, 0.030),) * 3
    assert (found.treated_passing_um, found.treated_retained_um) == (500.0, 100.0)


def test_temperatures_come_from_the_sample() -> None:
    found = setting("--passes", "1")
    assert found is not None
    assert (found.feed_temperature_c, found.roll_temperature_c) == (60.0, 40.0)


@pytest.mark.parametrize("second", ["10", "9.5"])
def test_the_middlings_edge_lies_beyond_the_magnetics_edge(second: str) -> None:
    with pytest.raises(SettingError, match="beyond the edge"):
        setting("--splitter-2-mm", second)


def test_passes_may_differ_in_speed_and_edges_with_a_drum_before_them() -> None:
    found = setting(
        "--drum-first", "weak", "--belt-speed", "1.5/1.0", "--splitter-mm", "10/15",
        "--splitter-2-mm", "40", "--retreat", "middlings",
    )  # fmt: skip
    assert found is not None
    assert found.passes == (Pass(1.5, 0.010, 0.040), Pass(1.0, 0.015, 0.040))
    assert (found.drum_first, found.retreat) == ("weak", "middlings")


@pytest.mark.parametrize(
    ("options", "told"),
    [
        (("--belt-speed", "1.5/1.0", "--passes", "3"), "names 2 passes where there are 3"),
        (("--belt-speed", "1.5/1.0", "--splitter-mm", "5/10/15"), "names 2 passes where"),
        (("--splitter-mm", "10/40", "--splitter-2-mm", "30"), "30 of pass 2: it must lie beyond"),
        (("--retreat", "middlings", "--passes", "2"), "an edge that cuts middlings"),
        (("--retreat", "middlings", "--splitter-2-mm", "30"), "needs a second pass"),
    ],
)
def test_passes_that_do_not_fit_together_are_refused(options: tuple[str, ...], told: str) -> None:
    with pytest.raises(SettingError, match=told):
        setting(*options)


@pytest.mark.parametrize("typed", ["1,5", "1.5,1.0", "1.5/", "/", "1.5/0", "1.5//1"])
def test_a_value_of_a_pass_is_a_plain_number(typed: str) -> None:
    with pytest.raises(WrongLineError, match=r"^--belt-speed must be "):
        build_parser().parse_args(["assess", "x", "--belt-speed", typed])


def test_the_report_tells_each_pass(capsys: pytest.CaptureFixture[str]) -> None:
    sample = "examples/minimal.csv"
    options = ["--belt-speed", "2.0/1.5", "--splitter-mm", "10/15", "--trials", "0"]
    assert main(["assess", sample, *options]) == 0
    told = " ".join(capsys.readouterr().out.replace("\u00a0", " ").split())
    assert "2 passes: 2 m/s, edge 10 mm beyond the roll; then 1.5 m/s, edge 15 mm" in told


def test_middlings_may_go_to_the_next_pass(capsys: pytest.CaptureFixture[str]) -> None:
    options = ["--splitter-2-mm", "40", "--passes", "2", "--retreat", "middlings"]
    assert main(["assess", "examples/minimal.csv", *options, "--trials", "0"]) == 0
    told = " ".join(capsys.readouterr().out.replace("\u00a0", " ").split())
    assert "middlings go on to the next pass" in told


def test_an_unknown_roll_is_refused_with_the_known_ones() -> None:
    with pytest.raises(FeedcharError, match="fine-100"):
        setting("--roll", "no-such-roll")


def test_a_file_of_a_roll_is_never_written_over(
    stage: object, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    roll = tmp_path / "roll.toml"
    roll.write_text("roll_radius_mm = 50\n")
    assert main(["assess", "x", "--roll", str(roll), "--json", str(roll), "--force"]) == 2
    assert "was read" in capsys.readouterr().err
    assert roll.read_text() == "roll_radius_mm = 50\n"


@pytest.mark.parametrize("command", [["assess"], ["scale-up", "--feed-t-h", "5"]])
def test_a_window_that_holds_no_grain_is_2_and_says_where_the_grains_are(
    command: list[str], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    sample = tmp_path / "s.csv"
    sample.write_text("mineral,mass_pct\nquartz,99\nbiotite,1\n")
    assert main([*command, str(sample), "--treat", "2000-3000", "--trials", "0"]) == 2
    assert "2000-3000 um: its grains are 45 to 500 um" in capsys.readouterr().err


def test_a_circuit_of_no_name_is_told_the_names(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    sample = tmp_path / "s.csv"
    sample.write_text("mineral,mass_pct\nquartz,99\nbiotite,1\n")
    assert main(["scale-up", str(sample), "--feed-t-h", "5", "--circuit", "one-pass"]) == 2
    assert "no standard circuit and no file; choose from: one pass; two" in capsys.readouterr().err
