"""Curves of product Fe2O3 against yield, and the grade or yield read from one."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from feedchar.product.grains import Grains

Array = NDArray[np.float64]


def yield_grid_pct() -> Array:
    """Yields at which curves are given: each whole % from 50 and each 0.1 from 95.

    Returns
    -------
    array, shape (96,)
        Yields of the dry bag. [%]

    References
    ----------
    common practice, no source
    """
    return np.concatenate([np.arange(50.0, 95.0), np.round(np.arange(950, 1001) / 10.0, 1)])


def roll_points(grains: Grains, settings: Sequence[Array]) -> tuple[Array, Array]:
    """Yield and iron of the non-magnetics at several settings of one roll.

    Parameters
    ----------
    grains : Grains
        Grains with mass and iron. [-]
    settings : sequence of array, shape (C,)
        Share of each class to the non-magnetics at each setting, typical case. [-]

    Returns
    -------
    tuple of array, shape (N,)
        Yield as fraction of the dry bag and Fe2O3 carried, wt % of the dry bag. [-, wt %]

    References
    ----------
    computed_here (mass balance)
    """
    kept = np.array([np.asarray(share)[grains.cls] for share in settings]).reshape(
        len(settings), len(grains.cls)
    )
    return kept @ grains.mass, kept @ grains.iron


def roll_curve(yields: Array, iron: Array, grains: Grains, yields_pct: Array) -> Array:
    """Lowest product Fe2O3 that a roll reaches at each yield, by setting or by blending two.

    A share of the feed may run at one setting and the rest at another, or not at all, so the
    lower convex hull of iron against yield is within reach.

    Parameters
    ----------
    yields, iron : array, shape (N,)
        From `roll_points`. [-, wt %]
    grains : Grains
        Grains with mass and iron, for the end where nothing is removed. [-]
    yields_pct : array, shape (G,)
        Yields of the dry bag. [%]

    Returns
    -------
    array, shape (G,)
        Fe2O3 of the product; NaN outside the yields that the settings span. [wt %]

    References
    ----------
    computed_here
    """
    x, y = roll_hull(yields, iron, grains)
    wanted = np.asarray(yields_pct) / 100.0
    inside = (wanted >= x[0] * (1 - 1e-12)) & (wanted <= x[-1] * (1 + 1e-12))
    return np.asarray(np.where(inside, np.interp(wanted, x, y) / wanted, np.nan))


def roll_hull(yields: Array, iron: Array, grains: Grains) -> tuple[Array, Array]:
    """Corners of the lowest iron within reach of a roll's settings and of no treatment.

    Parameters
    ----------
    yields, iron : array, shape (N,)
        From `roll_points`. [-, wt %]
    grains : Grains
        Grains with mass and iron, for the end where nothing is removed. [-]

    Returns
    -------
    tuple of array, shape (H,)
        Rising yields and the Fe2O3 carried, wt % of the dry bag. [-, wt %]

    References
    ----------
    computed_here (lower convex hull)
    """
    x = np.concatenate([yields, [grains.mass.sum()]])
    y = np.concatenate([iron, [grains.iron.sum()]])
    corners = _lower_hull(x, y)
    return x[corners], y[corners]


def _lower_hull(x: Array, y: Array) -> NDArray[np.intp]:
    """Indices of the lower convex hull, from the least x to the greatest."""
    hull: list[int] = []
    for k in np.lexsort((y, x)):
        if hull and x[k] == x[hull[-1]]:
            continue
        while len(hull) > 1:
            a, b = hull[-2], hull[-1]
            turn = (x[b] - x[a]) * (y[k] - y[a]) - (y[b] - y[a]) * (x[k] - x[a])
            if turn > 0.0:
                break
            hull.pop()
        hull.append(int(k))
    return np.array(hull, dtype=np.intp)


def grade_at_yield(curve: Array, yields_pct: Array, wanted_pct: float) -> float | None:
    """Product Fe2O3 at a wanted yield.

    Parameters
    ----------
    curve : array, shape (N,)
        Fe2O3 against `yields_pct`, NaN where out of reach. [wt %]
    yields_pct : array, shape (N,)
        Rising yields. [%]
    wanted_pct : float
        Yield of the dry bag. [%]

    Returns
    -------
    float or None
        Fe2O3, None where the curve does not reach. [wt %]

    References
    ----------
    computed_here
    """
    known = np.isfinite(curve)
    if not known.any() or not yields_pct[known][0] <= wanted_pct <= yields_pct[known][-1]:
        return None
    carried = curve[known] * yields_pct[known]
    return float(np.interp(wanted_pct, yields_pct[known], carried) / wanted_pct)


def yield_at_grade(curve: Array, yields_pct: Array, wanted_wt_pct: float) -> float | None:
    """Highest yield at which a curve is at or below a wanted Fe2O3.

    Parameters
    ----------
    curve : array, shape (N,)
        Fe2O3 against `yields_pct`, NaN where out of reach. [wt %]
    yields_pct : array, shape (N,)
        Rising yields. [%]
    wanted_wt_pct : float
        Fe2O3 of the product. [wt %]

    Returns
    -------
    float or None
        Yield of the dry bag, None where no yield of the curve is so clean. [%]

    References
    ----------
    computed_here
    """
    good = np.flatnonzero(np.isfinite(curve) & (curve <= wanted_wt_pct))
    if len(good) == 0:
        return None
    last = int(good[-1])
    if last + 1 == len(curve) or not np.isfinite(curve[last + 1]):
        return float(yields_pct[last])
    part = (wanted_wt_pct - curve[last]) / (curve[last + 1] - curve[last])
    return float(yields_pct[last] + part * (yields_pct[last + 1] - yields_pct[last]))


def never_worse_with_less(curve: Array) -> Array:
    """Lowest Fe2O3 at each yield or any higher one: clean product may always be thrown away.

    Parameters
    ----------
    curve : array, shape (N,)
        Fe2O3 at rising yields, NaN where out of reach. [wt %]

    Returns
    -------
    array, shape (N,)
        Rising with yield, NaN where it was. [wt %]

    References
    ----------
    computed_here
    """
    filled = np.where(np.isfinite(curve), curve, np.inf)
    least = np.minimum.accumulate(filled[::-1])[::-1]
    return np.asarray(np.where(np.isfinite(curve), least, np.nan))
