"""Weights and walk against posteriors that are known in closed form."""

from __future__ import annotations

import numpy as np
import pytest

from feedchar.separation.parameters import draw_parameters
from feedchar.testwork.calibrate import METROPOLIS, WEIGHTS, learn
from feedchar.testwork.likelihood import (
    TAILS,
    compared,
    compared_sd,
    ln_likelihood,
    sorted_observed,
)
from feedchar.testwork.scores import (
    calibration_of,
    draw_scores,
    parameters_of,
    prior_of,
    scores_of,
)
from feedchar.testwork.weighing import effective_sample, resampled, weights_of


def linear(machine, feed):
    """Figures that are linear in the scores of the machine and in one number of the feed."""

    def predict(rows, scores):
        return machine @ scores.T + np.outer(feed[0], feed[1][rows[0]])

    return predict


def closed_form(observed, machine, feed_slope):
    """Mean and covariance of the four scores and the feed: Gaussian linear regression."""
    design = np.column_stack([machine, feed_slope])
    information = np.eye(5) + design.T @ np.diag(observed.total_sd**-2.0) @ design
    covariance = np.linalg.inv(information)
    return covariance @ design.T @ (observed.value / observed.total_sd**2), covariance


@pytest.mark.parametrize(
    ("error", "method"), [(2.5, WEIGHTS), (0.02, METROPOLIS)], ids=["few tests", "many tests"]
)
def test_machine_and_feed_after_tests_agree_with_the_closed_form(error, method):
    """Gaussian linear regression, whose posterior is exact, is the outside reference."""
    random = np.random.default_rng(3)
    machine = random.standard_normal((6, 4))
    slope = random.standard_normal(6)
    truth = np.array([1.2, -0.7, 0.9, 0.2, -1.0])
    values = np.column_stack([machine, slope]) @ truth
    observed = sorted_observed(
        [(f"figure {k}", value, error, 0.15) for k, value in enumerate(values)]
    )
    feed = random.standard_normal(4000)
    mean, covariance = closed_form(observed, machine, slope)
    spread = np.sqrt(np.diag(covariance))
    means, spreads = [], []
    for seed in range(4):
        predict = linear(machine, (slope, feed))
        learned = learn(observed, predict, draw_scores(4000, seed), 1, seed)
        got = np.column_stack([learned.scores, feed[learned.rows[0]]])
        means.append((got.mean(axis=0) - mean) / spread)
        spreads.append(got.std(axis=0) / spread)
        assert learned.method == method
    assert np.mean(means, axis=0) == pytest.approx(0.0, abs=0.2)
    assert np.mean(spreads, axis=0) == pytest.approx(1.0, abs=0.15)


def test_figures_in_another_order_teach_the_same_to_the_last_digit():
    random = np.random.default_rng(3)
    machine, feed = random.standard_normal((3, 4)), random.standard_normal(500)
    rows = [("c", 1.0, 0.05, 0.15), ("a", 0.2, 0.05, 0.15), ("b", -0.4, 0.05, 0.15)]
    found = []
    for given in (rows, rows[::-1]):
        observed = sorted_observed(given)
        predict = linear(machine, (np.ones(3), feed))
        found.append(learn(observed, predict, draw_scores(500, 2), 1, 2))
    assert np.array_equal(found[0].scores, found[1].scores)
    assert np.array_equal(found[0].rows, found[1].rows)


def test_a_test_that_says_nothing_leaves_every_trial_as_likely_as_before():
    observed = sorted_observed([("figure", 0.0, 0.1, 0.15)])
    learned = learn(observed, lambda rows, scores: np.zeros((1, len(scores))),
                    draw_scores(400, 1), 1, 1)  # fmt: skip
    assert learned.effective == pytest.approx(400)
    assert np.array_equal(learned.rows[0], np.arange(400))


def test_scores_are_standard_normal_over_the_stated_priors_and_turn_back():
    drawn = draw_parameters(20_000, 1)
    scores = scores_of(drawn)[1:]
    columns = scores[:, [0, 1, 3]]
    assert columns.mean(axis=0) == pytest.approx(0.0, abs=0.03)
    assert columns.std(axis=0) == pytest.approx(1.0, abs=0.03)
    back = parameters_of(scores)
    assert back.bypass == pytest.approx(drawn.bypass[1:], rel=1e-6, abs=1e-9)
    assert back.entrainment == pytest.approx(drawn.entrainment[1:], rel=1e-9)
    assert back.adhesion_N == pytest.approx(drawn.adhesion_N[1:], rel=1e-9)
    assert np.all(scores[:, 2] == 0.0)


def test_what_earlier_tests_left_is_the_prior_of_later_ones():
    first = draw_scores(3000, 1) * 0.5 + 1.0
    calibration = calibration_of(first)
    prior = prior_of(calibration)
    assert prior.mean == pytest.approx(1.0, abs=0.05)
    assert np.sqrt(np.diag(prior.covariance)) == pytest.approx(0.5, abs=0.03)
    again = draw_scores(3000, 5, calibration)
    assert again.mean(axis=0) == pytest.approx(1.0, abs=0.05)


def test_one_wild_figure_does_not_outweigh_the_rest():
    """Student's tails: nine figures that agree go before one that cannot be."""
    machine = np.tile([1.0, 0.0, 0.0, 0.0], (10, 1))
    values = np.append(np.full(9, 0.5), 12.0)
    rows = [(f"figure {k}", value, 0.1, 0.15) for k, value in enumerate(values)]
    found = []
    for tails in (None, TAILS):
        predict = linear(machine, (np.zeros(10), np.zeros(2000)))
        learned = learn(sorted_observed(rows, tails), predict, draw_scores(2000, 1), 1, 1)
        found.append(learned.scores[:, 0].mean())
    assert found[0] > 1.3
    assert found[1] == pytest.approx(0.5, abs=0.1)


def test_odds_and_weights_by_hand():
    assert compared(0.25, "share") == pytest.approx(np.log(1 / 3))
    assert compared(0.05, "assay") == pytest.approx(np.log(0.05))
    assert compared_sd(0.25, 0.01, "share") == pytest.approx(0.01 / (0.25 * 0.75))
    assert compared_sd(0.05, 0.005, "assay") == pytest.approx(0.1)
    assert np.isfinite(compared(np.array([0.0, 1.0]), "share")).all()
    assert effective_sample(np.full(8, 1 / 8)) == pytest.approx(8.0)
    assert effective_sample(weights_of(np.array([0.0, -np.inf]))) == pytest.approx(1.0)
    assert weights_of(np.full(2, -np.inf)) == pytest.approx(0.5)
    drawn = resampled(np.array([0.0, 0.75, 0.25]), 8, 1, "here")
    assert np.bincount(drawn, minlength=3).tolist() == [0, 6, 2]
    observed = sorted_observed([("a", 0.0, 0.2, 0.15)])
    assert ln_likelihood(observed, np.array([[0.25, np.nan]]))[0] == pytest.approx(-0.5)
    assert ln_likelihood(observed, np.array([[0.25, np.nan]]))[1] == -np.inf
