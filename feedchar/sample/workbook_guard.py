"""What a workbook file is, looked at before anything is parsed.

An .xlsx is a zip of XML: its unzipped size, ratio and parts are capped, entities are refused, and
hidden rows, hidden columns and merged cells are noted for the reader, which cannot see them.
"""

from __future__ import annotations

import io
import re
import zipfile
import zlib
from dataclasses import dataclass
from posixpath import join, normpath
from xml.etree import ElementTree as ET

from feedchar.errors import InputError
from feedchar.sample.table import COLUMNS_MAX

UNZIPPED_MAX_BYTES = 50_000_000
"""Most that a workbook may unzip to. [B]"""

RATIO_MAX = 200
"""Most that a part above a megabyte may be larger than its zipped form. [-]"""

PARTS_MAX = 2000
"""Most files inside the zip. [-]"""

_SAVE_AS = "Save it as an Excel workbook (.xlsx) without password and macros"
_OLE = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"
_MAIN = "{http://schemas.openxmlformats.org/spreadsheetml/2006/main}"
_RELATION = "{http://schemas.openxmlformats.org/officeDocument/2006/relationships}id"
_ROW = re.compile(rb"<(?:\w+:)?row\b[^>]*>")
_COL = re.compile(rb"<(?:\w+:)?col\b[^>]*>")
_MERGE = re.compile(
    rb"<(?:\w+:)?mergeCell\b[^>]*\bref\s*=\s*[\"']([A-Z]{1,3})(\d{1,7}):([A-Z]{1,3})(\d{1,7})[\"']"
)
_FAR = re.compile(rb"<(?:\w+:)?c\b[^>]*\br\s*=\s*[\"']([A-Z]{2,3})(\d{1,7})[\"'][^>/]*>")
_HIDDEN = re.compile(rb"\b(?:hidden|zeroHeight)\s*=\s*[\"'](?:1|true|on)[\"']")


@dataclass(frozen=True)
class SheetFacts:
    """What a reader of cells cannot see of a sheet."""

    is_hidden: bool
    hidden_rows: frozenset[int]
    hidden_columns: tuple[tuple[int, int], ...]
    """First and last column of each hidden range, from 1."""
    merged: tuple[tuple[int, int, int, int], ...]
    """First row, first column, last row, last column."""
    far_cell: str
    """A filled cell beyond the most columns that are read, such as XFD2; empty for none."""


def check_workbook(data: bytes, name: str) -> dict[str, SheetFacts]:
    """Facts of every sheet of a workbook that is safe to parse.

    Parameters
    ----------
    data : bytes
        Content of the file. [-]
    name : str
        Base name for messages. [-]

    Returns
    -------
    dict of str to SheetFacts
        By name of the sheet. [-]

    Raises
    ------
    InputError
        For another kind of file, an encrypted or damaged one, macros, entities, and sizes beyond
        the caps.
    """
    _check_kind(data, name)
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            _check_parts(archive, name)
            return _facts(archive, name)
    except (zipfile.BadZipFile, zlib.error, EOFError, OSError, RuntimeError, ValueError) as error:
        problem = f"is a damaged or unusual workbook ({type(error).__name__})"
        raise InputError(problem, file=name, remedy=_SAVE_AS) from None
    except (NotImplementedError, KeyError, ET.ParseError) as error:
        problem = f"is not a workbook that can be read ({type(error).__name__})"
        raise InputError(
            problem,
            file=name,
            remedy=_SAVE_AS,
        ) from None


def _check_kind(data: bytes, name: str) -> None:
    suffix = name.rpartition(".")[2].lower()
    if not data:
        problem = "is empty"
        raise InputError(problem, file=name, remedy=_SAVE_AS)
    if data.startswith(_OLE):
        kind = "an old .xls workbook" if suffix == "xls" else "encrypted, or an old .xls workbook"
        problem = f"is {kind}"
        raise InputError(problem, file=name, remedy=_SAVE_AS)
    if suffix in ("xls", "xlsm", "xlsb", "xltx", "xltm", "ods"):
        problem = f"is an .{suffix} file; .xlsx is read"
        raise InputError(problem, file=name, remedy=_SAVE_AS)
    if not data.startswith(b"PK"):
        problem = "is not a workbook"
        raise InputError(problem, file=name, remedy=_SAVE_AS)


