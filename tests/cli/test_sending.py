"""What is sent on from the command line: page, workbook, tables; talk on a terminal only."""

from __future__ import annotations

import csv
import json
import os
import re
import select
import sys
import time
import tomllib
from pathlib import Path
from typing import Any

import openpyxl
import pytest

from feedchar.cli.main import main
from feedchar.cli.progress import waiting

MINIMAL = Path(__file__).parents[2] / "examples" / "minimal.csv"


def sent(folder: Path) -> list[str]:
    return [
        "--html",
        str(folder / "page.html"),
        "--xlsx",
        str(folder / "book.xlsx"),
        "--csv",
        str(folder / "tables"),
        "--json",
        str(folder / "document.json"),
    ]


def test_one_command_writes_everything_and_says_so(
    stage: Any, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["assess", "bag", *sent(tmp_path)]) == 0
    told = capsys.readouterr()
    assert told.out.startswith("Hollow Lane 7")
    for name in ("page.html", "book.xlsx", "tables", "document.json"):
        assert f"wrote {tmp_path / name}" in told.err
    assert (tmp_path / "page.html").read_text().startswith("<!DOCTYPE html>")
    assert "findings" in openpyxl.load_workbook(tmp_path / "book.xlsx").sheetnames
    with (tmp_path / "tables" / "feed.csv").open() as table:
        rows = list(csv.DictReader(table))
    document = json.loads((tmp_path / "document.json").read_text())
    assert [row["mineral"] for row in rows] == [m["mineral"] for m in document["minerals"]]
    for row, mineral in zip(rows, document["minerals"], strict=True):
        assert float(row["mass_pct_p50"]) == mineral["mass_pct"]["p50"]
    assert stage.calls[0]["other_settings"] is True


def test_settings_round_the_one_assessed_are_computed_for_a_page_only(
    stage: Any, tmp_path: Path
) -> None:
    assert main(["assess", "bag", "--json", str(tmp_path / "document.json")]) == 0
    assert stage.calls[0]["other_settings"] is False


def test_a_place_that_cannot_be_written_is_refused_before_anything_is_computed(
    stage: Any, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "old.html").write_text("old")
    (tmp_path / "full").mkdir()
    (tmp_path / "full" / "sample.toml").write_text("")
    same = str(tmp_path / "same")
    for options in (
        ["--html", str(tmp_path / "old.html")],
        ["--xlsx", str(tmp_path / "none" / "book.xlsx")],
        ["--csv", str(tmp_path / "full"), "--force"],
        ["--html", same, "--xlsx", same],
    ):
        assert main(["assess", "bag", *options]) == 2, options
    assert stage.calls == []
    assert (tmp_path / "old.html").read_text() == "old"
    assert "same name" in capsys.readouterr().err


def test_the_same_input_gives_the_same_bytes_of_everything(tmp_path: Path, run: Any) -> None:
    made = []
    for name in ("one", "two"):
        folder = tmp_path / name
        folder.mkdir()
        done = run("assess", str(MINIMAL), "--trials", "20", *sent(folder))
        assert done.returncode == 0, done.stderr
        made.append(
            {
                path.relative_to(folder).as_posix(): path.read_bytes()
                for path in sorted(folder.rglob("*"))
                if path.is_file()
            }
        )
    assert made[0] == made[1]
    assert {"page.html", "book.xlsx", "tables/what_if.csv"} <= set(made[0])


def test_a_filled_in_workbook_gives_the_same_answer_as_the_folder(tmp_path: Path) -> None:
    assert main(["new", str(tmp_path / "folder")]) == 0
    assert main(["new", str(tmp_path / "sample.xlsx"), "--workbook"]) == 0
    made = []
    for source in ("folder", "sample.xlsx"):
        target = tmp_path / f"{source}.json"
        options = ["--trials", "5", "--json", str(target)]
        assert main(["assess", str(tmp_path / source), *options]) == 0
        text = re.sub(r"sample\.xlsx\[(\w+)\]", r"\1.csv", target.read_text())
        made.append(json.loads(text))  # notes tell a table by where it stands
    for document in made:
        del document["input"]["files"]
    assert made[0] == made[1]


