"""Spread of counted and diffracted amounts against published rules.

Dirichlet with Jeffreys' prior on counts of one sand (vermeesch_2015, counts read, answer
computed); point-count errors (Chayes, Van der Plas and Tobi, from memory; table computed);
Hillier's rule (hillier_2000, from memory).
"""

from __future__ import annotations

import numpy as np
import pytest

from feedchar.chemistry.mineral_trials import (
    Amount,
    count_shape,
    diffraction_sd,
    gamma_amounts,
)

COUNTS = {"a": 151, "b": 24, "c": 67, "d": 48, "e": 7, "f": 6}


def test_counts_of_one_sand_give_the_published_dirichlet():
    trials = 40_000
    drawn = np.stack(
        [
            gamma_amounts(Amount("count", count_shape(n), count_shape(n)), name, trials, 1)
            for name, n in COUNTS.items()
        ]
    )
    share = 100.0 * drawn / drawn.sum(axis=0)
    mean, sd = share[:, 1:].mean(axis=1), share[:, 1:].std(axis=1)
    assert mean == pytest.approx([49.51, 8.01, 22.06, 15.85, 2.45, 2.12], abs=0.06)
    assert sd == pytest.approx([2.85, 1.55, 2.37, 2.08, 0.88, 0.82], abs=0.03)
    low, high = np.quantile(share[0, 1:], [0.025, 0.975])
    assert (low, high) == pytest.approx((43.9, 55.1), abs=0.15)
    assert share[:, 0] == pytest.approx([49.51, 8.01, 22.06, 15.85, 2.45, 2.12], abs=0.006)


@pytest.mark.parametrize(
    ("points", "per_cent", "sd"),
    [(300, 1, 0.57), (300, 5, 1.26), (300, 10, 1.73), (300, 50, 2.89), (1000, 1, 0.31),
     (1000, 5, 0.69)],
)  # fmt: skip
def test_a_counted_share_has_the_binomial_error(points, per_cent, sd):
    n = points * per_cent / 100.0
    trials = 20_000
    found = gamma_amounts(Amount("count", count_shape(n), count_shape(n)), "x", trials, 2)[1:]
    rest = points - n
    others = gamma_amounts(Amount("count", count_shape(rest), count_shape(rest)), "y", trials, 2)[
        1:
    ]
    share = 100.0 * found / (found + others)
    # The half count of Jeffreys' prior matters below ten counts.
    tolerance = 0.04 + 0.12 * sd if n < 10 else 0.03 + 0.02 * sd
    assert share.std() == pytest.approx(sd, abs=tolerance)


@pytest.mark.parametrize(("wt_pct", "bound"), [(1, 1.0), (5, 1.8), (10, 2.2), (30, 3.3), (50, 3.9)])
def test_a_diffraction_error_is_half_of_hilliers_bound(wt_pct, bound):
    assert 2.0 * diffraction_sd(wt_pct) == pytest.approx(bound, abs=0.05)
