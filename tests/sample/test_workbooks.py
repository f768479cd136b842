"""One workbook: the same sample as the folder, and everything a spreadsheet can hide."""

from __future__ import annotations

import io
import re
import zipfile
from collections.abc import Callable
from datetime import date, datetime
from pathlib import Path
from typing import Any

import pytest
from openpyxl import Workbook

from feedchar.errors import InputError
from feedchar.sample.folder import gather_folder
from feedchar.sample.read import read_sample
from feedchar.sample.records import Sample
from feedchar.sample.template import workbook_bytes
from feedchar.tables.locate import examples_folder

Change = Callable[[Any], None]
ROWS = [("mineral", "mass_pct"), ("quartz", 97.5), ("biotite", 2.5)]


def book(rows: list[tuple[Any, ...]] = ROWS, title: str = "minerals") -> Workbook:
    made = Workbook()
    made.active.title = title
    for row in rows:
        made.active.append(row)
    return made


def saved(made: Workbook, path: Path) -> Path:
    made.save(path)
    return path


def read_rows(tmp_path: Path, rows: list[tuple[Any, ...]], change: Change | None = None) -> Sample:
    made = book(rows)
    if change is not None:
        change(made.active)
    return read_sample(saved(made, tmp_path / "bag.xlsx"))


def refused_rows(
    tmp_path: Path, rows: list[tuple[Any, ...]] = ROWS, change: Change | None = None
) -> InputError:
    with pytest.raises(InputError) as caught:
        read_rows(tmp_path, rows, change)
    assert caught.value.file.startswith("bag.xlsx")
    return caught.value


def sheets_of(folder: Path) -> dict[str, list[tuple[Any, ...]]]:
    """Sheets with the content of a folder, numbers as a spreadsheet stores them."""
    gathered = gather_folder(folder)

    def stored(cell: Any) -> Any:
        if isinstance(cell, str) and re.fullmatch(r"-?\d+(\.\d+)?", cell):
            return float(cell)
        return cell or None

    rows: list[tuple[Any, ...]] = [("section", "key", "value")]
    rows += [(e.section, e.key, e.cell) for e in gathered.entries]
    sheets = {"sample": rows}
    for stem, table in gathered.tables.items():
        sheets[stem] = [table.heading, *(tuple(map(stored, row.cells)) for row in table.rows)]
    return sheets


@pytest.mark.parametrize("name", ["glass_sand", "feldspar", "nepheline_syenite", "test_result"])
def test_a_workbook_and_a_folder_of_the_same_content_are_the_same_sample(tmp_path, same, name):
    folder = examples_folder() / name
    path = tmp_path / "again.xlsx"
    path.write_bytes(workbook_bytes(sheets_of(folder)))
    same(read_sample(folder), read_sample(path))


def test_rows_are_counted_as_the_spreadsheet_counts_them(tmp_path):
    rows: list[tuple[Any, ...]] = [(None, None), *ROWS[:2], (None, None), ROWS[2]]
    sample = read_rows(tmp_path, rows)
    assert [m.place.row for m in sample.minerals] == [3, 5]
    assert sample.minerals[0].place.file == "bag.xlsx[minerals]"


def test_numbers_stored_as_text_and_formatted_as_percent_are_read_for_what_they_show(tmp_path):
    def percent(sheet: Any) -> None:
        sheet["B3"].number_format = "0.0%"

    sample = read_rows(tmp_path, [ROWS[0], ("quartz", "97.5"), ("biotite", 0.025)], percent)
    assert [m.value for m in sample.minerals] == [97.5, 2.5]


def test_intervals_traces_and_decimal_commas_as_text_are_understood(tmp_path):
    rows = [ROWS[0], ("quartz", "99,5"), ("biotite", "<0,5"), ("ilmenite", "tr")]
    assert [m.below_detection for m in read_rows(tmp_path, rows).minerals] == [False, True, True]


def test_a_name_that_looks_like_a_formula_is_data(tmp_path):
    sheets = {
        "phases": [("phase", "density_kg_m3"), ("=1+1", 2600.0), ("@x", 2700.0)],
        "minerals": [("mineral", "mass_pct"), ("=1+1", 60.0), ("@x", 40.0)],
    }
    path = tmp_path / "bag.xlsx"
    path.write_bytes(workbook_bytes(sheets))
    assert [m.mineral for m in read_sample(path).minerals] == ["=1+1", "@x"]


def test_a_formula_without_a_stored_value_is_an_error_and_never_a_blank(tmp_path):
    error = refused_rows(tmp_path, [*ROWS, ("ilmenite", "=1-0.5")])
    assert (error.row, error.column) == (4, "B")
    assert "formula without a stored value" in error.problem


