"""One result on its way to a reader: blocks, pictures and tables, before any medium.

Page, workbook and folder are made of a `Report` alone, so every command sends on the same way.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

from feedchar.report.blocks import Findings, Table

Value = str | float | int | bool | None

CUSTOMER = "customer"
"""Key of the pictures on the first side."""


@dataclass(frozen=True)
class Picture:
    """One picture in words."""

    name: str
    """Unique in a report, letters only; the parts of the drawing are named after it."""
    title: str
    caption: str
    """What to see."""
    table: Table
    """The same for those who cannot see it."""


@dataclass(frozen=True)
class Drawn:
    """A picture with its drawing."""

    words: Picture
    draw: Callable[[], str]
    """SVG element; called when a page needs it."""


@dataclass(frozen=True)
class Tidy:
    """One table of data: a row a thing, names of fields with units as headings."""

    headings: tuple[str, ...]
    rows: tuple[tuple[Value, ...], ...]


@dataclass(frozen=True)
class LineChart:
    """Columns of a tidy table against its first one."""

    table: str
    title: str
    across: str
    up: str
    level: float | None = None
    """A value that is drawn through, such as a limit."""
    level_heading: str = ""
    columns: tuple[str, ...] = ()
    """Headings of the columns that are drawn; empty: all but the first."""
    logarithmic: bool = False


@dataclass(frozen=True)
class BarChart:
    """Bars of the table of a picture, on a sheet of their own."""

    sheet: str
    words: Picture
    unit: str
    parts: bool = False
    """Whether the first column of numbers is a total and the others are its parts, to be stacked;
    else only the first is drawn."""


@dataclass(frozen=True)
class Card:
    """A label to cut out: for a bag, a beaker, a drawer."""

    title: str
    lines: tuple[str, ...]


@dataclass(frozen=True)
class Slider:
    """One thing that the reader may change."""

    key: str
    label: str
    values: tuple[str, ...]
    """As shown, with unit."""
    start: int
    """Place nearest to the setting that was assessed."""


@dataclass(frozen=True)
class Panel:
    """Sliders, a table of every combination, and the same as data of the page."""

    sliders: tuple[Slider, ...]
    table: Table
    data: str
    """JSON that may stand inside a script element."""
    words: str
    """What the numbers rest on."""


@dataclass(frozen=True)
class Report:
    """Everything that is sent on of one result."""

    findings: Findings
    """The engineer's pages."""
    made_from: str
    """Last line of the first side: files, trials, seed."""
    tables: Mapping[str, Tidy]
    """By name, in the order in which one reads them: sheets of the workbook, files of the
    folder."""
    customer: Findings | None = None
    """One side for the customer: a block of labelled sentences."""
    drawings: Mapping[str, tuple[Drawn, ...]] = field(default_factory=dict)
    """By key of the block below which they stand; see `CUSTOMER`."""
    charts: tuple[LineChart | BarChart, ...] = ()
    panel: Panel | None = None
    panel_after: str = ""
    """Key of the block behind which the panel stands."""
    own_side: frozenset[str] = frozenset()
    """Keys of blocks that begin a new side when printed."""
    labels: tuple[Card, ...] = ()
    """Printed on sides of their own, with lines to cut along; a sheet of the workbook."""
