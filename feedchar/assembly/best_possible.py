"""What stays and what could be, as records."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from feedchar.chemistry.mineralogy import Mineralogy
from feedchar.product import curves
from feedchar.product.best_possible import BestPossible as Curves
from feedchar.product.inverse import dirtiest_feed, feed_that_passes
from feedchar.product.outlets import Outlets
from feedchar.product.stays import REASONS, IronThatStays
from feedchar.results import (
    BestMeetingLimit,
    BestPossible,
    CurvePoint,
    DirtiestFeed,
    StayLine,
)
from feedchar.sample.records import Limit

Array = NDArray[np.float64]


CURVES = ("every_grain_sorted", "ideal_magnet", "this_roll")


LOSS_SHARE_SHOWN = 0.8
"""The loss is called `mostly below` the size under which this share of it lies. [-]"""


def stay_lines(
    stays: IronThatStays, remedies: dict[str, str], evidence: dict[str, str]
) -> tuple[StayLine, ...]:
    """The iron that stays, the largest line first; lines without iron are left out.

    Parameters
    ----------
    stays : IronThatStays
        Lines over the trials. [ppm]
    remedies : dict of str to str
        What would remove the iron, by reason. [-]
    evidence : dict of str to str
        measured, fitted or prior, by reason. [-]

    Returns
    -------
    tuple of StayLine
        Typical values; they add up to the product's Fe2O3. [ppm]
    """
    typical, share = stays.typical_ppm, stays.share_pct
    mean = stays.mean_ppm
    order = sorted(range(len(REASONS)), key=lambda k: (-typical[k], k))
    return tuple(
        StayLine(
            reason=REASONS[k],
            Fe2O3_ppm_of_product=float(typical[k]),
            share_pct=float(share[k]),
            carriers=tuple(words for words, _ in stays.carriers[k]),
            remedy=remedies[REASONS[k]],
            evidence=evidence[REASONS[k]],
            mean_Fe2O3_ppm_of_product=float(mean[k]),
        )
        for k in order
        if typical[k] > 0.0 or mean[k] > 0.0
    )


def _points(yields_pct: Array, values: Array) -> tuple[CurvePoint, ...]:
    return tuple(
        CurvePoint(float(y), float(v) if np.isfinite(v) else None)
        for y, v in zip(yields_pct, values, strict=True)
    )


def best_possible_result(
    best: Curves,
    limit: Limit | None,
    product_yield_pct: float,
    other_treatments: tuple[tuple[str, float, float], ...],
) -> BestPossible:
    """The curves, and the highest yield on them that meets the limit for iron.

    Parameters
    ----------
    best : Curves
        Curves of the typical case. [wt %]
    limit : Limit or None
        What is asked. [-]
    product_yield_pct : float
        Yield of this setting, typical case. [%]
    other_treatments : tuple of (str, float, float)
        Treatment, Fe2O3 and yield. [-, wt %, %]

    Returns
    -------
    BestPossible
        `best_meeting_limit` comes from the least demanding curve that meets the limit: this
        roll, then an ideal magnet, then sorting by hand. [-]
    """
    asked = None if limit is None else limit.max_wt_pct.get("Fe2O3")
    meeting = None
    if asked is not None:
        for name in reversed(CURVES):
            found = curves.yield_at_grade(getattr(best, name), best.yields_pct, asked)
            if found is not None:
                grade = curves.grade_at_yield(getattr(best, name), best.yields_pct, found)
                meeting = BestMeetingLimit(name, found, asked if grade is None else grade)
                break
    return BestPossible(
        every_grain_sorted=_points(best.yields_pct, best.every_grain_sorted),
        ideal_magnet=_points(best.yields_pct, best.ideal_magnet),
        this_roll=_points(best.yields_pct, best.this_roll),
        best_meeting_limit=meeting,
        at_product_yield={name: best.at_yield(name, product_yield_pct) for name in CURVES},
        other_treatments=other_treatments,
    )


def dirtiest_feed_result(
    outlets: Outlets, mineralogy: Mineralogy, limit: Limit | None
) -> DirtiestFeed | None:
    """How dirty the feed may get before its product fails for iron.

    Parameters
    ----------
    outlets : Outlets
        What the setting does. [-]
    mineralogy : Mineralogy
        The feed. [-]
    limit : Limit or None
        What is asked. [-]

    Returns
    -------
    DirtiestFeed or None
        None where no limit for Fe2O3 is asked. [-]
    """
    asked = None if limit is None else limit.max_wt_pct.get("Fe2O3")
    if asked is None:
        return None
    content = dirtiest_feed(outlets, mineralogy, asked)
    typical = float(content[0])
    draws = len(content) > 1
    return DirtiestFeed(
        oxide="Fe2O3",
        limit_wt_pct=asked,
        typical_wt_pct=typical if np.isfinite(typical) else None,
        nine_in_ten_wt_pct=feed_that_passes(content) if draws else None,
    )