def test_a_formula_with_its_stored_value_is_read(tmp_path):
    path = saved(book([ROWS[0], ("quartz", "=50+47.5"), ROWS[2]]), tmp_path / "bag.xlsx")

    def calculated(sheet: bytes) -> bytes:
        return re.sub(rb"</f><v\s*(/>|></v>)", b"</f><v>97.5</v>", sheet)

    _edit(path, "xl/worksheets/sheet1.xml", calculated)
    assert read_sample(path).minerals[0].value == 97.5


@pytest.mark.parametrize(
    ("cell", "says"),
    [
        (datetime(2024, 5, 1), "a date"),
        (date(2024, 5, 1), "a date"),
        (True, "truth value"),
        ("#DIV/0!", "error"),
        ("#N/A", "error"),
        ("n.d.", "not detected or not determined"),
        ("-", "zero, not found or not measured"),
        ("1o2", "letter among its digits"),
        (-1.0, "0 to 100"),
        (100.1, "0 to 100"),
    ],
)
def test_a_cell_that_is_no_amount_is_refused_with_its_row(tmp_path, cell, says):
    error = refused_rows(tmp_path, [*ROWS, ("ilmenite", cell)])
    assert error.row == 4
    assert says in error.problem


def test_a_date_belongs_into_the_column_of_dates_only(tmp_path):
    made = book()
    tests = made.create_sheet("tests")
    tests.append(("test", "bag", "product", "mass_g", "date"))
    tests.append(("T1", "1M", "magnetics", 10.0, datetime(2024, 5, 1)))
    sample = read_sample(saved(made, tmp_path / "bag.xlsx"))
    assert sample.tests[0].date == "2024-05-01"
    tests["A2"] = datetime(2024, 5, 1)
    with pytest.raises(InputError, match="a date"):
        read_sample(saved(made, tmp_path / "bag.xlsx"))


@pytest.mark.parametrize("cells", ["A1:B1", "A2:A3", "B2:B3"])
def test_merged_cells_are_refused(tmp_path, cells):
    assert "merged" in refused_rows(tmp_path, change=lambda s: s.merge_cells(cells)).problem


def test_merged_cells_beside_the_table_do_not_hurt(tmp_path):
    assert read_rows(tmp_path, ROWS, lambda s: s.merge_cells("F1:G9")).minerals


def test_a_hidden_or_filtered_row_is_refused(tmp_path):
    def hide(sheet: Any) -> None:
        sheet.auto_filter.ref = "A1:B3"
        sheet.row_dimensions[3].hidden = True

    error = refused_rows(tmp_path, change=hide)
    assert (error.row, "hidden or filtered" in error.problem) == (3, True)


def test_a_hidden_column_and_a_hidden_sheet_are_refused(tmp_path):
    def hide_column(sheet: Any) -> None:
        sheet.column_dimensions["B"].hidden = True

    def hide_sheet(sheet: Any) -> None:
        sheet.parent.create_sheet("other")
        sheet.sheet_state = "hidden"

    assert refused_rows(tmp_path, change=hide_column).column == "B"
    assert "hidden" in refused_rows(tmp_path, change=hide_sheet).problem


def test_a_heading_in_two_rows_is_refused(tmp_path):
    assert refused_rows(tmp_path, [ROWS[0], (None, "wt %"), *ROWS[1:]]).row == 2


def test_sheets_almost_named_right_are_refused_and_others_noted(tmp_path):
    made = book()
    made.create_sheet("my notes").append(("a",))
    sample = read_sample(saved(made, tmp_path / "bag.xlsx"))
    assert [n.code for n in sample.notes] == ["sheet-not-read"]
    made.create_sheet("sieve").append(("a",))
    with pytest.raises(InputError, match='Did you mean "sieves"'):
        read_sample(saved(made, tmp_path / "bag.xlsx"))


def test_a_sheet_of_settings_is_read_like_the_sample_file(tmp_path):
    made = book()
    sheet = made.create_sheet("Sample")
    for row in [
        ("section", "key", "value", "explanation"),
        (None, "name", 2024, "x"),
        ("assay", "Fe2O3", "0,05", None),
        ("assay", "TiO2", "<0,01", None),
        ("assay_sd", "Fe2O3", 0.01, None),
        ("limit", "use", None, "blank is not given"),
    ]:
        sheet.append(row)
    sample = read_sample(saved(made, tmp_path / "bag.xlsx"))
    assert sample.name == "2024"
    assert (sample.assay["Fe2O3"].value, sample.assay["TiO2"].below_detection) == (0.05, True)
    assert sample.assay["Fe2O3"].place.row == 3
    assert sample.limit is None
    sheet.append(("assay", "Fe203", 1.0))
    with pytest.raises(InputError) as caught:
        read_sample(saved(made, tmp_path / "bag.xlsx"))
    assert (caught.value.row, caught.value.remedy) == (7, 'Did you mean "Fe2O3"?')


