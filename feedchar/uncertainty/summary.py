"""From a trial array to the uncertain number that every output shows."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

QUANTILES = (0.05, 0.5, 0.95)
"""What is told of a spread; common practice, no source. [-]"""
LIKELY_FROM, UNLIKELY_TO = 0.90, 0.10
"""Chances from and up to which a thing is called so; common practice, no source. [-]"""


@dataclass(frozen=True)
class Uncertain:
    """An uncertain number; every field has the unit of the quantity. None where not computed."""

    typical: float | None
    """Row 0: the case with every input at its typical value."""
    mean: float | None
    """Mean of the trials, row 0 left out."""
    sd: float | None
    """Standard deviation of the trials."""
    p05: float | None
    """5 % quantile."""
    p50: float | None
    """Median."""
    p95: float | None
    """95 % quantile."""


def summarise(trials: NDArray[np.float64]) -> Uncertain:
    """Summary of one quantity over the trial axis.

    Parameters
    ----------
    trials : array, shape (T,)
        Row 0 is the typical case, the others are draws; NaN means undefined in that trial. [any]

    Returns
    -------
    Uncertain
        All but `typical` are None when there are no draws; undefined stays None. [as given]

    References
    ----------
    common practice, no source (5, 50 and 95 % quantiles)
    """
    values = np.asarray(trials, dtype=float)
    typical = float(values[0]) if np.isfinite(values[0]) else None
    draws = values[1:][np.isfinite(values[1:])]
    if draws.size == 0:
        return Uncertain(typical, None, None, None, None, None)
    p05, p50, p95 = np.quantile(draws, QUANTILES)
    sd = float(draws.std(ddof=1)) if draws.size > 1 else 0.0
    return Uncertain(typical, float(draws.mean()), sd, float(p05), float(p50), float(p95))
