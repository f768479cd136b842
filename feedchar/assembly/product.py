"""What comes out of the machine, as result records."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from feedchar.assembly.feed import oxide_summaries
from feedchar.chemistry.mineralogy import Mineralogy
from feedchar.product import answer as verdict
from feedchar.product import curves
from feedchar.product.best_possible import BestPossible as Curves
from feedchar.product.inverse import dirtiest_feed, feed_that_passes
from feedchar.product.outlets import FE2O3, OUTLETS, Outlets
from feedchar.product.specks import Specks
from feedchar.product.stays import REASONS, IronThatStays
from feedchar.results import (
    Answer,
    BestMeetingLimit,
    BestPossible,
    CurvePoint,
    DirtiestFeed,
    LimitRow,
    OutletResult,
    ProductResult,
    StayLine,
)
from feedchar.sample.records import Limit
from feedchar.uncertainty.summary import summarise

Array = NDArray[np.float64]

CURVES = ("every_grain_sorted", "ideal_magnet", "this_roll")
LOSS_SHARE_SHOWN = 0.8
"""The loss is called `mostly below` the size under which this share of it lies. [-]"""


def outlet_result(outlets: Outlets, name: str, specks: Specks) -> OutletResult:
    """One outlet.

    Parameters
    ----------
    outlets : Outlets
        Where the bag goes. [-]
    name : str
        One of OUTLETS. [-]
    specks : Specks
        Dark and refractory grains of this outlet. [per 100 g]

    Returns
    -------
    OutletResult
        Percentages of the dry bag and of the roll feed. [%]
    """
    of_feed = outlets.yield_of_roll_feed_pct(name)
    if name == "untreated":
        of_feed = np.full_like(of_feed, np.nan)
    return OutletResult(
        yield_pct=summarise(outlets.yield_pct(name)),
        yield_of_roll_feed_pct=summarise(of_feed),
        assay_wt_pct=oxide_summaries(getattr(outlets, name).assay_wt_pct),
        specks_per_100_g=summarise(specks.dark),
        iron_share_pct=summarise(outlets.iron_split_pct()[name]),
        Fe2O3_wt_pct_of_bag=summarise(getattr(outlets, name).oxide_mass[:, FE2O3]),
    )


def mostly_below_um(outlets: Outlets) -> float | None:
    """Upper bound of the finest size classes that hold most of the sand lost.

    Parameters
    ----------
    outlets : Outlets
        Where the bag goes; classes run from coarse to fine. [-]

    Returns
    -------
    float or None
        None when nothing is lost, or when only all the classes together hold as much. [um]
    """
    lost = np.nan_to_num(outlets.sand_lost_pct[0])
    if lost.sum() <= 0.0:
        return None
    from_fine = np.cumsum(lost[::-1])[::-1]
    enough = np.flatnonzero(from_fine >= LOSS_SHARE_SHOWN * lost.sum())
    place = int(enough[-1])
    return float(outlets.sizes.passing_um[place]) if place > 0 else None


def product_result(outlets: Outlets, specks_of: Callable[[str], Specks]) -> ProductResult:
    """All outlets with their assays, the iron removed and the sand lost.

    Parameters
    ----------
    outlets : Outlets
        Where the bag goes. [-]
    specks_of : callable
        Gives the Specks of an outlet by name. [-]

    Returns
    -------
    ProductResult
        Totals over the trials. [%]
    """
    counted = {name: specks_of(name) for name in OUTLETS}
    made = {name: outlet_result(outlets, name, counted[name]) for name in OUTLETS}
    return ProductResult(
        non_magnetics=made["non_magnetics"],
        middlings=made["middlings"],
        magnetics=made["magnetics"],
        untreated=made["untreated"],
        iron_removal_pct=summarise(outlets.iron_removal_pct),
        sand_lost_pct=summarise(outlets.sand_lost_pct.sum(axis=1)),
        sand_lost_mostly_below_um=mostly_below_um(outlets),
        refractory_grains_per_100_g=summarise(counted["non_magnetics"].refractory),
    )


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


def answer_result(found: verdict.Answer, limit: Limit | None) -> Answer:
    """The answer with what was asked.

    Parameters
    ----------
    found : verdict.Answer
        Status, chance, rows. [-]
    limit : Limit or None
        What is asked. [-]

    Returns
    -------
    Answer
        As the document shows it. [-]
    """
    asked: dict[str, float | str] = {}
    if limit is not None:
        if limit.use:
            asked["use"] = limit.use
        asked |= {f"{name}_max_pct": value for name, value in sorted(limit.max_wt_pct.items())}
        asked |= {f"{name}_min_pct": value for name, value in sorted(limit.min_wt_pct.items())}
        for key in ("yield_min_pct", "specks_per_100_g_max", "passing_um", "retained_um"):
            value = getattr(limit, key)
            if value is not None:
                asked[key] = value
    rows = tuple(
        LimitRow(
            quantity=row.quantity,
            unit=row.unit,
            bound=row.bound,
            asked=row.asked,
            likely=row.value.typical if row.value.p50 is None else row.value.p50,
            p05=row.value.p05,
            p95=row.value.p95,
            chance=row.chance,
        )
        for row in found.rows
    )
    return Answer(asked, found.status, found.chance_of_meeting_limit, found.sentence, rows)
