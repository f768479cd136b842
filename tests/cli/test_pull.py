"""The calculator from the command line: what is shown, written, refused."""

from __future__ import annotations

import json
import re
from math import log10
from pathlib import Path
from typing import Any

import pytest

from feedchar.cli.main import main
from feedchar.report.document import plain
from feedchar.results.calibration import CalibrationUsed

ROOT = Path(__file__).parents[2]
GRAINS = ("--mineral", "biotite", "--mineral", "quartz", "--size-um", "100,300")
ROLL = ("--magnet-mm", "4", "--steel-mm", "1", "--roll-radius-mm", "50", "--remanence", "1.25")

Capture = pytest.CaptureFixture[str]


def document(capsys: Capture, *options: str) -> dict[str, Any]:
    assert main(["pull", *options, "--json", "-"]) == 0
    out, err = capsys.readouterr()
    assert err == ""
    return json.loads(out)  # type: ignore[no-any-return]


def keys_of(tree: Any) -> set[str]:
    if isinstance(tree, dict):
        return set(tree) | {key for value in tree.values() for key in keys_of(value)}
    if isinstance(tree, list):
        return {key for item in tree for key in keys_of(item)}
    return set()


def test_every_key_is_described_for_developers_and_none_else(capsys: Capture) -> None:
    reading = ("--probe-mm", "1", "--probe-height-mm", "0.35")
    shown = keys_of(document(capsys, *GRAINS, *reading))
    shown |= keys_of(document(capsys, *GRAINS, "--machine", "induced-roll"))
    shown |= keys_of(plain(CalibrationUsed("", "", "", 1, 0.0, 0.0, 1.0, 1e-8)))
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    section = text.split("<!-- document feedchar-pull/1 -->")[1].split("```")[1]
    assert shown == set(re.findall(r'"(\w+)"', section))


def test_the_document_names_its_schema_and_has_six_digits(capsys: Capture) -> None:
    tree = document(capsys, *GRAINS)
    assert list(tree)[:3] == ["schema", "feedchar_version", "command"]
    assert tree["schema"] == "feedchar-pull/1"
    b1 = tree["field"]["surface_flux_density_tesla"]
    assert b1 == float(f"{b1:.6g}")
    assert len(tree["grains"]) == 4
    quartz = tree["grains"][3]
    assert quartz["at_speed"][0]["flux_density_needed_tesla"] is None


def test_the_same_question_gives_the_same_bytes(capsys: Capture) -> None:
    texts = []
    for _ in range(2):
        assert main(["pull", *GRAINS, "--belt-speed", "1,2", "--json", "-"]) == 0
        texts.append(capsys.readouterr().out)
    assert texts[0] == texts[1]
    assert texts[0].isascii()


def test_options_reach_the_machine_in_si(capsys: Capture) -> None:
    tree = document(
        capsys, *ROLL, "--belt-mm", "0.35", "--bore-radius-mm", "12", "--steel-saturation", "2",
        "--roll-temperature", "60", "--feed-temperature", "-5", "--size-um", "250",
        "--belt-speed", "1.2,1.8", "--coverage", "0.5", "--side-slope", "20",
        "--height-mm", "0.5,1",
    )  # fmt: skip
    machine = tree["machine"]
    assert (machine["magnet_m"], machine["steel_m"], machine["pitch_m"]) == (0.004, 0.001, 0.005)
    assert (machine["roll_radius_m"], machine["bore_radius_m"]) == (0.05, 0.012)
    assert (machine["belt_thickness_m"], machine["steel_saturation_tesla"]) == (0.00035, 2.0)
    assert (machine["roll_temperature_c"], machine["feed_temperature_c"]) == (60.0, -5.0)
    assert machine["remanence_tesla"] == 1.25
    assert (tree["coverage"], tree["side_slope_deg"]) == (0.5, 20.0)
    assert [entry["belt_speed_m_s"] for entry in tree["capacity"]] == [1.2, 1.8]
    heights = [level["height_m"] for level in tree["field"]["heights"]]
    assert heights == [0.0, 0.00035, 0.0005, 0.001]


