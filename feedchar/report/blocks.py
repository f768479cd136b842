"""What a finding is made of: words and tables, before any medium gives them a look."""

from __future__ import annotations

from dataclasses import dataclass

SEVERITIES = {"stop": ("STOP", "bad"), "warning": ("!", "doubtful"), "note": ("-", "quiet")}
"""Mark and role of a note by its severity, the gravest first."""


@dataclass(frozen=True)
class Words:
    """One paragraph."""

    text: str
    role: str = "plain"
    """plain | quiet | strong | good | doubtful | bad | removable | stays: never the only
    carrier of the meaning."""
    mark: str = ""
    """Label in front, with the text hanging behind it: a number, a severity."""


@dataclass(frozen=True)
class Column:
    """A column of a table."""

    heading: str
    kind: str = "words"
    """words | number | bar. Numbers are never wrapped or cut; a bar cell is a share from 0 to 1
    and always repeats a number that stands beside it."""
    optional: bool = False
    """May be left out where the page is narrow; the document has it in any case."""


@dataclass(frozen=True)
class Row:
    """A row of a table, one cell a column."""

    cells: tuple[str | float, ...]
    role: str = "plain"


@dataclass(frozen=True)
class Table:
    """A table with units in its headings."""

    columns: tuple[Column, ...]
    rows: tuple[Row, ...]


Part = Words | Table


@dataclass(frozen=True)
class Block:
    """One question of the report and its answer."""

    key: str
    """Stable name, such as `answer`; a renderer may choose by it."""
    heading: str
    parts: tuple[Part, ...]
    subtitle: str = ""


@dataclass(frozen=True)
class Findings:
    """A whole report, in the order in which it is read."""

    title: str
    basis: str
    """What the answer rests on, shown beside the title."""
    blocks: tuple[Block, ...]
    facts: str = ""
    """What is said of the bag, below the title."""
