"""From cells to values: every row of a table read by the declaration of its columns.

Rows top to bottom, cells left to right, so that the first error in reading order is the one told.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from feedchar.errors import InputError
from feedchar.sample.cells import Amount, is_blank
from feedchar.sample.columns import Column, Matched, TableSpec, match_headings
from feedchar.sample.decimals import DecimalMark, decimal_mark
from feedchar.sample.oxides import OxideReading
from feedchar.sample.records import ExtraColumn, Place
from feedchar.sample.shown import label
from feedchar.sample.table import Table
from feedchar.sample.values import Value, as_text, read_oxide, read_value


@dataclass(frozen=True)
class Row:
    """One row, read."""

    file: str
    number: int
    values: Mapping[str, Value]
    headings: Mapping[str, str]
    """Column to the heading as written."""
    oxides: tuple[OxideReading, ...] = ()
    oxides_sd: Mapping[str, float] | None = None

    def text(self, name: str) -> str | None:
        """Text of a cell, None when blank or not a column."""
        value = self.values.get(name)
        return None if value is None else str(value)

    def number_of(self, name: str) -> float | None:
        """Number of a cell, None when blank or not a column."""
        value = self.values.get(name)
        return float(value) if isinstance(value, (int, float)) else None

    def amount(self, name: str) -> Amount | None:
        """Amount of a cell, None when blank or not a column."""
        value = self.values.get(name)
        return value if isinstance(value, Amount) else None

    def flag(self, name: str) -> bool | None:
        """Truth of a cell, None when blank or not a column."""
        value = self.values.get(name)
        return value if isinstance(value, bool) else None

    def place(self, name: str = "") -> Place:
        """Where a cell stands."""
        return Place(self.file, self.number, self.headings.get(name, name))

    def error(self, problem: str, name: str = "", remedy: str = "") -> InputError:
        """Error that names this row and a column."""
        place = self.place(name)
        return InputError(
            problem, file=self.file, row=self.number, column=place.column, remedy=remedy
        )


def read_rows(table: Table, spec: TableSpec) -> tuple[tuple[Row, ...], tuple[ExtraColumn, ...]]:
    """All rows of a table, typed and in range.

    Parameters
    ----------
    table : Table
        As written. [-]
    spec : TableSpec
        What it may hold. [-]

    Returns
    -------
    tuple
        Rows that say something, and the columns that are only kept. [-]

    Raises
    ------
    InputError
        For the first cell in reading order that cannot be used.
    """
    matched = match_headings(table, spec)
    mark = _mark_of(table, matched)
    headings = {column.name: label(table.heading[i]) for i, column in matched.columns.items()}
    rows = []
    for raw in table.rows:
        values: dict[str, Value] = {}
        oxides: list[OxideReading] = []
        sds: dict[str, float] = {}
        for index, cell in enumerate(raw.cells[: len(table.heading)]):
            place = Place(table.name, raw.number, label(table.heading[index]))
            if index in matched.columns:
                column = matched.columns[index]
                if is_blank(cell):
                    _refuse_blank(column, place)
                    continue
                values[column.name] = read_value(cell, column, mark, place)
            elif index in matched.oxides and not is_blank(cell):
                heading = matched.oxides[index]
                reading = read_oxide(cell, heading, mark, place)
                if heading.is_sd:
                    sds[heading.name] = reading.value
                else:
                    oxides.append(reading)
        rows.append(Row(table.name, raw.number, values, headings, tuple(oxides), sds))
    extra = tuple(
        ExtraColumn(table.name, head, tuple(as_text(raw.cells[i]) for raw in table.rows))
        for i, head in matched.extra.items()
    )
    return tuple(rows), extra


def _mark_of(table: Table, matched: Matched) -> DecimalMark:
    numeric = {i for i, column in matched.columns.items() if column.is_number} | set(matched.oxides)
    cells = (raw.cells[i] for raw in table.rows for i in sorted(numeric) if i < len(raw.cells))
    return decimal_mark((cell for cell in cells if isinstance(cell, str)), table.separator)


def _refuse_blank(column: Column, place: Place) -> None:
    if column.needed and not column.may_wait:
        problem = "is blank"
        raise InputError(
            problem, file=place.file, row=place.row, column=place.column, remedy=column.help
        )
