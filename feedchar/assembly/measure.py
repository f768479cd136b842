"""What to measure next, as result records."""

from __future__ import annotations

from feedchar.product.measure import Candidate, measure_next
from feedchar.results import MeasureNext
from feedchar.uncertainty.shares import Array

LEAST_SHARE = 0.005
"""Measurements that would remove less of the variance are not worth a line. [-]"""


def measure_next_results(
    candidates: tuple[Candidate, ...], product_wt_pct: Array, seed: int
) -> tuple[MeasureNext, ...]:
    """Measurements by the share of the variance of product iron that each would remove.

    Parameters
    ----------
    candidates : tuple of Candidate
        What one can order. [-]
    product_wt_pct : array, shape (T,)
        Fe2O3 of the product. [wt %]
    seed : int
        The run's seed. [-]

    Returns
    -------
    tuple of MeasureNext
        Empty without trials. [-]
    """
    if len(product_wt_pct) < 3:
        return ()
    return tuple(
        MeasureNext(
            measurement=ranked.measurement,
            unit=ranked.unit,
            assumed_sd=ranked.assumed_sd,
            variance_removed_share=ranked.variance_removed_share,
            hours=ranked.hours,
        )
        for ranked in measure_next(candidates, product_wt_pct, seed)
        if ranked.variance_removed_share >= LEAST_SHARE
    )
