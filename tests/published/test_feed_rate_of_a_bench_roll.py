"""Rows of trade_facts.csv on feed rates (common practice, no source) beside the calculated rate."""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np
import pytest

from feedchar.assembly.plan_rate import bench_feed_kg_h
from feedchar.plant.belts import Lay
from feedchar.separation.capacity import sauter_mean

FACTS = Path(__file__).parent / "data" / "trade_facts.csv"


@pytest.fixture(scope="module")
def facts():
    with FACTS.open(encoding="utf-8") as lines:
        return {row["quantity"]: row for row in csv.DictReader(lines)}


def test_the_bench_that_imitates_five_tonnes_an_hour(facts):
    row = facts["plant rate that a bench test imitates for a 5 t/h duty"]
    per_metre = float(row["value_low"])
    widths = facts["belt width of one unit"]
    bench_m = float(widths["value_low"])
    assert bench_feed_kg_h(5.0, 5.0 / per_metre, bench_m) == pytest.approx(
        1e3 * per_metre * bench_m
    )


def test_what_a_single_layer_carries_falls_short_of_what_the_trade_feeds(facts):
    """0.045 to 0.5 mm silica sand: the trade feeds 2 to 3 t/h/m; one grain deep it is less.

    At 1.5 m/s a full single layer of such a sand carries 1 to 2 t/h/m, so the trade's belts are
    more than one grain deep, or faster: `plan` warns of that and does not copy the figure.
    """
    row = facts["capacity per metre of belt width on silica sand of 0.045 to 0.5 mm"]
    low = float(row["value_low"])
    size = np.geomspace(0.045e-3, 0.5e-3, 50)
    mass = np.exp(-0.5 * ((np.log(size) - np.log(0.2e-3)) / 0.5) ** 2)
    carried = Lay(sauter_mean(mass, size), 2650.0).capacity_t_h_m(1.5)
    assert 1.0 < carried < low
    assert Lay(sauter_mean(mass, size), 2650.0).capacity_t_h_m(3.0) > low
