"""Columns of numbers of a table, cell by cell only where a cell is no plain number."""

from __future__ import annotations

import re
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from feedchar.batch.columns import OxideColumn
from feedchar.sample.cells import Cell, CellProblem, is_blank, read_amount
from feedchar.sample.decimals import DecimalMark
from feedchar.sample.iron import as_fe2o3
from feedchar.sample.minerals import TRACE_LIMIT_PCT
from feedchar.sample.oxides import IRON, OxideReading, element_as_oxide

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]

_PLAIN = re.compile(r"[+-]?(?:[0-9]+(?:\.[0-9]*)?|\.[0-9]+)(?:[eE][+-]?[0-9]{1,2})?", re.ASCII)


def read_numbers(cells: Sequence[Cell], mark: DecimalMark) -> tuple[Array, Flags, dict[int, str]]:
    """Numbers of a column, which of them are upper ends, and what could not be read.

    Parameters
    ----------
    cells : sequence of cells
        N cells. [-]
    mark : DecimalMark
        Decimal mark of the table. [-]

    Returns
    -------
    values : array, shape (N,)
        NaN where nothing was given or it could not be read. [as written]
    below : array of bool, shape (N,)
        Upper ends. [-]
    problems : dict of int to str
        What is wrong, by place. [-]
    """
    values, below, problems = np.full(len(cells), np.nan), np.zeros(len(cells), dtype=bool), {}
    fixed = mark.mark in (None, ".")
    for place, cell in enumerate(cells):
        if isinstance(cell, str) and fixed and _PLAIN.fullmatch(cell) and len(cell) < 16:
            if mark.mark is None and not mark.points_are_plain and cell[-4:-3] == ".":
                pass  # in a table of semicolons a lone 1.234 may be a thousand
            else:
                values[place] = float(cell)
                continue
        if is_blank(cell):
            continue
        try:
            amount = read_amount(cell, mark)
        except CellProblem as problem:
            tail = f". {problem.remedy}" if problem.remedy else ""
            problems[place] = f"{problem.problem}{tail}"
            continue
        values[place] = TRACE_LIMIT_PCT["other"] if amount.trace else amount.value
        below[place] = amount.below
    return values, below, problems


def fe2o3_or_oxide(column: OxideColumn) -> tuple[str, float]:
    """Oxide that a column is turned into, and the factor from its figures to wt % of that.

    Parameters
    ----------
    column : OxideColumn
        A measured column. [-]

    Returns
    -------
    tuple of str and float
        Iron always as Fe2O3. [-]
    """
    unit = OxideReading(column.heading.name, 1.0)
    turned = as_fe2o3(unit) if unit.name in IRON else element_as_oxide(unit)
    return turned.name, turned.value / column.heading.per_wt_pct
