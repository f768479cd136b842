"""Iron of counted sands from their minerals, against X-ray fluorescence of the same samples.

Data: vermeesch_2015 and Garzanti et al. 2012 (doi 10.1016/j.earscirev.2012.02.008), the open half.
The composition of the counted groups is a generic guess made before, and fitted to nothing.
"""

from __future__ import annotations

import csv
from functools import lru_cache
from pathlib import Path

import numpy as np
import pytest

from feedchar.chemistry.build import mineralogy_of
from feedchar.chemistry.mineralogy import OXIDES
from feedchar.sample.records import MineralAmount, Phase, Sample

DATA = Path(__file__).parent / "data"
FE = OXIDES.index("Fe2O3")


def rows(name):
    return list(csv.DictReader((DATA / name).read_text(encoding="utf-8").splitlines()))


def phases():
    return tuple(
        Phase(
            row["phase"], None, 1000.0 * float(row["density_g_cm3"]), None, None,
            {k.removesuffix("_wt_pct"): float(v) for k, v in row.items() if k.endswith("_wt_pct")},
            {},
        )
        for row in rows("counted_sands_phases.csv")
    )  # fmt: skip


@lru_cache
def results(origin):
    own = phases()
    table = []
    for row in rows("counted_sands_open_half.csv"):
        minerals = tuple(
            MineralAmount(
                p.phase, "volume_pct", float(row[f"{p.phase}_volume_pct"]), method="point count"
            )
            for p in own
            if float(row[f"{p.phase}_volume_pct"]) > 0
        )
        sample = Sample(row["sample"], origin=origin, minerals=minerals, phases=own)
        mineralogy = mineralogy_of(sample, 1000, 1)
        trials = mineralogy.predicted_wt_pct[1:, FE]
        table.append(
            (float(row["Fe2O3_wt_pct"]), mineralogy.predicted_wt_pct[0, FE],
             *np.quantile(trials, [0.05, 0.95]))
        )  # fmt: skip
    return np.array(table)


def rmse(table):
    return float(np.sqrt(np.mean((table[:, 1] - table[:, 0]) ** 2)))


@pytest.mark.parametrize("origin", ["as dug", None])
def test_nine_in_ten_intervals_hold_at_least_seven_of_eight_sands(origin):
    table = results(origin)
    inside = (table[:, 0] >= table[:, 2]) & (table[:, 0] <= table[:, 3])
    assert inside.sum() >= 7


def test_iron_of_the_counted_minerals_is_right_within_half_a_per_cent():
    assert rmse(results(None)) <= 0.50


def test_with_a_twentieth_more_for_unseen_iron_one_sand_takes_it_above_half_a_per_cent():
    # Measured: 0.55. Sand N13 alone, over-counted in opaques by its own titanium, makes the
    # difference: without it the other seven are within 0.35.
    table = results("as dug")
    worst = np.argmax(np.abs(table[:, 1] - table[:, 0]))
    assert rows("counted_sands_open_half.csv")[worst]["sample"] == "N13"
    assert rmse(np.delete(table, worst, axis=0)) <= 0.35
