"""The product's numbers behind pictures: curves, what is asked, the spread of the trials."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from feedchar.report.curve_readings import iron_at
from feedchar.results import Characterisation

Array = NDArray[np.float64]


def curve_points(result: Characterisation, key: str) -> tuple[Array, Array]:
    """One curve of product iron against yield, undefined points left out.

    Parameters
    ----------
    result : Characterisation
        The result. [-]
    key : str
        every_grain_sorted | ideal_magnet | this_roll. [-]

    Returns
    -------
    tuple of array
        Yield [% of dry bag] and Fe2O3 [wt %], shape (P,). [%, wt %]
    """
    points = [
        (point.yield_pct, point.Fe2O3_wt_pct)
        for point in getattr(result.best_possible, key)
        if point.Fe2O3_wt_pct is not None
    ]
    return np.array([y for y, _ in points]), np.array([iron for _, iron in points])


def curve_at(result: Characterisation, key: str, yield_pct: float) -> float | None:
    """Product iron of one curve at a yield.

    Parameters
    ----------
    result : Characterisation
        The result. [-]
    key : str
        every_grain_sorted | ideal_magnet | this_roll. [-]
    yield_pct : float
        Yield. [% of dry bag]

    Returns
    -------
    float or None
        None outside the curve. [wt %]
    """
    return iron_at(getattr(result.best_possible, key), yield_pct)


def iron_limit(result: Characterisation) -> float | None:
    """The most iron that is asked of the product.

    Parameters
    ----------
    result : Characterisation
        The result. [-]

    Returns
    -------
    float or None
        None where none is asked. [wt % Fe2O3]
    """
    asked = result.answer.limit.get("Fe2O3_max_pct")
    return float(asked) if isinstance(asked, int | float) else None


def product_trials(result: Characterisation) -> Array:
    """Product iron of every trial, the typical case left out.

    Parameters
    ----------
    result : Characterisation
        The result. [-]

    Returns
    -------
    array, shape (N,)
        Trials whose product holds iron; empty where the result carries none. [wt % Fe2O3]
    """
    values = result.trial_values.get("product_Fe2O3_wt_pct")
    if values is None or len(values) < 2:
        return np.empty(0)
    draws = np.asarray(values[1:], dtype=float)
    return draws[np.isfinite(draws) & (draws > 0)]


def product_bins(trials: Array, limit: float | None, number: int = 24) -> tuple[Array, Array]:
    """Trials in bins of equal ratio, one edge on the limit.

    Parameters
    ----------
    trials : array, shape (N,)
        At least two different values. [wt %]
    limit : float or None
        Where an edge must lie. [wt %]
    number : int
        About how many bins. [-]

    Returns
    -------
    tuple of array
        Edges, shape (B + 1,), and trials of 100 in each bin, shape (B,). [wt %, %]
    """
    low, high = np.log(np.quantile(trials, (0.002, 0.998)))
    step = max(high - low, 1e-6) / number
    anchor = low if limit is None or limit <= 0 else float(np.log(limit))
    first = np.floor((low - anchor) / step)
    last = np.ceil((high - anchor) / step)
    edges = np.exp(anchor + step * np.arange(first, last + 1))
    counted = np.histogram(np.clip(trials, edges[0], edges[-1]), edges)[0]
    return edges, 100.0 * counted / len(trials)
