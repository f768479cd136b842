"""Small invented tables of samples."""

from __future__ import annotations

import csv
from collections.abc import Callable
from pathlib import Path

import pytest

HEADINGS = (
    "sample", "origin", "quartz_mass_pct", "k-feldspar_mass_pct", "albite_mass_pct",
    "muscovite_mass_pct", "biotite_mass_pct", "almandine_mass_pct", "ilmenite_mass_pct",
    "rutile_mass_pct",
)  # fmt: skip
ROWS = (
    ("a", "as dug", 70, 14, 8, 4, 2, 1, 0.6, 0.4),
    ("b", "as dug", 84, 8, 5, 1.5, 0.7, 0, 0.5, 0.3),
    ("c", "crushed rock", 40, 30, 20, 5, 3, 1.5, 0.5, 0),
    ("d", "", 97, 1, 1, 0.5, 0.2, "", 0.3, ""),
    ("e", "washed", 60, 15, 10, 5, 6, 2, 1.5, 0.5),
)  # fmt: skip

Write = Callable[..., Path]


@pytest.fixture
def write(tmp_path: Path) -> Write:
    """Write a table; without arguments the invented one."""

    def table(rows=ROWS, headings=HEADINGS, name="cores.csv"):
        path = tmp_path / name
        with path.open("w", newline="", encoding="utf-8") as file:
            csv.writer(file, lineterminator="\n").writerows([headings, *rows])
        return path

    return table


def read(path: Path) -> list[dict[str, str]]:
    """Rows of a result."""
    with path.open(newline="", encoding="utf-8") as file:
        return list(csv.DictReader(file))


@pytest.fixture
def rows_of() -> Callable[[Path], list[dict[str, str]]]:
    """Reads a result."""
    return read


@pytest.fixture
def invented() -> tuple[tuple[object, ...], ...]:
    """Rows of the invented table."""
    return ROWS


@pytest.fixture
def headings() -> tuple[str, ...]:
    """Headings of the invented table."""
    return HEADINGS
