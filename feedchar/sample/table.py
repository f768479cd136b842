"""A table as it was written: a heading and rows of cells, before anything is understood.

A CSV file and a sheet of a workbook both become this; every later step sees no difference.
"""

from __future__ import annotations

from dataclasses import dataclass

from feedchar.errors import InputError
from feedchar.sample.cells import Cell, is_blank
from feedchar.sample.names import heading_key
from feedchar.sample.shown import label, shown

ROWS_MAX = 5_000
"""Most rows of one table. [-]"""

COLUMNS_MAX = 256
"""Most columns of one table. [-]"""

CELL_MAX_CHARACTERS = 10_000
"""Longest cell of a column that is only kept. [-]"""


@dataclass(frozen=True)
class RawRow:
    """One row with its number as the person counts it: the heading of a CSV is row 1."""

    number: int
    cells: tuple[Cell, ...]


@dataclass(frozen=True)
class Table:
    """A table as written."""

    name: str
    """File for messages: `minerals.csv`, or `bag.xlsx[minerals]` for a sheet."""
    heading: tuple[str, ...]
    rows: tuple[RawRow, ...]
    separator: str = ""
    """What stood between cells; empty in a workbook."""
    heading_row: int = 1
    """Row of the heading, after any blank rows."""


def make_table(name: str, rows: list[RawRow], separator: str = "") -> Table:
    """Table from rows, the first that is not blank being the heading.

    Parameters
    ----------
    name : str
        Name for messages. [-]
    rows : list of RawRow
        All rows, blank ones too. [-]
    separator : str
        What stood between cells. [-]

    Returns
    -------
    Table
        Heading and the rows that say something; rows of a CSV all as long as the heading. [-]

    Raises
    ------
    InputError
        For a table without heading, a heading twice, a value without a heading, a row shorter
        or longer than the heading, too many rows or columns.
    """
    filled = [row for row in rows if not all(is_blank(cell) for cell in row.cells)]
    if not filled:
        problem = "is empty"
        raise InputError(problem, file=name, remedy="It needs a heading and rows")
    if len(filled) > ROWS_MAX:
        problem = f"has more than {ROWS_MAX} rows"
        raise InputError(problem, file=name)
    first, *body = filled
    heading = [("" if cell is None else str(cell)).strip() for cell in first.cells]
    if len(heading) > COLUMNS_MAX:
        problem = f"has more than {COLUMNS_MAX} columns"
        raise InputError(problem, file=name, row=first.number)
    _check_heading(name, first.number, heading)
    kept = []
    for row in body:
        cells = row.cells
        if separator and len(cells) != len(heading):
            _refuse_ragged(name, row, heading, separator)
        if len(cells) < len(heading):
            cells += (None,) * (len(heading) - len(cells))
        for index, cell in enumerate(cells):
            head = heading[index] if index < len(heading) else ""
            if not head and not is_blank(cell):
                problem = f"{shown(cell)} stands in column {index + 1}, which has no heading"
                raise InputError(
                    problem,
                    file=name,
                    row=row.number,
                    remedy=f"Row {first.number} is the heading; titles and remarks go elsewhere",
                )
            if isinstance(cell, str) and len(cell) > CELL_MAX_CHARACTERS:
                problem = f"a cell has {len(cell)} characters, more than {CELL_MAX_CHARACTERS}"
                raise InputError(
                    problem,
                    file=name,
                    row=row.number,
                    column=label(head),
                )
        kept.append(RawRow(row.number, cells))
    return Table(name, tuple(heading), tuple(kept), separator, first.number)


def _check_heading(name: str, number: int, heading: list[str]) -> None:
    seen: dict[str, str] = {}
    for head in heading:
        key = heading_key(head)
        if key and key in seen:
            problem = f"the heading {shown(head)} stands twice"
            raise InputError(problem, file=name, row=number, column=label(head))
        seen[key] = head


def _refuse_ragged(name: str, row: RawRow, heading: list[str], separator: str) -> None:
    found, wanted = len(row.cells), len(heading)
    remedy = "Every row needs as many separators as the heading, blank cells too"
    text = separator.join("" if cell is None else str(cell) for cell in row.cells)
    others = {";", ",", "\t"} - {separator}
    if any(text.count(other) + 1 == wanted for other in others) and wanted > 1:
        remedy = "This row seems to use another separator than the heading"
    elif separator == "," and found > wanted:
        remedy = (
            "A decimal comma in a file separated by commas? Use points, or separate with semicolons"
        )
    problem = f"the row has {found} cells, the heading {wanted}"
    raise InputError(
        problem,
        file=name,
        row=row.number,
        remedy=remedy,
    )
