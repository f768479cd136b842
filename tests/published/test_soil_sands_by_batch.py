"""Open soil sands through the command `batch`: minerals by diffraction in, oxides out.

smith_2013: mineralogy and chemistry of soils of the conterminous United States; the open half
holds quartz-feldspar soils with both. What is expected is what test_soil_sands.py expects.
"""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np
import pytest

from feedchar.cli.main import main

DATA = Path(__file__).parent / "data" / "soil_sands_open_half.csv"
MINERALS = {
    "quartz": "quartz", "tot_k_fs": "k-feldspar", "tot_plag": "oligoclase",
    "tot_14a": "montmorillonite", "tot_10a": "illite", "kaolinit": "kaolinite",
    "gibbsite": "gibbsite", "calcite": "calcite", "dolomite": "dolomite", "gypsum": "gypsum",
    "talc": "talc", "hornbl": "hornblende", "serpent": "serpentine", "hematite": "hematite",
    "goethite": "goethite", "pyroxene": "augite", "pyrite": "pyrite",
}  # fmt: skip
UNNAMED = ("aragon", "analcime", "heuland", "other", "amorph")
"""Phases without a row in the tables, as `unidentified`."""


def share(row, name):
    return float(row[f"{name}_wt_pct"] or 0.0)


@pytest.fixture(scope="module")
def pairs(tmp_path_factory):
    """Rows as published beside rows of the answer."""
    folder = tmp_path_factory.mktemp("soils")
    with DATA.open(newline="", encoding="utf-8") as file:
        soils = list(csv.DictReader(file))
    table = folder / "soils.csv"
    heads = [f"{name}_mass_pct" for name in (*MINERALS.values(), "unidentified")]
    with table.open("w", newline="", encoding="utf-8") as file:
        writer = csv.writer(file)
        writer.writerow(["sample", "origin", *heads])
        for soil in soils:
            found = [share(soil, name) for name in MINERALS]
            rest = sum(share(soil, name) for name in UNNAMED)
            cells = [f"{x:g}" if x > 0 else "" for x in (*found, rest)]
            writer.writerow([f"{soil['site_id']} {soil['depth_cm']}", "as dug", *cells])
    out = folder / "answers.csv"
    assert main(["batch", str(table), "--out", str(out)]) == 0
    with out.open(newline="", encoding="utf-8") as file:
        return list(zip(soils, csv.DictReader(file), strict=True))


def figures(pairs, column, point, measured):
    return np.array(
        [
            (float(row[f"{column}_predicted_{point}_wt_pct"]), float(soil[measured]))
            for soil, row in pairs
            if soil[measured] and row["SiO2_predicted_p50_wt_pct"]
        ]
    ).T


def test_all_soils_are_read(pairs):
    assert len(pairs) > 400
    assert all(row["SiO2_predicted_p50_wt_pct"] for _, row in pairs)


@pytest.mark.parametrize(("oxide", "least_r"), [("K2O", 0.93), ("Na2O", 0.96)])
def test_alkalis_of_the_feldspars_follow_those_of_the_soils(pairs, oxide, least_r):
    predicted, measured = figures(pairs, oxide, "p50", f"{oxide}_wt_pct")
    assert np.corrcoef(predicted, measured)[0, 1] >= least_r
    assert abs(np.mean(predicted - measured)) <= 0.25


def test_nine_in_ten_intervals_of_iron_hold_85_to_95_per_cent_of_the_soils(pairs):
    low, measured = figures(pairs, "Fe2O3", "p05", "Fe2O3_total_wt_pct")
    high, _ = figures(pairs, "Fe2O3", "p95", "Fe2O3_total_wt_pct")
    assert 0.85 <= np.mean((low <= measured) & (measured <= high)) <= 0.95
