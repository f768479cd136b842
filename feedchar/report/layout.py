"""Setting a table into lines of a given width; no colour, no terminal.

A cell of a number column is never wrapped or cut. Where a table does not fit, or its labels would
wrap, it loses its optional columns; where it still does not fit its labels stand above their rows,
and at last each cell has a line of its own.
"""

from __future__ import annotations

from collections.abc import Sequence

from feedchar.report.blocks import Column, Row, Table
from feedchar.report.lines import Line, Piece, cells, wrapped
from feedchar.report.words import NO_BREAK

GAP = 2
"""Spaces between columns."""
NARROWEST_WORDS = 12
"""A column of words is not squeezed below this, unless all its cells are shorter."""
BAR_SHORTEST, BAR_LONGEST = 8, 24


def tabulated(table: Table, width: int, full: str, half: str) -> list[Line]:
    """A table in lines.

    Parameters
    ----------
    table : Table
        The table. [-]
    width : int
        Room for it. [columns]
    full, half : str
        Characters of a bar and of its half step; `half` may be empty. [-]

    Returns
    -------
    list of Line
        Heading and rows, or a paragraph a row where the table cannot fit. [-]
    """
    kept = list(range(len(table.columns)))
    while True:
        widths = _fit(table, kept, width)
        optional = [place for place in kept if table.columns[place].optional]
        if widths is not None and (not optional or widths[0] >= _longest(_labels(table))):
            return _grid(table, kept, widths, full, half)
        if not optional:
            return _raised(table, kept, width, full, half) or _stacked(table, width)
        kept.remove(optional[-1])


def _text(cell: str | float) -> str:
    return cell if isinstance(cell, str) else ""


def _heading(column: Column, width: int) -> str:
    """The heading, its unit kept together where the column is wide enough for that."""
    kept = column.heading.replace(" %", f"{NO_BREAK}%")
    return kept if _longest(kept.split(" ")) <= width else column.heading


def _labels(table: Table) -> list[str]:
    return [_text(row.cells[0]) for row in table.rows]


def _longest(words: Sequence[str]) -> int:
    return max((cells(word) for word in words), default=0)


def _fit(table: Table, kept: list[int], width: int) -> list[int] | None:
    """Width of each kept column; None when the table does not fit."""
    least, wanted = [], []
    for place in kept:
        column = table.columns[place]
        heading = _longest(column.heading.split(" "))
        content = _longest([_text(row.cells[place]) for row in table.rows])
        if column.kind == "bar":
            least.append(BAR_SHORTEST)
            wanted.append(BAR_LONGEST)
        elif column.kind == "number":
            least.append(max(heading, content))
            wanted.append(max(cells(column.heading), content))
        else:
            words = [word for row in table.rows for word in _text(row.cells[place]).split(" ")]
            unbroken = max(_longest(words), heading)
            least.append(max(unbroken, min(content, NARROWEST_WORDS)))
            wanted.append(max(unbroken, content))
    room = width - GAP * (len(kept) - 1)
    if sum(least) > room:
        return None
    spare = room - sum(least)
    for kind in ("words", "number", "bar"):
        for index, place in enumerate(kept):
            if table.columns[place].kind == kind:
                more = min(spare, wanted[index] - least[index])
                least[index] += more
                spare -= more
    return least


def _grid(table: Table, kept: list[int], widths: list[int], full: str, half: str) -> list[Line]:
    columns = [table.columns[place] for place in kept]
    lines: list[Line] = []
    if any(column.heading for column in columns):
        heads = [
            wrapped(_heading(column, width), width)
            for column, width in zip(columns, widths, strict=True)
        ]
        lines += _across(columns, widths, heads, ["heading"] * len(columns), at_foot=True)
    for row in table.rows:
        texts: list[list[str]] = []
        roles: list[str] = []
        for index, place in enumerate(kept):
            cell = row.cells[place]
            if columns[index].kind == "bar":
                texts.append([_bar(float(cell), widths[index], full, half)])
            else:
                room = widths[index] if columns[index].kind == "words" else len(_text(cell))
                texts.append(wrapped(_text(cell), room))
            roles.append(row.role if index == 0 or columns[index].kind == "bar" else "plain")
        lines += _across(columns, widths, texts, roles)
    return lines


def _raised(table: Table, kept: list[int], width: int, full: str, half: str) -> list[Line]:
    """Each label on a line above its row; nothing when that does not fit either."""
    others = kept[1:]
    widths = _fit(table, others, width - GAP)
    if widths is None:
        return []
    inner = _grid(table, others, widths, full, half)
    blank = Piece(" " * GAP)
    heading = len(inner) - sum(_height(table, row, others, widths) for row in table.rows)
    lines: list[Line] = [(blank, *line) for line in inner[:heading]]
    for row in table.rows:
        lines += [(Piece(text, row.role),) for text in wrapped(_text(row.cells[0]), width)]
        below = heading + _height(table, row, others, widths)
        lines += [(blank, *line) for line in inner[heading:below]]
        heading = below
    return lines


def _height(table: Table, row: Row, kept: list[int], widths: list[int]) -> int:
    """Lines that a row takes: that of its longest cell of words."""
    heights = [1]
    for width, place in zip(widths, kept, strict=True):
        if table.columns[place].kind == "words":
            heights.append(len(wrapped(_text(row.cells[place]), width)))
    return max(heights)


def _across(
    columns: list[Column],
    widths: list[int],
    texts: list[list[str]],
    roles: list[str],
    at_foot: bool = False,
) -> list[Line]:
    """Cells side by side, short ones padded at the head or at the foot."""
    height = max(len(text) for text in texts)
    lines: list[Line] = []
    for level in range(height):
        pieces: list[Piece] = []
        for index, column in enumerate(columns):
            offset = height - len(texts[index]) if at_foot else 0
            inside = 0 <= level - offset < len(texts[index])
            text = texts[index][level - offset] if inside else ""
            blank = " " * (widths[index] - cells(text))
            text = blank + text if column.kind == "number" else text + blank
            pieces.append(Piece(text + " " * GAP, roles[index]))
        lines.append(_trimmed(pieces))
    return lines


def _trimmed(pieces: list[Piece]) -> Line:
    """Without spaces at the end of the line."""
    while pieces and not pieces[-1].text.strip():
        pieces.pop()
    if pieces:
        pieces[-1] = Piece(pieces[-1].text.rstrip(), pieces[-1].role)
    return tuple(pieces)


def _stacked(table: Table, width: int) -> list[Line]:
    """Each row a small list, for the narrowest pages."""
    lines: list[Line] = []
    for row in table.rows:
        for index, (column, cell) in enumerate(zip(table.columns, row.cells, strict=True)):
            if column.kind == "bar" or not _text(cell):
                continue
            if index == 0:
                lines += [(Piece(text, row.role),) for text in wrapped(_text(cell), width)]
                continue
            text = f"{column.heading}: {_text(cell)}" if column.heading else _text(cell)
            lines += [(Piece("  " + part),) for part in wrapped(text, max(1, width - 2))]
    return lines


def _bar(part: float, width: int, full: str, half: str) -> str:
    """A bar that shows a small part as something and never more than the whole."""
    halves = round(2 * width * min(max(part, 0.0), 1.0))
    if part > 0 and halves == 0:
        halves = 1
    if not half:
        return full * ((halves + 1) // 2)
    return full * (halves // 2) + (half if halves % 2 else "")
