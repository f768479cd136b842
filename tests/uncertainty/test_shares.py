"""Shares of variance on cases whose shares are known."""

from __future__ import annotations

import numpy as np
import pytest

from feedchar.uncertainty.shares import bins_for, rank_bins, variance_share

WEIGHTS = np.array([4.0, 3.0, 2.0, 1.0])
EXACT = WEIGHTS**2 / (WEIGHTS @ WEIGHTS)


def linear(seed, draws=2000):
    x = np.random.default_rng(seed).standard_normal((draws, 4))
    return x, x @ WEIGHTS


@pytest.mark.parametrize("axis", range(4))
def test_shares_of_a_linear_case_are_exact_within_three_hundredths(axis):
    x, y = linear(1)
    assert variance_share(x[:, axis], y) == pytest.approx(EXACT[axis], abs=0.03)


@pytest.mark.parametrize("axis", range(4))
def test_the_binning_has_no_bias_on_a_linear_case(axis):
    found = [variance_share(x[:, axis], y) for x, y in map(linear, range(40))]
    assert np.mean(found) == pytest.approx(EXACT[axis], abs=0.006)


def test_two_inputs_together_explain_the_sum_of_both():
    x, y = linear(2)
    assert variance_share(x[:, :2], y) == pytest.approx(EXACT[:2].sum(), abs=0.03)


def test_an_input_that_does_nothing_gets_nothing():
    found = []
    for seed in range(20):
        rng = np.random.default_rng(seed)
        found.append(variance_share(rng.standard_normal(2000), rng.standard_normal(2000)))
    assert np.mean(found) < 0.01
    assert max(found) < 0.03


def test_an_input_that_is_the_output_gets_all_whatever_its_shape():
    x = np.random.default_rng(0).standard_normal(2000)
    # A cube has most of its variance in two tail bins, where a line is not enough.
    assert variance_share(x, x**3 + x) == pytest.approx(1.0, abs=0.03)
    assert variance_share(np.exp(x), x) == pytest.approx(1.0, abs=0.01)


def test_noise_of_the_measurement_takes_its_part():
    """Signal and noise of equal variance: half of the variance is explained."""
    rng = np.random.default_rng(3)
    truth, noise = rng.standard_normal((2, 4000))
    assert variance_share(truth + noise, truth) == pytest.approx(0.5, abs=0.03)


def test_a_constant_output_or_input_explains_nothing():
    x = np.random.default_rng(0).standard_normal(500)
    assert variance_share(x, np.full(500, 7.3)) == 0.0
    assert variance_share(np.full(500, 7.3), x) == pytest.approx(0.0, abs=1e-12)


def test_undefined_draws_are_left_out():
    x, y = linear(4)
    holed = np.concatenate([x[:, 0], [np.nan, 1.0]])
    output = np.concatenate([y, [1.0, np.nan]])
    assert variance_share(holed, output) == variance_share(x[:, 0], y)


def test_the_order_of_the_draws_does_not_matter():
    x, y = linear(5)
    turned = np.random.default_rng(0).permutation(len(y))
    assert variance_share(x[turned, 0], y[turned]) == pytest.approx(
        variance_share(x[:, 0], y), rel=1e-12
    )


def test_bins_hold_nearly_equal_counts_and_equal_values_stay_together():
    counts = np.bincount(rank_bins(np.random.default_rng(0).standard_normal(1003), 10))
    assert counts.min() >= 100
    assert counts.max() <= 101
    many = np.array([0.0] * 500 + list(range(1, 501)))
    assert len(set(rank_bins(many, 10)[:500])) == 1


def test_more_draws_allow_more_bins_and_two_axes_fewer():
    assert bins_for(200) < bins_for(2000) < bins_for(20_000)
    assert bins_for(2000, 2) < bins_for(2000)
