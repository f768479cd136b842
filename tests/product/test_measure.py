"""What to measure next, on cases whose answer is known."""

from __future__ import annotations

import numpy as np
import pytest

from feedchar.particles.build import build_classes
from feedchar.product.candidates import candidates_of
from feedchar.product.measure import (
    Candidate,
    best_pair,
    measure_next,
    simulated_results,
    variance_removed,
)
from feedchar.product.outlets import outlets
from feedchar.sample.records import Sample, Texture
from feedchar.separation.records import Parameters

WEIGHTS = np.array([3.0, 2.0, 1.0])


@pytest.fixture(scope="module")
def linear():
    """Product = 3 a + 2 b + c, unit normal inputs, 2000 trials and the typical row."""
    x = np.random.default_rng(11).standard_normal((2001, 3))
    x[0] = 0.0
    return x, x @ WEIGHTS


@pytest.mark.parametrize(("axis", "sd"), [(0, 0.0), (0, 1.0), (1, 0.5), (2, 0.2), (1, 3.0)])
def test_a_measurement_removes_its_exact_share(linear, axis, sd):
    """Exact: w^2 / sum w^2, times 1 / (1 + sd^2) for the error of the measurement."""
    x, product = linear
    exact = WEIGHTS[axis] ** 2 / (WEIGHTS @ WEIGHTS) / (1.0 + sd**2)
    found = variance_removed(Candidate("a", "-", sd, x[:, axis]), product)
    assert found == pytest.approx(exact, abs=0.03)


def test_measurements_are_ranked_and_useless_ones_left_out(linear):
    x, product = linear
    idle = np.random.default_rng(0).standard_normal(2001)
    made = [
        Candidate("second", "-", 0.1, x[:, 1]),
        Candidate("idle", "-", 0.1, idle),
        Candidate("first", "-", 0.1, x[:, 0], 2.0),
    ]
    found = measure_next(made, product)
    assert [row.measurement for row in found] == ["first", "second"]
    assert found[0].hours == 2.0
    assert measure_next(made[::-1], product) == found


def test_the_best_two_together_remove_what_both_remove(linear):
    x, product = linear
    made = [Candidate(str(k), "-", 0.0, x[:, k]) for k in range(3)]
    first, second, share = best_pair(made, product)
    assert {first, second} == {"0", "1"}
    assert share == pytest.approx(13.0 / 14.0, abs=0.03)


def test_too_few_trials_say_nothing(linear):
    x, product = linear
    assert measure_next([Candidate("a", "-", 0.1, x[:40, 0])], product[:40]) == ()


def test_the_error_of_a_measurement_is_its_own_stream(linear):
    x, _ = linear
    one = simulated_results(Candidate("a", "-", 1.0, x[:, 0]), 1)
    again = simulated_results(Candidate("a", "-", 1.0, x[:, 0]), 1)
    other = simulated_results(Candidate("b", "-", 1.0, x[:, 0]), 1)
    assert np.array_equal(one, again)
    assert np.corrcoef((one - x[1:, :1])[:, 0], (other - x[1:, :1])[:, 0])[0, 1] == pytest.approx(
        0.0, abs=0.08
    )


def test_on_a_stained_sand_a_scrub_is_worth_more_than_the_hand_magnet(sand_of):
    sand = sand_of(
        trials=2000, typical={"quartz": 99.0, "goethite": 0.2, "magnetite": 0.001, "biotite": 0.01}
    )
    textures = (Texture("goethite", "quartz", "stain", 90.0),)
    classes = build_classes(Sample("x", textures=textures), sand.mineralogy, sand.sizes)[0]
    made = outlets(classes, sand.shares(classes), sand.mineralogy)
    parameters = Parameters(*(np.full(2001, value) for value in (0.03, 0.01, 1.0, 1e-8)))
    found = candidates_of(sand.mineralogy, classes, made, parameters=parameters)
    ranked = measure_next(found, made.non_magnetics.oxide("Fe2O3"))
    shares = {row.measurement: row.variance_removed_share for row in ranked}
    # Not all: how much of the stain a scrub takes is itself not known.
    assert shares["scrub 500 g and assay both"] > 0.3
    assert shares.get("hand magnet, its bag weighed", 0.0) < 0.05
    # A bypass that is certain has nothing to be measured.
    assert not any("twice" in c.measurement for c in found)


def test_the_test_itself_answers_nearly_everything(sand_of):
    sand = sand_of(trials=1000)
    classes = build_classes(Sample("x"), sand.mineralogy, sand.sizes)[0]
    made = outlets(classes, sand.shares(classes), sand.mineralogy)
    speeds = {1.0: made.yield_pct("magnetics"), 2.0: 0.9 * made.yield_pct("magnetics")}
    found = candidates_of(sand.mineralogy, classes, made, speeds, with_product_assay=True)
    ranked = measure_next(found, made.non_magnetics.oxide("Fe2O3"))
    assert ranked[0].measurement == "roll at this setting, product assayed"
    assert ranked[0].variance_removed_share > 0.8
    assert any(c.measurement == "roll at 1 / 2 m/s, magnetics weighed" for c in found)


def test_each_measurement_has_the_error_that_is_stated_for_it(sand_of):
    sand = sand_of(trials=200, typical={"quartz": 99.0, "goethite": 0.2, "biotite": 0.3})
    textures = (Texture("goethite", "quartz", "stain", 90.0),)
    classes = build_classes(Sample("x", textures=textures), sand.mineralogy, sand.sizes)[0]
    made = outlets(classes, sand.shares(classes), sand.mineralogy)
    found = {c.measurement: c for c in candidates_of(sand.mineralogy, classes, made)}
    for name, relative, least in (
        ("head assay", 0.03, 0.002),
        ("scrub 500 g", 0.05, 0.002),
        ("hand-picked clear grains", 0.05, 0.001),
    ):
        one = next((c for text, c in found.items() if text.startswith(name)), None)
        if one is not None:
            assert one.assumed_sd == pytest.approx(relative * one.quantity[0] + least)
    assert any(text.startswith("scrub 500 g") for text in found)
    assert any(text.startswith("head assay") for text in found)
