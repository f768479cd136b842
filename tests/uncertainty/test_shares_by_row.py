"""Shares of variance of many rows at once are those of each row by itself."""

from __future__ import annotations

import numpy as np
import pytest

from feedchar.uncertainty.shares import variance_share
from feedchar.uncertainty.shares_by_row import variance_shares


@pytest.mark.parametrize("draws", [50, 200, 1999])
def test_rows_together_have_the_share_of_each_row_alone(draws):
    random = np.random.default_rng(5)
    inputs = random.lognormal(size=(6, draws))
    noise = random.standard_normal((6, draws))
    outputs = np.sqrt(inputs) + np.linspace(0.0, 3.0, 6)[:, None] * noise
    alone = [variance_share(x, y) for x, y in zip(inputs, outputs, strict=True)]
    assert variance_shares(inputs, outputs) == pytest.approx(alone, abs=1e-9)


def test_an_output_that_does_not_vary_or_too_few_draws_have_no_share():
    inputs = np.random.default_rng(1).random((2, 100))
    assert variance_shares(inputs, np.full((2, 100), 3.0)).tolist() == [0.0, 0.0]
    assert variance_shares(inputs[:, :3], inputs[:, :3]).tolist() == [0.0, 0.0]


def test_a_measurement_of_the_output_itself_removes_all_but_its_own_error():
    random = np.random.default_rng(2)
    truth = random.standard_normal((4, 2000))
    measured = truth + 0.5 * random.standard_normal((4, 2000))
    assert variance_shares(measured, truth) == pytest.approx(0.8, abs=0.04)
