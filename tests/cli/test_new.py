"""A template that can be assessed as it stands, and never over somebody's figures."""

from __future__ import annotations

from pathlib import Path

import pytest

from feedchar.cli.main import main
from feedchar.sample.read import read_sample


def test_a_folder_is_made_and_reads(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    folder = tmp_path / "my sand"
    assert main(["new", str(folder)]) == 0
    out, err = capsys.readouterr()
    assert out == ""
    assert "sample.toml" in err
    assert f"feedchar assess {folder}" in err
    assert read_sample(folder).minerals


def test_a_workbook_is_made_and_reads(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    book = tmp_path / "sand.xlsx"
    assert main(["new", str(book), "--workbook"]) == 0
    assert f"feedchar assess {book}" in capsys.readouterr().err
    assert read_sample(book).minerals


def test_figures_that_exist_are_kept_unless_forced(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["new", str(tmp_path / "a")]) == 0
    table = tmp_path / "a" / "minerals.csv"
    table.write_text("mineral,mass_pct\nquartz,100\n")
    assert main(["new", str(tmp_path / "a")]) == 2
    assert "--force" in capsys.readouterr().err
    assert table.read_text() == "mineral,mass_pct\nquartz,100\n"
    assert main(["new", str(tmp_path / "a"), "--force"]) == 0
    assert "biotite" in table.read_text()


def test_a_place_that_cannot_hold_a_folder_is_2(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "file").write_text("x")
    assert main(["new", str(tmp_path / "file")]) == 2
    assert capsys.readouterr().err.count("\n") == 1
    assert (tmp_path / "file").read_text() == "x"
