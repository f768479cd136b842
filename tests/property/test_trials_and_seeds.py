"""More trials tell the same more surely; seeds and names are independent (statistical)."""

from __future__ import annotations

import itertools

import numpy as np
import pytest
from random_bags import road, write_bag
from scipy.special import ndtr

from feedchar.field.rolls import read_roll
from feedchar.field.setting import Pass, Setting
from feedchar.uncertainty.streams import stream

BAG = {
    "minerals": [["mineral", "mass_pct"], ["quartz", 96.5], ["microcline", 2.0], ["biotite", 0.9],
                 ["ilmenite", 0.3], ["kaolinite", 0.3]],
    "sieves": [["passing_um", "retained_um", "mass_g"], [500, 250, 60.0], [250, 125, 30.0],
               [125, 0, 10.0]],
    "textures": [], "origin": "washed",
}  # fmt: skip
ONE_PASS = Setting(roll=read_roll("fine-100"), passes=(Pass(1.5, 0.010),))


def normal(seed: int, name: str, count: int = 4000) -> np.ndarray:
    return stream(seed, name).standard_normal(count)


def test_streams_of_seeds_and_names_are_normal_and_uncorrelated():
    names = ("quartz/mass", "quartz/iron", "biotite/mass")
    draws = np.array([normal(seed, name) for seed in range(12) for name in names])
    count = draws.shape[1]
    # Means and correlations of independent draws have a standard error of 1 / sqrt(n); of the
    # 36 + 630 figures none lies beyond 4.5 of it but once in 200 tests of good streams.
    assert np.abs(draws.mean(axis=1)).max() < 4.5 / np.sqrt(count)
    correlation = np.corrcoef(draws)[np.triu_indices(len(draws), 1)]
    assert np.abs(correlation).max() < 4.5 / np.sqrt(count)
    # Their squares: neighbours in the seed must not share their spread either.
    squares = np.corrcoef(draws**2)[np.triu_indices(len(draws), 1)]
    assert np.abs(squares).max() < 4.5 / np.sqrt(count)
    # Kolmogorov's distance to the normal law: 1.95 / sqrt(n) at 1 in 1000.
    ranks = (np.arange(count) + 0.5) / count
    distance = np.abs(ndtr(np.sort(draws, axis=1)) - ranks).max(axis=1)
    assert (distance < 1.95 / np.sqrt(count)).mean() > 0.95


def test_a_stream_is_its_seed_and_name_alone():
    assert (normal(1, "quartz/mass") == normal(1, "quartz/mass")).all()
    for one, other in itertools.combinations(
        [(1, "a"), (2, "a"), (1, "b"), (11, "a"), (1, "1a")], 2
    ):
        assert not (normal(*one) == normal(*other)).any()


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    return write_bag(tmp_path_factory.mktemp("bag") / "bag", BAG)


def product_iron(folder, trials, seed):
    return road(folder, ONE_PASS, trials, seed).split.non_magnetics.oxide("Fe2O3")[1:]


def test_runs_of_different_seeds_differ_as_independent_draws_do(folder):
    trials, seeds = 60, 16
    runs = np.log([product_iron(folder, trials, seed) for seed in range(1, seeds + 1)])
    # Chi-square of the means with seeds - 1 degrees of freedom, expected 15 +- 5.5.
    within = runs.var(axis=1, ddof=1).mean()
    chi_square = trials * runs.mean(axis=1).var(ddof=1) * (seeds - 1) / within
    assert 15 - 2.2 * 5.5 < chi_square < 15 + 4.5 * 5.5
    correlation = np.corrcoef(runs)[np.triu_indices(seeds, 1)]
    assert np.abs(correlation).max() < 4.5 / np.sqrt(trials)


@pytest.mark.slow
def test_four_times_the_trials_halve_the_error(folder):
    spread = {}
    for trials in (50, 200, 800):
        means = [np.log(product_iron(folder, trials, seed)).mean() for seed in range(1, 13)]
        spread[trials] = np.std(means, ddof=1)
    # The ratio of two standard deviations of 12 draws each lies within a factor 2.2 (1 in 100).
    for few, many in ((50, 200), (200, 800)):
        assert 2 / 2.2 < spread[few] / spread[many] < 2 * 2.2


def test_percentiles_of_many_trials_hold_those_of_few(folder):
    many = np.sort(product_iron(folder, 1000, 1))
    few = product_iron(folder, 100, 2)
    # Of 100 draws, those below the median of the many are binomial: 50 +- 5.
    below = np.searchsorted(many, few) / len(many)
    assert abs((below < 0.5).sum() - 50) < 4 * 5
    assert abs((below < 0.05).sum() - 5) < 4 * 2.2 + 1
    assert abs((below > 0.95).sum() - 5) < 4 * 2.2 + 1
