"""The report at any width, with and without colour, and with names meant to hurt."""

from __future__ import annotations

import io
import re
from dataclasses import replace

import pytest

from feedchar.report.blocks import Block, Column, Findings, Row, Table
from feedchar.report.findings import assess_findings, check_findings, stays_findings
from feedchar.report.layout import tabulated
from feedchar.report.lines import cells, wrapped
from feedchar.report.terminal import Screen, render, screen_of
from feedchar.results import Characterisation

ESCAPE = re.compile(r"\x1b\[[0-9;]*m")
HOSTILE = "[red]x[/] \x1b[31m\x07 a\nb \u202eevil\u2066 \u200b<script>"


def numbers_of(findings: Findings) -> set[str]:
    """Every cell of every number column."""
    return {
        str(cell).replace("\u00a0", " ")
        for block in findings.blocks
        for part in block.parts
        if isinstance(part, Table)
        for row in part.rows
        for column, cell in zip(part.columns, row.cells, strict=True)
        if column.kind == "number" and not column.optional
    }


@pytest.mark.parametrize("width", [60, 80, 120])
@pytest.mark.parametrize("make", [assess_findings, check_findings, stays_findings])
def test_no_line_is_wider_than_the_page(
    width: int, make: object, invented: Characterisation
) -> None:
    text = render(make(invented), Screen(width=width))  # type: ignore[operator]
    assert max(cells(line) for line in text.splitlines()) <= width


@pytest.mark.parametrize("width", [20, 33, 46, 60, 80, 120, 200])
def test_every_number_stands_whole_in_one_line(width: int, invented: Characterisation) -> None:
    findings = assess_findings(invented)
    lines = render(findings, Screen(width=width)).splitlines()
    for shown in numbers_of(findings):
        assert any(shown in line for line in lines), shown


def test_the_questions_come_in_the_order_an_engineer_asks(invented: Characterisation) -> None:
    keys = [block.key for block in assess_findings(invented).blocks]
    assert keys == [
        "answer", "product", "balance", "feed", "iron", "response", "stays", "could be",
        "setting", "doubt", "next", "checks", "cautions",
    ]  # fmt: skip


def test_the_answer_is_on_the_first_screen(invented: Characterisation) -> None:
    first = render(assess_findings(invented), Screen()).splitlines()[:24]
    text = "\n".join(first)
    for expected in ("FEED ASSAYED, SEPARATION NOT TESTED", "FAILS", "Fe2O3", "yield", "8 in 100"):
        assert expected in text


def test_without_colour_no_escape_code_is_written(invented: Characterisation) -> None:
    assert "\x1b" not in render(assess_findings(invented), Screen())


def test_colour_adds_nothing_but_style(invented: Characterisation) -> None:
    findings = assess_findings(invented)
    plain = render(findings, Screen(width=100))
    for colour in ("standard", "256", "truecolor"):
        styled = render(findings, Screen(width=100, colour=colour, styled=True))
        assert "\x1b[" in styled
        assert ESCAPE.sub("", styled) == plain


def test_every_verdict_is_also_a_word(invented: Characterisation) -> None:
    for status in ("meets", "fails", "uncertain", "assay needed", "data disagree"):
        answer = replace(invented.answer, status=status)
        text = render(assess_findings(replace(invented, answer=answer)), Screen())
        assert status.upper() in text


def test_an_ascii_page_says_symbols_in_ascii(invented: Characterisation) -> None:
    named = replace(invented, input=replace(invented.input, name="Gr\u00e8s \u6c99 \u00b5"))
    text = render(assess_findings(named), Screen(unicode=False))
    assert text.isascii()
    assert "T2/m" in text
    assert "###" in text
    assert "Gr\\xe8s \\u6c99 u" in text


@pytest.mark.parametrize("width", [20, 80])
def test_hostile_names_are_shown_and_never_obeyed(width: int, invented: Characterisation) -> None:
    mineral = replace(invented.minerals[0], mineral=HOSTILE)
    line = replace(invented.iron_that_stays[0], reason=HOSTILE, carriers=(HOSTILE,))
    note = replace(invented.notes[0], text=HOSTILE)
    hurt = replace(
        invented,
        input=replace(invented.input, name=HOSTILE),
        sample_note=HOSTILE,
        minerals=(mineral, *invented.minerals[1:]),
        iron_that_stays=(line, *invented.iron_that_stays[1:]),
        notes=(note,),
        setting=replace(invented.setting, roll=HOSTILE),
    )
    for make in (assess_findings, check_findings, stays_findings):
        text = render(make(hurt), Screen(width=width))
        controls = [c for c in text if c != "\n" and not c.isprintable()]
        assert controls == []
        joined = re.sub(r"\s+", " ", text)
        assert "[red]x[/] \\x1b[31m\\x07 a\\nb" in joined


def test_a_name_of_ten_kilobytes_does_not_fill_the_page(invented: Characterisation) -> None:
    long = replace(invented, input=replace(invented.input, name="n" * 10_000))
    text = render(assess_findings(long), Screen())
    assert len(text) < 12_000


