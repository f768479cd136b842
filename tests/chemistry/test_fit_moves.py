"""The chains draw from the posterior they claim and say when they have not settled."""

from __future__ import annotations

import numpy as np
import pytest

from feedchar.chemistry.fit import fit_mineralogy
from feedchar.chemistry.iron_prior import IronPrior
from feedchar.chemistry.mineral_trials import Amount, gamma_amounts
from feedchar.chemistry.system import Prior, Rows
from feedchar.chemistry.truncated import truncated_normal
from feedchar.chemistry.unseen import UnseenPrior, unseen_totals

FIXED = IronPrior(0.0, 0.0, 0.0, 0.0, 0.0)


def test_a_truncated_normal_keeps_its_digits_in_both_tails():
    uniform = np.linspace(0.001, 0.999, 999)
    ones = np.ones_like(uniform)
    for low, high in ((9.0, 10.0), (-10.0, -9.0), (-1.0, 2.0), (30.0, 31.0)):
        drawn = truncated_normal(0 * ones, ones, low * ones, high * ones, uniform)
        assert drawn.min() >= low
        assert drawn.max() <= high
        assert np.isfinite(drawn).all()
    tail = truncated_normal(0 * ones, ones, 9.0 * ones, 99.0 * ones, uniform)
    assert tail.mean() - 9.0 == pytest.approx(1.0 / 9.0, rel=0.05)  # exponential tail, closed form


def three_phases(value, sd, trials, sweeps=40):
    """Two found phases and unseen iron; one assay of what the second holds entirely."""
    amounts = (Amount("gamma", 60.0, 36.0), Amount("gamma", 40.0, 16.0), Amount("unseen"))
    unseen = UnseenPrior("log-normal", 0.5, 0.5)
    zero = np.zeros(3)
    oxide = np.array([0.0, 0.0, 1.0])
    prior = Prior(amounts, (FIXED,) * 3, unseen, oxide, zero, (2,))
    content = np.array([0.0, 1.0, 0.0])[:, None, None]
    rows = Rows(
        ("x",), np.array([value]), np.array([sd]), content, 0 * content, np.array([False]),
        np.zeros((3, 1)),
    )  # fmt: skip
    total = unseen_totals(unseen, trials, 1)
    a = gamma_amounts(amounts[0], "a", trials, 1)
    b = gamma_amounts(amounts[1], "b", trials, 1)
    drawn = np.stack([a, b, total], axis=1)
    drawn[:, :2] *= ((100.0 - total) / (a + b))[:, None]
    z = np.zeros_like(drawn)
    return fit_mineralogy(prior, rows, ("a", "b", "unseen"), drawn, z, 1, sweeps), drawn


def test_the_posterior_is_that_of_reweighted_draws():
    # Independent check: the same prior draws weighted by the likelihood of the assay.
    fit, _ = three_phases(30.0, 4.0, 3000)
    rng = np.random.default_rng(5)
    n = 400_000
    a, b = rng.gamma(36.0, 60.0 / 36.0, n), rng.gamma(16.0, 40.0 / 16.0, n)
    u = 0.5 * np.exp(0.5 * rng.standard_normal(n))
    share = b / (a + b) * (100.0 - u)
    weight = np.exp(-0.5 * ((share - 30.0) / 4.0) ** 2)
    mean = np.average(share, weights=weight)
    sd = np.sqrt(np.average((share - mean) ** 2, weights=weight))
    found = fit.amounts[1:, 1]
    assert found.mean() == pytest.approx(mean, abs=4.0 * sd / np.sqrt(3000))
    assert found.std() == pytest.approx(sd, rel=0.06)
    assert np.median(fit.amounts[1:, 2]) == pytest.approx(0.5, rel=0.06)
    assert fit.settled


def test_amounts_close_and_stay_above_zero_when_the_assay_pushes_one_out():
    fit, _ = three_phases(0.0, 0.05, 400)
    assert fit.amounts.sum(axis=1) == pytest.approx(100.0)
    assert fit.amounts.min() >= 0.0
    assert fit.amounts[1:, 1].max() < 1.0


def test_chains_that_still_move_say_so(monkeypatch):
    monkeypatch.setattr("feedchar.chemistry.fit.MOST_RUNS", 1)
    steps = iter(range(1000))

    def drifting(chains, number):
        chains.x[0] += next(steps)

    monkeypatch.setattr("feedchar.chemistry.fit._sweep", drifting)
    fit, _ = three_phases(30.0, 4.0, 400, sweeps=20)
    assert not fit.settled


@pytest.mark.parametrize(("part", "settled"), [(0.97, True), (1.03, False)])
def test_chains_are_settled_below_a_fifth_of_an_sd_and_the_error_of_two_means(
    monkeypatch, part, settled
):
    """Of 400 chains the difference of two means has an error of root (2/400), 0.0707 sd: four of
    these and 0.2 are 0.483 sd. All chains are pushed along alike, after half of the sweeps."""
    seen = []

    def pushed(chains, number):
        seen.append(number)
        step = part * (0.2 + 4.0 * (2.0 / 400.0) ** 0.5) * chains.x[0].std() / 10.0
        chains.x[0] += step if number % 20 >= 10 else 3.0 * step

    monkeypatch.setattr("feedchar.chemistry.fit._sweep", pushed)
    fit, _ = three_phases(30.0, 4.0, 400, sweeps=20)
    assert fit.settled == settled
    assert fit.drift_sd == pytest.approx([part * 0.4828, 0.0, 0.0], rel=1e-3)
    assert seen == list(range(20 if settled else 80))  # four times as many at most
    assert fit.amounts.sum(axis=1) == pytest.approx(100.0)


def test_the_typical_row_does_not_depend_on_the_number_of_trials():
    few, _ = three_phases(30.0, 2.0, 5)
    many, _ = three_phases(30.0, 2.0, 50)
    assert np.array_equal(few.amounts[0], many.amounts[0])
