"""Reading the curves of product iron against yield, as one does on the telephone."""

from __future__ import annotations

from itertools import pairwise

from feedchar.results import CurvePoint


def iron_at(curve: tuple[CurvePoint, ...], yield_pct: float) -> float | None:
    """Product iron of a curve at a yield, between its points in a straight line.

    Parameters
    ----------
    curve : tuple of CurvePoint
        Product iron against yield. [wt %, % of dry bag]
    yield_pct : float
        Yield asked for. [%]

    Returns
    -------
    float or None
        Product Fe2O3, None outside the curve. [wt %]
    """
    points = sorted((p.yield_pct, p.Fe2O3_wt_pct) for p in curve if p.Fe2O3_wt_pct is not None)
    for (low, iron_low), (high, iron_high) in pairwise(points):
        if low <= yield_pct <= high:
            part = 0.0 if high == low else (yield_pct - low) / (high - low)
            return iron_low + part * (iron_high - iron_low)
    return None


def yield_at(curve: tuple[CurvePoint, ...], iron_wt_pct: float) -> float | None:
    """Largest yield of a curve at which the product holds no more than so much iron.

    Parameters
    ----------
    curve : tuple of CurvePoint
        Product iron against yield. [wt %, % of dry bag]
    iron_wt_pct : float
        Product Fe2O3 asked for. [wt %]

    Returns
    -------
    float or None
        Yield, None where no point of the curve is so clean. [% of dry bag]
    """
    points = sorted(
        ((p.yield_pct, p.Fe2O3_wt_pct) for p in curve if p.Fe2O3_wt_pct is not None), reverse=True
    )
    for place, (share, iron) in enumerate(points):
        if iron <= iron_wt_pct:
            if place == 0:
                return share
            above, iron_above = points[place - 1]
            return share + (iron_wt_pct - iron) / (iron_above - iron) * (above - share)
    return None
