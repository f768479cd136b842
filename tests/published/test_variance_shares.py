"""Shares of variance against the closed forms of a published test function."""

from __future__ import annotations

import numpy as np
import pytest

from feedchar.uncertainty.shares import variance_share

ISHIGAMI_FIRST = (0.3139, 0.4424, 0.0)
"""saltelli_ishigami, a 7, b 0.1: first-order indices (memory, checked from closed forms)."""
ISHIGAMI_TOTAL = (0.5576, 0.4424, 0.2437)


def function(x):
    return np.sin(x[..., 0]) + 7 * np.sin(x[..., 1]) ** 2 + 0.1 * x[..., 2] ** 4 * np.sin(x[..., 0])


def ishigami(draws, seed):
    x = np.random.default_rng(seed).uniform(-np.pi, np.pi, (draws, 3))
    return x, function(x)


def test_the_function_typed_here_is_the_published_one():
    """V = 13.8446 by Gauss's rule, 40 nodes an axis."""
    node, weight = np.polynomial.legendre.leggauss(40)
    grid = np.stack(np.meshgrid(*[np.pi * node] * 3, indexing="ij"), axis=-1)
    values = function(grid)
    weights = np.einsum("i,j,k->ijk", *[weight / 2.0] * 3)
    mean = (weights * values).sum()
    assert (weights * (values - mean) ** 2).sum() == pytest.approx(13.8446, abs=5e-5)


@pytest.mark.parametrize("axis", [0, 1, 2])
def test_first_order_shares_of_the_ishigami_function_at_2000_trials(axis):
    found = [variance_share(x[:, axis], y) for x, y in (ishigami(2000, s) for s in range(20))]
    assert np.mean(found) == pytest.approx(ISHIGAMI_FIRST[axis], abs=0.01)
    assert found[0] == pytest.approx(ISHIGAMI_FIRST[axis], abs=0.03)


def test_the_two_inputs_that_work_together_explain_the_rest_together():
    """S13 closed = ST1 of the function, since its second input works alone."""
    found = [variance_share(x[:, [0, 2]], y) for x, y in (ishigami(10_000, s) for s in range(10))]
    assert np.mean(found) == pytest.approx(ISHIGAMI_TOTAL[0], abs=0.015)
