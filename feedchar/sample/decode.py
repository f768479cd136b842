"""Bytes of a file to text: UTF-8 with or without its mark, anything else refused by name."""

from __future__ import annotations

import hashlib
from pathlib import Path

from feedchar.errors import InputError
from feedchar.sample.records import SourceFile
from feedchar.sample.shown import file_label, shown

FILE_MAX_BYTES = 20_000_000
"""Largest CSV or TOML file that is read. [B]"""

_MARKS = {
    b"\xff\xfe\x00\x00": "UTF-32, little endian",
    b"\x00\x00\xfe\xff": "UTF-32, big endian",
    b"\xff\xfe": "UTF-16, little endian",
    b"\xfe\xff": "UTF-16, big endian",
}
_SAVE_AS = 'Save it again as "CSV UTF-8", or as UTF-8 in a text editor'


def read_bytes(path: Path, max_bytes: int = FILE_MAX_BYTES) -> bytes:
    """All bytes of a regular file below a size.

    Parameters
    ----------
    path : Path
        File to read. [-]
    max_bytes : int
        Largest size taken. [B]

    Returns
    -------
    bytes
        Its content. [-]

    Raises
    ------
    InputError
        When it is missing, not a regular file (a pipe, a device, a folder), unreadable or too
        large.
    """
    name = file_label(path)
    try:
        if not path.exists():
            problem = "there is no such file"
            raise InputError(problem, file=name)
        if not path.is_file():
            problem = "is not a regular file"
            raise InputError(problem, file=name, remedy="Give a file on disk")
        if path.stat().st_size > max_bytes:
            problem = f"is larger than {max_bytes / 1e6:.0f} MB"
            raise InputError(
                problem,
                file=name,
                remedy="A sample is a few tables of a few hundred rows",
            )
        return path.read_bytes()
    except (OSError, ValueError) as error:
        reason = error.strerror if isinstance(error, OSError) and error.strerror else "bad name"
        problem = f"cannot be read: {reason}"
        raise InputError(problem, file=name) from error


def source_file(path: Path, data: bytes) -> SourceFile:
    """Name and checksum of a file that was read.

    Parameters
    ----------
    path : Path
        Where it was read. [-]
    data : bytes
        What was read. [-]

    Returns
    -------
    SourceFile
        Base name and SHA-256. [-]
    """
    return SourceFile(path.name, hashlib.sha256(data).hexdigest())


def decode(data: bytes, name: str) -> str:
    """Text of a UTF-8 file, line ends made one newline each.

    Parameters
    ----------
    data : bytes
        Content of the file. [-]
    name : str
        Base name for messages. [-]

    Returns
    -------
    str
        The text without byte-order mark. [-]

    Raises
    ------
    InputError
        For an empty file, UTF-16 or UTF-32, bytes of another encoding (the first is named, with
        its row), and NUL.
    """
    for mark, encoding in _MARKS.items():
        if data.startswith(mark):
            first = " ".join(f"{byte:02X}" for byte in mark)
            problem = f"is encoded as {encoding} (it begins with the bytes {first})"
            raise InputError(
                problem,
                file=name,
                remedy=_SAVE_AS,
            )
    body = data.removeprefix(b"\xef\xbb\xbf")
    if not body.strip():
        problem = "is empty"
        raise InputError(problem, file=name, remedy="It needs a heading and rows")
    nul = body.find(b"\x00")
    if nul >= 0:
        _refuse_nul(body, nul, name)
    try:
        text = body.decode("utf-8")
    except UnicodeDecodeError as error:
        byte = body[error.start]
        windows = bytes([byte]).decode("cp1252", errors="replace")
        guess = f"; in Windows-1252 it would be {shown(windows)}" if windows != "\ufffd" else ""
        problem = f"byte 0x{byte:02X} is not UTF-8{guess}"
        raise InputError(
            problem,
            file=name,
            row=_row_of(body, error.start),
            remedy=_SAVE_AS,
        ) from None
    return text.replace("\r\n", "\n").replace("\r", "\n")


def _row_of(body: bytes, position: int) -> int:
    before = body[:position].replace(b"\r\n", b"\n").replace(b"\r", b"\n")
    return before.count(b"\n") + 1


def _refuse_nul(body: bytes, position: int, name: str) -> None:
    head = body[:2000]
    odd, even = head[1::2].count(0), head[0::2].count(0)
    if max(odd, even) > 0.3 * len(head) / 2:
        order = "little endian" if odd > even else "big endian"
        problem = f"looks like UTF-16, {order}, without a mark (byte 0x00 at {position})"
        raise InputError(problem, file=name, remedy=_SAVE_AS)
    problem = f"holds byte 0x00 (NUL) at position {position}: it is not a text file"
    raise InputError(
        problem,
        file=name,
        row=_row_of(body, position),
        remedy=_SAVE_AS,
    )
