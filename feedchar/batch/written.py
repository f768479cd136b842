"""The result of a batch: rows with their answers, in parts that are put together at the end."""

from __future__ import annotations

import csv
import io
import os
import secrets
from collections.abc import Sequence
from pathlib import Path

from feedchar.batch.answers import Answers
from feedchar.batch.columns import ADDED, TableColumns
from feedchar.batch.parquet import arrow
from feedchar.batch.table import Rows, Source
from feedchar.errors import OutputError
from feedchar.report.write import flush_folder, take_free_name
from feedchar.sample.shown import file_label


def _figure(value: float) -> str:
    return "" if value != value else f"{value:.6g}"


def csv_heading(columns: TableColumns) -> str:
    """First line of the result.

    Parameters
    ----------
    columns : TableColumns
        Of the table that was read. [-]

    Returns
    -------
    str
        Its headings and the added ones. [-]
    """
    return _lines([[*columns.headings, *ADDED]])


def csv_lines(rows: Rows, answers: Answers, width: int) -> str:
    """Rows with their answers as CSV.

    Parameters
    ----------
    rows : list of list of cells
        As read. [-]
    answers : Answers
        Of the same rows. [-]
    width : int
        Columns of the table; a row of another length is cut or filled. [-]

    Returns
    -------
    str
        Comma-separated, numbers with 6 significant digits, `true` and `false`. [-]
    """
    words = {True: "true", False: "false", None: ""}
    out = []
    for row, numbers, needed, note in zip(
        rows, answers.numbers.tolist(), answers.assay_needed, answers.notes, strict=True
    ):
        cells = ["" if cell is None else str(cell) for cell in row[:width]]
        cells += [""] * (width - len(cells))
        word = words[None if needed is None else bool(needed)]
        out.append([*cells, *map(_figure, numbers), word, note])
    return _lines(out)


def _lines(rows: Sequence[Sequence[str]]) -> str:
    text = io.StringIO()
    csv.writer(text, lineterminator="\n").writerows(rows)
    return text.getvalue()


def parquet_bytes(rows: Rows, answers: Answers, source: Source) -> bytes:
    """Rows with their answers as one Parquet file.

    Parameters
    ----------
    rows : list of list of cells
        As read. [-]
    answers : Answers
        Of the same rows. [-]
    source : Source
        The table that was read. [-]

    Returns
    -------
    bytes
        Columns of Parquet keep their types, those of a CSV are text; added ones are numbers with
        6 significant digits, truth and text. [-]
    """
    pa, parquet = arrow()
    headings = source.columns.headings
    arrays = []
    for k, kind in enumerate(source.types or ("string",) * len(headings)):
        cells = [row[k] if k < len(row) else None for row in rows]
        if kind == "string":
            cells = [None if cell is None else str(cell) for cell in cells]
        arrays.append(pa.array(cells, pa.type_for_alias(kind)))
    for column in answers.numbers.T:
        rounded = [None if v != v else float(f"{v:.6g}") for v in column.tolist()]
        arrays.append(pa.array(rounded, pa.float64()))
    needed = [None if v is None else bool(v) for v in answers.assay_needed]
    arrays += [pa.array(needed, pa.bool_()), pa.array(answers.notes, pa.string())]
    made = pa.Table.from_arrays(arrays, names=[*headings, *ADDED])
    sink = io.BytesIO()
    parquet.write_table(made, sink)
    return sink.getvalue()


def join_parts(parts: Sequence[Path], heading: str | None, waiting: Path) -> None:
    """All partitions as one file, flushed to the disk.

    Parameters
    ----------
    parts : sequence of Path
        In order. [-]
    heading : str or None
        First line of a CSV; None for Parquet. [-]
    waiting : Path
        New file; it must not exist. [-]
    """
    if heading is None:
        parquet = arrow()[1]
        first = parquet.ParquetFile(parts[0])
        with parquet.ParquetWriter(waiting, first.schema_arrow) as writer:
            for part in parts:
                writer.write_table(parquet.read_table(part))
        with waiting.open("rb") as written:
            os.fsync(written.fileno())
        return
    descriptor = os.open(waiting, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o666)
    with os.fdopen(descriptor, "wb") as file:
        file.write(heading.encode())
        for part in parts:
            file.write(part.read_bytes())
        file.flush()
        os.fsync(file.fileno())


def write_result(parts: Sequence[Path], heading: str | None, target: Path, *, force: bool) -> None:
    """Put the parts together beside the result, and give it its name in one step.

    Parameters
    ----------
    parts : sequence of Path
        Parts in order. [-]
    heading : str or None
        Line of headings of a CSV. [-]
    target : Path
        The result. [-]
    force : bool
        Whether an older result is replaced. [-]

    Raises
    ------
    OutputError
        When it cannot be written, or somebody else made it meanwhile; an older one is whole then.
    """
    waiting = target.parent / f".feedchar-{secrets.token_hex(8)}.part"
    name = file_label(target)
    try:
        try:
            join_parts(parts, heading, waiting)
            if force:
                waiting.replace(target)
            else:
                take_free_name(waiting, target)
        finally:
            waiting.unlink(missing_ok=True)
        flush_folder(target.parent)
    except FileExistsError as fault:
        message = f"{name} was made by somebody else meanwhile. Give another name"
        raise OutputError(message) from fault
    except OSError as fault:
        message = f"{name} cannot be written: {(fault.strerror or '').lower()}"
        raise OutputError(message) from fault