def test_the_thinnest_result_is_told_too(invented_thin: Characterisation) -> None:
    for make in (assess_findings, check_findings, stays_findings):
        for width in (20, 80, 120):
            assert render(make(invented_thin), Screen(width=width))
    text = render(assess_findings(invented_thin), Screen())
    assert "NO LIMIT GIVEN" in text
    assert "asked" not in text
    assert "nan" not in text.lower()


def test_a_pipe_is_eighty_columns_without_style(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("COLUMNS", raising=False)
    screen = screen_of(io.TextIOWrapper(io.BytesIO(), encoding="utf-8"))
    assert (screen.width, screen.colour, screen.styled) == (80, None, False)


@pytest.mark.parametrize(
    ("variables", "encoding", "expected"),
    [
        ({"LC_ALL": "C"}, "utf-8", False),
        ({"LC_ALL": "", "LC_CTYPE": "", "LANG": "POSIX"}, "utf-8", False),
        ({"LC_ALL": "en_US.UTF-8"}, "utf-8", True),
        ({"LC_ALL": "en_US.UTF-8"}, "latin-1", False),
        ({"LC_ALL": "", "LC_CTYPE": "", "LANG": ""}, "UTF-8", True),
    ],
)
def test_symbols_are_used_only_where_they_can_be_read(
    variables: dict[str, str], encoding: str, expected: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    for key, value in variables.items():
        monkeypatch.setenv(key, value)
    assert screen_of(io.TextIOWrapper(io.BytesIO(), encoding=encoding)).unicode is expected


@pytest.mark.parametrize("columns", ["0", "x", "-5", "99999999", "\u0665"])
def test_a_foolish_width_is_survived(
    columns: str, invented: Characterisation, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COLUMNS", columns)
    screen = screen_of(io.StringIO())
    assert 20 <= screen.width < 100_000
    assert render(assess_findings(invented), screen)


def test_a_dumb_terminal_gets_no_escape_codes(monkeypatch: pytest.MonkeyPatch) -> None:
    class Terminal(io.StringIO):
        encoding = "utf-8"

        def isatty(self) -> bool:
            return True

    monkeypatch.setenv("TERM", "dumb")
    for variable in ("FORCE_COLOR", "TTY_COMPATIBLE"):
        monkeypatch.delenv(variable, raising=False)
    screen = screen_of(Terminal())
    assert screen.colour is None
    assert not screen.styled


def test_no_color_is_honoured_on_a_terminal(monkeypatch: pytest.MonkeyPatch) -> None:
    class Terminal(io.StringIO):
        encoding = "utf-8"

        def isatty(self) -> bool:
            return True

    monkeypatch.setenv("TERM", "xterm-256color")
    for variable in ("FORCE_COLOR", "TTY_COMPATIBLE", "COLORTERM", "NO_COLOR"):
        monkeypatch.delenv(variable, raising=False)
    assert screen_of(Terminal()).colour == "256"
    monkeypatch.setenv("NO_COLOR", "1")
    assert screen_of(Terminal()).colour is None


def test_words_break_at_plain_spaces_only() -> None:
    lines = wrapped("about 0.030\u00a0% of it, 7\u00a0in\u00a0100", 12)
    assert lines == ["about", "0.030 % of", "it, 7 in 100"]
    assert wrapped("", 10) == [""]
    assert wrapped("first", 10, first=8) == ["", "first"]


def test_wide_letters_count_two_columns() -> None:
    assert cells("\u6c99a\u0301") == 3


def test_a_narrow_table_drops_optional_columns_then_tells_its_rows() -> None:
    table = Table(
        (Column("name"), Column("wt %", "number"), Column("remark", optional=True)),
        (Row(("quartz", "98.31", "a remark of some length")),),
    )

    def said(width: int) -> list[str]:
        return ["".join(piece.text for piece in line) for line in tabulated(table, width, "#", "")]

    assert said(60) == ["name     wt %  remark", "quartz  98.31  a remark of some length"]
    assert said(14) == ["name     wt %", "quartz  98.31"]
    assert said(10) == ["   wt %", "quartz", "  98.31"]
    number, remark = ["quartz", "  wt", "  %:", "  98.31"], ["  remark:", "  a", "  remark"]
    assert said(6) == [*number, *remark, "  of", "  some", "  length"]


def test_bars_grow_with_their_number_and_small_ones_show() -> None:
    table = Table(
        (Column("why"), Column("ppm", "number"), Column("", "bar")),
        tuple(Row((f"r{value}", f"{value}", value / 100)) for value in (100, 50, 1, 0)),
    )
    block = Block("x", "X", (table,))
    text = render(Findings("t", "b", (block,)), Screen(unicode=False))
    lengths = [line.count("#") for line in text.splitlines() if "  r" in line]
    assert lengths == [24, 12, 1, 0]
