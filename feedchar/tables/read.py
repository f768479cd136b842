"""Strict reading of a reference table: text rows, typed when a column is asked for.

Plain `csv`, because the command line must start before pandas could be imported.
"""

from __future__ import annotations

import csv
import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache

from feedchar.errors import InputError
from feedchar.tables.locate import table_path

_NUMBER = re.compile(r"[+-]?(\d+(\.\d*)?|\.\d+)([eE][+-]?\d+)?", re.ASCII)


@dataclass(frozen=True)
class Row:
    """One row of a table, with the place it was read from."""

    file: str
    row: int
    """As a person counts it: the heading is row 1."""
    cells: Mapping[str, str]

    def text(self, column: str) -> str:
        """Cell as written, empty when nothing is known."""
        return self.cells[column]

    def word(self, column: str, *allowed: str) -> str:
        """Cell that must be one of the words."""
        value = self.cells[column]
        if value not in allowed:
            raise self._fault(column, f'"{value}" is not one of {", ".join(allowed)}')
        return value

    def number(self, column: str) -> float:
        """Cell that must hold a number, in the unit of the heading."""
        value = self.optional(column)
        if value is None:
            raise self._fault(column, "a number is missing")
        return value

    def optional(self, column: str) -> float | None:
        """Number, or None where the cell is empty."""
        value = self.cells[column]
        if not value:
            return None
        if not _NUMBER.fullmatch(value):
            raise self._fault(column, f'"{value}" is not a number')
        return float(value)

    def _fault(self, column: str, problem: str) -> InputError:
        return InputError(problem, file=self.file, row=self.row, column=column)


@lru_cache
def read_table(name: str) -> tuple[Row, ...]:
    """Rows of a reference table.

    Parameters
    ----------
    name : str
        File name, such as "minerals.csv". [-]

    Returns
    -------
    tuple of Row
        One entry a row, blank lines left out. [-]

    Raises
    ------
    InputError
        When the file is not UTF-8, its heading repeats a name, or a row is ragged.
    FeedcharError
        When the installation lacks the file.
    """
    try:
        text = table_path(name).read_text(encoding="utf-8")
    except UnicodeDecodeError as error:
        problem = f"byte {error.start} is not UTF-8"
        raise InputError(problem, file=name) from error
    lines = csv.reader(text.splitlines(), strict=True)
    heading = next(lines, [])
    if not heading or len(set(heading)) != len(heading):
        problem = "the heading is missing or repeats a name"
        raise InputError(problem, file=name, row=1)
    rows = []
    for cells in lines:
        if not cells:
            continue
        if len(cells) != len(heading):
            problem = f"{len(cells)} cells under a heading of {len(heading)}"
            raise InputError(problem, file=name, row=lines.line_num)
        rows.append(Row(name, lines.line_num, dict(zip(heading, cells, strict=True))))
    return tuple(rows)
