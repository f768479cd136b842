"""Rows of a table: what a cell says, what spoils a row, and that no row depends on another."""

from __future__ import annotations

import numpy as np
import pytest

from feedchar.batch import partition, run
from feedchar.batch.cells import read_numbers
from feedchar.batch.run import BatchOptions, run_batch
from feedchar.errors import InputError
from feedchar.sample.decimals import DecimalMark

QUICK = BatchOptions(trials=40)


def answered(path, tmp_path, rows_of, options=QUICK, name="out.csv"):
    out = tmp_path / name
    report = run_batch(str(path), str(out), options)
    return report, rows_of(out)


def test_a_cell_is_a_number_an_upper_end_or_named():
    values, below, problems = read_numbers(
        ["1.5", "", None, "<0.5", "tr", "nan", "1_0", "n.d.", 2.5], DecimalMark(".")
    )
    assert np.isnan(values[[1, 2, 5, 6, 7]]).all()
    assert values[[0, 3, 4, 8]].tolist() == [1.5, 0.5, 0.5, 2.5]
    assert np.flatnonzero(below).tolist() == [3, 4]
    assert sorted(problems) == [5, 6, 7]


def test_a_row_that_cannot_be_used_says_why_and_the_others_are_as_without_it(
    write, rows_of, tmp_path, invented
):
    _, good = answered(write(), tmp_path, rows_of)
    bad = [
        ("x", "as dug", "1o2", 14, 8, 4, 2, 1, 0.6, 0.4),
        ("y", "as dug", 20, 14, 8, 4, 2, 1, 0.6, 0.4),
        ("z", "moon", 70, 14, 8, 4, 2, 1, 0.6, 0.4),
        ("short", "as dug", 70),
    ]
    table = write([bad[0], *invented, *bad[1:]])
    report, mixed = answered(table, tmp_path, rows_of, name="mixed.csv")
    assert report.bad == 4
    assert mixed[1:6] == good
    wanted = ("1o2", "sums to 50", "moon", "cells")
    for row, words in zip((mixed[0], *mixed[6:]), wanted, strict=True):
        assert words in row["notes"]
        assert row["product_Fe2O3_p50_wt_pct"] == row["assay_needed"] == ""
    with pytest.raises(InputError, match=r"row 2.*1o2"):
        run_batch(str(table), str(tmp_path / "strict.csv"), BatchOptions(trials=40, strict=True))
    assert not (tmp_path / "strict.csv").exists()


ASSAYED = ("Fe2O3_wt_pct", "TiO2_wt_pct", "K2O_wt_pct", "Al2O3_wt_pct")
ASSAYS = (
    (1.9, 0.8, 3.2, 7.0), (0.9, 0.6, 1.6, "<4.5"), (2.6, 0.4, 6.0, 12.0), ("", "", "", ""),
    (3.3, 1.4, 3.6, 8.5),
)  # fmt: skip


def test_order_and_neighbours_of_rows_change_no_digit(
    write, rows_of, tmp_path, invented, headings, monkeypatch
):
    heads = (*headings, *ASSAYED)
    rows = [(*row, *assay) for row, assay in zip(invented, ASSAYS, strict=True)]
    rows += [("f", *row[1:]) for row in rows[:1]]
    _, forward = answered(write(rows, heads), tmp_path, rows_of)
    _, backward = answered(write(rows[::-1], heads, "b.csv"), tmp_path, rows_of, name="bo.csv")
    assert forward == backward[::-1]
    alone = write(rows[2:3], heads, "alone.csv")
    assert answered(alone, tmp_path, rows_of, name="alone_out.csv")[1] == forward[2:3]
    monkeypatch.setattr(run, "PARTITION_ROWS", 2)
    monkeypatch.setattr("feedchar.batch.run.partitions", _by_two)
    assert answered(write(rows, heads), tmp_path, rows_of, name="two.csv")[1] == forward


def _by_two(source):
    from feedchar.batch.table import partitions

    return partitions(source, 2)


def test_a_run_that_broke_off_goes_on_and_computes_nothing_twice(
    write, rows_of, tmp_path, invented, monkeypatch
):
    table, out = write(), tmp_path / "out.csv"
    _, whole = answered(table, tmp_path, rows_of, name="whole.csv")
    monkeypatch.setattr(run, "PARTITION_ROWS", 2)
    monkeypatch.setattr("feedchar.batch.run.partitions", _by_two)
    seen = []
    real = partition.compute

    def breaks(task, rows):
        seen.append(rows[0][0])
        if len(seen) == 2:
            raise KeyboardInterrupt
        return real(task, rows)

    monkeypatch.setattr(partition, "compute", breaks)
    with pytest.raises(KeyboardInterrupt):
        run_batch(str(table), str(out), QUICK)
    assert not out.exists()
    assert seen == ["a", "c"]
    report = run_batch(str(table), str(out), QUICK)
    assert seen == ["a", "c", "c", "e"]
    assert report.taken_over == 2
    assert rows_of(out) == whole
    assert [p.name for p in tmp_path.iterdir() if p.name.startswith(".")] == []


