"""What each line rests on, whose doubt is largest, and which measurements are worth naming."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from feedchar.product.measure import Candidate, best_pair, measure_next, variance_removed
from feedchar.product.remedies import evidence_of, spread_by_reason
from feedchar.product.stays import REASONS, IronThatStays
from feedchar.sample.records import Diagnostic, MineralAmount, OxideValue, Sample, Texture


def stays(ppm):
    return IronThatStays(np.asarray(ppm, dtype=float), ((),) * len(REASONS))


def test_shares_of_the_spread_are_covariances_with_the_sum():
    """cov(line, sum) / var(sum), by numpy's covariance matrix; row 0 and unknown rows left out."""
    rng = np.random.default_rng(6)
    draws = rng.normal(size=(60, 8)) * np.arange(1.0, 9.0)
    draws[:, 2] = -0.3 * draws[:, 7]  # a line that falls when another rises
    typical = np.full((1, 8), 900.0)
    unknown = np.full((2, 8), np.nan)
    found = spread_by_reason(stays(np.concatenate([typical, draws, unknown])))
    cover = np.cov(draws.T)
    expected = cover.sum(axis=1) / cover.sum()
    assert found == pytest.approx(dict(zip(REASONS, expected, strict=True)))
    assert found[REASONS[2]] < 0.0
    assert list(found.values()) == sorted(found.values(), reverse=True)
    assert next(iter(found)) == REASONS[7]


def test_two_trials_have_a_spread_and_one_has_none():
    line = np.eye(8)[3]
    assert spread_by_reason(stays([line, line, 3.0 * line]))[REASONS[3]] == pytest.approx(1.0)
    assert spread_by_reason(stays([line, 2.0 * line])) == {}
    assert spread_by_reason(stays([line, line, line])) == {}


def test_reasons_of_equal_share_stand_by_name():
    even = np.ones((3, 8)) * np.arange(3.0)[:, None]
    assert list(spread_by_reason(stays(even))) == sorted(REASONS)


def of(sand, reason, calibrated=False, **given):
    return evidence_of(Sample("x", **given), sand.mineralogy, calibrated)[reason]


def test_what_a_line_rests_on_by_reason(sand):
    """Measured before fitted before prior; each datum speaks for the lines it can speak of."""
    inside, stain, joined, weak = (REASONS[k] for k in (0, 2, 3, 4))
    pale = MineralAmount("quartz", "mass_pct", 90.0, iron_wt_pct=0.004)
    dark = MineralAmount("biotite", "mass_pct", 1.0, mass_susceptibility_m3_kg=4e-7)
    plain = MineralAmount("biotite", "mass_pct", 1.0)
    assert of(sand, inside, minerals=(pale,)) == "measured"
    assert of(sand, weak, minerals=(pale,)) == "prior"
    assert of(sand, weak, minerals=(dark,)) == "measured"
    assert of(sand, inside, minerals=(dark,)) == "prior"
    assert of(sand, weak, minerals=(plain,)) == "prior"
    assert of(sand, weak, True, minerals=(plain,)) == "fitted"
    assert of(sand, weak, True, minerals=(dark,)) == "measured"
    size_alone = Texture("ilmenite", None, "joined", None, grain_size_um=90.0)
    assert of(sand, joined, textures=(size_alone,)) == "fitted"
    assert of(sand, joined, textures=(Texture("ilmenite", None, "free", 80.0),)) == "measured"
    assert of(sand, stain, textures=(Texture("goethite", "quartz", "stain", 5.0),)) == "measured"
    assert of(sand, stain, textures=(Texture("goethite", "quartz", "stain", None),)) == "prior"
    assert of(sand, stain, diagnostics=(Diagnostic("hot acid", None, None, 0.2, 0.1),)) == "prior"


def test_an_assay_of_iron_fits_what_no_mineral_names(sand):
    fitted = replace(sand.mineralogy, has_assay=True)
    iron = Sample("x", assay={"Fe2O3": OxideValue(0.4, None)})
    silica = Sample("x", assay={"SiO2": OxideValue(97.0, None)})
    lines = {k for k, v in evidence_of(iron, fitted).items() if v == "fitted"}
    assert lines == {"inside the crystal", "not found"}
    assert set(evidence_of(silica, fitted).values()) == {"prior"}
    assert set(evidence_of(iron, sand.mineralogy).values()) == {"prior"}


@pytest.fixture(scope="module")
def linear():
    """Product = a + b / 2 + c / 20 of unit normals: 79.8, 20.0 and 0.2 % of the variance."""
    x = np.random.default_rng(12).standard_normal((1501, 3))
    return x, x @ np.array([1.0, 0.5, 0.05])


def test_what_removes_less_than_a_hundredth_is_not_named(linear):
    x, product = linear
    made = [Candidate(name, "-", 0.0, x[:, k]) for k, name in enumerate("abc")]
    found = measure_next(made, product)
    assert [row.measurement for row in found] == ["a", "b"]
    assert found[1].variance_removed_share == pytest.approx(0.25 / 1.2525, abs=0.03)
    assert [row.measurement for row in measure_next(made, product, most=1)] == ["a"]
    # The error of the laboratory as large as what is measured hides half of it.
    blurred = variance_removed(Candidate("b", "-", 1.0, x[:, 1]), product)
    assert blurred == pytest.approx(0.125 / 1.2525, abs=0.03)


def test_ten_measurements_are_cut_to_the_eight_best(linear):
    x, product = linear
    made = [Candidate(str(k), "-", 0.1 * k, x[:, 0]) for k in range(10)]
    assert len(measure_next(made, product)) == 8


def test_fifty_trials_are_enough_to_rank(linear):
    x, product = linear
    one = [Candidate("a", "-", 0.1, x[:51, 0])]
    assert measure_next(one, product[:51])
    assert not measure_next([Candidate("a", "-", 0.1, x[:50, 0])], product[:50])


def test_equals_are_ranked_by_name(linear):
    x, product = linear
    made = [Candidate(name, "-", 0.0, x[:, 0]) for name in ("z", "m", "a")]
    assert [row.measurement for row in measure_next(made, product)] == ["a", "m", "z"]


def test_one_measurement_makes_no_pair_and_a_pair_is_never_worse_than_its_better(linear):
    x, product = linear
    one, two = (Candidate(name, "-", 0.0, x[:, k]) for k, name in enumerate("ab"))
    assert best_pair([one], product) is None
    twice = Candidate("aa", "-", 0.0, x[:, 0])
    first, second, share = best_pair([one, twice, two], product)
    assert (first, second) == ("a", "b")
    assert share == pytest.approx(1.25 / 1.2525, abs=0.03)
    same = best_pair([one, twice], product)
    assert same[2] >= max(variance_removed(c, product) for c in (one, twice))
    # Only the best of them are paired.
    assert best_pair([one, twice, two], product, among=2)[:2] == ("a", "aa")
