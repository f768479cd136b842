"""Speed of a batch: rows a second with and without assays, beside a plain script."""

from __future__ import annotations

import importlib.util
import sys
import time
from pathlib import Path

import numpy as np
import pytest
from scipy.special import ndtri

from feedchar.batch.answers import answers_of
from feedchar.batch.columns import NUMBERS, PREDICTED, read_columns
from feedchar.batch.drawn import LN_SHAPE_STEP, MOST_SHAPE, draw_table
from feedchar.batch.prepared import Table
from feedchar.batch.rows import read_block
from feedchar.batch.run import setting_of_batch
from feedchar.sample.decimals import POINT
from feedchar.sample.records import Limit

pytestmark = pytest.mark.benchmark(timer=time.process_time)

AMOUNTS = {
    "quartz": 70.0, "k-feldspar": 12.0, "albite": 7.0, "muscovite": 3.0, "biotite": 2.0,
    "kaolinite": 2.0, "hornblende": 1.0, "almandine": 0.8, "ilmenite": 0.5, "hematite": 0.3,
    "rutile": 0.3, "magnetite": 0.1,
}  # fmt: skip
ASSAY = {
    "SiO2": 84.0, "TiO2": 0.75, "Al2O3": 7.5, "Fe2O3": 2.6, "MgO": 0.5, "CaO": 0.4, "Na2O": 1.0,
    "K2O": 2.5, "LOI": 0.7,
}  # fmt: skip
TRIALS = 200


def invented(rows, assayed):
    """Rows of an invented table: log-normal about one sand."""
    random = np.random.default_rng(4)
    made = []
    for n in range(rows):
        amounts = np.array(list(AMOUNTS.values())) * np.exp(0.3 * random.standard_normal(12))
        amounts = np.round(100.0 * amounts / amounts.sum(), 2)
        amounts[0] += 100.0 - amounts.sum()
        row = [f"s{n}", "as dug", *(f"{x:.2f}" for x in amounts)]
        if assayed:
            assay = np.array(list(ASSAY.values())) * np.exp(0.03 * random.standard_normal(9))
            row += [f"{x:.3f}" for x in 97.0 * assay / assay.sum()]  # no row beyond the sum allowed
        made.append(row)
    heads = ["sample", "origin", *(f"{name}_mass_pct" for name in AMOUNTS)]
    return (heads + [f"{name}_wt_pct" for name in ASSAY] if assayed else heads), made


def prepared(rows, assayed, trials=TRIALS):
    heads, made = invented(rows, assayed)
    columns = read_columns(heads, "t.csv")
    drawn = draw_table(columns, trials, 1)
    limit = Limit(max_wt_pct={"Fe2O3": 1.0})
    table = Table(drawn, setting_of_batch(None), columns, limit)

    def block():
        return read_block(made, columns, drawn.names[:-1], drawn.density_kg_m3[:-1], POINT)

    answers_of(table, block())  # the shares of a buried belt are worked out when first met
    return table, block


def test_rows_without_assay(benchmark):
    table, block = prepared(1000, False)
    benchmark.pedantic(lambda b: answers_of(table, b), setup=lambda: ((block(),), {}), rounds=3)
    assert 1000.0 / benchmark.stats["min"] > 280.0  # a million in an hour on one core


def test_rows_with_assay(benchmark):
    table, block = prepared(60, True)
    assert not answers_of(table, block()).bad.any()
    benchmark.pedantic(lambda b: answers_of(table, b), setup=lambda: ((block(),), {}), rounds=2)
    assert 60.0 / benchmark.stats["min"] > 14.0  # 10^5 in an hour on two cores


def test_what_belongs_to_the_table(benchmark):
    heads, _ = invented(1, False)
    columns = read_columns(heads, "t.csv")
    benchmark.pedantic(
        lambda: Table(draw_table(columns, TRIALS, 1), setting_of_batch(None), columns, None),
        rounds=2,
    )


@pytest.mark.parametrize(("trials", "rows"), [(200, 1000), (10_000, 1)])
def test_a_plain_script_gives_the_same_figures_and_takes_its_time(trials, rows, record_property):
    """The script is given all draws and all shares that stay: only the sums are compared."""
    path = Path(__file__).parent / "plain_batch.py"
    spec = importlib.util.spec_from_file_location("plain_batch", path)
    plain = importlib.util.module_from_spec(spec)
    sys.modules["plain_batch"] = plain
    spec.loader.exec_module(plain)

    table, block = prepared(rows, False, trials)
    score = ndtri(table.drawn.unseen_uniform + 2.0**-54).tolist()
    gammas = plain.Gammas(table.drawn, LN_SHAPE_STEP, MOST_SHAPE, score)
    script, read = plain.Plain(table, gammas), block()
    start = time.process_time()
    points, product, mass = script.row(
        read.kind[:, 0].tolist(), read.mean[:, 0].tolist(), read.shape[:, 0].tolist(),
        read.limit[:, 0].tolist(),
    )  # fmt: skip
    slow = time.process_time() - start
    best = np.inf
    for _ in range(5):
        again = block()
        start = time.process_time()
        answers = answers_of(table, again)
        best = min(best, (time.process_time() - start) / rows)
    found = answers.numbers[0]
    assert found[: len(PREDICTED)] == pytest.approx(np.ravel(points), rel=1e-9, abs=1e-12)
    assert found[NUMBERS.index("product_Fe2O3_p50_wt_pct")] == pytest.approx(product, rel=1e-9)
    assert found[NUMBERS.index("product_yield_p50_pct")] == pytest.approx(mass, rel=1e-9)
    record_property("plain script over batch, times", round(slow / best))
    assert slow / best > 50.0
