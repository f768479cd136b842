"""A good sample damaged in every way we know: one message with file, row and column, always.

The good one is the template, so every table and every column takes part.
"""

from __future__ import annotations

import csv
import io
import zipfile
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from feedchar.errors import InputError
from feedchar.sample.gathered import SPECS
from feedchar.sample.read import read_sample
from feedchar.sample.records import Sample
from feedchar.sample.template import TABLES, csv_text, workbook_bytes, write_template

STEMS = tuple(SPECS)
TABLE_ROWS = {stem: [list(heading), *map(list, rows)] for stem, (heading, rows) in TABLES.items()}

NO_NUMBER = (
    "1o2", "n.d.", "-", "~5", "nan", "inf", "1e400", "1_000", "٣", "abc", "#REF!", "5 apples",
    "2024-05-01", "1.2.3", ">5", "0x10", "--1", "1 2", "½", "5_",
)  # fmt: skip


def number_cells() -> list[tuple[str, str, int]]:
    """Table, column and row (as a person counts) of one filled cell of every number column."""
    found = []
    for stem, rows in TABLE_ROWS.items():
        for index, heading in enumerate(rows[0]):
            column = SPECS[stem].find(heading)
            if column is not None and not column.is_number:
                continue
            for number, row in enumerate(rows[1:], start=2):
                if isinstance(row[index], float):
                    found.append((stem, heading, number))
                    break
    return found


@pytest.fixture
def good(tmp_path: Path) -> Path:
    write_template(tmp_path / "good")
    return tmp_path / "good"


def with_cell(stem: str, heading: str, number: int, text: str) -> str:
    rows = [list(row) for row in TABLE_ROWS[stem]]
    rows[number - 1][rows[0].index(heading)] = text
    return csv_text(rows)


def refusal(path: Path) -> InputError:
    with pytest.raises(InputError) as caught:
        read_sample(path)
    text = str(caught.value)
    assert caught.value.file
    assert text.isprintable()
    assert len(text) < 700
    return caught.value


@pytest.mark.parametrize(("stem", "heading", "number"), number_cells())
def test_no_number_in_a_number_cell_is_refused_with_file_row_and_column(
    good, stem, heading, number
):
    for text in NO_NUMBER:
        (good / f"{stem}.csv").write_text(with_cell(stem, heading, number, text), "utf-8")
        error = refusal(good)
        assert (error.file, error.row, error.column) == (f"{stem}.csv", number, heading), text


@pytest.mark.parametrize(("stem", "heading", "number"), number_cells())
def test_the_same_in_a_workbook(tmp_path, stem, heading, number):
    path = tmp_path / "bag.xlsx"
    rows = [list(row) for row in TABLE_ROWS[stem]]
    rows[number - 1][rows[0].index(heading)] = "1o2"
    path.write_bytes(workbook_bytes({**TABLE_ROWS, stem: rows}))
    error = refusal(path)
    assert (error.file, error.row) == (f"bag.xlsx[{stem}]", number)
    assert error.column == heading


@pytest.mark.parametrize(
    ("stem", "heading"), [(stem, h) for stem, rows in TABLE_ROWS.items() for h in rows[0]]
)
def test_a_heading_with_a_letter_too_many_is_refused_where_it_can_be_told(good, stem, heading):
    if len(heading) < 4:
        return  # below four letters a name of one's own is as likely
    rows = [list(row) for row in TABLE_ROWS[stem]]
    rows[0][rows[0].index(heading)] = heading + "x"
    (good / f"{stem}.csv").write_text(csv_text(rows), "utf-8")
    error = refusal(good)
    assert (error.file, error.row) == (f"{stem}.csv", 1)
    assert heading in str(error)


def _utf16(data: bytes) -> bytes:
    return data.decode().encode("utf-16")


def _windows(data: bytes) -> bytes:
    first, rest = data.split(b"\n", 1)
    return first + b"\n" + "µ".encode("cp1252") + rest


