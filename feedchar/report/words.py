"""How names and sentences from elsewhere are shown, once for every medium.

A number and its unit are joined by a no-break space, so that no renderer parts them.
"""

from __future__ import annotations

import re
import unicodedata

NO_BREAK = "\u00a0"
ELLIPSIS = "\u2026"

NAME_LENGTH = 48
"""Longest name from a file that a report shows in full."""

FORM_WORDS = {
    "free": "free grains",
    "joined": "joined grains",
    "inclusion": "inclusions",
    "stain": "stain",
    "inside": "inside crystals",
    "not found": "unseen",
}
"""How the forms of iron are told, in the order in which they are told."""


_MEASURED = re.compile(r"(?<=[0-9]) (?=(?:%|sd|ppm|wt|um|\u00b5m|mm|m|m/s|T|kG|kg|g|t/h|h|C)\b|%)")
_DEGREES = re.compile(rf"(?<=[0-9]{NO_BREAK})C\b")
_COUNTED = re.compile(r"(?<=[0-9]) in (?=100\b)")


def visible(text: str) -> str:
    """Text from a file with everything that could steer a terminal made visible.

    Parameters
    ----------
    text : str
        Any text. [-]

    Returns
    -------
    str
        Control, format, bidirectional, surrogate and unassigned characters, and every space but
        the plain one, as backslash escapes. [-]
    """
    return "".join(_shown(character) for character in text)


def capital_first(text: str) -> str:
    """A sentence with its first letter large; names and units behind it stay as they are.

    Parameters
    ----------
    text : str
        Any text. [-]

    Returns
    -------
    str
        The same, begun with a capital. [-]
    """
    return text[:1].upper() + text[1:]


def prose(text: str) -> str:
    """Sentence from elsewhere, made visible, with its numbers tied to their units.

    Parameters
    ----------
    text : str
        Any text. [-]

    Returns
    -------
    str
        The same with no-break spaces behind numbers that have a unit. [-]
    """
    tied = _COUNTED.sub(f"{NO_BREAK}in{NO_BREAK}", _MEASURED.sub(NO_BREAK, visible(text)))
    return _DEGREES.sub("\u00b0C", tied.replace(f"{NO_BREAK}um", f"{NO_BREAK}\u00b5m"))


def name(text: str, longest: int = NAME_LENGTH) -> str:
    """Name from a file, made visible and shortened.

    Parameters
    ----------
    text : str
        The name. [-]
    longest : int
        Longest text returned. [characters]

    Returns
    -------
    str
        The name, its end replaced by an ellipsis when too long. [-]
    """
    shown = visible(text[: 4 * longest])
    if len(shown) <= longest:
        return shown
    return shown[: longest - 1].rstrip("\\ ") + ELLIPSIS


def listing(names: tuple[str, ...] | list[str], most: int = 3) -> str:
    """Names in a row, the rest counted.

    Parameters
    ----------
    names : sequence of str
        Names, most important first. [-]
    most : int
        How many are shown. [-]

    Returns
    -------
    str
        "a, b, c and 2 more". [-]
    """
    shown = [name(text) for text in names[:most]]
    if len(names) > most:
        return f"{', '.join(shown)} and {len(names) - most}{NO_BREAK}more"
    return ", ".join(shown)


def _shown(character: str) -> str:
    if character == " " or character == NO_BREAK:
        return character
    category = unicodedata.category(character)
    if category[0] in "CZ":
        code = ord(character)
        if character == "\n":
            return "\\n"
        if code < 0x100:
            return f"\\x{code:02x}"
        return f"\\u{code:04x}" if code < 0x10000 else f"\\U{code:08x}"
    return character
