"""Tables of many samples, read a partition at a time: CSV, or Parquet by pyarrow."""

from __future__ import annotations

import csv
import hashlib
import io
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from feedchar.batch.columns import TableColumns, read_columns
from feedchar.batch.parquet import parquet_file, parquet_rows
from feedchar.errors import InputError
from feedchar.sample.cells import Cell, is_blank
from feedchar.sample.decimals import DecimalMark, decimal_mark
from feedchar.sample.delimited import SEPARATORS
from feedchar.sample.names import fold
from feedchar.sample.shown import file_label

PARTITION_ROWS = 1000
"""Rows computed and kept together; the bytes of the result do not depend on it."""
MARK_ROWS = 1000
"""Rows looked at for the decimal mark."""
PARQUET = (".parquet", ".pq")
_SIMPLE = ("double", "float", "int64", "int32", "int16", "int8", "string", "large_string", "bool")
Rows = list[list[Cell]]


@dataclass(frozen=True)
class Source:
    """A table of samples as it lies on the disk."""

    path: Path
    columns: TableColumns
    mark: DecimalMark
    separator: str
    """"" for Parquet."""
    rows: int
    sha256: str
    twins: frozenset[bytes]
    """Digests of sample names that stand more than once."""
    types: tuple[str, ...] = ()
    """Arrow types of the columns of Parquet; text where they are not simple."""

    @property
    def is_parquet(self) -> bool:
        """True for Parquet."""
        return not self.separator


def is_parquet(path: str | Path) -> bool:
    """True when a name says Parquet.

    Parameters
    ----------
    path : str or Path
        File. [-]

    Returns
    -------
    bool
        By its ending. [-]
    """
    return Path(path).suffix.lower() in PARQUET


def open_table(path: str) -> Source:
    """Read a table once through: headings, decimal mark, number of rows, names that stand twice.

    Parameters
    ----------
    path : str
        CSV or Parquet. [-]

    Returns
    -------
    Source
        What a run needs to know before it starts. [-]

    Raises
    ------
    InputError
        When the file is not there, is no table, has no rows, or its headings cannot be used.
    """
    place = Path(path)
    name = file_label(place)
    _check_file(place, name)
    types: tuple[str, ...] = ()
    if is_parquet(place):
        schema = parquet_file(place).schema_arrow
        headings: Sequence[str] = list(schema.names)
        separator = ""
        types = tuple(t if t in _SIMPLE else "string" for t in map(str, schema.types))
    else:
        separator, headings = _csv_heading(place)
    columns = read_columns(headings, name)
    head: Rows = []
    digests = bytearray()
    at = columns.plain.get("sample")
    count = 0
    for rows in _partitions(place, separator, PARTITION_ROWS, name):
        head += rows[: max(MARK_ROWS - len(head), 0)]
        count += len(rows)
        if at is not None:
            for row in rows:
                if at < len(row) and not is_blank(row[at]):
                    digests += name_digest(row[at])
    if count == 0:
        problem = "has a heading and no rows"
        raise InputError(problem, file=name, remedy="One row a sample")
    numeric = columns.numeric_places()
    texts = (str(r[k]) for r in head for k in numeric if k < len(r) and isinstance(r[k], str))
    return Source(
        place.resolve(), columns, decimal_mark(texts, separator), separator, count,
        _checksum(place), _twins(digests), types,
    )  # fmt: skip


def _check_file(path: Path, name: str) -> None:
    try:
        if path.is_file():
            return
        problem = "is a folder" if path.is_dir() else "is not there"
        if problem == "is not there" and path.exists():
            problem = "is a device or a pipe, not a file"
    except (OSError, ValueError):
        problem = "is no name of a file"
    raise InputError(problem, file=name[:60], remedy="Give a CSV or Parquet table")


def name_digest(cell: Cell) -> bytes:
    """Eight bytes that stand for the name of a sample.

    Parameters
    ----------
    cell : cell
        Name as written. [-]

    Returns
    -------
    bytes
        Two names that differ only in case or spaces share them. [-]
    """
    return hashlib.blake2b(fold(str(cell)).encode(), digest_size=8).digest()


def _twins(digests: bytearray) -> frozenset[bytes]:
    names, counts = np.unique(np.frombuffer(digests, dtype=np.uint64), return_counts=True)
    return frozenset(value.tobytes() for value in names[counts > 1])


def _checksum(path: Path) -> str:
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def _csv_heading(path: Path) -> tuple[str, list[str]]:
    name = file_label(path)
    with _text(path) as file:
        try:
            first = file.readline()
        except UnicodeDecodeError as error:
            raise _not_text(error, name) from None
        separator = max(SEPARATORS, key=lambda mark: (first.count(mark), mark == ","))
        file.seek(0)
        try:
            for record in csv.reader(file, delimiter=separator, strict=True):
                if len(record) > 1 or (record and record[0].strip()):
                    return separator, record
        except csv.Error as error:
            raise _not_csv(error, name, 1) from None
        except UnicodeDecodeError as error:
            raise _not_text(error, name) from None
    problem = "is empty"
    raise InputError(problem, file=name, remedy="It needs a heading and rows")


def _text(path: Path) -> io.TextIOWrapper:
    return path.open("r", encoding="utf-8-sig", newline="")


def _not_text(error: UnicodeDecodeError, name: str) -> InputError:
    problem = f"is not UTF-8: byte {error.object[error.start]:#04x} is no letter of it"
    return InputError(problem, file=name, remedy="Save it as UTF-8")


def _not_csv(error: csv.Error, name: str, row: int) -> InputError:
    problem = f"is no table of cells from here on: {error}"
    return InputError(problem, file=name, row=row, remedy="An unclosed quotation mark?")


def partitions(source: Source, size: int = PARTITION_ROWS) -> Iterator[Rows]:
    """Rows of a table, some at a time.

    Parameters
    ----------
    source : Source
        From `open_table`. [-]
    size : int
        Rows of a partition. [-]

    Yields
    ------
    list of list of cells
        In the order of the table. [-]

    Raises
    ------
    InputError
        Where the file breaks off inside quotes, or is not UTF-8.
    """
    return _partitions(source.path, source.separator, size, source.columns.file)


def _partitions(path: Path, separator: str, size: int, name: str) -> Iterator[Rows]:
    records = parquet_rows(path) if not separator else _csv_rows(path, separator, name)
    rows: Rows = []
    for record in records:
        rows.append(record)
        if len(rows) == size:
            yield rows
            rows = []
    if rows:
        yield rows


def _csv_rows(path: Path, separator: str, name: str) -> Iterator[list[Cell]]:
    with _text(path) as file:
        reader = csv.reader(file, delimiter=separator, strict=True)
        heading = True
        try:
            for record in reader:
                if not any(cell.strip() for cell in record):
                    continue  # an empty line is no sample
                if heading:
                    heading = False
                    continue
                yield list(record)
        except csv.Error as error:
            raise _not_csv(error, name, reader.line_num) from None
        except UnicodeDecodeError as error:
            raise _not_text(error, name) from None
