"""A folder, or a sample.toml with CSV files beside it; nothing outside the folder is read."""

from __future__ import annotations

from pathlib import Path, PurePosixPath, PureWindowsPath

from feedchar.errors import InputError
from feedchar.sample.decode import decode
from feedchar.sample.gathered import SPECS, Gathered
from feedchar.sample.names import fold, nearest
from feedchar.sample.records import Note, Place
from feedchar.sample.settings import Entry
from feedchar.sample.shown import file_label, shown
from feedchar.sample.toml import parse_toml

SAMPLE_FILE = "sample.toml"
OTHERS_KNOWN = {"rolls.csv"}
"""Tables of other parts of feedchar that may lie in the folder."""

ENTRIES_MAX = 10_000
"""Most files of a folder that are looked through. [-]"""


def gather_folder(folder: Path, sample_file: Path | None = None) -> Gathered:
    """Keys and tables of a folder.

    Parameters
    ----------
    folder : Path
        Folder of one sample. [-]
    sample_file : Path or None
        The TOML file to use, `sample.toml` when not given. [-]

    Returns
    -------
    Gathered
        As written. [-]

    Raises
    ------
    InputError
        For an empty folder, a file named almost like a table, and a file or symbolic link that
        leaves the folder.
    """
    found = _listing(folder)
    gathered = Gathered(folder.resolve().name)
    toml = sample_file or found.pop(SAMPLE_FILE, None)
    if toml is not None:
        _check_inside(toml, folder, Place(file_label(toml)))
        gathered.entries = parse_toml(
            decode(gathered.take(toml), file_label(toml)), file_label(toml)
        )
    elsewhere = {
        entry.key.strip().casefold(): _named(entry, folder)
        for entry in gathered.entries
        if entry.section == "files" and entry.cell not in (None, "")
    }
    for stem in SPECS:
        beside = found.pop(f"{stem}.csv", None)
        path = elsewhere.get(stem, beside)
        if path is None:
            continue
        if beside is not None and path is not beside:
            text = f"{file_label(beside)} is not read: [files] names another file"
            gathered.notes.append(Note("file-not-read", text))
        _check_inside(path, folder, Place(file_label(path)))
        gathered.take_table(stem, path)
    if toml is None and not gathered.tables:
        problem = "the folder holds neither sample.toml nor a table"
        raise InputError(
            problem,
            file=file_label(folder),
            remedy="`feedchar new` writes a template",
        )
    for name in sorted(found):
        if name.endswith(".csv") and name not in OTHERS_KNOWN:
            taken = any(found[name] == path for path in elsewhere.values())
            if not taken:
                text = f"{file_label(found[name])} is not a table that feedchar reads"
                gathered.notes.append(Note("file-not-read", text))
    return gathered


def _listing(folder: Path) -> dict[str, Path]:
    """Files by folded name; a name almost right is refused."""
    try:
        names = sorted(path.name for path in folder.iterdir())
    except OSError as error:
        reason = error.strerror or "no access"
        problem = f"the folder cannot be read: {reason}"
        raise InputError(problem, file=file_label(folder)) from None
    if len(names) > ENTRIES_MAX:
        problem = f"the folder holds more than {ENTRIES_MAX} files"
        raise InputError(problem, file=file_label(folder))
    known = [SAMPLE_FILE, *(f"{stem}.csv" for stem in SPECS)]
    found: dict[str, Path] = {}
    for name in names:
        key = fold(name)
        if not key.endswith((".csv", ".toml")):
            continue
        if key in found and key in known:
            problem = f"{shown(found[key].name)} and {shown(name)} are both there"
            raise InputError(
                problem,
                file=file_label(folder),
                remedy="Keep one",
            )
        found[key] = folder / name
        near = nearest(key, known)
        if key not in known and near is not None and near != key and near not in map(fold, names):
            problem = f"the file {shown(name)} is not one that feedchar reads"
            raise InputError(
                problem,
                file=file_label(folder),
                remedy=f'Did you mean "{near}"?',
            )
    return found


def _named(entry: Entry, folder: Path) -> Path:
    """File that [files] names, inside the folder."""
    text = entry.cell
    place = entry.place
    error = InputError(
        f"{shown(text)} is not a file inside this folder",
        file=place.file,
        row=place.row,
        column=place.column,
        remedy="Give a name in this folder, or in a folder below it",
    )
    if not isinstance(text, str) or not text.strip() or "\x00" in text:
        raise error
    posix, windows = PurePosixPath(text), PureWindowsPath(text)
    if posix.is_absolute() or windows.is_absolute() or windows.drive:
        raise error
    if ".." in posix.parts or ".." in windows.parts or text.startswith("~"):
        raise error
    path = folder / posix
    _check_inside(path, folder, place)
    if not path.is_file():
        raise error
    return path


def _check_inside(path: Path, folder: Path, place: Place) -> None:
    try:
        inside = path.resolve().is_relative_to(folder.resolve())
    except (OSError, RuntimeError, ValueError):
        inside = False
    if not inside:
        problem = f"{shown(path.name)} leads out of the folder"
        raise InputError(
            problem,
            file=place.file,
            row=place.row,
            column=place.column,
            remedy="Copy the file into the folder: links that leave it are not followed",
        )
