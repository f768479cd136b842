"""Rows of a Parquet table, read by pyarrow a batch at a time."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np

from feedchar.errors import InputError
from feedchar.sample.cells import Cell
from feedchar.sample.shown import file_label

BATCH_ROWS = 1000
"""Rows decoded at a time."""


def arrow() -> tuple[Any, Any]:
    """The library that reads and writes Parquet.

    Returns
    -------
    tuple of module
        pyarrow and pyarrow.parquet. [-]

    Raises
    ------
    InputError
        When it is not installed.
    """
    try:
        import pyarrow as pa
        import pyarrow.parquet as parquet
    except ImportError:
        problem = "Parquet needs pyarrow, which is not installed"
        raise InputError(problem, remedy="pip install 'feedchar[batch]', or give a CSV") from None
    return pa, parquet


def parquet_file(path: Path) -> Any:
    """A Parquet file, its schema read.

    Parameters
    ----------
    path : Path
        File. [-]

    Returns
    -------
    pyarrow.parquet.ParquetFile
        To read from. [-]

    Raises
    ------
    InputError
        When it is no Parquet file.
    """
    pa, parquet = arrow()
    try:
        file = parquet.ParquetFile(path)
        _ = file.schema_arrow.names  # decodes the headings, which may not be UTF-8
    except (pa.ArrowException, OSError, ValueError) as error:
        problem = f"is not Parquet: {str(error)[:200]}"
        raise InputError(problem, file=file_label(path)) from None
    return file


def parquet_rows(path: Path) -> Iterator[list[Cell]]:
    """Rows of a Parquet file.

    Parameters
    ----------
    path : Path
        File. [-]

    Yields
    ------
    list of cell
        One row. [-]

    Raises
    ------
    InputError
        Where the file is damaged.
    """
    batches = parquet_file(path).iter_batches(batch_size=BATCH_ROWS)
    number = 0
    while True:
        try:
            batch = next(batches, None)
            if batch is None:
                return
            columns = [_plain(column.to_pylist()) for column in batch.columns]
        except (arrow()[0].ArrowException, OSError, ValueError, OverflowError) as error:
            problem = f"cannot be read beyond row {number}: {str(error).splitlines()[0][:80]}"
            raise InputError(problem, file=file_label(path)) from None
        number += batch.num_rows
        for row in zip(*columns, strict=True):
            yield list(row)


def _plain(values: list[Any]) -> list[Cell]:
    """Cells as the readers know them; a number that is not finite is nothing given."""
    out: list[Cell] = []
    for value in values:
        if value is None or (isinstance(value, float) and not np.isfinite(value)):
            out.append(None)
        elif isinstance(value, (bool, int, float, str)):
            out.append(value)
        else:
            out.append(str(value))
    return out
