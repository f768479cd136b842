"""The choice of tests against cases whose answer is known in closed form."""

from __future__ import annotations

import numpy as np
import pytest

from feedchar.testwork.plan import Work, choose_work, regression_share

N = 4000


@pytest.fixture
def inputs():
    """Three independent causes and the product they make, variance 4 : 1 : 0.25."""
    draws = np.random.default_rng(11).standard_normal((N, 3))
    return draws, draws @ np.array([2.0, 1.0, 0.5])


def seen(values, noise, seed):
    return (values + noise * np.random.default_rng(seed).standard_normal(len(values)))[:, None]


def test_shares_of_independent_causes_are_those_of_the_analysis_of_variance(inputs):
    draws, product = inputs
    whole = 4.0 + 1.0 + 0.25
    assert regression_share(draws[:, :1], product) == pytest.approx(4.0 / whole, abs=0.02)
    assert regression_share(draws[:, :2], product) == pytest.approx(5.0 / whole, abs=0.02)
    # An error as large as the cause halves what it tells.
    noisy = seen(draws[:, 0], 1.0, 5)
    assert regression_share(noisy, product) == pytest.approx(2.0 / whole, abs=0.02)


def test_what_tells_nothing_removes_nothing(inputs):
    rest = np.random.default_rng(6).standard_normal((N, 6))
    assert regression_share(rest, inputs[1]) < 0.003
    assert regression_share(rest[:20], inputs[1][:20]) < 0.9
    assert regression_share(np.zeros((N, 1)), inputs[1]) == 0.0
    assert regression_share(rest[:5], inputs[1][:5]) == 0.0


def test_the_mean_over_targets_is_weighted(inputs):
    draws, product = inputs
    targets = np.stack([product, draws[:, 2]], axis=1)
    first = regression_share(draws[:, :1], targets, [1.0, 0.0])
    both = regression_share(draws[:, :1], targets, [3.0, 1.0])
    assert both == pytest.approx(0.75 * first, abs=0.01)


def test_the_work_that_tells_most_for_its_cost_comes_first(inputs):
    draws, product = inputs
    dear = Work("dear", 0.0, 20.0, draws[:, :1])
    cheap = Work("cheap", 0.0, 1.0, draws[:, 1:2])
    idle = Work("idle", 0.0, 0.1, np.random.default_rng(1).standard_normal((N, 1)))
    order = choose_work([dear, cheap, idle], product)
    assert [one.work.name for one in order if one.chosen] == ["cheap", "dear"]
    (left,) = [one for one in order if not one.chosen]
    assert (left.work.name, left.why) == ("idle", "little gain")
    assert order[1].together == pytest.approx(5.0 / 5.25, abs=0.02)


def test_a_second_look_at_the_same_thing_adds_little(inputs):
    _, product = inputs
    first = Work("first", 1.0, 1.0, seen(product, 0.1, 1))
    again = Work("again", 1.0, 1.0, seen(product, 0.1, 2))
    order = choose_work([first, again], product)
    assert [one.chosen for one in order] == [True, False]
    assert order[1].why in ("enough", "little gain")
    assert order[1].alone > 0.95


def test_work_brings_the_work_that_it_needs(inputs):
    _, product = inputs
    base = Work("base", 1.0, 1.0, np.random.default_rng(2).standard_normal((N, 1)))
    after = Work("after", 0.0, 1.0, seen(product, 0.1, 3), needs=("base",))
    order = choose_work([after, base], product)
    assert [one.work.name for one in order if one.chosen] == ["base", "after"]
    held = choose_work([after, base], product, kg_available=0.5)
    assert not any(one.chosen for one in held)
    assert {one.work.name: one.why for one in held} == {
        "after": "needs other work",
        "base": "no sand",
    }


def test_practice_is_done_whatever_it_tells(inputs):
    _, product = inputs
    idle = Work("idle", 1.0, 1.0, np.random.default_rng(4).standard_normal((N, 1)))
    (only,) = choose_work([idle], product, practice=["idle"])
    assert (only.chosen, only.why) == (True, "practice")
    assert only.together < 0.01