def test_progress_is_silent_when_piped(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr("feedchar.cli.progress.PATIENCE_S", 0.01)
    with waiting("computing"):
        time.sleep(0.1)
    assert capsys.readouterr() == ("", "")


@pytest.mark.skipif(not hasattr(os, "openpty"), reason="no pseudo-terminals here")
def test_progress_shows_on_a_terminal_after_a_while_and_leaves_no_trace(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    here, there = os.openpty()
    monkeypatch.setattr("feedchar.cli.progress.PATIENCE_S", 0.05)
    monkeypatch.setattr("feedchar.cli.progress.TICK_S", 0.02)
    with os.fdopen(there, "w") as terminal:
        monkeypatch.setattr(sys, "stderr", terminal)
        with waiting("quick"):
            pass
        with waiting("computing"):
            time.sleep(0.2)
        monkeypatch.undo()
        shown = ""
        while select.select([here], [], [], 1.0)[0]:  # a terminal hands over piece by piece
            shown += os.read(here, 10_000).decode()
    os.close(here)
    assert "quick" not in shown
    assert "computing" in shown
    assert shown.split("\r")[-2].strip() == ""
    assert shown.endswith("\r")


def test_scale_up_sends_the_drawn_circuit_and_all_circuits(tmp_path: Path) -> None:
    sand = str(MINIMAL)
    options = ["--trials", "10", "--belt-speed", "1.5", "--feed-t-h", "7"]
    circuits = ["--circuit", "one pass", "--circuit", "two passes"]
    assert main(["scale-up", sand, *options, *circuits, *sent(tmp_path)]) == 0
    document = json.loads((tmp_path / "document.json").read_text())
    chosen = next(one for one in document["circuits"] if one["chosen"])
    page = (tmp_path / "page.html").read_text()
    assert page.count("<svg") == 1
    for stream in chosen["streams"]:
        assert f">{stream['outlet']}</text>" in page
    with (tmp_path / "tables" / "streams.csv").open() as table:
        rows = list(csv.DictReader(table))
    streams = [stream for one in document["circuits"] for stream in one["streams"]]
    assert [float(row["t_h"]) for row in rows] == [stream["t_h"] for stream in streams]
    book = openpyxl.load_workbook(tmp_path / "book.xlsx")
    assert {"findings", "circuits", "streams", "steps", "outlets", "notes"} <= set(book.sheetnames)
    assert len(book["iron by circuit"]._charts) == 1
    assert [row[0].value for row in book["circuits"].iter_rows()][1:] == ["one pass", "two passes"]


def test_the_calculator_sends_field_paths_and_tables(tmp_path: Path) -> None:
    grains = ["--mineral", "biotite", "--size-um", "300", "--belt-speed", "1,2"]
    picture = tmp_path / "picture.png"
    assert main(["pull", *grains, *sent(tmp_path), "--png", str(picture)]) == 0
    page = (tmp_path / "page.html").read_text()
    assert page.count("<svg") == 3  # the field, and paths at each speed
    assert len(page.encode()) < 1_000_000
    assert picture.read_bytes().startswith(b"\x89PNG")
    document = json.loads((tmp_path / "document.json").read_text())
    with (tmp_path / "tables" / "speeds.csv").open() as table:
        rows = list(csv.DictReader(table))
    assert [float(row["landing_m"] or "nan") for row in rows] == pytest.approx(
        [at["landing_m"] or float("nan") for at in document["grains"][0]["at_speed"]], nan_ok=True
    )
    heights = openpyxl.load_workbook(tmp_path / "book.xlsx")["heights"]
    assert len(heights._charts[0].series) == 3


def test_the_calculator_refuses_one_name_for_two_outputs(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    same = str(tmp_path / "same")
    assert main(["pull", "--png", same, "--html", same]) == 2
    assert "same name" in capsys.readouterr().err
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("example", ["glass_sand", "nepheline_syenite"])
def test_a_template_written_over_with_a_sample_gives_the_answer_of_its_folder(
    tmp_path: Path, example: str
) -> None:
    folder = MINIMAL.parent / example
    filled = tmp_path / "sample.xlsx"
    assert main(["new", str(filled), "--workbook"]) == 0
    book = openpyxl.load_workbook(filled)
    settings: list[list[Any]] = []
    for key, value in tomllib.loads((folder / "sample.toml").read_text(encoding="utf-8")).items():
        if isinstance(value, dict):
            settings += [[key, inner, held] for inner, held in value.items()]
        else:
            settings.append([None, key, value])
    for sheet in book.worksheets:
        table = folder / f"{sheet.title}.csv"
        if sheet.title == "read me":
            continue
        sheet.delete_rows(1, sheet.max_row)
        rows: list[list[Any]] = [["section", "key", "value"], *settings]
        if sheet.title != "sample":
            if not table.exists():
                del book[sheet.title]
                continue
            with table.open(encoding="utf-8", newline="") as text:
                rows = [[as_typed(cell) for cell in row] for row in csv.reader(text)]
        for row in rows:
            sheet.append(row)
    book.save(filled)
    made = []
    for source in (folder, filled):
        target = tmp_path / f"{source.name}.json"
        options = ["--trials", "5", "--json", str(target)]
        assert main(["assess", str(source), *options]) == 0
        # Notes tell a table by where it stands, and a key by its row.
        text = re.sub(r"sample\.(?:toml|xlsx\[sample\]), row \d+", "sample", target.read_text())
        text = re.sub(r"sample\.xlsx\[(\w+)\]", r"\1.csv", text)
        made.append(json.loads(text))
    for document in made:
        del document["input"]["files"]
    assert made[0] == made[1]


def as_typed(cell: str) -> float | str | None:
    """What a person types into a spreadsheet: figures become numbers."""
    try:
        return float(cell) if cell else None
    except ValueError:
        return cell
