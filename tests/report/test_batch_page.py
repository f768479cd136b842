"""The page of a table of many samples: complete, short, and harmless whatever names it holds."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest

from feedchar.report.batch_blocks import batch_findings
from feedchar.report.batch_report import batch_report
from feedchar.report.blocks import Table, Words
from feedchar.report.html import page as page_of
from feedchar.results.batch import (
    BatchAssay,
    BatchDoubt,
    BatchGroup,
    BatchGroups,
    BatchRow,
    BatchSummary,
)

NASTY = '<script>alert("x")</script>'
POINTS = tuple((k % 2, 0.02 + 0.0001 * k, 95.0 - 0.01 * k) for k in range(400))


def batch_html(summary):
    return page_of(batch_report(summary))


def row(place, status="uncertain", name=None, notes=""):
    """A row of an invented table: chance falls with its place."""
    chance = None if status in ("assay needed", "not usable") else 1.0 - place / 200.0
    return BatchRow(
        name or f"hole {place}", place + 2, status, 0.02 + 0.001 * place, 0.01, 0.3, 95.0, chance,
        60.0, 30.0, notes,
    )  # fmt: skip


def table(**changes):
    rows = [row(place) for place in range(100)]
    bins = tuple((0.02 * 1.1**k, 0.02 * 1.1 ** (k + 1), 10.0) for k in range(10))
    made = BatchSummary(
        table="cores.csv",
        sha256="0" * 64,
        out="answers.csv",
        rows=100_000,
        trials=200,
        seed=1,
        limit={"Fe2O3_max_pct": 0.05, "yield_min_pct": 90.0},
        machine="permanent-roll",
        roll="fine-100",
        belt_speed_m_s=1.5,
        splitter_m=0.01,
        passes=1,
        drum_first=None,
        treated_passing_um=500.0,
        treated_retained_um=None,
        has_sizes=True,
        assayed=20_000,
        twins=2,
        counts=(("meets", 10), ("uncertain", 99_890), ("assay needed", 40), ("not usable", 60)),
        product_Fe2O3_points_wt_pct=(0.02, 0.03, 0.04, 0.06, 0.1),
        bins=bins,
        best=(row(0, "meets", NASTY), *rows),
        last=tuple(rows[:50]),
        doubts=(BatchDoubt(row(3, "data disagree", notes="TiO2 is 5.1 sd from the rest"), 5.1),),
        doubtful=1,
        assays=(BatchAssay(row(7, "assay needed"), 0.08, 0.75),),
        groups=BatchGroups(
            (BatchGroup(rows[1], 70_000, (rows[2], rows[3]), 0.02, 0.03, 0.05),
             BatchGroup(rows[9], 30_000, (), 0.06, 0.07, 0.09)),
            0.8, (rows[90],), POINTS,
        ),
        unusable=(row(5, "not usable", notes='quartz_mass_pct: "1o2" is no number'),),
        phases=("quartz", "biotite"),
    )  # fmt: skip
    return replace(made, **changes)


def text_of(block):
    out = []
    for part in block.parts:
        if isinstance(part, Words):
            out.append(part.text)
        elif isinstance(part, Table):
            out += [str(cell) for line in part.rows for cell in line.cells]
    return "\n".join(out).replace("\u00a0", " ")


def block(summary, key):
    return next(block for block in batch_findings(summary).blocks if block.key == key)


def test_the_page_fetches_nothing_runs_nothing_and_is_short():
    page = batch_html(table())
    assert len(page.encode()) < 1_000_000
    assert NASTY not in page
    assert "<script" not in page
    assert "&lt;script&gt;" in page
    fetched = re.findall(r'(?:src|href)="(?!#)[^"]*"|url\((?!#)|@import', page)
    assert fetched == []
    assert "script-src" not in page
    assert "default-src 'none'" in page


def test_the_same_table_gives_the_same_page_and_every_picture_stands_as_a_table_too():
    page = batch_html(table())
    assert page == batch_html(table())
    assert page.count("<svg") == page.count("as a table</summary>") == 2


def test_names_of_parts_of_the_two_pictures_do_not_meet():
    names = re.findall(r' id="([^"]+)"', batch_html(table()))
    assert len(names) == len(set(names))


def test_the_first_sentence_counts_the_rows_by_what_they_say():
    text = text_of(block(table(), "answer"))
    assert "Of 100000 rows 10 are likely to meet what is asked, 99890 open, none unlikely" in text
    assert "40 get no chance before their iron is assayed" in text
    assert "2 sample names stand in more than one row" in text


def test_what_an_assay_leaves_of_the_doubt_is_told():
    text = text_of(block(table(), "assays"))
    assert "0.080" in text  # sd now
    assert "0.040" in text  # sd after three quarters of the variance went
    assert "75.0" in text


def test_data_that_disagree_and_rows_that_cannot_be_used_are_told_with_their_reasons():
    assert "TiO2 is 5.1 sd from the rest" in text_of(block(table(), "doubts"))
    assert "1o2" in text_of(block(table(), "unusable"))
    assert "60 rows" in text_of(block(table(), "unusable"))


def test_samples_to_test_come_with_stand_ins_and_the_odd_one():
    text = text_of(block(table(), "tests"))
    assert "2 samples stand for all" in text
    assert "hole 2, hole 3" in text
    assert "Least like any of them: hole 90" in text


def test_a_drum_ahead_of_the_roll_is_told():
    assert "behind a weak drum" in text_of(block(table(drum_first="weak"), "basis"))


def test_cautions_and_what_it_rests_on_are_always_there():
    keys = [b.key for b in batch_findings(table()).blocks]
    assert keys[-2:] == ["basis", "cautions"]
    assert "dust" in text_of(block(table(), "cautions"))
    assert "to 500 μm treated" in text_of(block(table(), "basis")).replace("µ", "μ")


@pytest.mark.parametrize(
    "changes",
    [
        {"limit": {}, "counts": (("no limit given", 100_000),)},
        {"groups": None, "bins": (), "assays": (), "doubts": (), "unusable": (), "last": ()},
        {"best": (), "last": (), "product_Fe2O3_points_wt_pct": (), "bins": (), "groups": None,
         "assays": (), "doubts": (), "counts": (("not usable", 100_000),)},
    ],
)  # fmt: skip
def test_what_is_not_there_is_left_out(changes):
    page = batch_html(table(**changes))
    assert "None" not in page
    assert "nan" not in re.sub(r"<svg.*?</svg>", "", page, flags=re.DOTALL)
