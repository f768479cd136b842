"""Sieve openings in any name to micrometres, and classes that must fit together."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from itertools import pairwise

from feedchar.errors import FeedcharError, InputError
from feedchar.sample.cells import Cell, CellProblem, read_number
from feedchar.sample.decimals import DecimalMark
from feedchar.sample.names import fold
from feedchar.sample.records import Place
from feedchar.sample.shown import shown
from feedchar.tables.sieves import sieve_opening_um

LARGEST_UM = 125_000.0
"""Largest opening taken, the first of ISO 565. [um]"""

PAN_WORDS = {"pan", "pan (0)"}
BOTH_BOUNDS = (
    "Write -500+355 as passing_um 500 and retained_um 355: a spreadsheet takes it for a sum"
)

_MONTHS = "jan|feb|mar|apr|may|jun|jul|aug|sep|oct|nov|dec"


def read_size(cell: Cell, mark: DecimalMark, pan: bool = False) -> float:
    """Opening of a sieve from a cell that is not blank.

    Parameters
    ----------
    cell : str, float, bool, date or None
        A number of micrometres, a length with its unit, or a sieve's name. [um]
    mark : DecimalMark
        What the whole table says of its decimal mark. [-]
    pan : bool
        True where the word `pan` or 0 may stand. [-]

    Returns
    -------
    float
        Opening; 0 for a pan. [um]

    Raises
    ------
    CellProblem
        For a negative or impossible size, and for what a spreadsheet made of one.
    """
    if isinstance(cell, date):
        problem = f"{shown(cell)} is a date: a spreadsheet took the size for one"
        raise CellProblem(problem, BOTH_BOUNDS)
    if isinstance(cell, str):
        text = cell.strip()
        if pan and fold(text) in PAN_WORDS:
            return 0.0
        if re.fullmatch(r"[-+]?\s*[\d.,]+\s*(um|µm|μm)?\s*[-+/]\s*[\d.,]+\s*(um|µm|μm)?", text):
            problem = f"{shown(text)} is two sizes in one cell"
            raise CellProblem(problem, BOTH_BOUNDS)
        if re.fullmatch(rf"(?i)(\d{{1,4}}[-./ ])?({_MONTHS})[a-z]*([-./ ]\d{{1,4}})?", text):
            problem = f"{shown(text)} is a date that a spreadsheet made of a size"
            raise CellProblem(problem, BOTH_BOUNDS)
        size = _named_size(text, mark)
    else:
        size = read_number(cell, mark)
    if size < 0:
        problem = f"must be above 0; found {shown(cell)}"
        raise CellProblem(problem, BOTH_BOUNDS)
    if size == 0 and not pan:
        problem = f"must be above 0; found {shown(cell)}"
        raise CellProblem(problem, "Give the sieve that all of the class passes")
    if size > LARGEST_UM:
        problem = f"must be at most {LARGEST_UM:.0f} um; found {shown(cell)}"
        raise CellProblem(problem, "Sizes are micrometres")
    return size


def _named_size(text: str, mark: DecimalMark) -> float:
    length = re.fullmatch(r"(.*?)\s*(um|µm|μm|microns?|mm)", text, re.IGNORECASE)
    if length and re.search("[0-9]", length[1]):
        scale = 1000.0 if length[2].lower() == "mm" else 1.0
        return read_number(length[1], mark) * scale
    try:
        return read_number(text, mark, low=1.0, high=LARGEST_UM)
    except CellProblem as refusal:
        if "can be read as" in refusal.problem or not re.search("[0-9]", text):
            raise
        try:
            return float(sieve_opening_um(text))
        except FeedcharError as error:
            problem = f"{shown(text)} is not a size or a sieve that is known"
            raise CellProblem(
                problem,
                f"Write micrometres. {error}" if str(error) else "Write micrometres",
            ) from None


@dataclass(frozen=True)
class SizeClass:
    """A size class as written, with the place of its row."""

    passing_um: float
    retained_um: float
    place: Place


def check_classes(classes: Sequence[SizeClass]) -> None:
    """That size classes follow each other without overlap or gap.

    Parameters
    ----------
    classes : sequence of SizeClass
        Classes of one sieve sheet in any order. [um]

    Raises
    ------
    InputError
        For a reversed class, a class twice, an overlap or a gap, naming both rows.
    """
    for item in classes:
        if item.passing_um <= item.retained_um:
            problem = (
                f"the class passes {item.passing_um:g} um and is retained on "
                f"{item.retained_um:g} um: reversed"
            )
            raise InputError(
                problem,
                file=item.place.file,
                row=item.place.row,
                column="passing_um",
                remedy="passing_um is the larger of the two",
            )
    ordered = sorted(classes, key=lambda c: (-c.passing_um, -c.retained_um))
    for coarse, fine in pairwise(ordered):
        if fine.passing_um == coarse.retained_um:
            continue
        rows = sorted(row for row in (coarse.place.row, fine.place.row) if row is not None)
        where = f"the classes of rows {' and '.join(str(row) for row in rows)}"
        kind = "overlap" if fine.passing_um > coarse.retained_um else "leave a gap"
        problem = (
            f"{where} {kind}: {coarse.passing_um:g} to {coarse.retained_um:g} um and "
            f"{fine.passing_um:g} to {fine.retained_um:g} um"
        )
        raise InputError(
            problem,
            file=coarse.place.file,
            row=rows[-1] if rows else None,
            column="passing_um",
            remedy="Each class ends where the next begins",
        )


def class_bounds(
    passing_um: float | None, retained_um: float | None, place: Place
) -> tuple[float, float] | None:
    """Bounds of an optional size class of a row.

    Parameters
    ----------
    passing_um, retained_um : float or None
        What the row gives. [um]
    place : Place
        Where the row stands. [-]

    Returns
    -------
    tuple or None
        Both bounds, None when the row belongs to the whole bag. [um]

    Raises
    ------
    InputError
        When one bound is missing or they are reversed.
    """
    if passing_um is None and retained_um is None:
        return None
    if passing_um is None or retained_um is None:
        missing = "passing_um" if passing_um is None else "retained_um"
        problem = "a size class needs both bounds"
        raise InputError(
            problem,
            file=place.file,
            row=place.row,
            column=missing,
            remedy="Give both, retained_um 0 for a pan, or leave both blank for the whole bag",
        )
    check_classes([SizeClass(passing_um, retained_um, place)])
    return passing_um, retained_um
