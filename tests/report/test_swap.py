"""Two folders change names in one step, or nothing changes."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

from feedchar.report.swap import exchange


@pytest.fixture
def two(tmp_path: Path) -> tuple[Path, Path]:
    for name in ("old", "new"):
        (tmp_path / name).mkdir()
        (tmp_path / name / "who").write_text(name)
    return tmp_path / "old", tmp_path / "new"


def test_both_names_stand_before_and_after(two: tuple[Path, Path]) -> None:
    old, new = two
    swapped = exchange(old, new)
    told = ((old / "who").read_text(), (new / "who").read_text())
    assert told == (("new", "old") if swapped else ("old", "new"))


def test_a_name_that_is_missing_leaves_the_other_as_it_was(two: tuple[Path, Path]) -> None:
    old, new = two
    assert not exchange(old, new.with_name("nobody"))
    assert (old / "who").read_text() == "old"


def test_a_system_without_such_a_step_says_so(
    two: tuple[Path, Path], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(sys, "platform", "win32")
    assert not exchange(*two)
    assert (two[0] / "who").read_text() == "old"
