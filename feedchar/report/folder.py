"""Writing a folder of files so that it is the old one or the whole new one."""

from __future__ import annotations

import secrets
import shutil
from collections.abc import Iterable, Mapping
from pathlib import Path

from feedchar.errors import OutputError
from feedchar.report.swap import exchange
from feedchar.report.words import name
from feedchar.report.write import fill, flush_folder


def check_folder(path: str, *, force: bool = False, read_paths: Iterable[str] = ()) -> Path:
    """Refuse a folder that must not be written, before any long calculation.

    Parameters
    ----------
    path : str
        Where the user wants the folder. [-]
    force : bool
        Whether a folder that holds nothing but tables may be replaced. [-]
    read_paths : iterable of str
        Files that were read; no folder that holds one of them is ever replaced. [-]

    Returns
    -------
    Path
        The folder to write, symbolic links followed. [-]

    Raises
    ------
    OutputError
        When the path is a file, holds a file that was read or anything but tables, exists and
        `force` is not given, or lies in a folder that does not exist.
    """
    problem = _problem(path, force, read_paths)
    if problem:
        message = f"{name(path)} {problem}"
        raise OutputError(message)
    return Path(path).resolve()


def write_folder(
    path: str,
    contents: Mapping[str, str],
    *,
    force: bool = False,
    read_paths: Iterable[str] = (),
) -> Path:
    """Write a whole folder or nothing.

    The files go to a new folder beside it and are flushed to the disk; then it takes the name in
    one step, exchanging it with an older folder, which is removed last. Where the system cannot
    exchange names the older one is put aside first, for a moment under a name ending in `.old`.

    Parameters
    ----------
    path : str
        Where the user wants the folder. [-]
    contents : mapping of str to str
        Text of each file by its base name, or by its path inside the folder. [-]
    force : bool
        Whether a folder of tables may be replaced. [-]
    read_paths : iterable of str
        Files that were read. [-]

    Returns
    -------
    Path
        The folder written. [-]

    Raises
    ------
    OutputError
        When the folder must not or cannot be written; an older one is then still whole.
    """
    target = check_folder(path, force=force, read_paths=read_paths)
    waiting = target.parent / f".feedchar-{secrets.token_hex(8)}.part"
    try:
        try:
            waiting.mkdir()
            for base_name, text in contents.items():
                place = waiting / base_name
                place.parent.mkdir(parents=True, exist_ok=True)
                fill(place, text.encode())
            for folder in {(waiting / base_name).parent for base_name in contents} | {waiting}:
                flush_folder(folder)
            _take_name(waiting, target)
        finally:
            shutil.rmtree(waiting, ignore_errors=True)
        flush_folder(target.parent)
    except OSError as fault:
        message = f"{name(path)} cannot be written: {(fault.strerror or str(fault)).lower()}"
        raise OutputError(message) from fault
    return target


def _take_name(waiting: Path, target: Path) -> None:
    """Give the finished folder its name; what had it before is `waiting` afterwards, or gone."""
    if not target.exists():
        waiting.rename(target)
        return
    if exchange(waiting, target):
        return
    aside = waiting.with_suffix(".old")
    target.rename(aside)
    try:
        waiting.rename(target)
    except BaseException:
        aside.rename(target)
        raise
    shutil.rmtree(aside, ignore_errors=True)


def _problem(path: str, force: bool, read_paths: Iterable[str]) -> str:
    """Why the folder must not be written; empty when it may."""
    if not path or "\x00" in path:
        return "is no folder name"
    try:
        target = Path(path).resolve()
        if target.exists() and not target.is_dir():
            return "is a file. Give the name of a folder"
        if not target.parent.is_dir():
            return "lies in a folder that does not exist. Make that first"
        if Path(path).is_symlink() and not force:
            return "exists. Give another name, or --force to replace it"
        if not target.exists():
            return ""
        read = [Path(place).resolve() for place in read_paths]
        if any(place.is_relative_to(target) for place in read):
            return "holds files that were read as input and is never replaced. Give another name"
        if not force:
            return "exists. Give another name, or --force to replace it"
        if any(not entry.is_file() or entry.suffix != ".csv" for entry in target.iterdir()):
            return "holds more than tables and is not replaced. Give another name"
    except (OSError, RuntimeError) as fault:
        reason = fault.strerror if isinstance(fault, OSError) and fault.strerror else str(fault)
        return f"cannot be written: {reason.lower()}"
    return ""
