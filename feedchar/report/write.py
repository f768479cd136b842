"""Writing a file so that it is the old one or the whole new one, and never one that was read."""

from __future__ import annotations

import os
import secrets
from collections.abc import Iterable
from pathlib import Path

from feedchar.errors import OutputError
from feedchar.report.words import name


def check_target(path: str, *, force: bool = False, read_paths: Iterable[str] = ()) -> Path:
    """Refuse a path that must not be written, before any long calculation.

    Parameters
    ----------
    path : str
        Where the user wants the file. [-]
    force : bool
        Whether an existing file may be replaced. [-]
    read_paths : iterable of str
        Files that were read; none of them is ever written. [-]

    Returns
    -------
    Path
        The file to write, symbolic links followed. [-]

    Raises
    ------
    OutputError
        When the path is a folder, a device or pipe, was read, exists and `force` is not given,
        or lies in a folder that does not exist.
    """
    problem = _problem(path, force, read_paths)
    if problem:
        message = f"{name(path)} {problem}"
        raise OutputError(message)
    return Path(path).resolve()


def write_file(
    path: str, content: str | bytes, *, force: bool = False, read_paths: Iterable[str] = ()
) -> Path:
    """Write a whole file or nothing.

    The content goes to a new file in the same folder, is flushed to the disk, and then takes the
    name in one step. Without `force` the name is taken only if nobody else has it by then.

    Parameters
    ----------
    path : str
        Where the user wants the file. [-]
    content : str or bytes
        What it holds; text is written as UTF-8 with plain line ends. [-]
    force : bool
        Whether an existing file may be replaced. [-]
    read_paths : iterable of str
        Files that were read; none of them is ever written. [-]

    Returns
    -------
    Path
        The file written. [-]

    Raises
    ------
    OutputError
        When the path must not or cannot be written; an older file is then still whole.
    """
    target = check_target(path, force=force, read_paths=read_paths)
    data = content.encode() if isinstance(content, str) else content
    waiting = target.parent / f".feedchar-{secrets.token_hex(8)}.part"
    try:
        try:
            fill(waiting, data)
            if force:
                waiting.replace(target)
            else:
                take_free_name(waiting, target)
        finally:
            waiting.unlink(missing_ok=True)
        flush_folder(target.parent)
    except FileExistsError as fault:
        message = f"{name(path)} was made by somebody else meanwhile. Give another name"
        raise OutputError(message) from fault
    except OSError as fault:
        message = f"{name(path)} cannot be written: {_reason(fault)}"
        raise OutputError(message) from fault
    return target


def _problem(path: str, force: bool, read_paths: Iterable[str]) -> str:
    """Why the path must not be written; empty when it may."""
    if not path or "\x00" in path:
        return "is no file name"
    try:
        asked = Path(path)
        target = asked.resolve()
        if target.is_dir():
            return "is a folder. Give the name of a file in it"
        if any(_same_file(target, Path(read)) for read in read_paths):
            return "was read as input and is never written. Give another name"
        if target.exists() and not target.is_file():
            return "is a device or a pipe, not a file. For standard output give -"
        if (asked.is_symlink() or target.exists()) and not force:
            return "exists. Give another name, or --force to replace it"
        if not target.parent.is_dir():
            return "lies in a folder that does not exist. Make the folder first"
    except (OSError, RuntimeError) as fault:
        return f"cannot be written: {_reason(fault)}"
    return ""


def fill(waiting: Path, data: bytes) -> None:
    """Write a new file and flush it to the disk; the mode is what the user's mask allows.

    Parameters
    ----------
    waiting : Path
        It must not exist. [-]
    data : bytes
        What it holds. [-]
    """
    descriptor = os.open(waiting, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o666)
    with os.fdopen(descriptor, "wb") as file:
        file.write(data)
        file.flush()
        os.fsync(file.fileno())


def take_free_name(waiting: Path, target: Path) -> None:
    """Give a finished file its name, unless somebody has it.

    Parameters
    ----------
    waiting : Path
        The finished file; it may stay under this name too. [-]
    target : Path
        The name. [-]

    Raises
    ------
    FileExistsError
        When the name is taken.
    """
    try:
        target.hardlink_to(waiting)
    except FileExistsError:
        raise
    except OSError:  # a file system without hard links: hold the name, then replace the holder
        os.close(os.open(target, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o666))
        waiting.replace(target)


def flush_folder(folder: Path) -> None:
    """Put the names in a folder on the disk too, where the system can.

    Parameters
    ----------
    folder : Path
        Where names were made or changed. [-]
    """
    if not hasattr(os, "O_DIRECTORY"):
        return
    descriptor = os.open(folder, os.O_RDONLY | os.O_DIRECTORY)
    try:
        os.fsync(descriptor)
    except OSError:
        pass  # some network file systems refuse; the content itself is safe by now
    finally:
        os.close(descriptor)


def _same_file(target: Path, read: Path) -> bool:
    try:
        return target == read.resolve() or target.samefile(read)
    except (OSError, ValueError):  # nothing that could be read
        return False


def _reason(fault: Exception) -> str:
    if isinstance(fault, OSError) and fault.strerror:
        return fault.strerror.lower()
    return str(fault)