def test_parts_of_another_run_are_not_taken_over(write, tmp_path, rows_of, monkeypatch):
    table, out = write(), tmp_path / "out.csv"
    monkeypatch.setattr(run, "PARTITION_ROWS", 2)
    monkeypatch.setattr("feedchar.batch.run.partitions", _by_two)
    real = partition.compute
    calls = []

    def breaks(task, rows):
        calls.append(rows)
        if len(calls) == 3:
            raise KeyboardInterrupt
        return real(task, rows)

    monkeypatch.setattr(partition, "compute", breaks)
    with pytest.raises(KeyboardInterrupt):
        run_batch(str(table), str(out), QUICK)
    report = run_batch(str(table), str(out), BatchOptions(trials=40, seed=2))
    assert report.taken_over == 0
    assert len(calls) == 6


def test_a_name_that_stands_twice_is_noted_in_both_rows(write, tmp_path, rows_of, invented):
    report, rows = answered(write([*invented, ("A ", *invented[1][1:])]), tmp_path, rows_of)
    assert report.twins == 1
    noted = [row["sample"] for row in rows if "same sample name" in row["notes"]]
    assert noted == ["a", "A "]


def test_zero_is_not_found_and_blank_is_not_looked_for(write, rows_of, tmp_path):
    heads = ("sample", "origin", "quartz_mass_pct", "albite_mass_pct", "ilmenite_mass_pct")
    rows = [("zero", "as dug", 90, 10, 0), ("blank", "as dug", 90, 10, "")]
    _, (zero, blank) = answered(write(rows, heads), tmp_path, rows_of)
    assert float(zero["TiO2_predicted_p95_wt_pct"]) > 0.02
    assert float(blank["TiO2_predicted_p95_wt_pct"]) < 0.01


def test_iron_that_nobody_saw_asks_for_an_assay(write, rows_of, tmp_path):
    options = BatchOptions(trials=40)
    _, rows = answered(write(), tmp_path, rows_of, options)
    assert [row["assay_needed"] for row in rows] == ["false", "false", "true", "true", "true"]


def test_an_assay_alone_is_fitted_to_likely_minerals(write, rows_of, tmp_path):
    heads = ("sample", "origin", "SiO2_wt_pct", "Al2O3_wt_pct", "Fe2O3_wt_pct", "K2O_wt_pct")
    _, (row,) = answered(write([("a", "as dug", 93, 4, 0.6, 2)], heads), tmp_path, rows_of)
    assert "no minerals" in row["notes"]
    assert float(row["product_Fe2O3_p50_wt_pct"]) < 0.6


def test_a_table_of_semicolons_and_decimal_commas_is_understood(write, rows_of, tmp_path):
    plain = write()
    other = tmp_path / "komma.csv"
    text = plain.read_text().replace(",", ";").replace(".", ",")
    other.write_text("\ufeff" + text, encoding="utf-8")
    _, first = answered(plain, tmp_path, rows_of)
    _, second = answered(other, tmp_path, rows_of, name="k.csv")
    key = "product_Fe2O3_p50_wt_pct"
    assert [row[key] for row in first] == [row[key] for row in second]


@pytest.mark.slow
def test_one_process_two_workers_and_a_cluster_of_two_give_the_same_bytes(
    write, tmp_path, invented, headings, monkeypatch
):
    distributed = pytest.importorskip("distributed")
    heads = (*headings, *ASSAYED)
    rows = [(*row, *assay) for row, assay in zip(invented, ASSAYS, strict=True)] * 450
    table = write([(f"s{n}", *row[1:]) for n, row in enumerate(rows)], heads)
    outs = [tmp_path / name for name in ("one.csv", "two.csv", "cluster.csv")]
    for out, workers in zip(outs[:2], (1, 2), strict=True):
        run_batch(str(table), str(out), BatchOptions(trials=10, workers=workers))
    with distributed.LocalCluster(
        n_workers=2, threads_per_worker=1, processes=True, dashboard_address=None
    ) as cluster:
        options = BatchOptions(trials=10, cluster=cluster.scheduler_address)
        run_batch(str(table), str(outs[2]), options)
    assert outs[0].read_bytes() == outs[1].read_bytes()
    assert outs[0].read_bytes() == outs[2].read_bytes()
