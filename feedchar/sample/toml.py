"""sample.toml to entries, each with the line it stands in."""

from __future__ import annotations

import re
from datetime import date
from typing import Any

from feedchar.errors import InputError
from feedchar.sample.plain_toml import plain_toml
from feedchar.sample.records import Place
from feedchar.sample.settings import Entry
from feedchar.sample.shown import label, shown

_KEY = r"""(?:[A-Za-z0-9_-]+|"[^"\n]*"|'[^'\n]*')"""
_HEADER = re.compile(rf"\s*\[\s*({_KEY}(?:\s*\.\s*{_KEY})*)\s*\]")
_PAIR = re.compile(rf"\s*({_KEY}(?:\s*\.\s*{_KEY})*)\s*=")
MOST_CHARACTERS = 1_000_000
"""Settings of a sample take a page; each key of a longer text would be looked at. [-]"""


def parse_toml(text: str, name: str) -> list[Entry]:
    """Entries of a TOML text, in reading order.

    Parameters
    ----------
    text : str
        Decoded text, lines ended by a newline. [-]
    name : str
        Base name for messages. [-]

    Returns
    -------
    list of Entry
        Section "" stands for keys above all sections. [-]

    Raises
    ------
    InputError
        For text that is not TOML, and for lists or tables where one value belongs.
    """
    if len(text) > MOST_CHARACTERS:
        problem = f"holds {len(text)} characters, more than the {MOST_CHARACTERS} that are read"
        raise InputError(problem, file=name, remedy="Settings of a sample take a page")
    try:
        data = plain_toml(text)
    except ValueError as error:
        raise _not_toml(error, text, name) from None
    lines = _lines(text)
    entries = []
    for key, value in data.items():
        if isinstance(value, dict):
            entries += [_entry(key, inner, v, name, lines) for inner, v in value.items()]
        else:
            entries.append(_entry("", key, value, name, lines))
    return entries


def _entry(section: str, key: str, value: Any, name: str, lines: dict[str, int]) -> Entry:
    path = f"{section}.{key}" if section else key
    place = Place(name, lines.get(path), label(path))
    if isinstance(value, bool | str) or value is None:
        return Entry(section, key, value, place)
    if isinstance(value, int | float):
        try:
            return Entry(section, key, float(value), place)
        except OverflowError:
            value = "a number too large"
    if isinstance(value, date):
        return Entry(section, key, value, place)
    if isinstance(value, list):
        kind = "a list"
    elif isinstance(value, dict):
        kind = "a section inside a section"
    else:
        kind = str(value)
    problem = f"{shown(key)} is {kind}; one value belongs here"
    raise InputError(
        problem,
        file=name,
        row=place.row,
        column=place.column,
    )


def _lines(text: str) -> dict[str, int]:
    """Line of each key; a text of several lines may add wrong ones, never hide right ones."""
    found: dict[str, int] = {}
    section = ""
    for number, line in enumerate(text.split("\n"), start=1):
        header, pair = _HEADER.match(line), _PAIR.match(line)
        if header is not None:
            section = _plain(header[1])
        elif pair is not None:
            key = _plain(pair[1])
            found.setdefault(f"{section}.{key}" if section else key, number)
    return found


def _plain(dotted: str) -> str:
    return ".".join(part.strip("\"'") for part in re.findall(_KEY, dotted))


def _not_toml(error: Exception, text: str, name: str) -> InputError:
    message = str(error)
    row = None
    match = re.search(r"\(at line (\d+), column \d+\)", message)
    if match is not None:
        row = int(match[1])
    elif "at end of document" in message:
        row = text.count("\n") + 1
    line = text.split("\n")[row - 1].strip() if row else ""
    remedy = "Texts stand in quotes, numbers with a point"
    if re.search(r"=\s*\d+,\d+\s*(#|$)", line):
        remedy = "A decimal comma? Numbers have a point"
    elif re.search(r"=\s*<", line):
        remedy = 'Write a limit in quotes: "<0.01"'
    cause = re.sub(r"\s*\(at .*\)", "", message)[:80]
    found = f": {shown(line)}" if line else ""
    return InputError(f"is not TOML ({cause}){found}", file=name, row=row, remedy=remedy)
