"""Findings as text for a terminal, a pipe or a file: the only door to rich.

Rich decides what a stream can do (NO_COLOR, FORCE_COLOR, TTY_COMPATIBLE, dumb terminals) and
writes the styles; what stands in which line is settled before, by `layout`.
"""

from __future__ import annotations

import os
from dataclasses import dataclass
from io import StringIO
from typing import Literal, TextIO

from feedchar.report.blocks import Block, Findings, Words
from feedchar.report.layout import tabulated
from feedchar.report.lines import Line, Piece, cells, wrapped
from feedchar.report.words import NO_BREAK

ColourSystem = Literal["standard", "256", "truecolor"]

PIPE_WIDTH = 80
NARROWEST = 20
WIDEST_WORDS = 100
"""Longer lines of prose are hard to read; tables may use the whole width."""
SHORT_MARK = 3
"""Marks up to this length hang in front of their paragraph."""

STYLES = {
    "strong": "bold",
    "title": "bold",
    "heading": "",
    "good": "bold #009E73",
    "bad": "bold #D55E00",
    "doubtful": "bold",
    "removable": "#0072B2",
    "stays": "#D55E00",
}
"""By role, from the colour-blind-safe palette of Okabe and Ito (2008), from memory. Every role is
also said in words or by a sign."""

_ASCII = {
    "\u00b5": "u",
    "\u00b0": " deg ",
    "\u00b2": "2",
    "\u00b3": "3",
    "\u00b1": "+-",
    "\u00d7": "x",
    "\u00b7": ".",
    "\u2013": "-",
    "\u2014": "-",
    "\u2018": "'",
    "\u2019": "'",
    "\u2026": "...",
    "\u2192": "->",
    "\u2264": "<=",
    "\u2265": ">=",
    "\u2588": "#",
    "\u258c": "",
    "\u2500": "-",
    "\u207b": "-",
    "\u03c7": "chi",
}


@dataclass(frozen=True)
class Screen:
    """What a stream can show."""

    width: int = PIPE_WIDTH
    colour: ColourSystem | None = None
    styled: bool = False
    """Whether bold may be used."""
    unicode: bool = True


def screen_of(stream: TextIO) -> Screen:
    """What this stream can show.

    Parameters
    ----------
    stream : text stream
        Where the report will go. [-]

    Returns
    -------
    Screen
        80 columns and no style for a pipe or a file; COLUMNS overrules the width. [-]
    """
    from rich.console import Console

    console = Console(file=stream)
    live = console.is_terminal and not console.is_dumb_terminal
    colour = console.color_system if live and not console.no_color else None
    width = console.width if stream.isatty() else PIPE_WIDTH
    columns = os.environ.get("COLUMNS", "")
    if columns.isascii() and columns.isdigit() and len(columns) < 6:
        width = int(columns)
    known: dict[str, ColourSystem] = {
        "standard": "standard", "256": "256", "truecolor": "truecolor"
    }  # fmt: skip
    return Screen(
        width=max(NARROWEST, width),
        colour=known.get(colour or ""),
        styled=live,
        unicode=_shows_unicode(stream),
    )


def render(findings: Findings, screen: Screen) -> str:
    """The report as text.

    Parameters
    ----------
    findings : Findings
        What to say. [-]
    screen : Screen
        What can be shown. [-]

    Returns
    -------
    str
        Lines with escape codes for style where the screen takes them. [-]
    """
    lines = _title(findings, screen)
    for block in findings.blocks:
        lines += [(), *_block(block, screen)]
    return _painted([_said(line, screen) for line in lines], screen)


def _shows_unicode(stream: TextIO) -> bool:
    locale = os.environ.get("LC_ALL") or os.environ.get("LC_CTYPE") or os.environ.get("LANG") or ""
    if locale in ("C", "POSIX"):
        return False
    return (getattr(stream, "encoding", None) or "").lower().replace("-", "") == "utf8"


