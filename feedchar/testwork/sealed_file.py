"""Readable TOML that tells when it was changed: a format, a version, and a checksum at the end."""

from __future__ import annotations

import hashlib
import tomllib
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import Any

from feedchar.errors import InputError
from feedchar.sample.decode import decode, read_bytes
from feedchar.sample.names import file_label, shown

MOST_BYTES = 4_000_000
A_LINE = 8
"""Numbers in a line of a list. [-]"""
_END = "\n[end]\n"


def sealed(lines: Iterable[str]) -> str:
    """Lines with the checksum of all of them below.

    Parameters
    ----------
    lines : iterable of str
        TOML without a table `end`. [-]

    Returns
    -------
    str
        Text of the file. [-]

    References
    ----------
    FIPS 180-4 for SHA-256 (from memory).
    """
    body = "\n".join(lines)
    return f'{body}\n{_END}sha256 = "{_digest(body)}"\n'


def unsealed(path: str, form: str, version: int, what: str, remedy: str) -> dict[str, Any]:
    """Content of a sealed file.

    Parameters
    ----------
    path : str
        Where it is. [-]
    form : str
        Format that it must say. [-]
    version : int
        Version that is read. [-]
    what : str
        What it is, for messages. [-]
    remedy : str
        What to do about a file that cannot be used. [-]

    Returns
    -------
    dict
        As TOML has it. [-]

    Raises
    ------
    InputError
        No such file, another format or version, or a file that was changed or cut.

    References
    ----------
    Definition.
    """
    place = Path(path)
    label = file_label(place)
    text = decode(read_bytes(place, MOST_BYTES), label)
    try:
        data = tomllib.loads(text)
    except (ValueError, RecursionError):
        problem = f"is no {what}, or was cut: it is not TOML"
        raise InputError(problem, file=label, remedy=remedy) from None
    if data.get("format") != form:
        problem = f"is no {what}: format is {shown(str(data.get('format', 'not said')))}"
        raise InputError(problem, file=label, remedy=f'A {what} says format = "{form}"')
    if type(data.get("version")) is not int or data["version"] != version:
        found = shown(str(data.get("version", "not said")))
        problem = f"is of version {found}; this feedchar reads version {version}"
        raise InputError(problem, file=label, remedy=remedy)
    body, mark, _ = text.partition(_END)
    stated = data.get("end")
    if not mark or not isinstance(stated, dict) or stated.get("sha256") != _digest(body):
        problem = "was changed or cut: its checksum does not fit"
        raise InputError(problem, file=label, remedy=remedy)
    return data


def damaged(path: str, what: str, remedy: str) -> InputError:
    """The error for a file whose checksum fits and whose content does not.

    Parameters
    ----------
    path : str
        Where it is. [-]
    what : str
        What it is. [-]
    remedy : str
        What to do. [-]

    Returns
    -------
    InputError
        To be raised. [-]

    References
    ----------
    Definition.
    """
    problem = f"lacks what a {what} holds, or holds it in another form"
    return InputError(problem, file=file_label(Path(path)), remedy=remedy)


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


def _digest(body: str) -> str:
    return hashlib.sha256(body.rstrip("\n").encode()).hexdigest()
