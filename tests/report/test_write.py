"""A file is the old one or the whole new one, and never one that was read."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from feedchar.errors import OutputError
from feedchar.report.write import check_target, write_file


def left_over(folder: Path) -> list[str]:
    return [path.name for path in folder.iterdir() if path.name.endswith(".part")]


def test_a_new_file_is_written_whole(tmp_path: Path) -> None:
    written = write_file(str(tmp_path / "out.json"), "{\u00e9}\n")
    assert written.read_bytes() == b"{\xc3\xa9}\n"
    assert left_over(tmp_path) == []


def test_an_old_file_is_replaced_only_with_force(tmp_path: Path) -> None:
    target = tmp_path / "out.json"
    target.write_text("old")
    with pytest.raises(OutputError, match="exists"):
        write_file(str(target), "new")
    assert target.read_text() == "old"
    write_file(str(target), b"new", force=True)
    assert target.read_text() == "new"


@pytest.mark.parametrize("force", [False, True])
def test_what_was_read_is_never_written(tmp_path: Path, force: bool) -> None:
    source = tmp_path / "minerals.csv"
    source.write_text("mineral,mass_pct\n")
    link, hard, around = (
        tmp_path / "link",
        tmp_path / "hard",
        tmp_path / "x" / ".." / "minerals.csv",
    )
    link.symlink_to(source)
    hard.hardlink_to(source)
    (tmp_path / "x").mkdir()
    for path in (source, link, hard, around):
        with pytest.raises(OutputError, match="was read"):
            write_file(str(path), "gone", force=force, read_paths=[str(source)])
    assert source.read_text() == "mineral,mass_pct\n"


def test_folders_devices_pipes_and_absent_folders_are_refused(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe")
    cases = {
        str(tmp_path): "folder",
        str(tmp_path / "pipe"): "pipe",
        "/dev/null": "device",
        str(tmp_path / "none" / "out.json"): "does not exist",
        "": "no file name",
        "a\x00b": "no file name",
    }
    for path, words in cases.items():
        with pytest.raises(OutputError, match=words):
            check_target(path, force=True)


def test_a_link_in_a_circle_is_refused(tmp_path: Path) -> None:
    (tmp_path / "a").symlink_to(tmp_path / "b")
    (tmp_path / "b").symlink_to(tmp_path / "a")
    with pytest.raises(OutputError):
        write_file(str(tmp_path / "a"), "x")


def test_a_link_to_another_file_is_followed_with_force(tmp_path: Path) -> None:
    target, link = tmp_path / "real.json", tmp_path / "link.json"
    target.write_text("old")
    link.symlink_to(target)
    write_file(str(link), "new", force=True)
    assert link.is_symlink()
    assert target.read_text() == "new"


def test_a_name_taken_meanwhile_is_not_taken_over(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    target = tmp_path / "out.json"
    real = Path.hardlink_to

    def late(self: Path, other: Path) -> None:
        target.write_text("somebody else")
        real(self, other)

    monkeypatch.setattr(Path, "hardlink_to", late)
    with pytest.raises(OutputError, match="meanwhile"):
        write_file(str(target), "mine")
    assert target.read_text() == "somebody else"
    assert left_over(tmp_path) == []


def test_a_file_system_without_hard_links_still_writes(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse(self: Path, other: Path) -> None:
        raise PermissionError(1, "Operation not permitted")

    monkeypatch.setattr(Path, "hardlink_to", refuse)
    assert write_file(str(tmp_path / "out.json"), "whole").read_text() == "whole"
    assert left_over(tmp_path) == []


def test_a_full_disk_leaves_the_old_file_and_no_litter(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    target = tmp_path / "out.json"
    target.write_text("old")

    def full(descriptor: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(OutputError, match="no space left"):
        write_file(str(target), "new", force=True)
    assert target.read_text() == "old"
    assert left_over(tmp_path) == []


def test_an_interrupt_leaves_no_litter(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def interrupt(descriptor: int) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(os, "fsync", interrupt)
    with pytest.raises(KeyboardInterrupt):
        write_file(str(tmp_path / "out.json"), "new")
    assert list(tmp_path.iterdir()) == []


def test_the_mode_of_a_file_is_what_the_mask_allows(tmp_path: Path) -> None:
    before = os.umask(0o027)
    try:
        written = write_file(str(tmp_path / "out.json"), "x")
    finally:
        os.umask(before)
    assert written.stat().st_mode & 0o777 == 0o640


def test_hostile_paths_are_shown_escaped(tmp_path: Path) -> None:
    with pytest.raises(OutputError) as problem:
        check_target(str(tmp_path / "none" / "\x1b[31mred"))
    assert "\x1b" not in str(problem.value)
