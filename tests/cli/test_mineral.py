"""The reference tables from the command line."""

from __future__ import annotations

import pytest

from feedchar.cli.main import main
from feedchar.tables.minerals import mineral_names
from feedchar.tables.sheet import mineral_sheet


def test_without_a_name_every_mineral_is_listed(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["mineral"]) == 0
    out = capsys.readouterr().out
    listed = {line.split("  ")[1].strip() for line in out.splitlines() if line.startswith("  ")}
    assert set(mineral_names()) <= listed


@pytest.mark.parametrize("word", ["biotite", "Black  Mica", "dunkelglimmer"])
def test_an_alias_shows_the_mineral(word: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["mineral", *word.split()]) == 0
    assert capsys.readouterr().out.startswith("biotite")


@pytest.mark.parametrize("word", ["quartz", "biotite", "magnetite", "hematite", "zircon"])
def test_every_value_is_shown_with_status_and_every_source_with_its_name(
    word: str, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COLUMNS", "200")
    assert main(["mineral", word]) == 0
    out = capsys.readouterr().out
    sheet = mineral_sheet(word)
    figures = [value for value in sheet.values if not isinstance(value.typical, str)]
    rows = [line for line in out.splitlines() if line.startswith("  ")]
    for status in ("read", "recalled", "computed", "guess"):
        told = [row for row in rows if f"  {status}  " in row]
        assert len(told) == sum(value.status == status for value in figures)
    for source in sheet.sources:
        assert f"{source.key}: " in out


def test_si_units_leave_cgs_out(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["mineral", "ilmenite", "--units", "si"]) == 0
    assert "cm3/g" not in capsys.readouterr().out
    assert main(["mineral", "ilmenite", "--units", "trade"]) == 0
    assert "cm3/g" in capsys.readouterr().out


def test_cgs_and_si_differ_by_four_pi(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """1e-6 cm3/g is 4 pi 1e-9 m3/kg (definition of the two systems of units)."""
    monkeypatch.setenv("COLUMNS", "120")
    values = []
    for units in ("si", "trade"):
        assert main(["mineral", "--units", units]) == 0
        lines = capsys.readouterr().out.splitlines()
        row = next(line for line in lines if line.startswith("  biotite "))
        values.append(float(row.split()[3]))
    assert values[0] / values[1] == pytest.approx(12.566, rel=5e-3)


def test_a_group_word_is_2_with_its_members(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["mineral", "mica"]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert "muscovite" in err
    assert "biotite" in err


def test_an_unknown_name_is_2_with_the_nearest(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["mineral", "magnatite"]) == 2
    assert "nearest: magnetite" in capsys.readouterr().err


@pytest.mark.parametrize("word", ["\x1b[31mx", "n" * 10_000, "\n", "[red]"])
def test_a_hostile_name_is_refused_and_not_obeyed(
    word: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["mineral", word]) == 2
    err = capsys.readouterr().err
    assert "\x1b" not in err
    assert err.count("\n") == 1
    assert len(err) < 400
