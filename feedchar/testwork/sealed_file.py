"""Readable TOML that tells when it was changed: a format, a version, and a checksum at the end."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable
from pathlib import Path
from typing import Any

from feedchar.errors import InputError
from feedchar.sample.decode import decode, read_bytes
from feedchar.sample.plain_toml import plain_toml
from feedchar.sample.shown import file_label, shown

MOST_BYTES = 4_000_000
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
        data = plain_toml(text)
    except ValueError:
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


def _digest(body: str) -> str:
    return hashlib.sha256(body.rstrip("\n").encode()).hexdigest()
