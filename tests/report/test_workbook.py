"""The workbook and the tables: text stays text, numbers are numbers, the same as the document."""

from __future__ import annotations

import csv
import io
import json
import zipfile
from dataclasses import replace
from typing import Any

import openpyxl
import pytest

from feedchar.report.assess_report import assess_report
from feedchar.report.assess_tables import tidy_tables
from feedchar.report.document import to_json
from feedchar.report.tables import csv_files, guarded, table_of
from feedchar.report.workbook import heading_words, workbook
from feedchar.results import Characterisation
from feedchar.sample.records import Note

HOSTILE = ("=cmd|' /C calc'!A0", "+1+1", "-2+3", "@SUM(A1)", "\t=1", "\uff1d1+1", "=\x00\x1b[31m")


def book_of(result: Characterisation) -> Any:
    return openpyxl.load_workbook(io.BytesIO(workbook(assess_report(result))))


def hostile(result: Characterisation, text: str) -> Characterisation:
    first = result.minerals[0]
    return replace(
        result,
        input=replace(result.input, name=text),
        minerals=(replace(first, mineral=text), *result.minerals[1:]),
        iron_that_stays=tuple(
            replace(line, carriers=(text,), remedy=text) for line in result.iron_that_stays
        ),
        notes=(Note("x", text, "warning"),),
    )


def test_the_workbook_is_the_same_each_time(invented: Characterisation) -> None:
    assert workbook(assess_report(invented)) == workbook(assess_report(invented))


def test_the_workbook_has_what_a_person_goes_on_with(invented: Characterisation) -> None:
    book = book_of(invented)
    wanted = {"customer", "findings", "feed", "iron", "response", "product", "curves", "notes"}
    assert wanted | {"sources", "iron by carrier", "stays by reason"} <= set(book.sheetnames)
    assert [len(book[name]._charts) for name in ("curves", "iron by carrier")] == [1, 1]


@pytest.mark.parametrize("text", HOSTILE)
def test_no_text_is_a_formula_in_the_workbook(invented: Characterisation, text: str) -> None:
    data = workbook(assess_report(hostile(invented, text)))
    for sheet in openpyxl.load_workbook(io.BytesIO(data)).worksheets:
        for row in sheet.iter_rows():
            for cell in row:
                assert cell.data_type != "f", f"{sheet.title}!{cell.coordinate}"
                if isinstance(cell.value, str):
                    assert cell.quotePrefix or cell.row == 1
    with zipfile.ZipFile(io.BytesIO(data)) as parts:
        for name in parts.namelist():
            if name.startswith("xl/worksheets/sheet"):
                assert b"<f>" not in parts.read(name)


@pytest.mark.parametrize("text", HOSTILE)
def test_no_text_is_a_formula_in_a_table(invented: Characterisation, text: str) -> None:
    for name, content in csv_files(tidy_tables(hostile(invented, text))).items():
        for row in csv.reader(io.StringIO(content)):
            for cell in row:
                if cell[:1] in "=+-@\t\r" and cell:
                    float(cell)  # a number may begin with a sign; nothing else does
                assert "\x1b" not in cell, name


def test_plain_text_is_left_as_it_is() -> None:
    assert guarded("k-feldspar") == "k-feldspar"
    assert guarded("=1") == "'=1"


def test_every_number_of_the_tables_is_that_of_the_document(invented: Characterisation) -> None:
    tree = json.loads(to_json(invented))
    tables = tidy_tables(invented)
    for name, key in (("feed", "minerals"), ("iron", "iron"), ("response", "response")):
        assert tables[name] == table_of(tree[key])
    book = book_of(invented)
    for name, table in tables.items():
        sheet = book[name.replace("_", " ")]
        for place, row in enumerate(table.rows, start=2):
            for column, value in enumerate(row, start=1):
                shown = sheet.cell(place, column).value
                if isinstance(value, int | float):
                    assert shown == value
                    assert not isinstance(shown, str)
                elif value is None:
                    assert shown is None
    numbers = {record["yield_pct"]: record for record in tree["best_possible"]["this_roll"]}
    for row in tables["curves"].rows:
        record = dict(zip(tables["curves"].headings, row, strict=True))
        assert record["this_roll_Fe2O3_wt_pct"] == numbers[record["yield_pct"]]["Fe2O3_wt_pct"]


def test_numbers_in_the_findings_are_numbers_with_the_digits_shown(
    invented: Characterisation,
) -> None:
    sheet = book_of(invented)["findings"]
    rows = {row[0].value: row for row in sheet.iter_rows() if row[0].value}
    cell = rows["Fe2O3, all iron, wt %"][1]
    assert cell.value == pytest.approx(0.041)
    assert cell.number_format == "0.000"


def test_headings_carry_their_units() -> None:
    assert heading_words("mass_pct_p05") == "mass, %, 5 %"
    assert heading_words("Fe2O3_wt_pct_p50") == "Fe2O3, wt %, likely"
    assert heading_words("passing_um") == "passing, \u00b5m"
    assert heading_words("mass_susceptibility_m3_kg_sd") == "mass susceptibility, m\u00b3/kg, sd"
    assert heading_words("mineral") == "mineral"


def test_a_thin_result_has_a_workbook_too(invented_thin: Characterisation) -> None:
    assert "feed" in book_of(invented_thin).sheetnames
