"""What a table says as a whole: orders, counts, and what an assay would do."""

from __future__ import annotations

import numpy as np
import pytest

from feedchar.batch import run
from feedchar.batch.run import BatchOptions, run_batch
from feedchar.batch.told import product_figures
from feedchar.product.measure import Candidate, variance_removed
from feedchar.sample.records import Limit

LIMIT = Limit(max_wt_pct={"Fe2O3": 0.5})
HEADS = ("Fe2O3_wt_pct", "TiO2_wt_pct", "K2O_wt_pct", "Al2O3_wt_pct")
ASSAYS = ((1.9, 0.8, 3.2, 7.0), ("", "", "", ""), ("", "", "", ""), (0.2, 0.2, 0.5, 9.0),
          ("", "", "", ""))  # fmt: skip


@pytest.fixture
def summary_of(write, tmp_path, invented, headings):
    def made(extra=(), name="out.csv", **options):
        rows = [(*row, *assay) for row, assay in zip(invented, ASSAYS, strict=True)]
        table = write([*rows, *extra], (*headings, *HEADS))
        asked = BatchOptions(limit=LIMIT, trials=200, summary=True, groups=2, **options)
        return run_batch(str(table), str(tmp_path / name), asked).summary

    return made


BAD = ("x", "as dug", "1o2", *[1] * 7, "", "", "", "")


def test_rows_stand_by_chance_and_what_has_none_stands_last(summary_of, rows_of, tmp_path):
    summary = summary_of([BAD])
    chances = [row.chance_of_meeting_limit for row in summary.best]
    known = [chance for chance in chances if chance is not None]
    assert known == sorted(known, reverse=True)
    assert chances[len(known) :] == [None] * (len(chances) - len(known))
    assert {row.row for row in summary.best} == {2, 3, 4, 5, 6}
    assert sum(number for _, number in summary.counts) == summary.rows == 6
    written = {row["sample"]: row for row in rows_of(tmp_path / "out.csv")}
    for row in summary.best:
        own = written[row.sample]
        assert float(own["product_Fe2O3_p50_wt_pct"]) == pytest.approx(
            row.product_Fe2O3_wt_pct, rel=1e-5
        )
        assert (own["assay_needed"] == "true") == (row.status == "assay needed")
        assert row.product_Fe2O3_p05_wt_pct < row.product_Fe2O3_wt_pct
    assert [row.sample for row in summary.unusable] == ["x"]
    assert "1o2" in summary.unusable[0].notes


def test_only_rows_without_an_assay_of_iron_want_one_and_the_widest_comes_first(summary_of):
    summary = summary_of()
    assert {line.row.sample for line in summary.assays} == {"b", "c", "e"}
    removed = [line.variance_removed_share * line.product_sd_wt_pct**2 for line in summary.assays]
    assert removed == sorted(removed, reverse=True)
    for line in summary.assays:
        assert 0.0 < line.variance_removed_share <= 1.0
        assert line.product_sd_after_wt_pct < line.product_sd_wt_pct


def test_the_worst_datum_is_told_with_its_row(summary_of):
    # Sample d holds next to no alumina by its minerals and 9 % by its assay.
    summary = summary_of()
    assert summary.doubts[0].row.sample == "d"
    assert summary.doubts[0].residual_sd > 4.0
    assert summary.doubts[0].row.status == "data disagree"


def test_a_summary_does_not_depend_on_partitions_or_on_breaking_off(
    summary_of, monkeypatch, tmp_path
):
    whole = summary_of([BAD], name="a.csv")
    monkeypatch.setattr(run, "PARTITION_ROWS", 2)
    monkeypatch.setattr("feedchar.batch.run.partitions", lambda source: _by_two(source))
    parts = summary_of([BAD], name="a.csv", force=True)
    assert parts == whole


def _by_two(source):
    from feedchar.batch.table import partitions

    return partitions(source, 2)


def test_bytes_of_the_table_are_the_same_with_and_without_a_summary(write, tmp_path):
    table = write()
    outs = [tmp_path / "a.csv", tmp_path / "b.csv"]
    for out, wanted in zip(outs, (False, True), strict=True):
        run_batch(str(table), str(out), BatchOptions(trials=60, summary=wanted))
    assert outs[0].read_bytes() == outs[1].read_bytes()


def test_variance_that_an_assay_removes_is_that_of_one_bag():
    random = np.random.default_rng(3)
    feed = random.lognormal(-1.0, 0.5, (3, 2001))
    product = 0.4 * feed + 0.05 * random.standard_normal(feed.shape)
    figures = product_figures(product, feed, np.array([False, False, True]), 1)
    for own, iron, made in zip(figures[:2], feed, product, strict=False):
        sd = 0.03 * iron[0] + 0.002
        name = "head assay of the dry bag"
        alone = variance_removed(Candidate(name, "Fe2O3_wt_pct", sd, iron), made, 1)
        assert own[2] == pytest.approx(alone, abs=1e-9)
    assert np.isnan(figures[2, 2])


def test_too_few_trials_tell_nothing_of_variances_and_none_give_the_typical_case(write, tmp_path):
    for trials in (20, 0):
        out = tmp_path / f"{trials}.csv"
        options = BatchOptions(trials=trials, summary=True)
        summary = run_batch(str(write()), str(out), options).summary
        assert summary.assays == ()
        assert len(summary.best) == 5
