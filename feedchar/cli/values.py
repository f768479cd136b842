"""How the values of options are read; argparse alone."""

from __future__ import annotations

import argparse
import re

_NUMBER = re.compile(r"[0-9]{1,9}(\.[0-9]{1,9})?|\.[0-9]{1,9}", re.ASCII)
_WINDOW = re.compile(r"([0-9]{1,6}(?:\.[0-9]{1,6})?)-([0-9]{1,6}(?:\.[0-9]{1,6})?)", re.ASCII)


def number(text: str) -> float:
    """A plain number, 0 or more.

    Parameters
    ----------
    text : str
        As typed: digits, at most one point. [-]

    Returns
    -------
    float
        Its value. [any]

    Raises
    ------
    argparse.ArgumentTypeError
        For a decimal comma, a sign, an exponent, or anything else.
    """
    if _NUMBER.fullmatch(text):
        return float(text)
    hint = (
        f", such as {text.replace(',', '.')}" if _NUMBER.fullmatch(text.replace(",", ".")) else ""
    )
    message = f"must be a plain number with a decimal point{hint}; found {text!r}"
    raise argparse.ArgumentTypeError(message)


def positive(text: str) -> float:
    """A plain number above 0.

    Parameters
    ----------
    text : str
        As typed. [-]

    Returns
    -------
    float
        Its value. [any]

    Raises
    ------
    argparse.ArgumentTypeError
        When it is no number, or 0.
    """
    value = number(text)
    if value <= 0:
        message = f"must be above 0; found {text!r}"
        raise argparse.ArgumentTypeError(message)
    return value


def per_pass(text: str) -> tuple[float, ...]:
    """Plain numbers above 0, one a pass, with a slash between them.

    Parameters
    ----------
    text : str
        One number, or as many as there are passes, such as 1.5/1.0. [-]

    Returns
    -------
    tuple of float
        Their values; a comma is not taken, since 1,5 may be one number or two. [any]

    Raises
    ------
    argparse.ArgumentTypeError
        When one of them is no number above 0.
    """
    return tuple(positive(part.strip()) for part in text.split("/"))


def chance(text: str) -> float:
    """A chance from 0 to 1.

    Parameters
    ----------
    text : str
        As typed. [-]

    Returns
    -------
    float
        The chance. [-]

    Raises
    ------
    argparse.ArgumentTypeError
        When it is no number from 0 to 1.
    """
    value = number(text)
    if value > 1:
        message = f"must be a chance from 0 to 1, such as 0.9; found {text!r}"
        raise argparse.ArgumentTypeError(message)
    return value


def percent(text: str) -> float:
    """A percentage above 0, up to 100.

    Parameters
    ----------
    text : str
        As typed. [-]

    Returns
    -------
    float
        The percentage. [%]

    Raises
    ------
    argparse.ArgumentTypeError
        When it is no number above 0, or above 100.
    """
    value = positive(text)
    if value > 100:
        message = f"must be at most 100 %; found {text!r}"
        raise argparse.ArgumentTypeError(message)
    return value


def whole(least: int, most: int) -> _Whole:
    """Reader of whole numbers between two ends.

    Parameters
    ----------
    least, most : int
        Ends, both allowed. [-]

    Returns
    -------
    callable
        Text to int. [-]
    """
    return _Whole(least, most)


class _Whole:
    """Reads a whole number; a class, so that argparse shows a readable name."""

    def __init__(self, least: int, most: int) -> None:
        self.least, self.most = least, most

    def __call__(self, text: str) -> int:
        if re.fullmatch(r"[0-9]{1,18}", text, re.ASCII) and self.least <= int(text) <= self.most:
            return int(text)
        message = f"must be a whole number from {self.least} to {self.most}; found {text!r}"
        raise argparse.ArgumentTypeError(message)


def size_window(text: str) -> tuple[float, float]:
    """A size window such as 100-500.

    Parameters
    ----------
    text : str
        Two sizes with a hyphen between them, in either order. [µm]

    Returns
    -------
    tuple of float
        Retained on, passing. [µm]

    Raises
    ------
    argparse.ArgumentTypeError
        When it is no window, or an empty one.
    """
    match = _WINDOW.fullmatch(text)
    if match is None:
        message = f"must be two sizes in micrometres, such as 100-500; found {text!r}"
        raise argparse.ArgumentTypeError(message)
    low, high = sorted((float(match[1]), float(match[2])))
    if low == high:
        message = f"must be two different sizes; found {text!r}"
        raise argparse.ArgumentTypeError(message)
    return low, high
