"""From records to a tidy table, and from tables to CSV that no spreadsheet computes."""

from __future__ import annotations

import csv
from collections.abc import Iterable, Mapping
from dataclasses import fields
from io import StringIO
from typing import Any

from feedchar.report.report import Tidy, Value
from feedchar.report.words import visible
from feedchar.uncertainty.summary import Uncertain

PARTS_OF_UNCERTAIN = tuple(field.name for field in fields(Uncertain))
_DANGEROUS = tuple("=+-@\t\r\n|%\uff1d\uff0b\uff0d\uff20")
"""A spreadsheet may take text that begins so for a formula or a command."""


def csv_files(tables: Mapping[str, Tidy]) -> dict[str, str]:
    """Text of each table as CSV.

    Parameters
    ----------
    tables : mapping of str to Tidy
        By name. [-]

    Returns
    -------
    dict of str to str
        File name to text: commas, decimal points, plain line ends, blank for undefined. [-]
    """
    return {f"{name}.csv": csv_text(table) for name, table in tables.items()}


def csv_text(table: Tidy) -> str:
    """One table as CSV in which no text can become a formula.

    Parameters
    ----------
    table : Tidy
        The table. [-]

    Returns
    -------
    str
        Text that a spreadsheet might compute has an apostrophe in front. [-]
    """
    page = StringIO()
    writer = csv.writer(page, lineterminator="\n")
    writer.writerow([guarded(heading) for heading in table.headings])
    for row in table.rows:
        writer.writerow([_cell(value) for value in row])
    return page.getvalue()


def guarded(text: str) -> str:
    """Text that stays text in a spreadsheet.

    Parameters
    ----------
    text : str
        Any text. [-]

    Returns
    -------
    str
        Control characters made visible, an apostrophe before what might be computed. [-]
    """
    shown = visible(text)
    return f"'{shown}" if shown.lstrip().startswith(_DANGEROUS) else shown


def table_of(records: Iterable[Mapping[str, Any]]) -> Tidy:
    """A table of plain records; an uncertain number takes six columns.

    Parameters
    ----------
    records : iterable of mapping
        Plain values, all with the same keys or some of them. [-]

    Returns
    -------
    Tidy
        Headings in the order in which keys first come. [-]
    """
    flat = [_flat(record) for record in records]
    headings = tuple(dict.fromkeys(key for record in flat for key in record))
    return Tidy(headings, tuple(tuple(record.get(key) for key in headings) for record in flat))


def _flat(record: Mapping[str, Any]) -> dict[str, Value]:
    made: dict[str, Value] = {}
    for key, value in record.items():
        if isinstance(value, dict) and set(value) == set(PARTS_OF_UNCERTAIN):
            made.update({f"{key}_{part}": value[part] for part in PARTS_OF_UNCERTAIN})
        elif isinstance(value, list) and value and not isinstance(value[0], str):
            ends = ("low", "high") if len(value) == 2 else tuple(map(str, range(len(value))))
            made.update({f"{key}_{end}": part for end, part in zip(ends, value, strict=True)})
        elif isinstance(value, list):
            made[key] = "; ".join(value)
        else:
            made[key] = value
    return made


def _cell(value: Value) -> Value:
    if isinstance(value, str):
        return guarded(value)
    if isinstance(value, bool):
        return "true" if value else "false"
    return f"{value:.6g}" if isinstance(value, float) else value
