"""Models of joined grains: limits, a lattice thrown by hand, and the way back."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import beta as beta_distribution

from feedchar.particles.composite_grain import mass_grade, volume_grade
from feedchar.particles.free_share import gaudin_free_share, king_free_share, wiegel_li_free_share
from feedchar.particles.joining import beta_parameters, joined_grade_moments, same_grain_share

RATIO = st.floats(0.05, 50.0)
FRACTION = st.floats(0.0, 1.0)


@given(st.floats(1.0, 100.0))
def test_a_rare_mineral_follows_the_model_of_rare_minerals(ratio):
    """gaudin_1939 is the limit of wiegel_li_1967 at no volume."""
    assert float(wiegel_li_free_share(ratio, 0.0)) == pytest.approx(
        float(gaudin_free_share(ratio)), abs=1e-12
    )


@given(RATIO, FRACTION)
def test_a_free_share_is_a_share_and_the_whole_rock_is_free_of_itself(ratio, volume):
    share = float(wiegel_li_free_share(ratio, volume))
    assert 0.0 <= share <= 1.0 + 1e-12
    assert float(wiegel_li_free_share(ratio, 1.0)) == pytest.approx(1.0, rel=1e-12)


@given(RATIO, st.floats(1.001, 3.0), FRACTION)
def test_a_coarser_mineral_is_freer(ratio, more, volume):
    fine, coarse = wiegel_li_free_share([ratio, ratio * more], volume)
    assert coarse >= fine - 1e-12


def test_intercepts_free_less_as_the_particle_grows():
    share = king_free_share(np.array([0.05, 0.5, 5.0, 50.0]))
    assert np.all(np.diff(share) < 0.0)
    assert float(king_free_share(0.0)) == 1.0


@given(FRACTION, st.floats(1000.0, 20000.0), st.floats(1000.0, 20000.0))
def test_volume_to_mass_and_back(volume, mineral, host):
    there = mass_grade(volume, mineral, host)
    assert float(volume_grade(there, mineral, host)) == pytest.approx(volume, abs=1e-12)


def lattice_grades(ratio, volume, particles, seed):
    """Volume grade of cubic particles laid at random on a lattice of two minerals."""
    rng = np.random.default_rng(seed)
    spans = []
    for _ in range(3):
        start = rng.uniform(0.0, ratio, particles)
        cells = int(np.floor(1.0 / ratio)) + 2
        edges = np.arange(cells + 1) * ratio - start[:, None]
        spans.append(np.diff(np.clip(edges, 0.0, 1.0), axis=1))
    kinds = rng.random((particles, *[s.shape[1] for s in spans])) < volume
    return np.einsum("ni,nj,nk,nijk->n", *spans, kinds.astype(float))


@pytest.mark.parametrize(("ratio", "volume"), [(0.4, 0.3), (1.0, 0.1), (2.5, 0.05), (2.5, 0.5)])
def test_moments_of_joined_grains_against_a_lattice_thrown_by_hand(ratio, volume):
    grades = lattice_grades(ratio, volume, 60_000, seed=1)
    joined = (grades > 1e-9) & (grades < 1.0 - 1e-9)
    free = grades[grades >= 1.0 - 1e-9].sum() / grades.sum()
    share, mean, variance = joined_grade_moments(ratio, volume)
    assert grades.var() == pytest.approx(
        volume * (1 - volume) * float(same_grain_share(ratio)), rel=0.03
    )
    assert float(share) == pytest.approx(free, abs=0.01)
    assert float(mean) == pytest.approx(grades[joined].mean(), rel=0.02)
    assert float(variance) == pytest.approx(grades[joined].var(), rel=0.05)


def test_exponents_of_the_beta_distribution_of_the_methods_example():
    """M 0.30, s^2 0.04 -> a 1.275, b 2.975 (derived); moments by scipy."""
    a, b = beta_parameters(0.30, 0.04)
    assert (float(a), float(b)) == pytest.approx((1.275, 2.975))
    mean, variance = beta_distribution.stats(float(a), float(b))
    assert (float(mean), float(variance)) == pytest.approx((0.30, 0.04))
