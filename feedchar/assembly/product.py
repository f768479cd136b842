"""What comes out of the machine, as result records."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from feedchar.assembly.best_possible import LOSS_SHARE_SHOWN
from feedchar.assembly.feed import oxide_summaries
from feedchar.product import answer as verdict
from feedchar.product.outlets import FE2O3, OUTLETS, Outlets
from feedchar.product.specks import Specks
from feedchar.results import (
    Answer,
    LimitRow,
    OutletResult,
    ProductResult,
)
from feedchar.sample.records import Limit
from feedchar.uncertainty.summary import summarise

Array = NDArray[np.float64]


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
