"""TOML of any origin as data: what would cost far more than its size is refused unread."""

from __future__ import annotations

import re
import tomllib
from typing import Any

DEEPEST = 50
"""Brackets inside brackets, or parts of a dotted key, beyond which no file of ours goes."""

_BRACKETS = re.compile(rf"(?:[\[{{][^\[\]{{}}]*){{{DEEPEST}}}")
# The parser's time and memory grow with the square of the parts of a dotted key. Each part is
# taken whole and begins where no other does, so that this search stays linear itself.
_PART = r"""(?:(?<![A-Za-z0-9_-])[A-Za-z0-9_-]++|"[^"\n]*+"|'[^'\n]*+')"""
_DOTTED = re.compile(rf"{_PART}(?:[ \t]*+\.[ \t]*+{_PART}){{{DEEPEST}}}")


def plain_toml(text: str) -> dict[str, Any]:
    """Values of a TOML text.

    Parameters
    ----------
    text : str
        Decoded text. [-]

    Returns
    -------
    dict
        As the standard library reads it. [-]

    Raises
    ------
    ValueError
        For text that is not TOML, that nests too deeply, or a number of thousands of digits; it
        says where when the standard library does.
    """
    if _BRACKETS.search(text) or _DOTTED.search(text):
        message = "nested too deeply"
        raise ValueError(message)
    try:
        return tomllib.loads(text)
    except RecursionError:
        message = "nested too deeply"
        raise ValueError(message) from None
    except tomllib.TOMLDecodeError:
        raise
    except ValueError:  # Python's own limit, in words about Python
        message = "a number of thousands of digits"
        raise ValueError(message) from None
