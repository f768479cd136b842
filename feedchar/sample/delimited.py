"""Text of a CSV file to a table: comma, semicolon or tab, quotes closed, every row complete."""

from __future__ import annotations

import csv
import io
from collections.abc import Callable

from feedchar.errors import InputError
from feedchar.sample.cells import Cell
from feedchar.sample.table import COLUMNS_MAX, ROWS_MAX, RawRow, Table, make_table

SEPARATORS = {",": "comma", ";": "semicolon", "\t": "tab"}


def parse_csv(text: str, name: str, understood: Callable[[list[str]], int]) -> Table:
    """Table of a CSV text.

    Parameters
    ----------
    text : str
        Decoded text, lines ended by a newline. [-]
    name : str
        Base name for messages. [-]
    understood : callable
        Number of headings of a list that are known; it chooses the separator. [-]

    Returns
    -------
    Table
        Heading and rows. [-]

    Raises
    ------
    InputError
        For an unclosed quote, a ragged row, too many rows, or an empty table.
    """
    if not text.strip(" ,;\t\n"):
        problem = "is empty"
        raise InputError(problem, file=name, remedy="It needs a heading and rows")
    separator = _separator(text, understood)
    reader = csv.reader(io.StringIO(text, newline="\n"), delimiter=separator, strict=True)
    rows: list[RawRow] = []
    number = 0
    try:
        for number, record in enumerate(reader, start=1):
            if number > ROWS_MAX + 1:
                problem = f"has more than {ROWS_MAX} rows"
                raise InputError(problem, file=name)
            if len(record) > 4 * COLUMNS_MAX:
                problem = f"the row has {len(record)} cells, more than {COLUMNS_MAX}"
                raise InputError(
                    problem,
                    file=name,
                    row=number,
                )
            cells: tuple[Cell, ...] = tuple(record)
            rows.append(RawRow(number, cells))
    except csv.Error as error:
        raise _csv_error(error, name, number + 1) from None
    return make_table(name, rows, separator)


def _separator(text: str, understood: Callable[[list[str]], int]) -> str:
    line = next((part for part in text.split("\n") if part.strip(" ,;\t")), "")

    def score(separator: str) -> tuple[int, int]:
        heading = [head.strip().strip('"') for head in line.split(separator)]
        return understood(heading[:COLUMNS_MAX]), len(heading)

    return max(SEPARATORS, key=score)


def _csv_error(error: csv.Error, name: str, row: int) -> InputError:
    message = str(error)
    if "end of data" in message:
        return InputError(
            "a quotation mark is opened and never closed",
            file=name,
            row=row,
            remedy='A quote inside a quoted cell is written twice: ""',
        )
    if "expected after" in message:
        return InputError(
            "text follows a closing quotation mark",
            file=name,
            row=row,
            remedy='A quote inside a quoted cell is written twice: ""',
        )
    if "field larger" in message:
        return InputError(
            "a cell is far too long", file=name, row=row, remedy="An unclosed quotation mark?"
        )
    return InputError(f"is not a table of cells ({message})", file=name, row=row)
