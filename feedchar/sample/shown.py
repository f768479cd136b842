"""Names and cells from a file as a message may show them.

Every control and direction character is escaped, and what is too long is cut.
"""

from __future__ import annotations

from pathlib import Path

_LONGEST_FILE_NAME = 255
"""A name on the usual file systems. [-]"""
SHOWN_MAX_CHARACTERS = 60
"""Most of a cell or name that a message repeats. [-]"""


def label(text: str, limit: int = SHOWN_MAX_CHARACTERS) -> str:
    """A name as a message may show it without quotes: control characters escaped, cut.

    Parameters
    ----------
    text : str
        Heading, key, sheet or file name. [-]
    limit : int
        Most characters of it. [-]

    Returns
    -------
    str
        Printable text. [-]
    """
    return "".join(
        c if c.isprintable() else c.encode("unicode_escape").decode("ascii") for c in text[:limit]
    )


def file_label(path: Path) -> str:
    """Base name of a file as a message may show it.

    Parameters
    ----------
    path : Path
        File. [-]

    Returns
    -------
    str
        Printable text, cut only where no file system holds so long a name. [-]
    """
    return label(path.name, limit=_LONGEST_FILE_NAME)


def shown(value: object) -> str:
    """A value as a message may show it: quoted, escaped, cut.

    Parameters
    ----------
    value : object
        What was found in a cell. [-]

    Returns
    -------
    str
        At most 60 characters of it between double quotes. [-]
    """
    text = str(value)
    safe = label(text)
    return f'"{safe}..."' if len(text) > SHOWN_MAX_CHARACTERS else f'"{safe}"'