def _short_row(data: bytes) -> bytes:
    first, second, rest = data.split(b"\n", 2)
    return b"\n".join([first, second.rpartition(b",")[0], rest])


def _long_row(data: bytes) -> bytes:
    first, second, rest = data.split(b"\n", 2)
    return b"\n".join([first, second + b",", rest])


def _twice(data: bytes) -> bytes:
    first, rest = data.split(b"\n", 1)
    columns = first.split(b",")
    columns[-1] = columns[0]
    return b",".join(columns) + b"\n" + rest


DAMAGES: dict[str, Callable[[bytes], bytes]] = {
    "UTF-16": _utf16,
    "Windows-1252": _windows,
    "UTF-16 without mark": lambda d: d.decode().encode("utf-16-le"),
    "NUL": lambda d: d[:-5] + b"\x00" + d[-5:],
    "empty": lambda d: b"",
    "only blank lines": lambda d: b"\n\r\n \n",
    "unclosed quote": lambda d: d + b'"a,b\n',
    "quote inside": lambda d: d + b'"a"b,c\n',
    "short row": _short_row,
    "long row": _long_row,
    "one cell": lambda d: d + b"x\n",
    "heading twice": _twice,
    "no heading": lambda d: d.split(b"\n", 1)[1],
    "binary": lambda d: bytes(range(256)) * 4,
    "a picture": lambda d: b"\x89PNG\r\n\x1a\n" + d,
    "a lone surrogate": lambda d: d + b"\xed\xa0\x80\n",
    "overlong UTF-8": lambda d: d + b"\xc0\xaf\n",
}


@pytest.mark.parametrize("damage", DAMAGES)
@pytest.mark.parametrize("stem", STEMS)
def test_a_damaged_table_is_refused_by_its_name(good, stem, damage):
    path = good / f"{stem}.csv"
    path.write_bytes(DAMAGES[damage](path.read_bytes()))
    assert refusal(good).file == f"{stem}.csv"


@pytest.mark.parametrize("stem", STEMS)
@pytest.mark.parametrize("end", ["\r", "\r\n"])
def test_line_ends_of_other_systems_change_nothing(good, same, stem, end):
    before = read_sample(good)
    path = good / f"{stem}.csv"
    path.write_bytes(path.read_bytes().replace(b"\n", end.encode()).rstrip(end.encode()))
    same(before, read_sample(good))


@pytest.mark.parametrize("stem", STEMS)
def test_a_table_with_decimal_commas_throughout_changes_nothing(good, same, stem):
    before = read_sample(good)
    rows = [
        [f"{c:.12g}".replace(".", ",") if isinstance(c, float) else c for c in row]
        for row in TABLE_ROWS[stem]
    ]
    out = io.StringIO()
    csv.writer(out, delimiter=";", lineterminator="\n").writerows(rows)
    (good / f"{stem}.csv").write_text(out.getvalue(), "utf-8")
    same(before, read_sample(good))


def outcome(path: Path) -> Sample | InputError:
    """What reading comes to; any other error fails the test."""
    result: Sample | InputError
    try:
        result = read_sample(path)
    except InputError as error:
        result = error
    if isinstance(result, InputError):
        assert str(result).isprintable()
    return result


TEMPLATE_FILES = ("sample.toml", *(f"{stem}.csv" for stem in STEMS))

edits = st.lists(
    st.tuples(
        st.floats(0, 1, exclude_max=True),
        st.integers(0, 12),
        st.one_of(
            st.binary(max_size=6),
            st.sampled_from(
                [b",", b";", b"\n", b'"', b"\x00", b"<", b"-", b"e9", b"=", b"[", b"\xff", b"tr",
                 b"nan", b"1,5", "µ".encode(), b"'" * 3, b'"' * 3, b".", b"#"],
            ),
        ),
    ),
    min_size=1,
    max_size=4,
)  # fmt: skip


