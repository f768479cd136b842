"""What a cell means in its column: a word, a number in range, an amount, a size.

Ranges are checked here, once; a column's declaration says which.
"""

from __future__ import annotations

from datetime import date, datetime

from feedchar.errors import InputError
from feedchar.sample.cells import Amount, Cell, CellProblem, read_amount, read_number
from feedchar.sample.columns import Column
from feedchar.sample.decimals import DecimalMark
from feedchar.sample.names import closest, heading_key
from feedchar.sample.oxides import OxideHeading, OxideReading
from feedchar.sample.records import Place
from feedchar.sample.shown import shown
from feedchar.sample.sizes import read_size

Value = str | float | bool | Amount

# A spreadsheet's sum of percentages may be off by rounding; 100.0000001 is not rounding.
ROUNDING = 1e-10


def as_text(cell: Cell) -> str:
    """A cell as text: numbers without a trailing zero, dates as 2024-05-17.

    Parameters
    ----------
    cell : str, float, bool, date or None
        Cell as written or stored. [-]

    Returns
    -------
    str
        Empty for None. [-]
    """
    if cell is None:
        return ""
    if isinstance(cell, bool):
        return "TRUE" if cell else "FALSE"
    if isinstance(cell, float):
        return f"{cell:.15g}"
    if isinstance(cell, datetime):
        return cell.date().isoformat() if cell.time().isoformat() == "00:00:00" else str(cell)
    return cell.isoformat() if isinstance(cell, date) else cell


def read_value(cell: Cell, column: Column, mark: DecimalMark, place: Place) -> Value:
    """Value of a cell that is not blank, by what its column is.

    Parameters
    ----------
    cell : str, float, bool, date or None
        Cell as written or stored. [-]
    column : Column
        Its declaration. [-]
    mark : DecimalMark
        Decimal mark of the table. [-]
    place : Place
        Where it stands. [-]

    Returns
    -------
    str, float, bool or Amount
        What the column's kind says. [-]

    Raises
    ------
    InputError
        When it is none, or out of range.
    """
    try:
        if column.kind == "choice":
            return _choice(as_text(cell).strip(), column)
        if column.kind == "yes or no":
            return _yes_or_no(cell)
        if column.kind in ("text", "date"):
            return _text(cell, column)
        if column.kind in ("size", "size or pan"):
            return read_size(cell, mark, pan=column.kind == "size or pan")
        if column.kind == "amount":
            amount = read_amount(
                cell, mark, percent=column.percent, low=column.low, high=column.high
            )
            _check_range(amount.value, column, cell)
            return amount
        number = read_number(cell, mark, percent=column.percent, low=column.low, high=column.high)
        _check_range(number, column, cell)
        if column.kind == "count" and number != round(number):
            problem = f"must be a whole number; found {shown(cell)}"
            raise CellProblem(problem, "Counts are whole")
        return number
    except CellProblem as error:
        raise InputError(
            error.problem,
            file=place.file,
            row=place.row,
            column=place.column,
            remedy=error.remedy,
        ) from None


def read_oxide(cell: Cell, heading: OxideHeading, mark: DecimalMark, place: Place) -> OxideReading:
    """Figure of an oxide in wt % from a cell that is not blank.

    Parameters
    ----------
    cell : str, float, bool, date or None
        Cell as written or stored. [wt % or ppm]
    heading : OxideHeading
        Which oxide, in what unit. [-]
    mark : DecimalMark
        Decimal mark of the table. [-]
    place : Place
        Where it stands. [-]

    Returns
    -------
    OxideReading
        Value below detection or not. [wt %]

    Raises
    ------
    InputError
        When it is no amount, or out of range.
    """
    per = heading.per_wt_pct
    # A loss on ignition below zero is a gain: ferrous iron takes up oxygen.
    low = -5.0 * per if heading.name == "LOI" and not heading.is_sd else 0.0
    unit = "wt %" if per == 1 else "ppm"
    kind = "number" if heading.is_sd else "amount"
    column = Column(place.column, "", kind, unit, low, 100.0 * per)
    value = read_value(cell, column, mark, place)
    if isinstance(value, Amount):
        if value.trace:
            problem = f"{shown(cell)} has no number"
            raise InputError(
                problem,
                file=place.file,
                row=place.row,
                column=place.column,
                remedy="Write < and the laboratory's limit, such as <0.01",
            )
        return OxideReading(heading.name, value.value / per, value.below, place=place)
    assert isinstance(value, float)
    return OxideReading(heading.name, value / per, place=place)


def _check_range(value: float, column: Column, cell: Cell) -> None:
    slack = ROUNDING * max(1.0, abs(column.high)) if column.high < float("inf") else 0.0
    low_fine = value > column.low if column.above else value >= column.low
    if low_fine and value <= column.high + slack:
        return
    if column.high == float("inf"):
        words = f"above {column.low:g}" if column.above else f"at least {column.low:g}"
    else:
        words = f"{'above ' if column.above else ''}{column.low:g} to {column.high:g}"
    remedy = ""
    if column.percent and value > 100:
        remedy = "Percent is meant here: ppm divided by 10 000"
    elif "kg_m3" in column.name and 0 < value < 30:
        remedy = "kg/m3 is meant here: g/cm3 times 1000"
    elif "susceptibility" in column.name:
        remedy = "m3/kg is meant here: values in 1e-8 or 1e-6 m3/kg have to be multiplied out"
    problem = f"must be {words}{_unit(column)}; found {shown(cell)}"
    raise CellProblem(problem, remedy)


def _unit(column: Column) -> str:
    return f" {column.unit}" if column.unit else ""


def _choice(text: str, column: Column) -> str:
    word = column.choices.get(heading_key(text))
    if word is None:
        allowed = list(dict.fromkeys(column.choices.values()))
        problem = f"{shown(text)} is not one of the words known"
        raise CellProblem(problem, closest(text, allowed))
    return word


def _yes_or_no(cell: Cell) -> bool:
    if isinstance(cell, bool):
        return cell
    word = heading_key(as_text(cell))
    if word in ("yes", "y", "true", "1", "x"):
        return True
    if word in ("no", "n", "false", "0"):
        return False
    problem = f"{shown(cell)} is neither yes nor no"
    raise CellProblem(problem, "Write yes, no, or leave it blank")


def _text(cell: Cell, column: Column) -> str:
    if isinstance(cell, date) and column.kind != "date":
        problem = f"{shown(cell)} is a date"
        raise CellProblem(problem, "A spreadsheet took the entry for a date: format as text")
    text = as_text(cell).strip()
    if len(text) > column.longest:
        problem = f"{shown(text)} has {len(text)} characters, more than {column.longest}"
        raise CellProblem(
            problem,
            "Give it a shorter name, and the rest as a note",
        )
    return text