def _edit(path: Path, part: str, change: Callable[[bytes], bytes]) -> None:
    with zipfile.ZipFile(path) as source:
        parts = {name: source.read(name) for name in source.namelist()}
    parts[part] = change(parts[part])
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as target:
        for name, body in parts.items():
            target.writestr(name, body)


def test_old_encrypted_and_macro_workbooks_are_refused_clearly(tmp_path):
    ole = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(600)
    good = workbook_bytes({"minerals": ROWS})
    for name, data, says in [
        ("a.xls", ole, "an old .xls workbook"),
        ("a.xlsx", ole, "encrypted"),
        ("a.xlsm", good, ".xlsm file"),
        ("a.xls", good, ".xls file"),
        ("a.ods", good, ".ods file"),
        ("a.xlsx", b"mineral,mass_pct\n", "is not a workbook"),
        ("a.xlsx", b"", "is empty"),
        ("a.xlsx", good[:700], "damaged"),
        ("a.xlsx", b"PK\x03\x04" + bytes(100), "damaged"),
    ]:
        path = tmp_path / name
        path.write_bytes(data)
        with pytest.raises(InputError) as caught:
            read_sample(path)
        assert says in caught.value.problem, name
        path.unlink()


def _zip(path: Path, parts: dict[str, bytes]) -> Path:
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as target:
        for name, body in parts.items():
            target.writestr(name, body)
    return path


@pytest.mark.parametrize(
    ("parts", "says"),
    [
        ({"xl/worksheets/sheet1.xml": b" " * 60_000_000}, "unzips to"),
        ({"xl/worksheets/sheet1.xml": b" " * 20_000_000}, "times its size"),
        ({f"a{i}.xml": b"<a/>" for i in range(2100)}, "too many parts"),
        ({"xl/vbaProject.bin": b"x"}, "macros"),
        ({"xl/workbook.xml": b'<!DOCTYPE a [<!ENTITY b "c">]><a>&b;</a>'}, "entities"),
        ({"xl/workbook.xml": "<a/>".encode("utf-16")}, "not UTF-8"),
        ({"a.txt": b"x"}, "cannot be read|can be read"),
        ({"xl/workbook.xml": b"<a", "xl/_rels/workbook.xml.rels": b"<a/>"}, "can be read"),
        ({"xl/workbook.xml": b"<a/>", "xl/_rels/workbook.xml.rels": b"<a/>"}, "no sheet"),
    ],
)
def test_a_bomb_and_what_is_no_workbook_inside_are_refused_before_parsing(tmp_path, parts, says):
    path = _zip(tmp_path / "bag.xlsx", parts)
    with pytest.raises(InputError) as caught:
        read_sample(path)
    assert re.search(says, caught.value.problem)


def test_an_encrypted_part_is_refused(tmp_path):
    path = tmp_path / "bag.xlsx"
    data = bytearray(workbook_bytes({"minerals": ROWS}))
    central = data.index(b"PK\x01\x02")
    data[central + 8] |= 1
    path.write_bytes(bytes(data))
    with pytest.raises(InputError, match="encrypted"):
        read_sample(path)


def test_a_sheet_of_a_million_formatted_empty_rows_ends_after_a_thousand(tmp_path):
    path = saved(book(), tmp_path / "bag.xlsx")
    empty = b"".join(b'<row r="%d" s="1" customFormat="1"/>' % n for n in range(4, 1_048_577))
    end = b"</sheetData>"
    _edit(path, "xl/worksheets/sheet1.xml", lambda x: x.replace(end, empty + end))
    assert len(read_sample(path).minerals) == 2


def test_a_far_cell_does_not_make_a_wide_table(tmp_path):
    def far(sheet: Any) -> None:
        sheet["XFD2"] = 1

    with pytest.raises(InputError, match="the cell XFD2 is filled"):
        read_rows(tmp_path, ROWS, far)


def test_shared_strings_that_are_missing_are_a_damaged_sheet(tmp_path):
    path = saved(book(), tmp_path / "bag.xlsx")

    def point_nowhere(sheet: bytes) -> bytes:
        inline = rb't="inlineStr"><is><t>quartz</t></is>'
        damaged = re.sub(inline, b't="s"><v>99999</v>', sheet)
        assert damaged != sheet
        return damaged

    _edit(path, "xl/worksheets/sheet1.xml", point_nowhere)
    with pytest.raises(InputError, match="damaged"):
        read_sample(path)


def test_writing_a_workbook_twice_gives_the_same_bytes():
    sheets = sheets_of(examples_folder() / "glass_sand")
    first = workbook_bytes(sheets)
    assert first == workbook_bytes(sheets)
    with zipfile.ZipFile(io.BytesIO(first)) as archive:
        assert {part.date_time for part in archive.infolist()} == {(1980, 1, 1, 0, 0, 0)}
