"""Writing a template sample: a folder of tables, or one workbook with the same content."""

from __future__ import annotations

import csv
import io
import os
import re
import secrets
import shutil
import zipfile
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from feedchar.errors import OutputError
from feedchar.sample.gathered import SPECS
from feedchar.sample.shown import shown
from feedchar.sample.template_content import (
    INVENTED,
    TABLES,
    Cells,
    column_lines,
    columns_text,
    settings_rows,
    toml_text,
)

if TYPE_CHECKING:
    from openpyxl import Workbook

WORKBOOK_NAME = "sample.xlsx"
_EPOCH = (1980, 1, 1, 0, 0, 0)
_FIXED_TIME = "2000-01-01T00:00:00Z"

Sheets = Mapping[str, Sequence[Cells]]


def write_template(
    folder: str | os.PathLike[str], workbook: bool = False, force: bool = False
) -> list[Path]:
    """Write a filled-in template sample that reads and can be assessed as it stands.

    Parameters
    ----------
    folder : str or path-like
        Folder to make; with `workbook`, a folder for sample.xlsx or the .xlsx itself. [-]
    workbook : bool
        True for one workbook, False for a folder of tables. [-]
    force : bool
        Whether existing files may be replaced. [-]

    Returns
    -------
    list of Path
        Files written. [-]

    Raises
    ------
    OutputError
        When a file exists and `force` is not given, or nothing can be written there; what
        existed is then still whole.
    """
    text = os.fspath(folder)
    if not text or "\x00" in text:
        message = f"{shown(text)} is no folder name"
        raise OutputError(message)
    target = Path(text)
    try:
        if workbook:
            contents = {WORKBOOK_NAME: workbook_bytes(_template_sheets())}
            if target.suffix.lower() == ".xlsx":
                contents = {target.name: contents[WORKBOOK_NAME]}
                target = target.parent
        else:
            contents = _folder_contents()
        return _write_all(target, contents, force)
    except FileExistsError as fault:
        message = f"{shown(text)} was made by somebody else meanwhile. Give another name"
        raise OutputError(message) from fault
    except OSError as fault:
        message = f"{shown(text)} cannot be written: {fault.strerror or 'no access'}"
        raise OutputError(message) from fault


def _folder_contents() -> dict[str, bytes]:
    contents = {"sample.toml": toml_text().encode(), "COLUMNS.md": columns_text().encode()}
    for stem, (heading, rows) in TABLES.items():
        contents[f"{stem}.csv"] = csv_text([heading, *rows]).encode()
    return contents


def csv_text(rows: Iterable[Cells]) -> str:
    """Rows as CSV: commas, points, plain line ends.

    Parameters
    ----------
    rows : iterable of sequence
        Heading and rows; None is blank. [-]

    Returns
    -------
    str
        Text with a newline after every row. [-]
    """
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    for row in rows:
        writer.writerow([f"{c:.12g}" if isinstance(c, float) else c for c in row])
    return out.getvalue()


def _template_sheets() -> dict[str, list[Cells]]:
    sheets: dict[str, list[Cells]] = {"read me": [[INVENTED], ["table", "column", "what it takes"]]}
    for spec in SPECS.values():
        sheets["read me"].append([spec.stem, None, spec.help])
        sheets["read me"] += [[spec.stem, name, text] for name, text in column_lines(spec)]
    sheets["sample"] = [["section", "key", "value", "explanation"], *settings_rows()]
    for stem, (heading, rows) in TABLES.items():
        sheets[stem] = [heading, *rows]
    return sheets


def workbook_bytes(sheets: Sheets) -> bytes:
    """A workbook, the same bytes every time.

    Parameters
    ----------
    sheets : mapping of str to sequence of rows
        Cells of each sheet; text stays text, also where it begins with =. [-]

    Returns
    -------
    bytes
        Content of an .xlsx file. [-]
    """
    from openpyxl import Workbook
    from openpyxl.styles import Font
    from openpyxl.utils import get_column_letter

    book = Workbook()
    book.remove(book.worksheets[0])
    for title, rows in sheets.items():
        sheet = book.create_sheet(title)
        for number, row in enumerate(rows, start=1):
            for column, value in enumerate(row, start=1):
                if value is None:
                    continue
                cell = sheet.cell(number, column, value)
                if isinstance(value, str):
                    cell.data_type = "s"
                if number == 1:
                    cell.font = Font(bold=True)
        sheet.freeze_panes = "A2"
        for column in range(1, sheet.max_column + 1):
            sheet.column_dimensions[get_column_letter(column)].width = 18
    return saved(book)


