"""Page, workbook and terminal show the same cells and sentences, and all change together."""

from __future__ import annotations

import html
import io
import re
from dataclasses import replace
from typing import Any

import openpyxl
import pytest

from feedchar.report.assess_report import assess_report
from feedchar.report.blocks import Table
from feedchar.report.findings import assess_findings
from feedchar.report.html import to_html
from feedchar.report.terminal import Screen, render
from feedchar.report.workbook import workbook
from feedchar.results import Characterisation

TOKEN = re.compile(r"[+-]?\d+(?:\.\d+)?")


@pytest.fixture
def page(invented: Characterisation, monkeypatch: pytest.MonkeyPatch) -> str:
    monkeypatch.setattr("feedchar.report.assess_report.svg", lambda result, name: "<svg></svg>")
    return html.unescape(to_html(invented))


def test_page_workbook_and_terminal_show_the_same_findings(
    invented: Characterisation, page: str
) -> None:
    findings = assess_findings(invented)
    terminal = render(findings, Screen(width=200)).replace("\u00a0", " ")
    sheet = openpyxl.load_workbook(io.BytesIO(workbook(assess_report(invented))))["findings"]
    booked = [tuple(cell.value for cell in row) for row in sheet.iter_rows()]
    for block in findings.blocks:
        for part in block.parts:
            if not isinstance(part, Table):
                assert part.text in page
                assert any(part.text.replace("\u00a0", " ") in row for row in booked)
                continue
            for row in part.rows:
                cells = [cell for cell in row.cells if isinstance(cell, str)]
                assert all(cell in page for cell in cells)
                flat = [cell.replace("\u00a0", " ") for cell in cells if cell]
                assert all(cell in terminal for cell in flat if len(cell) < 30)
                spaced = [cell.replace("\u00a0", " ") for cell in cells]
                assert any(same(spaced, line) for line in booked), cells


def same(cells: list[str], line: tuple[Any, ...]) -> bool:
    """Whether a line of the workbook holds the cells, numbers as numbers."""
    for shown, value in zip(cells, line, strict=False):
        if isinstance(value, float | int):
            if not TOKEN.fullmatch(shown) or float(shown) != value:
                return False
        elif (value or "") != shown:
            return False
    return True


def test_a_changed_number_changes_every_output(
    invented: Characterisation, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("feedchar.report.assess_report.svg", lambda result, name: "<svg></svg>")
    clean = invented.product.non_magnetics
    iron = replace(clean.assay_wt_pct["Fe2O3"], p50=0.0777)
    changed = replace(
        invented,
        product=replace(
            invented.product,
            non_magnetics=replace(clean, assay_wt_pct={**clean.assay_wt_pct, "Fe2O3": iron}),
        ),
        answer=replace(invented.answer, rows=()),
    )
    assert "0.078" in to_html(changed)
    assert "0.078" in render(assess_findings(changed), Screen(width=80))
    book = openpyxl.load_workbook(io.BytesIO(workbook(assess_report(changed))))
    values = [cell.value for row in book["findings"].iter_rows() for cell in row]
    assert 0.078 in values
    assert 0.0777 in [cell.value for row in book["product"].iter_rows() for cell in row]
