"""A folder of tables is the old one or the whole new one, and nothing of value is replaced."""

from __future__ import annotations

from pathlib import Path

import pytest

from feedchar.errors import OutputError
from feedchar.report.folder import check_folder, write_folder

TABLES = {"feed.csv": "a,b\n1,2\n", "notes.csv": "c\n"}


def test_a_folder_is_written_whole_and_nothing_is_left_beside_it(tmp_path: Path) -> None:
    made = write_folder(str(tmp_path / "out"), TABLES)
    assert {path.name: path.read_text() for path in made.iterdir()} == TABLES
    assert [path.name for path in tmp_path.iterdir()] == ["out"]


def test_an_old_folder_is_replaced_only_with_force(tmp_path: Path) -> None:
    target = tmp_path / "out"
    write_folder(str(target), {"old.csv": "x\n"})
    with pytest.raises(OutputError, match="exists"):
        write_folder(str(target), TABLES)
    assert (target / "old.csv").exists()
    write_folder(str(target), TABLES, force=True)
    assert sorted(path.name for path in target.iterdir()) == sorted(TABLES)
    assert [path.name for path in tmp_path.iterdir()] == ["out"]


def test_a_folder_that_holds_anything_else_or_the_input_is_never_replaced(tmp_path: Path) -> None:
    target = tmp_path / "bag"
    target.mkdir()
    (target / "sample.toml").write_text("name = 'x'\n")
    with pytest.raises(OutputError, match="more than tables"):
        check_folder(str(target), force=True)
    source = tmp_path / "tables"
    source.mkdir()
    (source / "minerals.csv").write_text("mineral,mass_pct\n")
    with pytest.raises(OutputError, match="read as input"):
        check_folder(str(source), force=True, read_paths=[str(source / "minerals.csv")])
    assert (source / "minerals.csv").exists()


def test_files_absent_folders_and_no_names_are_refused(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("x")
    for path, said in (
        (str(tmp_path / "file"), "is a file"),
        (str(tmp_path / "none" / "out"), "does not exist"),
        ("", "no folder name"),
        ("a\x00", "no folder name"),
    ):
        with pytest.raises(OutputError, match=said):
            check_folder(path, force=True)


def test_a_folder_that_cannot_be_filled_leaves_the_old_one(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    target = tmp_path / "out"
    write_folder(str(target), {"old.csv": "x\n"})

    def full(waiting: Path, data: bytes) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("feedchar.report.folder.fill", full)
    with pytest.raises(OutputError, match="no space"):
        write_folder(str(target), TABLES, force=True)
    assert [path.name for path in tmp_path.iterdir()] == ["out"]
    assert (target / "old.csv").read_text() == "x\n"