def saved(book: Workbook) -> bytes:
    """A workbook as bytes, the same at any hour.

    Parameters
    ----------
    book : openpyxl.Workbook
        Filled. [-]

    Returns
    -------
    bytes
        Content of an .xlsx file. [-]

    Raises
    ------
    OutputError
        When there is no room for the temporary files in which the library makes it.
    """
    buffer = io.BytesIO()
    try:
        book.save(buffer)
    except Exception as fault:
        if not isinstance(fault, OSError) and type(fault).__name__ != "SerialisationError":
            raise
        message = f"A workbook is made in temporary files, which cannot be written: {fault}"
        raise OutputError(message) from fault
    return without_times(buffer.getvalue())


def without_times(data: bytes) -> bytes:
    """The same workbook without the hour it was made in.

    Parameters
    ----------
    data : bytes
        Content of an .xlsx file. [-]

    Returns
    -------
    bytes
        The same content gives the same bytes at any hour. [-]
    """
    out = io.BytesIO()
    with (
        zipfile.ZipFile(io.BytesIO(data)) as source,
        zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as target,
    ):
        for name in source.namelist():
            body = source.read(name)
            if name == "docProps/core.xml":
                body = re.sub(rb"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\dZ", _FIXED_TIME.encode(), body)
            part = zipfile.ZipInfo(name, _EPOCH)
            part.external_attr = 0o600 << 16
            part.compress_type = zipfile.ZIP_DEFLATED
            target.writestr(part, body)
    return out.getvalue()


def _write_all(folder: Path, contents: Mapping[str, bytes], force: bool) -> list[Path]:
    if folder.exists() and not folder.is_dir():
        message = f"{shown(folder.name)} is not a folder"
        raise OutputError(message)
    if not folder.exists():
        return _make_folder(folder, contents)
    for name in contents:
        path = folder / name
        if path.is_dir():
            message = f"{shown(name)} in {shown(folder.name)} is a folder"
            raise OutputError(message)
        if (path.exists() or path.is_symlink()) and not force:
            message = (
                f"{shown(name)} exists in {shown(folder.name)}. Give another folder, or --force"
            )
            raise OutputError(message)
    return [_write_one(folder / name, data, force) for name, data in contents.items()]


def _make_folder(folder: Path, contents: Mapping[str, bytes]) -> list[Path]:
    """Fill a folder of another name, then give it the name in one step."""
    if not folder.parent.is_dir():
        message = f"{shown(folder.name)} lies in a folder that does not exist. Make that first"
        raise OutputError(message)
    waiting = folder.parent / f".feedchar-{secrets.token_hex(8)}.part"
    waiting.mkdir()
    try:
        for name, data in contents.items():
            _fill(waiting / name, data)
        if folder.exists() or folder.is_symlink():
            raise FileExistsError
        waiting.rename(folder)
    except BaseException:
        shutil.rmtree(waiting, ignore_errors=True)
        raise
    return [folder / name for name in contents]


def _write_one(path: Path, data: bytes, force: bool) -> Path:
    waiting = path.parent / f".feedchar-{secrets.token_hex(8)}.part"
    try:
        _fill(waiting, data)
        if force:
            waiting.replace(path)
        else:
            try:
                os.link(waiting, path)
            except FileExistsError:
                raise
            except OSError:  # a file system without hard links
                _fill(path, data)
    finally:
        waiting.unlink(missing_ok=True)
    return path


def _fill(path: Path, data: bytes) -> None:
    descriptor = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o666)
    with os.fdopen(descriptor, "wb") as file:
        file.write(data)
        file.flush()
        os.fsync(file.fileno())
