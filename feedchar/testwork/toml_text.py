"""Strings and numbers as TOML writes them."""

from __future__ import annotations

from collections.abc import Sequence

A_LINE = 8
"""Numbers in a line of a list. [-]"""


def toml_string(value: str) -> str:
    """A TOML string of any text; what cannot be seen is escaped.

    Parameters
    ----------
    value : str
        Any text. [-]

    Returns
    -------
    str
        In double quotes. [-]

    References
    ----------
    TOML 1.0 (from memory).
    """
    parts = []
    for character in value:
        code = ord(character)
        if character in '"\\':
            parts.append("\\" + character)
        elif 0xD800 <= code <= 0xDFFF:
            parts.append("\\uFFFD")
        elif character.isprintable():
            parts.append(character)
        else:
            parts.append(f"\\U{code:08X}")
    return f'"{"".join(parts)}"'


def toml_number(value: float) -> str:
    """A TOML float of 6 significant digits.

    Parameters
    ----------
    value : float
        Finite. [any]

    Returns
    -------
    str
        With a point or an exponent. [-]

    References
    ----------
    TOML 1.0 (from memory).
    """
    text = f"{float(value):.6g}"
    return text if "." in text or "e" in text else f"{text}.0"


def toml_numbers(name: str, values: Sequence[float]) -> list[str]:
    """A list of floats, broken into lines.

    Parameters
    ----------
    name : str
        Its key. [-]
    values : sequence of float
        Finite. [any]

    Returns
    -------
    list of str
        Lines. [-]

    References
    ----------
    TOML 1.0 (from memory).
    """
    texts = [toml_number(value) for value in values]
    if len(texts) <= A_LINE:
        return [f"{name} = [{', '.join(texts)}]"]
    rows = [texts[start : start + A_LINE] for start in range(0, len(texts), A_LINE)]
    return [f"{name} = [", *(f"  {', '.join(row)}," for row in rows), "]"]
