"""What the columns of a table are: name, kind, unit, range, and what they mean.

One declaration serves the reader, the messages and the explanations of a template. An unknown
column a letter or two from a known one is refused; any other is kept and noted.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from feedchar.errors import InputError
from feedchar.sample.names import NAME_MAX_CHARACTERS, heading_key, nearest
from feedchar.sample.oxides import OxideHeading, nearest_oxide, oxide_heading
from feedchar.sample.shown import label, shown
from feedchar.sample.table import Table

OWN_REMARKS = {"note", "notes", "comment", "comments", "remark", "remarks", "description"}
"""Columns of a person's own remarks: kept without a question."""


@dataclass(frozen=True)
class Column:
    """One column of a table, or one key of a section."""

    name: str
    help: str
    kind: str = "text"
    """text | choice | number | amount (a number, `<0.5` or `tr`) | count | size | size or pan |
    yes or no | date"""
    unit: str = ""
    low: float = float("-inf")
    high: float = float("inf")
    above: bool = False
    """True when the low end itself is not allowed."""
    choices: Mapping[str, str] = field(default_factory=dict)
    """Folded word to the word that is kept, for `choice`."""
    needed: bool = False
    """The column must stand in the heading, and its cells must not be blank."""
    may_wait: bool = False
    """A cell of a needed column may be blank: what it holds is not measured yet."""
    longest: int = NAME_MAX_CHARACTERS

    @property
    def percent(self) -> bool:
        """True where `5%` may stand for 5."""
        return self.unit in ("%", "wt %")

    @property
    def is_number(self) -> bool:
        """True where a decimal mark counts."""
        return self.kind in ("number", "amount", "count", "size", "size or pan")


@dataclass(frozen=True)
class TableSpec:
    """One table: its file (or sheet) stem and its columns."""

    stem: str
    help: str
    columns: tuple[Column, ...]
    oxides: str = ""
    """"" | values | values and sd: whether columns of oxides may stand in it."""
    one_of: tuple[str, ...] = ()
    """At least one of these must stand in the heading (an oxide's column counts as `oxide`)."""

    def column(self, name: str) -> Column:
        """The column of a name."""
        return next(column for column in self.columns if column.name == name)

    def understood(self, heading: list[str]) -> int:
        """How many headings of a list are known."""
        return sum(
            self.find(head) is not None or self.find_oxide(head) is not None for head in heading
        )

    def find(self, heading: str) -> Column | None:
        """The column that a heading names, None when unknown."""
        key = heading_key(heading)
        return next((c for c in self.columns if heading_key(c.name) == key), None)

    def find_oxide(self, heading: str) -> OxideHeading | None:
        """The oxide that a heading names, None when it is none or none may stand."""
        if not self.oxides:
            return None
        return oxide_heading(heading, with_sd=self.oxides == "values and sd")


@dataclass(frozen=True)
class Matched:
    """Headings of a table by position."""

    columns: Mapping[int, Column]
    oxides: Mapping[int, OxideHeading]
    extra: Mapping[int, str]


def choices(*words: str, **also: str) -> dict[str, str]:
    """Words that may stand in a column, with spellings that count as one of them.

    Parameters
    ----------
    *words : str
        Words kept as they are. [-]
    **also : str
        For a word with underscores for spaces and hyphens: its other spellings, separated
        by semicolons. [-]

    Returns
    -------
    dict
        Spelling, folded, to word. [-]
    """
    table = {heading_key(word): word for word in words}
    for word, spellings in also.items():
        table.update({heading_key(s): table[word] for s in spellings.split(";")})
    return table


def match_headings(table: Table, spec: TableSpec) -> Matched:
    """Which column each heading is.

    Parameters
    ----------
    table : Table
        As written. [-]
    spec : TableSpec
        What it may hold. [-]

    Returns
    -------
    Matched
        Columns, oxides and extra headings by position. [-]

    Raises
    ------
    InputError
        For a heading close to a known one, an iron column that does not say what it is, and a
        column that must be there and is not.
    """
    columns: dict[int, Column] = {}
    oxides: dict[int, OxideHeading] = {}
    extra: dict[int, str] = {}
    for index, heading in enumerate(table.heading):
        if not heading:
            continue
        column, oxide = spec.find(heading), spec.find_oxide(heading)
        if column is not None:
            columns[index] = column
        elif oxide is not None:
            oxides[index] = oxide
        else:
            _check_extra(table, spec, heading)
            extra[index] = heading
    _check_needed(table, spec, columns, oxides)
    return Matched(columns, oxides, extra)


def _check_extra(table: Table, spec: TableSpec, heading: str) -> None:
    if heading_key(heading) in OWN_REMARKS:
        return
    near = nearest(heading, [column.name for column in spec.columns])
    if near is None and spec.oxides:
        near = nearest_oxide(heading)
    if near is not None:
        problem = f"the heading {shown(heading)} is not known"
        raise InputError(
            problem,
            file=table.name,
            row=table.heading_row,
            column=label(heading),
            remedy=f'Did you mean "{near}"? A column of your own needs a name less like it',
        )
    looks_like_iron = re.match(r"(?i)\s*(total )?fe(2o3|o)?([ _(\[-]|t\b|tot|$)", heading)
    if looks_like_iron and spec.oxides + "".join(c.name for c in spec.columns if "Fe" in c.name):
        problem = f"the heading {shown(heading)} seems to be iron, but does not say in which form"
        raise InputError(
            problem,
            file=table.name,
            row=table.heading_row,
            column=label(heading),
            remedy="Fe, FeO and Fe2O3 are told apart by name; the columns are listed by "
            "`feedchar new`",
        )


def _heading_remedy(heading: Sequence[str]) -> str:
    keys = [heading_key(cell) for cell in heading]
    if "sample" in keys and any(key.endswith(("_mass_pct", "_volume_pct")) for key in keys):
        return "A table with a sample in each row is for feedchar batch"
    return "The first row is the heading, in one row"


def _check_needed(
    table: Table,
    spec: TableSpec,
    columns: Mapping[int, Column],
    oxides: Mapping[int, OxideHeading],
) -> None:
    present = {column.name for column in columns.values()} | ({"oxide"} if oxides else set())
    first = ", ".join(table.heading)
    for column in spec.columns:
        if column.needed and column.name not in present:
            problem = f'the heading has no column "{column.name}"; found {shown(first)}'
            raise InputError(
                problem,
                file=table.name,
                row=table.heading_row,
                remedy=_heading_remedy(table.heading),
            )
    if spec.one_of and not present & set(spec.one_of):
        problem = f"the heading has none of {', '.join(spec.one_of)}; found {shown(first)}"
        raise InputError(
            problem,
            file=table.name,
            row=table.heading_row,
            remedy="Name the column of amounts by one of them: mass_pct is per cent by mass",
        )
