"""The cumulation behind the curves against a washability table of a coal (wills_2006, recalled)."""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np
import pytest

from feedchar.product.grains import cumulate

DATA = Path(__file__).parent / "data"


def table():
    with (DATA / "washability.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def column(name):
    return np.array([float(row[name]) for row in table() if row[name]])


def test_running_means_of_the_floats_are_the_published_ones():
    weight, ash = column("weight_pct"), column("ash_pct")
    mass, mean = cumulate(weight, ash, np.arange(len(weight)))
    assert mass == pytest.approx(column("expected_cum_floats_weight_pct"), abs=0.005)
    assert mean == pytest.approx(column("expected_cum_floats_ash_pct"), abs=0.05)


def test_running_means_of_the_sinks_are_the_published_ones():
    weight, ash = column("weight_pct"), column("ash_pct")
    mass, mean = cumulate(weight, ash, -np.arange(len(weight)))
    assert mass[-2::-1] == pytest.approx(column("expected_cum_sinks_weight_pct"), abs=0.005)
    assert mean[-2::-1] == pytest.approx(column("expected_cum_sinks_ash_pct"), abs=0.05)


def test_the_order_of_classes_in_the_table_does_not_matter():
    weight, ash = column("weight_pct"), column("ash_pct")
    density = np.arange(len(weight))
    shuffled = np.random.default_rng(0).permutation(len(weight))
    straight = cumulate(weight, ash, density)
    again = cumulate(weight[shuffled], ash[shuffled], density[shuffled])
    assert np.array_equal(straight[0], again[0])
    assert np.array_equal(straight[1], again[1])