def test_the_same_construction_is_the_same_roll_by_name_figures_or_file(
    capsys: Capture, tmp_path: Path
) -> None:
    file = tmp_path / "mine.toml"
    file.write_text("roll_radius_mm = 50\nmagnet_mm = 4\nsteel_mm = 1\nremanence_tesla = 1.25\n")
    fields = [
        document(capsys, *options)["field"]
        for options in ((), ROLL, ("--roll", "fine-100"), ("--roll", str(file)))
    ]
    assert fields[0] == fields[1] == fields[2] == fields[3]


def test_a_figure_alone_changes_the_default_roll(capsys: Capture) -> None:
    machine = document(capsys, "--belt-mm", "0.4")["machine"]
    assert machine["belt_thickness_m"] == 0.0004
    assert machine["roll"].startswith("fine-100")
    assert "belt_mm 0.4" in machine["source"]


def test_a_reading_finds_the_magnets(capsys: Capture) -> None:
    probe = ("--probe-mm", "1", "--probe-height-mm", "0.35")
    weak = document(capsys, "--reading-tesla", "0.9", *probe)
    strong = document(capsys, "--reading-tesla", "1.1", *probe)
    assert strong["machine"]["reading"]["kind"] == "given"
    assert weak["machine"]["remanence_tesla"] < strong["machine"]["remanence_tesla"]


def test_what_is_said_of_a_phase_belongs_to_the_one_before(capsys: Capture) -> None:
    tree = document(
        capsys, "--mineral", "biotite", "--iron-wt-pct", "12", "--mineral", "muscovite",
        "--iron-wt-pct", "3", "--density", "2900", "--mineral", "black mica",
    )  # fmt: skip
    assert [phase["phase"] for phase in tree["phases"]] == [
        "biotite, 12 % Fe", "muscovite, 3 % Fe", "biotite",
    ]  # fmt: skip
    assert [phase["iron_wt_pct"] for phase in tree["phases"]][:2] == [12.0, 3.0]
    assert tree["phases"][1]["density_kg_m3"] == 2900.0
    assert [phase["status"] for phase in tree["phases"]] == ["measured", "measured", "typical"]


def test_a_susceptibility_alone_is_a_phase_and_may_bring_its_unit(capsys: Capture) -> None:
    """1e-6 cm3/g is 4 pi 1e-9 m3/kg (definition of the two systems of units)."""
    values = []
    for text in ("5e-7", "500e-9m3/kg", "39.7887e-6cm3/g", ".5e-6"):
        phase = document(capsys, f"--susceptibility={text}", "--flake")["phases"][0]
        assert phase["mineral"] is None
        assert phase["lies_flat"]
        values.append(phase["mass_susceptibility_m3_kg"])
    assert values == pytest.approx([5e-7] * 4, rel=1e-5)
    repelled = document(capsys, "--susceptibility=-6.2e-9")["phases"][0]
    assert repelled["mass_susceptibility_m3_kg"] == pytest.approx(-6.2e-9)


def test_turns_a_minute_are_a_belt_speed(capsys: Capture) -> None:
    """v = 2 pi (R + belt) n / 60."""
    tree = document(capsys, "--rpm", "200", "--mineral", "quartz", "--size-um", "300")
    speed = tree["grains"][0]["at_speed"][0]["belt_speed_m_s"]
    assert speed == pytest.approx(2 * 3.141593 * 0.0502 * 200 / 60, rel=1e-5)


def test_the_induced_roll_takes_current_and_gap(capsys: Capture) -> None:
    tree = document(
        capsys, "--machine", "induced-roll", "--current", "2.5", "--gap-mm", "3", *GRAINS
    )
    induced = tree["machine"]["induced"]
    assert (induced["current_a"], induced["gap_m"], induced["top_size_m"]) == (2.5, 0.003, 0.0015)
    assert tree["machine"]["magnet_m"] is None


