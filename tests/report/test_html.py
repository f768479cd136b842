"""The page that is sent on: whole in itself, the same numbers, and text that stays text."""

from __future__ import annotations

import json
import re
from dataclasses import replace
from html import unescape
from html.parser import HTMLParser

import pytest

from feedchar.report.customer_blocks import customer_findings
from feedchar.report.html import repr_html, to_html
from feedchar.report.pictures import picture
from feedchar.report.what_if_panel import panel, script_json
from feedchar.results import Characterisation
from feedchar.results.what_if import WhatIf, WhatIfPoint
from feedchar.sample.records import Note
from feedchar.uncertainty.summary import Uncertain

HOSTILE = "</script><script>alert(1)</script><img src=x onerror=alert(2)>"
VOID = {"meta", "input", "br", "link", "img"}


class Nesting(HTMLParser):
    """Every element is closed in its turn; what each holds is kept."""

    def __init__(self) -> None:
        super().__init__()
        self.open: list[str] = []
        self.seen: list[tuple[str, dict[str, str | None]]] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.seen.append((tag, dict(attrs)))
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.seen.append((tag, dict(attrs)))

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag


def elements(page: str) -> list[tuple[str, dict[str, str | None]]]:
    reader = Nesting()
    reader.feed(page)
    reader.close()
    assert reader.open == []
    return reader.seen


