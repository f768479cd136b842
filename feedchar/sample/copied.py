"""A sample as the texts of a folder, with rows added to its tables: for what is filled in later."""

from __future__ import annotations

import csv
import io
import json
import re
from collections.abc import Mapping, Sequence
from datetime import date
from pathlib import Path

from feedchar.errors import InputError
from feedchar.sample.cells import Cell, is_blank
from feedchar.sample.columns import TableSpec, match_headings
from feedchar.sample.decimals import decimal_mark
from feedchar.sample.decode import decode, read_bytes
from feedchar.sample.folder import SAMPLE_FILE, gather_folder
from feedchar.sample.gathered import SPECS, Gathered
from feedchar.sample.settings import Entry
from feedchar.sample.shown import file_label
from feedchar.sample.table import Table
from feedchar.sample.workbook import gather_workbook

Row = Mapping[str, str]

_NUMBER = re.compile(r"[+-]?[0-9]+\.[0-9]+")
_BARE_KEY = re.compile(r"[A-Za-z0-9_-]+")


def folder_texts(
    path: str, added: Mapping[str, tuple[Sequence[str], Sequence[Row]]]
) -> dict[str, str]:
    """Texts of a folder that holds a sample and rows to fill in.

    Parameters
    ----------
    path : str
        The sample: a folder, its TOML file, a CSV of minerals, or a workbook. [-]
    added : mapping of str to (columns, rows)
        Rows by the stem of their table; rows go behind those that are there. [-]

    Returns
    -------
    dict of str to str
        Path inside the folder to text: files as they were, a workbook as its tables. [-]

    Raises
    ------
    InputError
        When the sample cannot be read.
    """
    place = Path(path)
    gathered, texts, names = _copied(place)
    for stem, (columns, rows) in added.items():
        table = gathered.tables.get(stem)
        name = names.get(stem, f"{stem}.csv")
        texts[name] = with_rows(table, SPECS[stem], columns, rows)
    return texts


def with_rows(
    table: Table | None, spec: TableSpec, columns: Sequence[str], rows: Sequence[Row]
) -> str:
    """Text of a table with rows behind those that it has.

    Parameters
    ----------
    table : Table or None
        As it was written; None: there is none yet. [-]
    spec : TableSpec
        What it may hold. [-]
    columns : sequence of str
        Columns of the new rows, in their order. [-]
    rows : sequence of mapping
        Column to text, blank where nothing is given. [-]

    Returns
    -------
    str
        CSV with the separator and the decimal mark of the table. [-]
    """
    heading = list(columns) if table is None else list(table.heading)
    place = {name: k for k, name in enumerate(columns)}
    comma = False
    separator = ","
    if table is not None:
        found = match_headings(table, spec)
        place = {column.name: k for k, column in found.columns.items()}
        for name in columns:
            if name not in place:
                place[name] = len(heading)
                heading.append(name)
        separator = table.separator or ","
        numeric = [k for k, column in found.columns.items() if column.is_number]
        cells = [row.cells[k] for row in table.rows for k in numeric if k < len(row.cells)]
        texts = [cell for cell in cells if isinstance(cell, str)]
        comma = decimal_mark(texts, separator).mark == ","
    page = io.StringIO()
    writer = csv.writer(page, delimiter=separator, lineterminator="\n")
    writer.writerow(heading)
    for line in () if table is None else table.rows:
        cells = [_text(cell) for cell in line.cells[: len(heading)]]
        writer.writerow([*cells, *[""] * (len(heading) - len(cells))])
    for row in rows:
        made = [""] * len(heading)
        for name, value in row.items():
            number = comma and _NUMBER.fullmatch(value)
            made[place[name]] = value.replace(".", ",") if number else value
        writer.writerow(made)
    return page.getvalue()


def _copied(place: Path) -> tuple[Gathered, dict[str, str], dict[str, str]]:
    """What was gathered, the texts of its files, and the file of each table."""
    suffix = place.suffix.lower()
    if place.is_dir() or suffix == ".toml":
        toml = None if place.is_dir() else place.resolve()
        base = place.resolve() if toml is None else toml.parent
        gathered = gather_folder(base, toml)
        texts, names = {}, {}
        for read in gathered.read_paths:
            file = Path(read)
            name = file.relative_to(base).as_posix()
            name = SAMPLE_FILE if suffix == ".toml" and file == toml else name
            texts[name] = _text_of(file)
            stem = next(
                (stem for stem, table in gathered.tables.items() if table.name == file.name), None
            )
            if stem is not None:
                names[stem] = name
        return gathered, texts, names
    if suffix == ".xlsx":
        gathered = gather_workbook(place)
        texts = {SAMPLE_FILE: _toml(gathered.name, gathered.entries)}
        for stem, table in gathered.tables.items():
            texts[f"{stem}.csv"] = with_rows(table, SPECS[stem], (), ())
        return gathered, texts, {}
    gathered = Gathered(place.stem)
    gathered.take_table("minerals", place)
    texts = {"minerals.csv": _text_of(place), SAMPLE_FILE: _toml(place.stem, [])}
    return gathered, texts, {}


def _text_of(file: Path) -> str:
    data = read_bytes(file)
    decode(data, file_label(file))  # refuses what is no text
    return data.decode("utf-8")


def _toml(name: str, entries: Sequence[Entry]) -> str:
    """The keys of a workbook, or the name of a bare table, as TOML."""
    sections: dict[str, list[str]] = {"": []}
    for entry in entries:
        if is_blank(entry.cell):
            continue
        key = entry.key if _BARE_KEY.fullmatch(entry.key) else json.dumps(entry.key)
        sections.setdefault(entry.section, []).append(f"{key} = {_value(entry)}")
    if not any(line.startswith("name =") for line in sections[""]):
        sections[""].insert(0, f"name = {json.dumps(name)}")
    parts = ["\n".join(sections.pop(""))]
    parts += [f"[{section}]\n" + "\n".join(lines) for section, lines in sections.items()]
    return "\n\n".join(parts) + "\n"


def _value(entry: Entry) -> str:
    cell = entry.cell
    if isinstance(cell, bool):
        return "true" if cell else "false"
    if isinstance(cell, int | float):
        return repr(cell)
    if isinstance(cell, str):
        return json.dumps(cell, ensure_ascii=False)
    problem = "a date has no place among the keys of a sample"
    raise InputError(problem, file=entry.place.file, row=entry.place.row)


def _text(cell: Cell) -> str:
    if cell is None:
        return ""
    if isinstance(cell, bool):
        return "yes" if cell else "no"
    if isinstance(cell, date):
        return cell.isoformat()[:10]
    return f"{cell:.15g}" if isinstance(cell, int | float) else str(cell)