def _check_parts(archive: zipfile.ZipFile, name: str) -> None:
    parts = archive.infolist()
    if len(parts) > PARTS_MAX or len({part.filename for part in parts}) < len(parts):
        problem = "holds too many parts, or one twice"
        raise InputError(problem, file=name, remedy=_SAVE_AS)
    total = sum(part.file_size for part in parts)
    if total > UNZIPPED_MAX_BYTES:
        problem = f"unzips to {total / 1e6:.0f} MB, more than {UNZIPPED_MAX_BYTES / 1e6:.0f}"
        raise InputError(
            problem,
            file=name,
            remedy="A sample is a few tables of a few hundred rows",
        )
    for part in parts:
        if part.flag_bits & 0x1:
            problem = "is encrypted"
            raise InputError(problem, file=name, remedy=_SAVE_AS)
        if part.file_size > 1_000_000 and part.file_size > RATIO_MAX * max(part.compress_size, 1):
            problem = (
                f"holds a part that unzips to {part.file_size // max(part.compress_size, 1)} times "
                "its size"
            )
            raise InputError(
                problem,
                file=name,
                remedy=_SAVE_AS,
            )
        lowered = part.filename.lower()
        if lowered.endswith("vbaproject.bin"):
            problem = "holds macros"
            raise InputError(problem, file=name, remedy=_SAVE_AS)
        if lowered.endswith((".xml", ".rels")):
            _check_xml(archive.read(part), name)


def _check_xml(body: bytes, name: str) -> None:
    if body.startswith((b"\xff\xfe", b"\xfe\xff")) or b"\x00" in body[:200]:
        problem = "holds XML that is not UTF-8"
        raise InputError(problem, file=name, remedy=_SAVE_AS)
    if b"<!DOCTYPE" in body or b"<!ENTITY" in body:
        problem = "holds XML entities, which no spreadsheet writes"
        raise InputError(problem, file=name, remedy=_SAVE_AS)


def _facts(archive: zipfile.ZipFile, name: str) -> dict[str, SheetFacts]:
    book = ET.fromstring(archive.read("xl/workbook.xml"))
    links = ET.fromstring(archive.read("xl/_rels/workbook.xml.rels"))
    targets = {link.get("Id", ""): link.get("Target", "") for link in links}
    facts = {}
    for sheet in book.iter(f"{_MAIN}sheet"):
        target = targets.get(sheet.get(_RELATION, ""), "")
        path = target.lstrip("/") if target.startswith("/") else normpath(join("xl", target))
        hidden = sheet.get("state", "visible") != "visible"
        if path in archive.namelist():
            facts[sheet.get("name", "")] = _sheet(archive.read(path), hidden)
    if not facts:
        problem = "holds no sheet"
        raise InputError(problem, file=name, remedy=_SAVE_AS)
    return facts


def _sheet(body: bytes, is_hidden: bool) -> SheetFacts:
    rows, number = set(), 0
    for match in _ROW.finditer(body):
        given = re.search(rb"\br\s*=\s*[\"'](\d{1,7})[\"']", match[0])
        number = int(given[1]) if given else number + 1
        if _HIDDEN.search(match[0]):
            rows.add(number)
    columns = []
    for match in _COL.finditer(body):
        ends = [
            re.search(rb"\b%s\s*=\s*[\"'](\d{1,5})[\"']" % end, match[0])
            for end in (b"min", b"max")
        ]
        if _HIDDEN.search(match[0]) and ends[0] and ends[1]:
            columns.append((int(ends[0][1]), int(ends[1][1])))
    merged = tuple(
        (int(m[2]), _column(m[1]), int(m[4]), _column(m[3])) for m in _MERGE.finditer(body)
    )
    far = (m for m in _FAR.finditer(body) if _column(m[1]) > COLUMNS_MAX)
    far_cell = next((f"{m[1].decode()}{m[2].decode()}" for m in far), "")
    return SheetFacts(is_hidden, frozenset(rows), tuple(columns), merged, far_cell)


def _column(letters: bytes) -> int:
    number = 0
    for letter in letters:
        number = 26 * number + letter - 64
    return number
