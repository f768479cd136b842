"""One workbook (.xlsx): sheets that carry the names and columns of the CSV files.

The only reader of workbooks. Stored values are read; a formula without one is an error, never a
blank. Hidden rows and columns, merged cells, error cells and dates in number cells are refused,
since they are read two ways.
"""

from __future__ import annotations

import io
import warnings
from collections.abc import Iterator
from datetime import date, datetime, time, timedelta
from pathlib import Path
from typing import Any

from feedchar.errors import InputError
from feedchar.sample.cells import Cell, is_blank
from feedchar.sample.gathered import SPECS, Gathered
from feedchar.sample.names import closest, fold, heading_key, nearest
from feedchar.sample.records import Note, Place
from feedchar.sample.settings import Entry
from feedchar.sample.shown import file_label, label, shown
from feedchar.sample.table import COLUMNS_MAX, ROWS_MAX, RawRow, Table, make_table
from feedchar.sample.workbook_guard import SheetFacts, check_workbook

BLANK_ROWS_MAX = 1000
"""Blank rows after which a sheet is taken to have ended. [-]"""

SETTINGS_SHEET = "sample"
IGNORED = {"read me", "readme", "explanations"}


def gather_workbook(path: Path) -> Gathered:
    """Keys and tables of a workbook.

    Parameters
    ----------
    path : Path
        The .xlsx file. [-]

    Returns
    -------
    Gathered
        As written, stored values in place of formulas. [-]

    Raises
    ------
    InputError
        For a file that is not a safe workbook, sheets named almost like a table, and cells that
        cannot be read for what they show.
    """
    gathered = Gathered(path.stem)
    data = gathered.take(path)
    facts = check_workbook(data, file_label(path))
    sheets = _sheets(facts, file_label(path), gathered)
    for key, title in sheets.items():
        table = _read_sheet(data, file_label(path), title, facts[title])
        if table is None:
            continue
        if key == SETTINGS_SHEET:
            gathered.entries, gathered.mark = _entries(table), None
        else:
            gathered.tables[key] = table
    if not gathered.tables and not gathered.entries:
        problem = "none of its sheets holds anything"
        raise InputError(
            problem,
            file=file_label(path),
            remedy="`feedchar new --workbook` writes a template",
        )
    return gathered


def _sheets(facts: dict[str, SheetFacts], name: str, gathered: Gathered) -> dict[str, str]:
    """Key of each known sheet to its title, in reading order."""
    known = [SETTINGS_SHEET, *SPECS]
    found: dict[str, str] = {}
    for title in facts:
        key = fold(title)
        if key in known:
            if key in found:
                problem = f"has two sheets {shown(title)}"
                raise InputError(problem, file=name, remedy="Keep one")
            if facts[title].is_hidden:
                problem = "the sheet is hidden"
                raise InputError(
                    problem, file=f"{name}[{label(title)}]", remedy="Show it or delete it"
                )
            found[key] = title
            continue
        near = nearest(title, known)
        if near is not None:
            problem = f"the sheet {shown(title)} is not known"
            raise InputError(
                problem,
                file=name,
                remedy=f'Did you mean "{near}"?',
            )
        if key not in IGNORED:
            text = f"{name}: the sheet {shown(title)} is not one that feedchar reads"
            gathered.notes.append(Note("sheet-not-read", text))
    if not found:
        problem = "has none of the sheets that are read"
        raise InputError(problem, file=name, remedy=closest("", known))
    return {key: found[key] for key in known if key in found}


def _read_sheet(data: bytes, name: str, title: str, facts: SheetFacts) -> Table | None:
    where = f"{name}[{label(title)}]"
    if facts.far_cell:
        problem = f"the cell {facts.far_cell} is filled, beyond {COLUMNS_MAX} columns"
        raise InputError(problem, file=where, remedy="Delete what lies outside the table")
    rows: list[RawRow] = []
    blank = 0
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            for number, cells in _cells(data, title, where):
                if all(is_blank(cell) for cell in cells):
                    blank += 1
                    if blank > BLANK_ROWS_MAX:
                        break
                    continue
                blank = 0
                if len(rows) > ROWS_MAX:
                    problem = f"has more than {ROWS_MAX} rows"
                    raise InputError(problem, file=where)
                rows.append(RawRow(number, cells))
    except (InputError, MemoryError):
        raise
    except Exception as error:  # the library raises whatever a damaged part makes it raise
        problem = f"cannot be read: a damaged sheet ({type(error).__name__})"
        raise InputError(
            problem,
            file=where,
            remedy="Open it in a spreadsheet and save it again",
        ) from None
    if not rows:
        return None
    _check_visible(rows, facts, where)
    return make_table(where, rows)


