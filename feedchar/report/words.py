"""How numbers, chances and names from files are put into words, once for every medium.

A number and its unit are joined by a no-break space, so that no renderer parts them.
"""

from __future__ import annotations

import re
import unicodedata
from math import floor, log10

NO_BREAK = "\u00a0"
ELLIPSIS = "\u2026"
DASH = "-"
"""Shown where a value is undefined."""

NAME_LENGTH = 48
"""Longest name from a file that a report shows in full."""

LIKELY_FROM, UNLIKELY_TO = 0.90, 0.10
"""The word of a chance changes exactly where the status of an answer does."""


_MEASURED = re.compile(r"(?<=[0-9]) (?=(?:%|sd|ppm|wt|um|\u00b5m|mm|m|m/s|T|kG|kg|g|h|C)\b|%)")
_COUNTED = re.compile(r"(?<=[0-9]) in (?=100\b)")


def number(value: float, unit: str = "") -> str:
    """Number of about three significant digits, never in exponent form between 1e-4 and 1e6.

    Parameters
    ----------
    value : float
        The number. [any]
    unit : str
        Unit put behind it, empty for none. [-]

    Returns
    -------
    str
        Text such as "0.31 T". [-]
    """
    if value == 0:
        text = "0"
    elif 1e-4 <= abs(value) < 1e6:
        decimals = max(0, 1 - floor(log10(abs(value))))
        text = f"{value:.{decimals}f}" if abs(value) < 10 else f"{value:.0f}"
    else:
        text = f"{value:.2e}"
    return f"{text}{NO_BREAK}{unit}" if unit else text


def weight(value: float | None) -> str:
    """Weight per cent, two significant digits below 0.1 and three above; never zero.

    Parameters
    ----------
    value : float or None
        Content. [wt %]

    Returns
    -------
    str
        Text without the unit; "<0.00001" below what can be told, "-" when undefined. [-]
    """
    if value is None:
        return DASH
    if value < 5e-6:
        return "<0.00001"
    if value >= 10:
        return f"{value:.1f}"
    if value >= 1:
        return f"{value:.2f}"
    decimals = 3 if value >= 0.0995 else 1 - floor(log10(value))
    return f"{value:.{decimals}f}"


def share(value: float | None) -> str:
    """Share in per cent with one decimal; a small share is never shown as zero.

    Parameters
    ----------
    value : float or None
        Share. [%]

    Returns
    -------
    str
        Text without the unit, "-" when undefined. [-]
    """
    if value is None:
        return DASH
    if 0 < value < 0.05:
        return "<0.1"
    return f"{value + 0.0:.1f}"


def count(value: float | None) -> str:
    """Number of grains to two significant digits; none is never claimed.

    Parameters
    ----------
    value : float or None
        Expected number. [-]

    Returns
    -------
    str
        Text such as "210", "<1" for less than one, "-" when undefined. [-]
    """
    if value is None:
        return DASH
    if value < 0.95:
        return "<1"
    step = 10 ** max(0, floor(log10(value)) - 1)
    return f"{round(value / step) * step:.0f}"


def spread(low: str, high: str) -> str:
    """Range in words that no renderer parts.

    Parameters
    ----------
    low, high : str
        Formatted ends. [-]

    Returns
    -------
    str
        "low to high", one end where both look alike, "-" when an end is undefined. [-]
    """
    if DASH in (low, high):
        return DASH
    if low == high:
        return low
    return NO_BREAK.join((low, "to", high))


def chance_word(chance: float) -> str:
    """Word of a chance; no word says certain.

    Parameters
    ----------
    chance : float
        Chance from 0 to 1. [-]

    Returns
    -------
    str
        likely (from 0.90), unlikely (to 0.10), or open. [-]

    References
    ----------
    common practice, no source.
    """
    if chance >= LIKELY_FROM:
        return "likely"
    return "unlikely" if chance <= UNLIKELY_TO else "open"


def chance_number(chance: float) -> str:
    """Chance as cases in 100; more decimals where rounding would contradict its word.

    Parameters
    ----------
    chance : float
        Chance from 0 to 1. [-]

    Returns
    -------
    str
        Text such as "7 in 100"; never 0 or 100 in 100. [-]
    """
    if chance < 0.01:
        text = "<1"
    elif chance > 0.99:
        text = ">99"
    else:
        for decimals in range(5):
            text = f"{100 * chance:.{decimals}f}"
            if chance_word(float(text) / 100) == chance_word(chance):
                break
    return f"{text} in 100".replace(" ", NO_BREAK)


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
    return tied.replace(f"{NO_BREAK}um", f"{NO_BREAK}\u00b5m")


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
