"""The page in a real browser: from a file, by keyboard, printed, read aloud, without script."""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest

from feedchar import characterise, read_sample
from feedchar.assembly.pull import AskedPhase, Question, pull
from feedchar.assembly.pull_picture import pull_picture
from feedchar.field.rolls import DEFAULT_ROLL, read_roll
from feedchar.field.setting import Pass, Setting
from feedchar.report.blocks import Block, Column, Findings, Row, Table, Words
from feedchar.report.html import page as page_of
from feedchar.report.html import to_html
from feedchar.report.numbers import chance_number, share, weight
from feedchar.report.pull_report import pull_report
from feedchar.report.readings import likely, nine_in_ten
from feedchar.report.report import Card, Report
from feedchar.results import Characterisation
from feedchar.sample.records import Note

pytestmark = pytest.mark.browser

EXAMPLE = Path(__file__).parents[2] / "examples" / "glass_sand"
TRIALS = 100
HOSTILE = "<script>alert(1)</script><b>=cmd|' /C calc'!A0"

Open = Callable[..., Any]


@pytest.fixture(scope="module")
def assessed() -> Characterisation:
    """A real assessment with the settings round it."""
    return characterise(read_sample(str(EXAMPLE)), trials=TRIALS, other_settings=True)


@pytest.fixture(scope="module")
def page_text(assessed: Characterisation) -> str:
    return to_html(assessed)


def told(page: Any) -> list[str]:
    return [page.locator(f"[data-place='{place}']").inner_text() for place in range(5)]


def sheets(page: Any) -> int:
    """Sides of A4 that the page prints on."""
    return len(re.findall(rb"/Type\s*/Page\b", page.pdf(prefer_css_page_size=True)))


def test_it_opens_from_a_file_without_complaint_and_fetches_nothing(
    open_page: Open, page_text: str
) -> None:
    page = open_page(page_text)
    page.wait_for_timeout(200)
    assert page.complaints == []
    assert len(page.asked_for) == 1
    assert page.asked_for[0].startswith("file:")
    assert page.locator("svg").count() == 6


def test_the_page_is_small(assessed: Characterisation) -> None:
    text = to_html(assessed)
    assert len(text.encode()) < 1_000_000


def test_the_panel_gives_what_the_python_interface_gives(
    open_page: Open, page_text: str, assessed: Characterisation
) -> None:
    page = open_page(page_text)
    assert page.locator("#panel").is_visible()
    start = assessed.product.non_magnetics
    assert told(page) == [
        weight(likely(start.assay_wt_pct["Fe2O3"])),
        nine_in_ten(start.assay_wt_pct["Fe2O3"], weight),
        share(likely(start.yield_pct)),
        nine_in_ten(start.yield_pct, share),
        chance_number(assessed.answer.chance_of_meeting_limit or 0.0),
    ]
    # By keyboard alone: the slowest belt, the closest edge, one pass, no fines.
    for key in ("Home", "Home", "Home", "End"):
        while page.evaluate("document.activeElement.type") != "range":
            page.keyboard.press("Tab")
        page.keyboard.press(key)
        page.keyboard.press("Tab")
    assert assessed.what_if is not None
    points = assessed.what_if.points
    speed = min(point.belt_speed_m_s for point in points)
    edge = min(point.splitter_m for point in points)
    cut = max(point.treated_retained_um for point in points)
    roll = read_roll(DEFAULT_ROLL)
    setting = Setting(roll=roll, passes=(Pass(speed, edge),), treated_retained_um=cut)
    again = characterise(read_sample(str(EXAMPLE)), setting, trials=TRIALS)
    clean = again.product.non_magnetics
    assert told(page) == [
        weight(likely(clean.assay_wt_pct["Fe2O3"])),
        nine_in_ten(clean.assay_wt_pct["Fe2O3"], weight),
        share(likely(clean.yield_pct)),
        nine_in_ten(clean.yield_pct, share),
        chance_number(again.answer.chance_of_meeting_limit or 0.0),
    ]
    slider = page.locator("#slider-0")
    assert slider.get_attribute("aria-valuetext") == f"{speed:g}\u00a0m/s"
    assert page.complaints == []


def test_every_stop_of_the_keyboard_shows_where_it_is(open_page: Open, page_text: str) -> None:
    page = open_page(page_text)
    seen = set()
    for _ in range(60):
        page.keyboard.press("Tab")
        where, outline = page.evaluate(
            "(() => { const at = document.activeElement;"
            " return [at.outerHTML.slice(0, 90), getComputedStyle(at).outlineStyle]; })()"
        )
        if where.startswith("<body"):
            break
        assert outline != "none", where
        seen.add(where)
    assert any("range" in where for where in seen)
    assert any("summary" in where for where in seen)


def test_without_script_the_table_of_settings_is_there(open_page: Open, page_text: str) -> None:
    page = open_page(page_text, java_script_enabled=False)
    assert not page.locator("#panel").is_visible()
    rows = page.locator("#grid tbody tr")
    assert rows.count() > 20
    assert rows.first.is_visible()


