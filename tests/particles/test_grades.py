"""Grade bins: nothing is lost in them, and finer ones say the same."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from feedchar.particles.composite_grain import volume_grade
from feedchar.particles.grades import (
    STATED_SHARES,
    beta_bins,
    grade_edges,
    inclusion_grades,
    log_normal_bins,
)


def test_the_stated_shares_are_the_whole_of_the_joined_mineral():
    assert STATED_SHARES.sum() == pytest.approx(1.0, rel=1e-15)


@given(st.floats(0.05, 30.0), st.floats(0.05, 30.0), st.sampled_from([4, 8, 32]))
def test_bins_hold_all_the_mineral_and_all_the_host(a, b, bins):
    mineral, host = beta_bins(np.array(a), np.array(b), 4700.0, 2650.0, bins)
    assert mineral.sum() == pytest.approx(1.0, abs=1e-12)
    assert host.sum() == pytest.approx(1.0, abs=1e-12)
    assert (mineral >= 0.0).all()


def test_finer_bins_are_parts_of_the_coarser_ones():
    """8 and 32 bins share their edges, so sums over four bins agree."""
    coarse, _ = beta_bins(np.array(1.3), np.array(3.0), 4700.0, 2650.0, 8)
    fine, _ = beta_bins(np.array(1.3), np.array(3.0), 4700.0, 2650.0, 32)
    assert fine.reshape(8, 4).sum(axis=1) == pytest.approx(coarse, abs=1e-12)
    assert grade_edges(32)[::4] == pytest.approx(grade_edges(8))


def test_bins_against_grains_drawn_from_the_distribution():
    """Mass of mineral in bins, by 400 000 draws of the volume grade."""
    grade = np.random.default_rng(0).beta(1.3, 3.0, 400_000)
    mineral, host = beta_bins(np.array(1.3), np.array(3.0), 4700.0, 2650.0)
    edges = volume_grade(grade_edges(), 4700.0, 2650.0)
    drawn, _ = np.histogram(grade, edges, weights=grade)
    drawn_host, _ = np.histogram(grade, edges, weights=1.0 - grade)
    assert mineral == pytest.approx(drawn / drawn.sum(), abs=0.004)
    assert host == pytest.approx(drawn_host / drawn_host.sum(), abs=0.004)


def test_inclusion_bins_hold_everything_and_keep_the_mean():
    edges, grades = inclusion_grades(48, np.array([1e-3]))
    shares = log_normal_bins(np.array([1.2e-3]), 0.7, edges)
    assert shares.sum() == pytest.approx(1.0, abs=1e-12)
    assert float(shares[0] @ np.log(grades[0])) == pytest.approx(np.log(1.2e-3), abs=0.01)