@pytest.fixture(autouse=True)
def _quick_drawing(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> None:
    """Pictures have tests of their own; only the whole page draws them here."""
    if "is_whole_in_itself" not in request.node.name:
        monkeypatch.setattr("feedchar.report.assess_report.svg", lambda result, name: "<svg></svg>")


def about(value: float) -> Uncertain:
    return Uncertain(value, value, value / 10, 0.8 * value, value, 1.2 * value)


def with_panel(result: Characterisation) -> Characterisation:
    points = tuple(
        WhatIfPoint(
            speed,
            edge,
            passes,
            cut,
            about(0.03 * speed / passes),
            about(90.0 + speed),
            0.5 / passes,
        )
        for speed in (1.0, 1.5)
        for edge in (0.005, 0.01)
        for passes in (1, 2)
        for cut in (0.0, 75.0)
    )
    return replace(result, what_if=WhatIf(points, 200))


def test_the_page_is_whole_in_itself_and_the_same_each_time(invented: Characterisation) -> None:
    result = with_panel(invented)
    page = to_html(result)
    assert page == to_html(result)
    assert len(page.encode()) < 1_000_000
    seen = elements(page)
    assert not [tag for tag, _ in seen if tag in ("link", "img", "iframe", "object", "base")]
    for tag, attributes in seen:
        for name, value in attributes.items():
            if name in ("src", "href", "xlink:href", "action", "data"):
                assert (value or "").startswith("#"), f"{tag} fetches {value}"
            assert not name.startswith("on"), f"{tag} has a script in {name}"
    assert "@import" not in page
    assert re.search(r"url\((?!#)", page) is None


def test_the_customer_comes_first_and_is_told_what_was_asked(invented: Characterisation) -> None:
    page = to_html(invented)
    assert page.index("You asked") < page.index("We say") < page.index("engineer-title")
    said = {part.mark: part.text for part in customer_findings(invented).blocks[0].parts}
    assert "0.030" in said["You asked"]
    assert "7\u00a0in\u00a0100" in said["We say"]
    assert "0.026\u00a0to\u00a00.055" in said["As received"]
    assert "75" in said["You must"]
    assert "no guarantee" in said["Not covered"]
    assert "scrub 500" in said["Next step"]


def test_the_customer_is_never_promised_anything(invented: Characterisation) -> None:
    for status in ("meets", "fails", "uncertain", "assay needed", "data disagree"):
        result = replace(invented, answer=replace(invented.answer, status=status))
        text = " ".join(part.text for part in customer_findings(result).blocks[0].parts).lower()
        for word in ("guaranteed", "validated", "certified", "will meet", "proven"):
            assert word not in text


def test_tonnes_an_hour_are_told_where_the_plant_is_known(invented: Characterisation) -> None:
    said = {
        part.mark: part.text
        for part in customer_findings(replace(invented, feed_t_h=10.0)).blocks[0].parts
    }
    assert "9.29\u00a0t/h product" in said["At 10\u00a0t/h dry"]


def test_text_from_files_is_text_in_the_page(invented: Characterisation) -> None:
    first = invented.minerals[0]
    result = with_panel(
        replace(
            invented,
            input=replace(invented.input, name=HOSTILE),
            sample_note=HOSTILE,
            minerals=(replace(first, mineral=HOSTILE, source=HOSTILE), *invented.minerals[1:]),
            answer=replace(
                invented.answer,
                sentence=HOSTILE,
                limit={"use": HOSTILE, "Fe2O3_max_pct": 0.03},
            ),
            notes=(Note("x", HOSTILE, "warning"),),
        )
    )
    page = to_html(result)
    plain = to_html(with_panel(invented))
    for tag in ("script", "img"):
        wanted = sum(1 for found, _ in elements(plain) if found == tag)
        assert sum(1 for found, _ in elements(page) if found == tag) == wanted
    assert "alert(2)" in unescape(page), "it is shown"
    shown = repr_html(result)
    assert "<script" not in shown
    assert "alert(2)" in unescape(shown)


def test_data_in_the_page_cannot_end_their_element() -> None:
    text = script_json([HOSTILE, "\u2028", "&lt;"])
    assert "<" not in text
    assert json.loads(text) == [HOSTILE, "\u2028", "&lt;"]


def test_the_panel_holds_every_setting_and_starts_at_the_one_assessed(
    invented: Characterisation,
) -> None:
    made = panel(with_panel(invented))
    assert made is not None
    assert [slider.start for slider in made.sliders] == [1, 1, 1, 1]
    data = json.loads(made.data)
    assert data["sizes"] == [2, 2, 2, 2]
    assert len(data["points"]) == len(made.table.rows) == 16
    for point, row in zip(data["points"], made.table.rows, strict=True):
        assert tuple(point[:5]) == row.cells[4:]
    where = ((1 * 2 + 0) * 2 + 1) * 2 + 0  # 1.5 m/s, 5 mm, two passes, fines treated
    assert made.table.rows[where].cells[:5] == ("1.5", "5", "2", "none", "0.022")


def test_without_other_settings_there_is_no_panel(invented: Characterisation) -> None:
    page = to_html(invented)
    assert panel(invented) is None
    assert 'id="what-if"' not in page
    assert "<script" not in page


def test_a_grid_with_a_hole_is_no_panel(invented: Characterisation) -> None:
    full = with_panel(invented)
    assert full.what_if is not None
    assert panel(replace(full, what_if=WhatIf(full.what_if.points[1:], 200))) is None


def test_a_picture_has_its_words_and_its_table(invented: Characterisation) -> None:
    page = unescape(to_html(invented))
    for name in ("iron", "curves", "stays", "product", "sizes", "field"):
        drawn = picture(invented, name)
        assert drawn is not None
        assert drawn.caption in page
        assert f"{drawn.title} as a table" in page
        for row in drawn.table.rows:
            assert all(str(cell) in page for cell in row.cells)


def test_a_thin_result_has_a_page_too(invented_thin: Characterisation) -> None:
    page = to_html(invented_thin)
    elements(page)
    assert "Nothing was asked" in page


def test_a_result_shows_itself_in_a_notebook(invented: Characterisation) -> None:
    shown = invented._repr_html_()
    elements(shown)
    assert "Hollow Lane 7" in shown
    assert "0.029\u00a0to\u00a00.058" in shown


@pytest.mark.parametrize("units", ["trade", "si"])
def test_units_are_those_asked_for(invented: Characterisation, units: str) -> None:
    assert ("T (kG)" in to_html(invented, units=units)) == (units == "trade")