def only_the_customer(page: Any) -> None:
    page.evaluate("document.querySelector('.engineer').remove()")
    page.add_style_tag(content=".customer { break-after: auto !important; }")


def test_the_customers_part_prints_on_one_side(
    open_page: Open, page_text: str, made_up: ModuleType
) -> None:
    page = open_page(page_text, bypass_csp=True)
    whole = sheets(page)
    only_the_customer(page)
    assert sheets(page) == 1
    assert whole > 1
    result = made_up.build()
    wordy = replace(
        result,
        input=replace(result.input, name="A pit with a long name, north face, bench three, bag 7"),
        measure_next=tuple(
            replace(step, measurement=f"{step.measurement}, and again in another laboratory")
            for step in result.measure_next
        ),
    )
    page = open_page(to_html(wordy), bypass_csp=True)
    only_the_customer(page)
    assert sheets(page) == 1


def test_names_from_files_appear_as_text(open_page: Open, made_up: ModuleType) -> None:
    result = made_up.build()
    first = result.minerals[0]
    hostile = replace(
        result,
        input=replace(result.input, name=HOSTILE),
        sample_note=HOSTILE,
        minerals=(replace(first, mineral=HOSTILE), *result.minerals[1:]),
        notes=(Note("x", HOSTILE, "warning"),),
    )
    page = open_page(to_html(hostile))
    page.wait_for_timeout(100)
    assert page.complaints == []
    assert page.title().startswith(HOSTILE[:40])
    for part in ("h1 >> nth=0", "#made-of", "#checks"):
        assert "<script>alert(1)</script>" in page.locator(part).inner_text()
    assert page.locator("script").count() == 0
    assert page.locator("main b:text-is('=cmd')").count() == 0


@pytest.fixture(scope="module")
def calculators_page() -> str:
    """Field and paths of two grains at one speed."""
    setting = Setting(roll=read_roll(DEFAULT_ROLL))
    question = Question(phases=(AskedPhase("biotite"),), sizes_um=(300.0,), belt_speeds_m_s=(1.0,))
    result = pull(setting, question)
    return page_of(pull_report(result, pull_picture(setting, question, result)))


@pytest.fixture(scope="module")
def labelled_page() -> str:
    """A report with steps on a side of their own and labels to cut out."""
    table = Table((Column("bag"), Column("mass, g", "number")), (Row(("B1", "100")),))
    steps = Block("steps", "STEPS", (Words("Split the bag.", mark="1"), table))
    order = Block("order", "FOR THE LABORATORY", (Words("Assay them all."),))
    labels = tuple(Card(f"B{k}", ("product", "100 g")) for k in range(12))
    return page_of(
        Report(
            Findings("Hollow Lane 7", "NO TEST YET", (steps, order)),
            "Made from a bag.",
            {},
            own_side=frozenset({"order"}),
            labels=labels,
        )
    )


def test_labels_and_the_order_for_the_laboratory_print_on_their_own_sides(
    open_page: Open, labelled_page: str
) -> None:
    shown = open_page(labelled_page)
    assert shown.locator(".cards li").count() == 12
    assert sheets(shown) == 3


def test_no_serious_finding_of_accessibility(
    open_page: Open,
    page_text: str,
    made_up: ModuleType,
    calculators_page: str,
    labelled_page: str,
) -> None:
    axe = pytest.importorskip("axe_playwright_python.sync_playwright", reason="no axe")
    for text in (page_text, to_html(made_up.build()), calculators_page, labelled_page):
        page = open_page(text, bypass_csp=True)
        page.evaluate("document.querySelectorAll('details').forEach(d => { d.open = true; })")
        found = axe.Axe().run(page).response["violations"]
        grave = [
            (one["id"], one["impact"], [node["html"][:120] for node in one["nodes"][:3]])
            for one in found
            if one["impact"] in ("serious", "critical")
        ]
        assert grave == [], json.dumps(grave, indent=1)


@pytest.mark.parametrize("width", [320, 768])
def test_a_narrow_screen_needs_no_sideways_scrolling(
    open_page: Open, page_text: str, width: int
) -> None:
    page = open_page(page_text, viewport={"width": width, "height": 700})
    assert page.evaluate("document.documentElement.scrollWidth") <= width


def test_every_cell_of_the_findings_is_in_the_page_as_in_the_terminal(
    open_page: Open, page_text: str, assessed: Characterisation
) -> None:
    from feedchar.report.findings import assess_findings

    page = open_page(page_text)
    for block in assess_findings(assessed).blocks:
        shown = page.locator(f"#{block.key.replace(' ', '-')} > .scroll table")
        tables = [part for part in block.parts if isinstance(part, Table)]
        assert shown.count() == len(tables)
        for place, table in enumerate(tables):
            cells = (
                shown.nth(place)
                .locator("tbody tr")
                .evaluate_all(
                    "rows => rows.map(row => [...row.cells].map(cell => cell.textContent))"
                )
            )
            wanted = [
                ["" if isinstance(cell, float) else cell for cell in row.cells]
                for row in table.rows
            ]
            assert cells == wanted
