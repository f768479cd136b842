"""Words set into lines of a width; only plain spaces break, so numbers keep their units."""

from __future__ import annotations

import unicodedata
from dataclasses import dataclass

from feedchar.report.words import NO_BREAK


@dataclass(frozen=True)
class Piece:
    """A stretch of a line with one role."""

    text: str
    role: str = "plain"


Line = tuple[Piece, ...]


def cells(text: str) -> int:
    """Width of a text on a terminal.

    Parameters
    ----------
    text : str
        The text. [-]

    Returns
    -------
    int
        Wide East Asian characters count two, combining marks none. [columns]
    """
    if text.isascii():
        return len(text)
    return sum(
        0
        if unicodedata.combining(character)
        else 2
        if unicodedata.east_asian_width(character) in "WF"
        else 1
        for character in text
    )


def wrapped(text: str, width: int, first: int = 0) -> list[str]:
    """A paragraph in lines, broken at plain spaces only.

    Parameters
    ----------
    text : str
        The paragraph. [-]
    width : int
        Longest line; a longer word stands alone and sticks out. [columns]
    first : int
        Columns already taken in the first line. [columns]

    Returns
    -------
    list of str
        At least one line; no-break spaces have become plain ones. [-]
    """
    lines: list[str] = [""]
    room = width - first
    for word in text.split(" "):
        joined = f"{lines[-1]} {word}" if lines[-1] else word
        started = bool(lines[-1]) or (len(lines) == 1 and first > 0)
        if started and cells(joined) > room:
            lines.append(word)
            room = width
        else:
            lines[-1] = joined
    return [line.replace(NO_BREAK, " ") for line in lines]
