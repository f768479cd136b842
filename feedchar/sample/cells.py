"""What one cell says: a number, an interval, or a refusal by name.

Only ASCII digits, one decimal mark and an exponent make a number; Python's own `float` would
also take `nan`, `inf`, `1_000` and the digits of other scripts. A cell is text as written, or the
number, truth value or date that a workbook stored.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date
from math import isfinite

from feedchar.sample.decimals import DecimalMark, numeral_readings
from feedchar.sample.names import fold
from feedchar.sample.shown import shown

Cell = str | float | bool | date | None

NOT_NUMBERS = {
    "n.d.": "may mean not detected or not determined",
    "n.d": "may mean not detected or not determined",
    "nd": "may mean not detected or not determined",
    "n/d": "may mean not detected or not determined",
    "bdl": "is below a detection limit that is not given",
    "b.d.l.": "is below a detection limit that is not given",
    "<lod": "is below a detection limit that is not given",
    "lod": "is below a detection limit that is not given",
    "n.a.": "may mean not analysed or not applicable",
    "na": "may mean not analysed or not applicable",
    "n/a": "may mean not analysed or not applicable",
    "nil": "may mean zero or nothing given",
    "none": "may mean zero or nothing given",
    "null": "may mean zero or nothing given",
}
SAY_WHICH = (
    "Leave it blank when not looked for, write 0 when looked for and not found, "
    "or < and the limit, such as <0.01"
)
TRACE_WORDS = {"tr", "tr.", "trace", "traces", "spur", "spuren", "traza", "trazas"}
DASHES = {"-", "--", "---", "–", "—", "−"}
NUMBER_REMEDY = "Write digits with one decimal mark, such as 0.05 or 1.2e-8"


class CellProblem(Exception):
    """A cell that cannot be read; the table adds file, row and column."""

    def __init__(self, problem: str, remedy: str = "") -> None:
        self.problem, self.remedy = problem, remedy
        super().__init__(problem)


@dataclass(frozen=True)
class Amount:
    """A measured amount: a value, or an interval from 0 to it."""

    value: float
    below: bool = False
    """True for `<0.5` (value 0.5) and for a trace (value 0 until a limit is known)."""
    trace: bool = False


def is_blank(cell: Cell) -> bool:
    """True when a cell says nothing.

    Parameters
    ----------
    cell : str, float, bool, date or None
        Cell of a table. [-]

    Returns
    -------
    bool
        True for None and for text of white space only. [-]
    """
    return cell is None or (isinstance(cell, str) and not cell.strip())


def _refuse(text: str) -> CellProblem:
    folded = fold(text)
    if folded in NOT_NUMBERS:
        return CellProblem(f"{shown(text)} {NOT_NUMBERS[folded]}", SAY_WHICH)
    if text in DASHES:
        return CellProblem(f"{shown(text)} may mean zero, not found or not measured", SAY_WHICH)
    if folded in TRACE_WORDS:
        return CellProblem(f"{shown(text)} has no number", "Write < and the limit, such as <0.01")
    if re.match(r"[~≈]|ca\.? |c\. |about |approx", folded):
        return CellProblem(
            f"{shown(text)} is an estimate without its doubt",
            "Write the number alone and its standard deviation where a column for it exists",
        )
    if folded.startswith(("<", ">", "≤", "≥", "=")):
        return CellProblem(f"{shown(text)} is a bound, and this cell takes a number", NUMBER_REMEDY)
    if folded in {"nan", "inf", "+inf", "-inf", "infinity", "+infinity", "-infinity"}:
        return CellProblem(f"{shown(text)} is not a finite number", SAY_WHICH)
    if text.startswith("#"):
        return CellProblem(f"{shown(text)} is an error of a spreadsheet", "Repair the formula")
    if any(c.isnumeric() and not c.isascii() for c in text):
        return CellProblem(
            f"{shown(text)} holds digits other than 0 to 9", "Write it with the digits 0 to 9"
        )
    if "_" in text:
        return CellProblem(f"{shown(text)} holds an underscore", NUMBER_REMEDY)
    if re.fullmatch(r"[\d.,]*\d[\d.,]*[oOlI][\doOlI.,]*|[oOlI][\doOlI.,]*\d[\d.,]*", text):
        return CellProblem(
            f"{shown(text)} holds a letter among its digits", "Check for the letters o and l"
        )
    if re.search(r"[A-Za-zµμ%]\S*$", text) and re.match(r"[+-]?[\d.,]+", text):
        return CellProblem(
            f"{shown(text)} carries more than a number",
            "Write the number alone, in the column's unit",
        )
    if re.fullmatch(r"[\d.,]+\s*[-–]\s*[\d.,]+", text):
        return CellProblem(
            f"{shown(text)} is a range or a date", "Write one number, and the doubt as sd"
        )
    return CellProblem(f"{shown(text)} is not a number", NUMBER_REMEDY)


def read_number(
    cell: Cell,
    mark: DecimalMark,
    *,
    percent: bool = False,
    low: float = float("-inf"),
    high: float = float("inf"),
) -> float:
    """The number of a cell that is not blank.

    Parameters
    ----------
    cell : str, float, bool, date or None
        Cell of a table. [-]
    mark : DecimalMark
        What the whole table says of its decimal mark. [-]
    percent : bool
        True where `5%` means 5. [-]
    low, high : float
        Range of the column, used only to choose between two readings. [-]

    Returns
    -------
    float
        A finite number; its range is not checked here. [-]

    Raises
    ------
    CellProblem
        For anything else, with what it is.
    """
    if isinstance(cell, bool):
        problem = f"{shown(cell)} is a truth value"
        raise CellProblem(problem, "Write a number")
    if isinstance(cell, (int, float)):
        if not isfinite(cell):
            problem = f"{shown(cell)} is not a finite number"
            raise CellProblem(problem, SAY_WHICH)
        return float(cell)
    if isinstance(cell, date):
        problem = f"{shown(cell)} is a date"
        raise CellProblem(problem, "A spreadsheet took the entry for a date: format as number")
    text = (cell or "").strip()
    body = text[:-1].rstrip() if percent and text.endswith("%") else text
    readings = numeral_readings(body, mark)
    if len(readings) > 1:
        inside = [value for value in readings if low <= value <= high]
        if mark.mark is None and len(inside) == 1:
            readings = inside
        else:
            problem = f"{shown(text)} can be read as {readings[0]:.12g} or as {readings[1]:.12g}"
            raise CellProblem(
                problem,
                "Write all numbers of the file with the same decimal mark and none between groups",
            )
    if not readings:
        raise _refuse(text)
    if not isfinite(readings[0]):
        problem = f"{shown(text)} is too large for a number"
        raise CellProblem(problem, NUMBER_REMEDY)
    if readings[0] == 0 and re.search("[1-9]", re.split("[eE]", body)[0]):
        problem = f"{shown(text)} is too small for a number"
        raise CellProblem(problem, NUMBER_REMEDY)
    return readings[0]


def read_amount(
    cell: Cell,
    mark: DecimalMark,
    *,
    percent: bool = False,
    low: float = float("-inf"),
    high: float = float("inf"),
) -> Amount:
    """A measured amount: a number, `<0.01`, or a trace.

    Parameters
    ----------
    cell : str, float, bool, date or None
        Cell of a table, not blank. [-]
    mark : DecimalMark
        What the whole table says of its decimal mark. [-]
    percent : bool
        True where `5%` means 5. [-]
    low, high : float
        Range of the column, used only to choose between two readings. [-]

    Returns
    -------
    Amount
        Value and what it is. [-]

    Raises
    ------
    CellProblem
        For anything else, `<0` and `<-1` among them.
    """
    if isinstance(cell, str):
        text = cell.strip()
        if fold(text) in TRACE_WORDS:
            return Amount(0.0, below=True, trace=True)
        if text.startswith("<") and fold(text) not in NOT_NUMBERS:
            if not text[1:].strip():
                problem = f"{shown(text)} has no limit"
                raise CellProblem(problem, "Write the limit: <0.01")
            value = read_number(text[1:].strip(), mark, percent=percent, low=low, high=high)
            if value <= 0:
                problem = f"{shown(text)} is a limit at or below zero"
                raise CellProblem(problem, "A limit is above 0: <0.01")
            return Amount(value, below=True)
    return Amount(read_number(cell, mark, percent=percent, low=low, high=high))
