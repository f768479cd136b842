"""One split, several assays: the yield that all of them together support, and assays that close.

Each assay alone gives its own yield by the two-product formula. Weighted least squares finds the
one yield, and the smallest adjustments of the assays in their own sd, that satisfy all of them.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.optimize import brentq
from scipy.special import chdtrc

from feedchar.errors import InputError

Array = NDArray[np.float64]


@dataclass(frozen=True)
class NodeBalance:
    """A reconciled split into two products."""

    yield_fraction: float
    """Mass of the first product over mass of the feed; not clipped. [-]"""
    yield_sd: float
    """Its standard deviation, to first order. [-]"""
    feed: Array
    """(K,) adjusted assays of the feed. [as given]"""
    concentrate: Array
    """(K,) adjusted assays of the first product. [as given]"""
    tailing: Array
    """(K,) adjusted assays of the second product. [as given]"""
    residual: Array
    """(K,) imbalance of the assays as measured, at this yield. [as given]"""
    residual_in_sd: Array
    """(K,) the same over its sd; the largest names the assay to doubt. [-]"""
    chi_square: float
    """Weighted sum of squared adjustments. [-]"""
    degrees_of_freedom: int
    """Data less what they fix. [-]"""
    p_value: float
    """Chance of so large a chi-square when every sd is right; 1 with nothing left to test. [-]"""


def unweighted_yield(feed: ArrayLike, concentrate: ArrayLike, tailing: ArrayLike) -> float:
    """Yield by plain least squares over several assays, every imbalance counting alike.

    Kept for comparison: the largest numbers rule it, whatever they are worth.

    Parameters
    ----------
    feed, concentrate, tailing : array_like, shape (K,)
        Assays of K components. [any]

    Returns
    -------
    float
        Sum (f-t)(c-t) over sum (c-t)^2. [-]

    Raises
    ------
    InputError
        Products that do not differ in any component.

    References
    ----------
    wills_2006, metallurgical accounting.
    """
    f, c, t = (np.asarray(assay, dtype=float) for assay in (feed, concentrate, tailing))
    span = float(((c - t) ** 2).sum())
    if not span > 0.0:
        msg = "the two products do not differ in any component"
        raise InputError(msg)
    return float(((f - t) * (c - t)).sum() / span)


def adjust_assays(
    feed: ArrayLike,
    concentrate: ArrayLike,
    tailing: ArrayLike,
    feed_sd: ArrayLike,
    concentrate_sd: ArrayLike,
    tailing_sd: ArrayLike,
    yield_fraction: float,
) -> tuple[Array, Array, Array]:
    """Assays moved the least, in their own sd, so that they close at a given yield.

    Parameters
    ----------
    feed, concentrate, tailing : array_like, shape (K,)
        Assays. [any]
    feed_sd, concentrate_sd, tailing_sd : array_like, shape (K,)
        Standard deviations; not all three zero for one component. [as the assays]
    yield_fraction : float
        Mass of the first product over mass of the feed. [-]

    Returns
    -------
    tuple of three arrays, shape (K,)
        Feed, concentrate, tailing with f = Y c + (1 - Y) t exactly. [as given]

    References
    ----------
    wills_2006, metallurgical accounting (after Smith and Ichiyen 1973, Wiegel 1972, Klimpel).
    """
    f, c, t = (np.asarray(assay, dtype=float) for assay in (feed, concentrate, tailing))
    vf, vc, vt = (np.asarray(sd, dtype=float) ** 2 for sd in (feed_sd, concentrate_sd, tailing_sd))
    y = yield_fraction
    multiplier = ((f - t) - y * (c - t)) / (vf + y**2 * vc + (1.0 - y) ** 2 * vt)
    c_closed = c + y * vc * multiplier
    t_closed = t + (1.0 - y) * vt * multiplier
    return f - vf * multiplier, c_closed, t_closed


def reconcile_node(
    feed: ArrayLike,
    concentrate: ArrayLike,
    tailing: ArrayLike,
    feed_sd: ArrayLike,
    concentrate_sd: ArrayLike,
    tailing_sd: ArrayLike,
    weighed_yield: float | None = None,
    weighed_yield_sd: float | None = None,
) -> NodeBalance:
    """One yield and closing assays from several assays, and from the balance if it was weighed.

    Minimises the squared adjustments of all data, each over its own variance. The adjustments are
    eliminated at each yield, so the search is in one variable and finds the lowest of its minima.

    Parameters
    ----------
    feed, concentrate, tailing : array_like, shape (K,)
        Assays of K components. [any, one unit a component]
    feed_sd, concentrate_sd, tailing_sd : array_like, shape (K,)
        Standard deviations, independent of each other. [as the assays]
    weighed_yield : float, optional
        Yield by weighing, one more datum. [-]
    weighed_yield_sd : float, optional
        Its standard deviation, needed with it. [-]

    Returns
    -------
    NodeBalance
        The yield, the closing assays and the chi-square test. [-]

    Raises
    ------
    InputError
        Shapes that differ, a value or sd that is no number, an sd below zero or all three zero, a
        weighed yield without a positive sd, or nothing that fixes the yield.

    References
    ----------
    wills_2006, metallurgical accounting (after Smith and Ichiyen 1973, Wiegel 1972, Klimpel).
    """
    f, c, t, f_sd, c_sd, t_sd = _checked(
        feed, concentrate, tailing, feed_sd, concentrate_sd, tailing_sd
    )
    vf, vc, vt = f_sd**2, c_sd**2, t_sd**2
    weighed = weighed_yield is not None
    if weighed and (weighed_yield_sd is None or not weighed_yield_sd > 0.0):
        problem = "a weighed yield needs a standard deviation above 0"
        raise InputError(
            problem, remedy="0.002 is usual on a laboratory balance with careful work."
        )
    target = weighed_yield if weighed_yield is not None else 0.0
    weight = 1.0 / weighed_yield_sd**2 if weighed and weighed_yield_sd is not None else 0.0
    if not weighed and not np.any(np.abs(c - t) > 0.0):
        problem = "the two products do not differ in any component"
        raise InputError(problem, remedy="Weigh the products: assays cannot give this yield.")

    def imbalance(y: Array | float) -> tuple[Array, Array]:
        column = np.asarray(y, dtype=float)[..., None]
        residual = (f - t) - column * (c - t)
        return residual, vf + column**2 * vc + (1.0 - column) ** 2 * vt

    def cost(y: Array) -> Array:
        residual, h = imbalance(y)
        with np.errstate(divide="ignore", invalid="ignore"):  # h is 0 where no sd is left at y
            by_assays = np.nan_to_num(residual**2 / h, nan=0.0, posinf=np.inf)
        return by_assays.sum(axis=-1) + weight * (y - target) ** 2

    def slope(y: float) -> float:
        residual, h = imbalance(y)
        by_h = 2.0 * y * vc - 2.0 * (1.0 - y) * vt
        by_assays = -2.0 * residual * (c - t) / h - residual**2 * by_h / h**2
        return float(by_assays.sum() + 2.0 * weight * (y - target))

    y = _lowest_minimum(cost, slope)
    residual, h = imbalance(y)
    closed = adjust_assays(f, c, t, f_sd, c_sd, t_sd, y)
    information = float(((closed[1] - closed[2]) ** 2 / h).sum() + weight)
    chi_square = float(cost(np.asarray(y)))
    degrees = f.size + int(weighed) - 1
    return NodeBalance(
        y,
        information**-0.5 if information > 0.0 else float("inf"),
        *closed,
        residual,
        residual / np.sqrt(h),
        chi_square,
        degrees,
        float(chdtrc(degrees, chi_square)) if degrees > 0 else 1.0,
    )


def _lowest_minimum(cost: Callable[[Array], Array], slope: Callable[[float], float]) -> float:
    """Yield of least cost: a fine grid finds the valley, the zero of the slope its floor.

    The grid runs beyond 0 and 1, so that data which ask for an impossible yield say so.
    """
    grid = np.linspace(-1.0, 2.0, 3001)
    best = int(np.argmin(cost(grid)))
    if best in (0, grid.size - 1):
        problem = "the assays ask for a yield below -100 % or above 200 %"
        raise InputError(problem, remedy="Feed and product labels are probably exchanged.")
    low, high = float(grid[best - 1]), float(grid[best + 1])
    if slope(low) >= 0.0 or slope(high) <= 0.0:
        return float(grid[best])  # a minimum exactly on the grid
    return float(brentq(slope, low, high, xtol=1e-15, rtol=1e-14))


def _checked(*data: ArrayLike) -> tuple[Array, ...]:
    values = [np.asarray(datum, dtype=float) for datum in data]
    size = np.atleast_1d(values[0]).shape
    arrays = [np.broadcast_to(v, size) if v.ndim == 0 else v for v in values]
    if len(size) != 1 or any(v.shape != size for v in arrays):
        problem = (
            f"assays and sds must be one number a component, found {[v.shape for v in values]}"
        )
        raise InputError(problem)
    if not all(np.isfinite(v).all() for v in arrays):
        problem = "an assay or its sd is not a number"
        raise InputError(problem, remedy="Leave out a component that was not assayed in all three.")
    sds = np.array(arrays[3:])
    if (sds < 0.0).any() or (sds.sum(axis=0) <= 0.0).any():
        msg = "each component needs sds of 0 or more, not all three 0"
        raise InputError(msg)
    return tuple(arrays)
