"""Numbers and chances as a reader is told them, once for every medium.

A number and its unit are joined by a no-break space, so that no renderer parts them.
"""

from __future__ import annotations

from math import floor, log10

from feedchar.report.words import NO_BREAK
from feedchar.uncertainty.summary import LIKELY_FROM, UNLIKELY_TO

DASH = "-"
"""Shown where a value is undefined."""


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