@pytest.mark.parametrize("columns", ["60", "80", "120"])
@pytest.mark.parametrize("units", ["trade", "si"])
def test_the_report_keeps_within_the_page(
    columns: str, units: str, capsys: Capture, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COLUMNS", columns)
    options = ("--mineral", "muscovite", "--iron-wt-pct", "2.5", "--mineral", "hematite")
    assert main(["pull", *GRAINS, *options, "--belt-speed", "1,3", "--units", units]) == 0
    out = capsys.readouterr().out
    assert max(map(len, out.splitlines())) <= int(columns)
    assert "\x1b" not in out
    assert ("kG" in out) == (units == "trade")
    for heading in ("FIELD", "FORCE AGAINST HEIGHT", "AT 1 M/S", "AT 3 M/S", "TAKE CARE"):
        assert heading in out
    assert "Local codes and licensed practice rule" in " ".join(out.split())


def test_clay_answers_a_magnet_though_none_at_this_speed(capsys: Capture) -> None:
    asked = ("--mineral", "kaolinite", "--mineral", "quartz", "--size-um", "100")
    assert main(["pull", *asked, "--belt-speed", "1"]) == 0
    rows = [" ".join(line.split()) for line in capsys.readouterr().out.splitlines()]
    assert any(row.startswith("kaolinite 100 none at 1 m/s ") for row in rows)
    assert any(row.startswith("quartz 100 no magnet ") for row in rows)


def test_the_plot_puts_least_mean_and_most_where_the_axis_says(
    capsys: Capture, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COLUMNS", "80")
    assert main(["pull"]) == 0
    lines = capsys.readouterr().out.splitlines()
    place = next(i for i, line in enumerate(lines) if re.search(r"1 +10 +100 +1000", line))
    head = lines[place]
    start = head.index("most") + 6
    ten, thousand = head.index("10  ", start), head.index("1000 ", start)
    row = next(line for line in lines[place:] if line.split()[0] == "0.5")
    values = [float(value) for value in row.split()[1:4]]
    per_decade = (thousand - ten) / 2
    found = [row.index(mark, start) for mark in "[o]"]
    wanted = [ten + per_decade * (log10(value) - 1) for value in values]
    assert found == pytest.approx(wanted, abs=0.6)


def test_without_phases_it_tells_how_to_name_them(capsys: Capture) -> None:
    assert main(["pull"]) == 0
    out = capsys.readouterr().out
    assert "--mineral" in out
    assert "AT 1.5 M/S" not in out


def test_a_plain_locale_gets_ascii(run: Any) -> None:
    done = run("pull", *GRAINS, env={"LC_ALL": "C", "NO_COLOR": "1"})
    assert done.returncode == 0
    assert done.stdout.isascii()
    assert done.stderr == b""


def test_a_picture_and_a_document_are_written_whole_and_never_over_a_file(
    tmp_path: Path, capsys: Capture
) -> None:
    picture, tree = tmp_path / "p.png", tmp_path / "p.json"
    options = ["pull", *GRAINS, "--png", str(picture), "--json", str(tree)]
    assert main(options) == 0
    out, err = capsys.readouterr()
    assert out.startswith("Pull of fine-100")
    assert err.count("wrote ") == 2
    first = picture.read_bytes()
    assert first.startswith(b"\x89PNG\r\n\x1a\n")
    assert first.endswith(b"IEND\xaeB`\x82")
    assert json.loads(tree.read_text())["schema"] == "feedchar-pull/1"
    assert sorted(path.name for path in tmp_path.iterdir()) == ["p.json", "p.png"]

    picture.write_bytes(b"mine")
    assert main(options) == 2
    assert picture.read_bytes() == b"mine"
    assert "exists" in capsys.readouterr().err
    assert main([*options, "--force"]) == 0
    assert picture.read_bytes() == first


def test_a_hostile_name_of_a_roll_is_shown_and_not_obeyed(tmp_path: Path, capsys: Capture) -> None:
    roll, picture = tmp_path / "r.toml", tmp_path / "p.png"
    roll.write_text(
        'roll = "$\\\\frac{x$ [red] \\u001b[31m \\u202e \\u7816"\n'
        "roll_radius_mm = 50\nmagnet_mm = 4\nsteel_mm = 1\nremanence_tesla = 1.2\n"
    )
    assert main(["pull", "--roll", str(roll), "--png", str(picture)]) == 0
    out = capsys.readouterr().out
    assert "\x1b" not in out
    assert "\u202e" not in out
    assert "[red]" in out
    assert picture.read_bytes().startswith(b"\x89PNG")


@pytest.mark.parametrize(
    "options",
    [
        ("--png", "-"),
        ("--png", "{folder}"),
        ("--png", "{folder}/no/p.png"),
        ("--png", "{folder}/roll.toml", "--force"),
        ("--json", "{folder}/roll.toml", "--force"),
        ("--json", "{folder}/p", "--png", "{folder}/p"),
        ("--png", "/dev/null"),
    ],
)
def test_a_place_that_must_not_be_written_is_refused_before_anything(
    options: tuple[str, ...], tmp_path: Path, capsys: Capture
) -> None:
    roll = tmp_path / "roll.toml"
    roll.write_text("roll_radius_mm = 50\nmagnet_mm = 4\nsteel_mm = 1\nremanence_tesla = 1.2\n")
    before = roll.read_text()
    told = [option.format(folder=tmp_path) for option in options]
    assert main(["pull", "--roll", str(roll), *told]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert err.count("\n") == 1
    assert [path.name for path in tmp_path.iterdir()] == ["roll.toml"]
    assert roll.read_text() == before


@pytest.mark.parametrize(
    ("options", "words"),
    [
        (("--mineral", "mica"), "biotite"),
        (("--mineral", "\x1b[31mx"), "not a known mineral"),
        (("--mineral", "quartz", "--size-um", "0.5"), "at least 1 um"),
        (("--mineral", "quartz", "--size-um", "100000"), "larger than the roll radius"),
        (("--belt-speed", "20"), "at most 15 m/s"),
        (("--magnet-mm", "40", "--steel-mm", "20", "--roll-radius-mm", "50", "--remanence", "1"),
         "larger than the roll radius"),
        ((*ROLL, "--bore-radius-mm", "49"), "never extrapolated"),
        ((*ROLL, "--belt-mm", "6"), "thinner than the pitch"),
        (("--magnet-mm", "4"), "missing: roll_radius_mm, steel_mm"),
        (("--reading-tesla", "11", "--probe-mm", "1", "--probe-height-mm", "0.3"), "in tesla"),
        (("--reading-tesla", "1"), "missing: probe_mm, probe_height_mm"),
        (("--remanence", "12.5"), "kilogauss divided by 10"),
        (("--probe-mm", "1"), "height above the bare"),
        (("--roll", "nonsense"), "fine-100"),
        (("--roll-temperature", "200"), "-40 to 120"),
        (("--mineral", "biotite", "--feed-temperature", "-60"), "-50 to 300"),
        (("--mineral", "biotite", "--iron-wt-pct", "60"), "at most 34.6"),
        (("--iron-wt-pct", "12"), "--mineral"),
        (("--susceptibility", "500"), "5e-7"),
        (("--mineral", "biotite", "--density", "3"), "3000"),
        (("--machine", "induced-roll", "--roll", "fine-100"), "permanent roll"),
        (("--machine", "induced-roll", "--belt-mm", "0.2"), "permanent roll"),
        (("--machine", "induced-roll", "--tooth-pitch-mm", "60"), "teeth"),
        (("--current", "3"), "induced-roll"),
        (("--rpm", "100", "--belt-speed", "1"), "one of them"),
        (("--height-mm", "0.001"), "0.05 to 15 mm"),
        (("--side-slope", "91"), "at most 90"),
    ],
)  # fmt: skip
def test_what_cannot_be_is_2_in_one_line(
    options: tuple[str, ...], words: str, capsys: Capture
) -> None:
    assert main(["pull", *options]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert err.startswith("feedchar: error: ")
    assert err.count("\n") == 1
    assert words in err
    assert "\x1b" not in err


@pytest.mark.parametrize(
    "options",
    [
        ("--belt-speed", "0"),
        ("--belt-speed", "nan"),
        ("--belt-speed", "1;2"),
        ("--belt-speed", "1,1"),
        ("--belt-speed", "1,"),
        ("--size-um", "-3"),
        ("--size-um", "1e3"),
        ("--size-um", "\u0663"),
        ("--coverage", "70"),
        ("--roll-temperature", "1_0"),
        ("--susceptibility", "5e-7 emu"),
        ("--susceptibility", "1e400"),
        ("--mineral", "biotite", "--iron-wt-pct", "12", "--iron-wt-pct", "13"),
        ("--machine", "drum"),
        ("--min", "biotite"),
        ("--trials", "5"),
        ("sample",),
    ],
)
def test_a_wrong_option_is_2_in_one_line_that_says_where_help_is(
    options: tuple[str, ...], capsys: Capture
) -> None:
    assert main(["pull", *options]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert err.startswith("feedchar: error: ")
    assert err.endswith("; see feedchar pull --help\n")
    assert err.count("\n") == 1