def _plain_text(text: str, screen: Screen) -> str:
    """The text in what the screen can show; what has no ASCII word becomes an escape."""
    if screen.unicode or text.isascii():
        return text
    kept = "".join(_ASCII.get(character, character) for character in text)
    kept = kept.replace(NO_BREAK + " deg ", NO_BREAK + "deg ")
    return "".join(
        character
        if character.isascii() or character == NO_BREAK
        else character.encode("ascii", "backslashreplace").decode()
        for character in kept
    )


def _said(line: Line, screen: Screen) -> Line:
    return tuple(Piece(_plain_text(piece.text, screen), piece.role) for piece in line)


def _title(findings: Findings, screen: Screen) -> list[Line]:
    title = _plain_text(findings.title, screen)
    rule = ("\u2550" if screen.unicode else "=") * screen.width
    lines: list[Line]
    if cells(title) + 4 + cells(findings.basis) <= screen.width:
        blank = " " * (screen.width - cells(title) - cells(findings.basis))
        lines = [(Piece(title, "title"), Piece(blank + findings.basis))]
    else:
        lines = [(Piece(part, "title"),) for part in wrapped(title, screen.width)]
        lines += [(Piece(part),) for part in wrapped(findings.basis, screen.width)]
    if findings.facts:
        facts = _plain_text(findings.facts, screen)
        lines += [(Piece(part),) for part in wrapped(facts, min(screen.width, WIDEST_WORDS))]
    return [*lines, (Piece(rule),)]


def _block(block: Block, screen: Screen) -> list[Line]:
    heading = _plain_text(block.heading, screen)
    subtitle = _plain_text(block.subtitle, screen)
    lines: list[Line] = []
    if cells(heading) + 2 + cells(subtitle) <= screen.width:
        lines.append((Piece(heading, "strong"), Piece(f"  {subtitle}" if subtitle else "")))
    else:
        lines.append((Piece(heading, "strong"),))
        lines += [(Piece(f"  {part}"),) for part in wrapped(subtitle, screen.width - 2)]
    room = screen.width - 2
    for place, part in enumerate(block.parts):
        if isinstance(part, Words):
            inner = _paragraph(part, min(room, WIDEST_WORDS), screen)
        else:
            if place and screen.width >= PIPE_WIDTH:
                lines.append(())
            full, half = ("\u2588", "\u258c") if screen.unicode else ("#", "")
            inner = tabulated(part, room, full, half)
        lines += [(Piece("  "), *line) for line in inner]
    return lines


def _paragraph(words: Words, width: int, screen: Screen) -> list[Line]:
    text = _plain_text(words.text, screen)
    if not words.mark:
        return [(Piece(part, words.role),) for part in wrapped(text, width)]
    mark = _plain_text(words.mark, screen)
    short = len(mark) <= SHORT_MARK
    head = mark + (" " * (1 if short else 2))
    hang = len(head) if short else 2
    parts = wrapped(text, width - hang, first=cells(head) - hang)
    lines: list[Line] = [(Piece(head, "strong"), Piece(parts[0], words.role))]
    lines += [(Piece(" " * hang + part, words.role),) for part in parts[1:]]
    return lines


def _painted(lines: list[Line], screen: Screen) -> str:
    from rich.console import Console
    from rich.text import Text

    page = StringIO()
    console = Console(
        file=page,
        width=screen.width,
        force_terminal=screen.styled,
        color_system=screen.colour,
        no_color=screen.colour is None,
        highlight=False,
        markup=False,
        emoji=False,
        legacy_windows=False,
    )
    for line in lines:
        text = Text(no_wrap=True, overflow="ignore", end="")
        for piece in line:
            text.append(piece.text.replace(NO_BREAK, " "), STYLES.get(piece.role, ""))
        text.rstrip()
        console.print(text, soft_wrap=True)
    return page.getvalue()
