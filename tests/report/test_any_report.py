"""Any report, not only an assessment: page, workbook and tables from the same records."""

from __future__ import annotations

import io
from html import unescape

import openpyxl

from feedchar.report.blocks import Block, Column, Findings, Row, Table, Words
from feedchar.report.html import page
from feedchar.report.report import BarChart, Card, Drawn, LineChart, Picture, Report, Tidy
from feedchar.report.tables import csv_files
from feedchar.report.workbook import workbook

HOSTILE = "<script>alert(1)</script>"
FORMULA = "=cmd|' /C calc'!A0"
TABLE = Table(
    (Column("bag"), Column("mass, g", "number"), Column("whole, %", "number")),
    (Row((FORMULA, "12.5", "40")), Row((HOSTILE, "7.0", "60"))),
)
PICTURE = Picture("bags", "Bags", f"See {HOSTILE}", TABLE)


def a_report() -> Report:
    blocks = (
        Block("steps", "STEPS", (Words(HOSTILE, mark="1"), TABLE), FORMULA),
        Block("order", "FOR THE LABORATORY", (Words("Assay them all."),)),
    )
    return Report(
        findings=Findings(HOSTILE, "NO TEST YET", blocks, FORMULA),
        made_from=f"Made from {FORMULA}.",
        tables={
            "bags": Tidy(("bag", "mass_g"), ((FORMULA, 12.5), (HOSTILE, None))),
            "speeds": Tidy(("belt_speed_m_s", "yield_pct"), ((1.0, 95.0), (1.5, 97.0))),
        },
        drawings={"steps": (Drawn(PICTURE, lambda: "<svg></svg>"),)},
        charts=(
            LineChart("speeds", "Yield", "belt, m/s", "yield, %", 96.0, "asked, %"),
            BarChart("mass of bags", PICTURE, "g"),
        ),
        own_side=frozenset({"order"}),
        labels=(Card(FORMULA, (HOSTILE, "100 g")), Card("B2", ("50 g",))),
    )


def test_a_report_without_a_customer_has_findings_pictures_and_labels() -> None:
    text = page(a_report())
    assert HOSTILE not in text
    shown = unescape(text)
    assert shown.count(HOSTILE) > 4
    assert 'class="customer"' not in text
    assert text.index("Assay them all.") < text.index('class="cards"') < text.index("</main>")
    assert '<section id="order" class="own-side">' in text
    assert text.count("<svg>") == 1
    assert page(a_report()) == text


def test_its_workbook_has_a_sheet_a_table_its_charts_and_its_labels() -> None:
    book = openpyxl.load_workbook(io.BytesIO(workbook(a_report())))
    assert book.sheetnames == ["findings", "labels", "bags", "speeds", "mass of bags"]
    assert book["labels"]["A2"].value == FORMULA
    assert book["labels"]["C2"].value == "100 g"
    assert book["bags"]["B1"].value == "mass, g"
    assert [row[2].value for row in book["speeds"].iter_rows()] == ["asked, %", 96.0, 96.0]
    assert len(book["speeds"]._charts) == len(book["mass of bags"]._charts) == 1
    for sheet in book.worksheets:
        assert all(cell.data_type != "f" for row in sheet.iter_rows() for cell in row)


def test_its_tables_are_files() -> None:
    files = csv_files(a_report().tables)
    assert list(files) == ["bags.csv", "speeds.csv"]
    assert files["speeds.csv"] == "belt_speed_m_s,yield_pct\n1,95\n1.5,97\n"
    assert files["bags.csv"].splitlines()[1].startswith("'=cmd")