def _cells(data: bytes, title: str, where: str) -> Iterator[tuple[int, tuple[Cell, ...]]]:
    """Row number and cells, the formulas of one pass beside the stored values of another."""
    from openpyxl import load_workbook

    stored = load_workbook(io.BytesIO(data), read_only=True, data_only=True, keep_links=False)
    written = load_workbook(io.BytesIO(data), read_only=True, data_only=False, keep_links=False)
    try:
        passes = []
        for book in (stored, written):
            sheet = book[title]
            sheet.reset_dimensions()  # what a file claims of its size is not believed
            passes.append(sheet.iter_rows(max_col=COLUMNS_MAX + 1))
        for number, (values, formulas) in enumerate(zip(*passes, strict=True), start=1):
            cells = tuple(
                _cell(value, formula, Place(where, number, str(index)))
                for index, (value, formula) in enumerate(
                    zip(values, formulas, strict=True), start=1
                )
            )
            if len(cells) > COLUMNS_MAX and not is_blank(cells[COLUMNS_MAX]):
                problem = f"has more than {COLUMNS_MAX} columns"
                raise InputError(problem, file=where, row=number)
            yield number, _trimmed(cells)
    finally:
        stored.close()
        written.close()


def _trimmed(cells: tuple[Cell, ...]) -> tuple[Cell, ...]:
    end = len(cells)
    while end and is_blank(cells[end - 1]):
        end -= 1
    return cells[:end]


def _cell(stored: Any, written: Any, place: Place) -> Cell:
    value, kind = stored.value, stored.data_type
    if written.data_type == "f" and value is None:
        problem = "holds a formula without a stored value"
        raise _error(problem, place, "Open it, recalculate and save")
    if value is None:
        return None
    if kind == "e" or (isinstance(value, str) and value in _ERRORS):
        problem = f"holds the error {shown(value)}"
        raise _error(problem, place, "Repair the formula")
    if isinstance(value, bool | str):
        return value
    if isinstance(value, int | float):
        if "%" in str(getattr(stored, "number_format", "") or ""):
            return f"{100 * value:.12g}%"
        return float(value)
    if isinstance(value, datetime | date):
        return value
    if isinstance(value, time | timedelta):
        problem = f"{shown(value)} is a time"
        raise _error(problem, place, "Format the cell as a number")
    return str(value)


_ERRORS = {"#DIV/0!", "#N/A", "#NAME?", "#NULL!", "#NUM!", "#REF!", "#VALUE!", "#SPILL!", "#CALC!"}


def _error(problem: str, place: Place, remedy: str) -> InputError:
    column = f"{_letters(int(place.column))}"
    return InputError(problem, file=place.file, row=place.row, column=column, remedy=remedy)


def _letters(number: int) -> str:
    text = ""
    while number:
        number, rest = divmod(number - 1, 26)
        text = chr(65 + rest) + text
    return text


def _check_visible(rows: list[RawRow], facts: SheetFacts, where: str) -> None:
    width = len(rows[0].cells)
    last = rows[-1].number
    for first_row, first_column, last_row, _ in facts.merged:
        if first_row <= last and first_column <= width:
            problem = f"merged cells (rows {first_row} to {last_row})"
            raise InputError(
                problem,
                file=where,
                row=first_row,
                column=_letters(first_column),
                remedy="Unmerge them: one cell a value, the heading in one row",
            )
    for first, final in facts.hidden_columns:
        if first <= width:
            raise InputError(
                "the column is hidden" if first == final else "columns are hidden",
                file=where,
                column=_letters(first),
                remedy="Show it or delete it",
            )
    for row in rows:
        if row.number in facts.hidden_rows:
            problem = "the row is hidden or filtered away"
            raise InputError(
                problem,
                file=where,
                row=row.number,
                remedy="Show it (clear the filter) or delete it",
            )


def _entries(table: Table) -> list[Entry]:
    keys = [heading_key(heading) for heading in table.heading]
    missing = [name for name in ("section", "key", "value") if name not in keys]
    if missing:
        problem = f'the heading has no column "{missing[0]}"'
        raise InputError(
            problem,
            file=table.name,
            row=table.heading_row,
            remedy="The columns are section, key, value",
        )
    section_at, key_at, value_at = (keys.index(name) for name in ("section", "key", "value"))
    entries = []
    for row in table.rows:
        section, key = _text(row.cells[section_at]), _text(row.cells[key_at])
        value = row.cells[value_at]
        place = Place(table.name, row.number, label(f"{section}.{key}".strip(".")))
        if not key:
            problem = "has no key"
            raise InputError(problem, file=table.name, row=row.number, column="key")
        entries.append(Entry(section, key, value, place))
    return entries


def _text(cell: Cell) -> str:
    return "" if cell is None else str(cell).strip()
