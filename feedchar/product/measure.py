"""What to measure next: how much of the doubt about product iron a measurement would remove."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from feedchar.uncertainty.shares import variance_share
from feedchar.uncertainty.streams import stream

Array = NDArray[np.float64]

LEAST_SHARE = 0.01
"""Measurements that would remove less are not worth naming. [-]"""


@dataclass(frozen=True)
class Candidate:
    """A measurement that one can order, and what it would show in each trial."""

    measurement: str
    """Words, such as `iron in biotite by microprobe`."""
    unit: str
    """Of the measured figure."""
    assumed_sd: float
    """Standard deviation of one result. [unit]"""
    quantity: Array
    """(T,) or (T, 2) true value in each trial, row 0 the typical case. [unit]"""
    hours: float | None = None
    """Common practice, no source; None where nothing is known."""


@dataclass(frozen=True)
class Ranked:
    """A measurement with the share of the variance of product iron that it would remove."""

    measurement: str
    unit: str
    assumed_sd: float
    variance_removed_share: float
    hours: float | None


def simulated_results(candidate: Candidate, seed: int) -> Array:
    """What the laboratory would report in each trial: the truth and its own error.

    Parameters
    ----------
    candidate : Candidate
        The measurement. [-]
    seed : int
        The run's seed. [-]

    Returns
    -------
    array, shape (T - 1, D)
        Results, the typical row left out. [unit of the candidate]

    References
    ----------
    computed_here
    """
    truth = np.asarray(candidate.quantity, dtype=float)
    truth = truth.reshape(len(truth), -1)[1:]
    noise = stream(seed, f"measure/{candidate.measurement}").standard_normal(truth.shape)
    return np.asarray(truth + candidate.assumed_sd * noise)


def variance_removed(candidate: Candidate, product_wt_pct: Array, seed: int = 1) -> float:
    """Share of the variance of product iron that one measurement would remove.

    Parameters
    ----------
    candidate : Candidate
        The measurement. [-]
    product_wt_pct : array, shape (T,)
        Product Fe2O3, row 0 the typical case. [wt %]
    seed : int
        The run's seed. [-]

    Returns
    -------
    float
        Var(E[product | result]) / Var(product). [-]

    References
    ----------
    saltelli_ishigami for the index; computed_here
    """
    return variance_share(simulated_results(candidate, seed), product_wt_pct[1:])


def measure_next(
    candidates: Sequence[Candidate], product_wt_pct: Array, seed: int = 1, most: int = 8
) -> tuple[Ranked, ...]:
    """Measurements ranked by the share of the variance of product iron that each would remove.

    The shares do not sum to 1: inputs depend on each other, and each is taken alone.

    Parameters
    ----------
    candidates : sequence of Candidate
        Measurements that one can order. [-]
    product_wt_pct : array, shape (T,)
        Product Fe2O3, row 0 the typical case. [wt %]
    seed : int
        The run's seed. [-]
    most : int
        Greatest number returned. [-]

    Returns
    -------
    tuple of Ranked
        Best first, those below 1 % left out; empty with fewer than 50 trials. [-]

    References
    ----------
    saltelli_ishigami for the index; computed_here
    """
    if len(product_wt_pct) < 51:
        return ()
    ranked = [
        Ranked(
            c.measurement, c.unit, c.assumed_sd, variance_removed(c, product_wt_pct, seed), c.hours
        )
        for c in candidates
    ]
    ranked.sort(key=lambda row: (-row.variance_removed_share, row.measurement))
    return tuple(row for row in ranked if row.variance_removed_share >= LEAST_SHARE)[:most]


def best_pair(
    candidates: Sequence[Candidate], product_wt_pct: Array, seed: int = 1, among: int = 4
) -> tuple[str, str, float] | None:
    """The two measurements that together remove most, and how much.

    Parameters
    ----------
    candidates : sequence of Candidate
        Measurements that one can order. [-]
    product_wt_pct : array, shape (T,)
        Product Fe2O3, row 0 the typical case. [wt %]
    seed : int
        The run's seed. [-]
    among : int
        Pairs are formed of so many of the best single ones. [-]

    Returns
    -------
    tuple of (str, str, float) or None
        The two measurements and their joint share; None when fewer than two are worth it. [-]

    References
    ----------
    saltelli_ishigami for the index; computed_here
    """
    best = measure_next(candidates, product_wt_pct, seed, among)
    named = {c.measurement: c for c in candidates}
    single = {row.measurement: row.variance_removed_share for row in best}
    found: list[tuple[float, str, str]] = []
    for k, first in enumerate(best):
        for second in best[k + 1 :]:
            # Each as its own regression of the product, so that two axes are enough.
            pair = [named[first.measurement], named[second.measurement]]
            axes = np.concatenate([simulated_results(c, seed)[:, :1] for c in pair], axis=1)
            share = variance_share(axes, product_wt_pct[1:])
            share = max(share, single[first.measurement], single[second.measurement])
            found.append((-share, first.measurement, second.measurement))
    if not found:
        return None
    share, first_name, second_name = min(found)
    return first_name, second_name, -share
