"""Every number that page, workbook and terminal show is one of the document, rounded."""

from __future__ import annotations

import html
import io
import json
import re
from bisect import bisect_left
from collections.abc import Iterator
from dataclasses import replace
from itertools import pairwise
from typing import Any

import openpyxl
import pytest

from feedchar.report.blocks import Findings, Table, Words
from feedchar.report.customer_blocks import customer_findings
from feedchar.report.document import to_json
from feedchar.report.findings import assess_findings
from feedchar.report.html import to_html
from feedchar.report.terminal import Screen, render
from feedchar.report.workbook import to_workbook
from feedchar.results import Characterisation

TOKEN = re.compile(r"(?<![\w.])[+-]?\d+(?:\.\d+)?(?:e[+-]?\d+)?(?![\w.]*[A-Za-z_])")
SCALES = (1.0, 10.0, 100.0, 1000.0, 1e4)
"""As shown: the document's unit, kilogauss, per cent of a share, millimetres, ppm."""


def numbers(tree: Any) -> Iterator[float]:
    if isinstance(tree, bool) or tree is None:
        return
    if isinstance(tree, int | float):
        yield float(tree)
    elif isinstance(tree, str):
        yield from (abs(float(token)) for token in TOKEN.findall(tree.replace("-", " ")))
    elif isinstance(tree, dict):
        for key, value in tree.items():
            yield from numbers(key)
            yield from numbers(value)
    else:
        for value in tree:
            yield from numbers(value)


def sums(result: Characterisation) -> Iterator[float]:
    """Totals and differences that a report makes of the document's numbers."""
    phases = result.minerals
    for chosen in (
        [phase for phase in phases if phase.role == "host"],
        [phase for phase in phases if (phase.share_of_iron_pct.mean or 0.0) < 0.5],
    ):
        mass = sum(phase.mass_pct.mean or 0.0 for phase in chosen)
        yield mass
        yield sum(phase.share_of_iron_pct.mean or 0.0 for phase in chosen)
        taken = sum(
            (phase.mass_pct.mean or 0.0) * (phase.to_magnetics_pct.mean or 0.0)
            for phase in chosen
            if phase.to_magnetics_pct is not None
        )
        if mass > 0:
            yield taken / mass
    iron = result.assay.reconciled_wt_pct["Fe2O3"].mean or 0.0
    yield iron - (result.unseen_iron.Fe2O3_wt_pct.mean or 0.0)
    lines = [line.Fe2O3_ppm_of_product for line in result.iron_that_stays]
    yield sum(lines)
    yield from (100.0 * line / sum(lines) for line in lines)
    product = result.product
    outlets = (product.non_magnetics, product.magnetics, product.middlings, product.untreated)
    yield sum(outlet.yield_pct.mean or 0.0 for outlet in outlets)
    yield sum(outlet.iron_share_pct.mean or 0.0 for outlet in outlets if outlet.iron_share_pct)
    here = list(result.best_possible.at_product_yield.values())
    yield from (b - a for a, b in pairwise(value for value in here if value is not None))
    for form in {line.form for line in result.iron}:
        yield sum(line.share_of_iron_pct for line in result.iron if line.form == form)
    yield from (result.best_possible.at_product_yield[key] or 0.0 for key in ("ideal_magnet",))


def texts(findings: Findings) -> Iterator[str]:
    for block in findings.blocks:
        if block.key == "cautions":
            continue
        yield block.subtitle
        for part in block.parts:
            if isinstance(part, Words):
                yield part.text
            else:
                yield from (
                    cell for row in part.rows for cell in row.cells if isinstance(cell, str)
                )


def explained(token: str, known: list[float]) -> bool:
    """Whether some number, scaled as reports do, rounds to the token with its digits."""
    shown = abs(float(token))
    decimals = len(token.partition(".")[2])
    half = 0.5 * 10.0**-decimals
    if not decimals and shown >= 100:
        half = max(half, 0.05 * shown)  # counts of grains have two digits
    for scale in SCALES:
        low, high = (shown - half) / scale, (shown + half) / scale
        place = bisect_left(known, low * (1 - 1e-9))
        if place < len(known) and known[place] <= high * (1 + 1e-9):
            return True
    return False


WORDS_WITH_NUMBERS = re.compile(
    r"9 in 10|9 of 10|of 100|in 100|each 100|Fe2O3|>250|100 g|0\.1 % moisture|"
    r"\b[1-9] (?=[a-z])|and \d+ more|\d+ (?:more|pale|of \d+ settings)|\d+ tried"
)
"""Numbers that are words: cases, bases, list numbers, counts of lines."""


def test_every_number_shown_is_one_of_the_document(invented: Characterisation) -> None:
    tree = json.loads(to_json(invented))
    known = sorted({abs(value) for value in (*numbers(tree), *sums(invented))})
    unknown = []
    for findings in (assess_findings(invented), customer_findings(invented)):
        for text in texts(findings):
            plain = text.replace("\u00a0", " ")
            for token in TOKEN.findall(WORDS_WITH_NUMBERS.sub(" ", plain)):
                if not explained(token, known):
                    unknown.append((token, plain))
    assert unknown == []


def test_a_wrong_number_would_mostly_be_seen(invented: Characterisation) -> None:
    """Three digits at random, of the size of those shown: most belong to nothing."""
    tree = json.loads(to_json(invented))
    known = sorted({abs(value) for value in (*numbers(tree), *sums(invented))})
    tokens = [f"{k / 1000:.3f}" for k in range(101, 1000, 7)]
    tokens += [f"{k / 10:.1f}" for k in range(101, 1000, 7)]
    missed = sum(explained(token, known) for token in tokens)
    assert missed < 0.5 * len(tokens)


@pytest.fixture
def page(invented: Characterisation, monkeypatch: pytest.MonkeyPatch) -> str:
    monkeypatch.setattr("feedchar.report.assess_report.svg", lambda result, name: "<svg></svg>")
    return html.unescape(to_html(invented))


def test_page_workbook_and_terminal_show_the_same_findings(
    invented: Characterisation, page: str
) -> None:
    findings = assess_findings(invented)
    terminal = render(findings, Screen(width=200)).replace("\u00a0", " ")
    sheet = openpyxl.load_workbook(io.BytesIO(to_workbook(invented)))["findings"]
    booked = [tuple(cell.value for cell in row) for row in sheet.iter_rows()]
    for block in findings.blocks:
        for part in block.parts:
            if not isinstance(part, Table):
                assert part.text in page
                assert any(part.text in row for row in booked)
                continue
            for row in part.rows:
                cells = [cell for cell in row.cells if isinstance(cell, str)]
                assert all(cell in page for cell in cells)
                flat = [cell.replace("\u00a0", " ") for cell in cells if cell]
                assert all(cell in terminal for cell in flat if len(cell) < 30)
                assert any(same(cells, line) for line in booked), cells


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
    book = openpyxl.load_workbook(io.BytesIO(to_workbook(changed)))
    values = [cell.value for row in book["findings"].iter_rows() for cell in row]
    assert 0.078 in values
    assert 0.0777 in [cell.value for row in book["product"].iter_rows() for cell in row]
