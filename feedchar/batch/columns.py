"""What the headings of a table of samples say, and the columns that a run adds to it."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from feedchar.chemistry.mineralogy import OXIDES
from feedchar.errors import FeedcharError, InputError, UnknownNameError
from feedchar.sample.names import heading_key, nearest
from feedchar.sample.naming import UNIDENTIFIED
from feedchar.sample.oxides import IRON, IRON_PARTS, OxideHeading, nearest_oxide, oxide_heading
from feedchar.sample.shown import label, shown
from feedchar.tables.names import plain_word, resolve_mineral

PLAIN = ("sample", "origin", "d50_um", "d90_um")
"""Columns with a name of their own."""
NUMBERS_AFTER_OXIDES = (
    "unseen_iron_share_pct",
    "product_Fe2O3_p50_wt_pct",
    "product_yield_p50_pct",
    "chance_of_meeting_limit",
)
PREDICTED = tuple(
    f"{oxide}_predicted_{point}_wt_pct" for oxide in OXIDES[:-1] for point in ("p05", "p50", "p95")
)
NUMBERS = (*PREDICTED, *NUMBERS_AFTER_OXIDES)
"""Columns of numbers that are added, in this order."""
ADDED = (*NUMBERS, "assay_needed", "notes")
"""All columns that are added, in this order."""
MOST_COLUMNS = 5000
"""Each heading is looked up; a table of samples has some dozens. [-]"""
_LONGEST_NAME = 200
"""No name of a mineral is longer. [characters]"""

_PHASE = re.compile(r"(?i)(?P<name>.+?)[ _](?P<basis>mass|volume)[ _](pct|%)")
_WEIGHT = re.compile(r"(?i)(?P<name>.+?)[ _](wt|weight|vol)[ _]?(pct|%)")


@dataclass(frozen=True)
class PhaseColumn:
    """A column with the amount of one phase."""

    place: int
    phase: str
    """Canonical name, or `unidentified`."""
    basis: str
    """mass_pct | volume_pct"""


@dataclass(frozen=True)
class OxideColumn:
    """A column with a measured oxide, element or statement of iron."""

    place: int
    heading: OxideHeading


@dataclass(frozen=True)
class TableColumns:
    """Which column of a table holds what; columns not named here are only carried over."""

    file: str
    headings: tuple[str, ...]
    plain: dict[str, int]
    """`sample`, `origin`, `d50_um`, `d90_um`, as far as there."""
    phases: tuple[PhaseColumn, ...]
    oxides: tuple[OxideColumn, ...]

    @property
    def has_sizes(self) -> bool:
        """True when any row may have sizes of its own."""
        return "d50_um" in self.plain

    def numeric_places(self) -> tuple[int, ...]:
        """Places of all columns that hold numbers."""
        sizes = [place for name, place in self.plain.items() if name in ("d50_um", "d90_um")]
        return (*sizes, *(c.place for c in self.phases), *(c.place for c in self.oxides))


def read_columns(headings: Sequence[str], file: str) -> TableColumns:
    """The meaning of every heading of a table.

    Parameters
    ----------
    headings : sequence of str
        As written. [-]
    file : str
        Base name of the table, for messages. [-]

    Returns
    -------
    TableColumns
        What each column holds. [-]

    Raises
    ------
    InputError
        For a heading twice, one that a run would add, an unknown mineral or group word, a
        mineral twice by two names, a heading a letter from a known one, no phase and no oxide.
    """
    plain: dict[str, int] = {}
    phases: list[PhaseColumn] = []
    oxides: list[OxideColumn] = []
    if len(headings) > MOST_COLUMNS:
        problem = f"has {len(headings)} columns, more than {MOST_COLUMNS}"
        raise InputError(problem, file=file, row=1, remedy="Leave out what the run need not carry")
    _refuse_clashes(headings, file)
    for place, heading in enumerate(headings):
        key = heading_key(heading)
        if key in PLAIN:
            plain[key] = place
            continue
        match = _PHASE.fullmatch(heading.strip())
        if match:
            basis = f"{match['basis'].lower()}_pct"
            phases.append(PhaseColumn(place, _phase(match["name"], heading, file), basis))
            continue
        oxide = oxide_heading(heading)
        if oxide is not None and heading_key(heading) != heading_key(oxide.name):
            oxides.append(OxideColumn(place, oxide))
            continue
        _refuse_slips(heading, file)
    _refuse_twins(phases, headings, file)
    _refuse_irons(oxides, headings, file)
    if not phases and not oxides:
        problem = "has neither a column such as quartz_mass_pct nor one such as Fe2O3_wt_pct"
        raise InputError(problem, file=file, row=1, remedy=_without_unit(headings))
    if "d90_um" in plain and "d50_um" not in plain:
        problem = "d90_um is given without d50_um"
        raise InputError(problem, file=file, row=1, column="d90_um", remedy="Add d50_um")
    return TableColumns(file, tuple(headings), plain, tuple(phases), tuple(oxides))


def _without_unit(headings: Sequence[str]) -> str:
    """What to write where a name stands without its unit, empty when none does."""
    for heading in headings[:MOST_COLUMNS]:
        if oxide_heading(heading) is not None:
            return f"{shown(heading)} needs its unit, as in {label(heading)}_wt_pct"
        word = heading_key(heading[:_LONGEST_NAME]).removesuffix("%").removesuffix("_pct")
        try:
            resolve_mineral(word)
        except FeedcharError:
            continue
        return f"{shown(heading)} needs its unit, as in {label(word.strip('_'))}_mass_pct"
    return ""


def _phase(word: str, heading: str, file: str) -> str:
    if plain_word(word) == UNIDENTIFIED:
        return UNIDENTIFIED
    try:
        return resolve_mineral(word)
    except UnknownNameError as error:
        raise InputError(str(error), file=file, row=1, column=label(heading)) from None


def _refuse_clashes(headings: Sequence[str], file: str) -> None:
    added = {heading_key(name): name for name in ADDED}
    seen: dict[str, str] = {}
    for heading in headings:
        key = heading_key(heading)
        if key in added:
            problem = f"{shown(heading)} is the name of a column that this run adds"
            raise InputError(
                problem, file=file, row=1, column=label(heading), remedy="Rename yours"
            )
        if key in seen:
            problem = f"{shown(heading)} stands twice" if key else "a column has no heading"
            raise InputError(
                problem, file=file, row=1, column=label(heading), remedy="Name each once"
            )
        seen[key] = heading


def _refuse_twins(phases: Sequence[PhaseColumn], headings: Sequence[str], file: str) -> None:
    seen: dict[tuple[str, str], PhaseColumn] = {}
    for column in phases:
        key = (column.phase, column.basis)
        if key in seen:
            first, second = headings[seen[key].place], headings[column.place]
            problem = f"{shown(second)} is {column.phase}, as is {shown(first)}"
            remedy = "One column a mineral: add them up, or keep the one you trust"
            raise InputError(problem, file=file, row=1, column=label(second), remedy=remedy)
        seen[key] = column


def _refuse_slips(heading: str, file: str) -> None:
    """A column that is left alone must not look like one that was meant to be used."""
    weight = _WEIGHT.fullmatch(heading.strip())
    if weight is not None:
        try:
            phase = resolve_mineral(weight["name"])
        except UnknownNameError:
            phase = ""
        if phase:
            basis = "volume" if "vol" in heading.lower() else "mass"
            problem = f"{shown(heading)} names a mineral without the words of the contract"
            remedy = f'Name it "{phase}_{basis}_pct"'
            raise InputError(problem, file=file, row=1, column=label(heading), remedy=remedy)
    oxide = oxide_heading(heading)
    if oxide is not None and (oxide.name in OXIDES or oxide.name in IRON):
        problem = f"{shown(heading)} has no unit"
        remedy = f'Name it "{oxide.name}_wt_pct"'
        raise InputError(problem, file=file, row=1, column=label(heading), remedy=remedy)
    near = nearest_oxide(heading) if "_" in heading.strip() else None
    near = near or nearest(heading, PLAIN)
    if near is not None:
        problem = f"the column {shown(heading)} is not known"
        remedy = f'Did you mean "{near}"?'
        raise InputError(problem, file=file, row=1, column=label(heading), remedy=remedy)


def _refuse_irons(oxides: Sequence[OxideColumn], headings: Sequence[str], file: str) -> None:
    irons = [column for column in oxides if column.heading.name in IRON]
    if len(irons) > 1 or any(column.heading.name in IRON_PARTS for column in irons):
        names = " and ".join(headings[column.place] for column in irons)
        problem = f"{names} state iron in parts or more than once"
        remedy = "Keep one column with all iron, such as Fe2O3_wt_pct"
        raise InputError(problem, file=file, row=1, column=headings[irons[-1].place], remedy=remedy)
    seen: set[str] = set()
    for column in oxides:
        if column.heading.name in seen:
            problem = f"{column.heading.name} stands in two columns"
            heading = headings[column.place]
            raise InputError(problem, file=file, row=1, column=label(heading), remedy="Keep one")
        seen.add(column.heading.name)
