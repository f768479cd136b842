"""Draws of a table: gammas by interpolation against the library's own inverse."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.special import gammaincinv

from feedchar.batch.answers import quantiles
from feedchar.batch.columns import read_columns
from feedchar.batch.drawn import draw_table


@pytest.fixture(scope="module")
def drawn():
    return draw_table(read_columns(["quartz_mass_pct", "biotite_mass_pct"], "t.csv"), 300, 5)


def test_interpolated_gammas_are_those_of_the_inverse_of_scipy(drawn):
    shape = np.exp(np.random.default_rng(2).uniform(0.0, 8.0, 60))
    phase = drawn.names.index("biotite")
    found = drawn.gammas(phase, shape)
    exact = gammaincinv(shape[:, None], drawn.uniform[phase]) / shape[:, None]
    off = np.abs(found - exact)[:, 1:]
    assert off.max() < 0.004
    assert np.all(found[:, 0] == 1.0)


def test_percentiles_are_those_of_numpy_without_the_typical_case():
    values = np.random.default_rng(1).lognormal(size=(4, 201))
    assert quantiles(values) == pytest.approx(
        np.quantile(values[:, 1:], (0.05, 0.5, 0.95), axis=1), rel=1e-12
    )