def edited(data: bytes, changes: list[tuple[float, int, bytes]]) -> bytes:
    for where, length, text in changes:
        at = int(where * (len(data) + 1))
        data = data[:at] + text + data[at + length :]
    return data


def check_edit(folder: Path, name: str, changes: list[tuple[float, int, bytes]]) -> None:
    path = folder / name
    before = path.read_bytes()
    try:
        path.write_bytes(edited(before, changes))
        outcome(folder)
    finally:
        path.write_bytes(before)


QUICK = settings(
    max_examples=80,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)


@QUICK
@given(st.sampled_from(TEMPLATE_FILES), edits)
def test_random_edits_of_a_folder_end_in_a_sample_or_one_message(good, name, changes):
    check_edit(good, name, changes)


@pytest.mark.slow
@settings(QUICK, max_examples=4000)
@given(st.sampled_from(TEMPLATE_FILES), edits)
def test_thousands_of_random_edits_end_in_a_sample_or_one_message(good, name, changes):
    check_edit(good, name, changes)


def check_workbook_edit(path: Path, where: float, changes: list[tuple[float, int, bytes]]) -> None:
    with zipfile.ZipFile(io.BytesIO(path.read_bytes())) as archive:
        parts = {name: archive.read(name) for name in archive.namelist()}
    name = sorted(parts)[int(where * len(parts))]
    parts[name] = edited(parts[name], changes)
    target = path.with_name("edited.xlsx")
    with zipfile.ZipFile(target, "w", zipfile.ZIP_DEFLATED) as archive:
        for part, body in parts.items():
            archive.writestr(part, body)
    outcome(target)


@pytest.fixture
def good_workbook(tmp_path: Path) -> Path:
    (path,) = write_template(tmp_path / "book", workbook=True)
    return path


@settings(QUICK, max_examples=30)
@given(st.floats(0, 1, exclude_max=True), edits)
def test_random_edits_inside_a_workbook_end_in_a_sample_or_one_message(
    good_workbook, where, changes
):
    check_workbook_edit(good_workbook, where, changes)


@pytest.mark.slow
@settings(QUICK, max_examples=800)
@given(st.floats(0, 1, exclude_max=True), edits)
def test_hundreds_of_random_edits_inside_a_workbook_end_likewise(good_workbook, where, changes):
    check_workbook_edit(good_workbook, where, changes)


@settings(QUICK, max_examples=60)
@given(edits)
def test_random_edits_of_the_zip_itself_end_in_a_sample_or_one_message(good_workbook, changes):
    target = good_workbook.with_name("zipped.xlsx")
    target.write_bytes(edited(good_workbook.read_bytes(), changes))
    outcome(target)


@QUICK
@given(st.binary(max_size=400))
def test_any_bytes_as_a_table_end_in_a_sample_or_one_message(tmp_path, data):
    path = tmp_path / "any.csv"
    path.write_bytes(data)
    outcome(path)


CELL = st.one_of(
    st.sampled_from(["quartz", "biotite", "mica", "", "tr", "<0.5", "0", "1", "99", "1e3", "=1"]),
    st.floats(-1, 101).map(lambda x: f"{x:.3f}"),
    st.text(max_size=8),
)


@QUICK
@given(
    st.sampled_from(STEMS),
    st.lists(st.lists(CELL, min_size=1, max_size=5), min_size=1, max_size=6),
    st.data(),
)
def test_any_cells_under_known_headings_end_in_a_sample_or_one_message(good, stem, rows, data):
    names = [column.name for column in SPECS[stem].columns]
    width = max(len(row) for row in rows)
    heading = data.draw(
        st.lists(st.sampled_from(names), min_size=width, max_size=width, unique=True)
    )
    rows = [row + [""] * (width - len(row)) for row in rows]
    before = (good / f"{stem}.csv").read_bytes()
    try:
        (good / f"{stem}.csv").write_bytes(csv_text([heading, *rows]).encode("utf-8", "ignore"))
        outcome(good)
    finally:
        (good / f"{stem}.csv").write_bytes(before)
