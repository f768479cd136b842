"""Rows fitted together: the same answer as one bag by itself, and truths inside the intervals."""

from __future__ import annotations

import numpy as np
import pytest

from feedchar.batch.amounts import amounts_before_assay
from feedchar.batch.assayed import fitted_feed
from feedchar.batch.columns import read_columns
from feedchar.batch.drawn import draw_table
from feedchar.batch.row_fit import add_carriers
from feedchar.batch.rows import read_block
from feedchar.chemistry.build import mineralogy_of
from feedchar.chemistry.mineral_trials import diffraction_sd
from feedchar.chemistry.oxides import COLUMN
from feedchar.chemistry.unseen import FE2O3_SHARE, INTERCEPT, RESIDUAL_LN_SD, SLOPE
from feedchar.sample.assay_error import default_assay_sd
from feedchar.sample.decimals import POINT
from feedchar.sample.records import MineralAmount, OxideValue, Sample

LISTED = (
    "quartz", "k-feldspar", "albite", "muscovite", "biotite", "kaolinite", "hornblende",
    "almandine", "ilmenite", "rutile",
)  # fmt: skip
MEANS = np.array([68.0, 12.0, 8.0, 3.5, 2.5, 2.0, 1.5, 1.2, 0.8, 0.5])
ASSAYED = ("SiO2", "TiO2", "Al2O3", "Fe2O3", "MgO", "CaO", "Na2O", "K2O")
HEADINGS = (
    "sample", "origin", *(f"{name}_mass_pct" for name in LISTED),
    *(f"{name}_wt_pct" for name in ASSAYED),
)  # fmt: skip


def fitted(rows, trials):
    columns = read_columns(HEADINGS, "t.csv")
    drawn = draw_table(columns, trials, 7)
    block = read_block(rows, columns, drawn.names[:-1], drawn.density_kg_m3[:-1], POINT)
    good = np.flatnonzero(~block.bad)
    add_carriers(block, good, drawn)
    amounts = amounts_before_assay(block, good, drawn)
    return drawn, good, fitted_feed(block, good, amounts, drawn)


def invented(count):
    """Rows of a table and the truth behind each, drawn as the fit believes.

    As in tests/chemistry/test_synthetic_truths.py: listed amounts with their error, iron along its
    line, compositions off their formula, the unseen total, an assay with its own error.
    """
    random = np.random.default_rng(11)
    drawn = draw_table(read_columns(HEADINGS, "t.csv"), count, 23)
    places = [*(drawn.names.index(name) for name in LISTED), len(drawn.names) - 1]
    off = np.stack([drawn.ingredients[p].spread for p in places])
    typical = drawn.low[places] + drawn.place[places, :1] * drawn.change[places]
    truths, rows = [], []
    for n in range(count):
        listed = MEANS * np.exp(0.3 * random.standard_normal(len(MEANS)))
        listed *= 100.0 / listed.sum()
        shape = np.maximum((listed / [diffraction_sd(x) for x in listed]) ** 2, 1.0)
        median = np.exp(INTERCEPT) * (listed @ typical[:-1, COLUMN["Al2O3"]] / 100.0) ** SLOPE
        unseen = median * np.exp(RESIDUAL_LN_SD * random.standard_normal()) / FE2O3_SHARE
        true = random.standard_gamma(shape) * listed / shape
        true = np.append(true * (100.0 - unseen) / true.sum(), unseen)
        content = drawn.low[places] + drawn.place[places, n + 1, None] * drawn.change[places]
        oxides = true @ (content + off * random.standard_normal(off.shape)) / 100.0
        figures = [max(oxides[COLUMN[name]], 0.0) for name in ASSAYED]
        noise = [default_assay_sd(o, x) for o, x in zip(ASSAYED, figures, strict=True)]
        read = np.maximum(figures + noise * random.standard_normal(len(noise)), 0.001)
        truths.append(true)
        rows.append([f"s{n}", "as dug", *listed.tolist(), *read.tolist()])
    return np.array(truths), rows


@pytest.mark.slow
def test_rows_fitted_together_have_the_mineralogy_of_each_bag_by_itself():
    _, rows = invented(4)
    trials = 1500
    drawn, good, feed = fitted(rows, trials)
    for n, row in enumerate(good):
        cells = dict(zip(HEADINGS, rows[row], strict=True))
        bag = Sample(
            "bag",
            origin="as dug",
            minerals=tuple(
                MineralAmount(name, "mass_pct", cells[f"{name}_mass_pct"]) for name in LISTED
            ),
            assay={name: OxideValue(cells[f"{name}_wt_pct"], None) for name in ASSAYED},
        )
        one = mineralogy_of(bag, trials, 8, thorough=False)
        for column, phase in enumerate(one.phases):
            alone = 100.0 * one.mass_fraction[1:, column]
            together = feed.wt_pct[drawn.names.index(phase.name), n, 1:]
            # Two means of 1500 dependent draws: a fifth of an sd is above five errors.
            assert abs(alone.mean() - together.mean()) < 0.2 * alone.std()
            assert together.std() == pytest.approx(alone.std(), rel=0.2)


@pytest.mark.slow
def test_nine_in_ten_intervals_of_phases_and_unseen_iron_hold_the_truth():
    truths, rows = invented(240)
    drawn, good, feed = fitted(rows, 200)
    places = [*(drawn.names.index(name) for name in LISTED), len(drawn.names) - 1]
    low, high = np.quantile(feed.wt_pct[places][:, :, 1:], (0.05, 0.95), axis=2)
    inside = (low <= truths[good].T) & (high >= truths[good].T)
    assert len(good) > 200
    assert 0.87 <= inside.mean() <= 0.93
    # A share of 0.9 is known to 0.02 by 240 rows.
    assert inside.mean(axis=1) == pytest.approx(0.9, abs=0.06)
