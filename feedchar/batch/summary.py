"""From the figures of all rows to what a page tells; names are read only where they are shown."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from feedchar.batch.groups import FeedGroups
from feedchar.batch.told import (
    BAD,
    CHANCE,
    FEED,
    HIGH,
    IRON,
    LOW,
    MISFIT,
    NEEDED,
    PRODUCT,
    REMOVED,
    SD,
    STOP,
    UNSEEN,
    YIELD,
    Told,
    read_told,
)
from feedchar.chemistry.agreement import WARN_SD
from feedchar.report.product_readings import product_bins
from feedchar.results.batch import (
    BatchAssay,
    BatchDoubt,
    BatchGroups,
    BatchRow,
)
from feedchar.sample.records import Limit
from feedchar.uncertainty.summary import LIKELY_FROM, UNLIKELY_TO

Array = NDArray[np.float64]
Index = NDArray[np.intp]
Rows = dict[int, BatchRow]

SHOWN_WHOLE = 150
"""A table is shown whole up to so many rows; beyond, its two ends."""
SHOWN_BEST, SHOWN_LAST = 100, 50
MOST_DOUBTS, MOST_ASSAYS, MOST_UNUSABLE = 30, 30, 30
LEAST_ROWS_OF_BINS = 20
STATUSES = (
    "meets", "uncertain", "fails", "assay needed", "data disagree", "no limit given", "not usable",
)  # fmt: skip
POINTS = (0.05, 0.25, 0.5, 0.75, 0.95)


@dataclass(frozen=True)
class Chosen:
    """What a page shows of the rows of a table; fields as in BatchSummary."""

    counts: tuple[tuple[str, int], ...]
    product_Fe2O3_points_wt_pct: tuple[float, ...]
    bins: tuple[tuple[float, float, float], ...]
    best: tuple[BatchRow, ...]
    last: tuple[BatchRow, ...]
    doubts: tuple[BatchDoubt, ...]
    doubtful: int
    assays: tuple[BatchAssay, ...]
    groups: BatchGroups | None
    unusable: tuple[BatchRow, ...]
    assayed: int


def limit_figures(limit: Limit | None) -> dict[str, float]:
    """What is asked, by the names that the document of one sample has for it.

    Parameters
    ----------
    limit : Limit or None
        What is asked. [-]

    Returns
    -------
    dict of str to float
        Such as `Fe2O3_max_pct`; empty where nothing is. [%]

    References
    ----------
    By definition.
    """
    if limit is None:
        return {}
    out = {f"{name}_max_pct": value for name, value in sorted(limit.max_wt_pct.items())}
    out |= {f"{name}_min_pct": value for name, value in sorted(limit.min_wt_pct.items())}
    if limit.yield_min_pct is not None:
        out["yield_min_pct"] = limit.yield_min_pct
    return out


def statuses(figures: Array) -> Index:
    """Status of every row, as places in STATUSES.

    Parameters
    ----------
    figures : array, shape (N, WIDTH)
        Of all rows. [-]

    Returns
    -------
    array of int, shape (N,)
        As the answer of one sample would have it. [-]

    References
    ----------
    Derived: as feedchar.product.answer.
    """
    chance = figures[:, CHANCE]
    out = np.full(len(figures), STATUSES.index("no limit given"))
    known = np.isfinite(chance)
    out[known] = STATUSES.index("uncertain")
    out[known & (chance >= LIKELY_FROM)] = STATUSES.index("meets")
    out[known & (chance <= UNLIKELY_TO)] = STATUSES.index("fails")
    out[figures[:, STOP] == 1.0] = STATUSES.index("data disagree")
    out[figures[:, NEEDED] == 1.0] = STATUSES.index("assay needed")
    out[figures[:, BAD] == 1.0] = STATUSES.index("not usable")
    return out


def by_chance(figures: Array) -> Index:
    """Usable rows, the likeliest to do first.

    Parameters
    ----------
    figures : array, shape (N, WIDTH)
        Of all rows. [-]

    Returns
    -------
    array of int
        By chance, then by product iron; rows without a chance behind, by product iron. [-]

    References
    ----------
    By definition of the order.
    """
    usable = np.flatnonzero(np.isfinite(figures[:, PRODUCT]))
    chance = np.nan_to_num(figures[usable, CHANCE], nan=-1.0)
    return usable[np.lexsort((figures[usable, PRODUCT], -chance))]


def choose(
    told: Sequence[Path], partition_rows: int, limit_wt_pct: float | None, groups: int, seed: int
) -> Chosen:
    """What a page shows of a table.

    Parameters
    ----------
    told : sequence of Path
        Figures of each partition, in order. [-]
    partition_rows : int
        Rows of every partition but the last. [-]
    limit_wt_pct : float or None
        Product Fe2O3 asked for: an edge of the distribution. [wt %]
    groups : int
        Samples to choose for testing. [-]
    seed : int
        The run's seed. [-]

    Returns
    -------
    Chosen
        Records of the rows shown. [-]

    References
    ----------
    Derived: variance removed is that of product iron, by an assay of iron in the bag alone.
    """
    figures = np.concatenate([read_told(path, words=False).figures for path in told])
    status = statuses(figures)
    order = by_chance(figures)
    whole = len(order) <= SHOWN_WHOLE
    best, last = (order, order[:0]) if whole else (order[:SHOWN_BEST], order[-SHOWN_LAST:])
    doubts = _largest(figures[:, MISFIT], MOST_DOUBTS, WARN_SD)
    removed = figures[:, REMOVED] * figures[:, SD] ** 2
    assays = _largest(removed, MOST_ASSAYS, 0.0)
    unusable = np.flatnonzero(figures[:, BAD] == 1.0)[:MOST_UNUSABLE]
    made = FeedGroups(figures, order, groups, seed)
    asked = [*best, *last, *doubts, *assays, *unusable, *made.asked]
    rows = _records(told, partition_rows, figures, status, sorted({int(row) for row in asked}))
    iron = figures[order, PRODUCT]
    return Chosen(
        counts=tuple(
            (word, int(number))
            for word, number in zip(
                STATUSES, np.bincount(status, minlength=len(STATUSES)), strict=True
            )
            if number
        ),
        product_Fe2O3_points_wt_pct=tuple(float(x) for x in np.quantile(iron, POINTS))
        if len(iron)
        else (),
        bins=_bins(iron, limit_wt_pct),
        best=tuple(rows[int(row)] for row in best),
        last=tuple(rows[int(row)] for row in last),
        doubts=tuple(BatchDoubt(rows[int(k)], float(figures[k, MISFIT])) for k in doubts),
        doubtful=int(np.sum(figures[:, MISFIT] > WARN_SD)),
        assays=tuple(
            BatchAssay(rows[int(k)], float(figures[k, SD]), float(figures[k, REMOVED]))
            for k in assays
        ),
        groups=made.records(rows),
        unusable=tuple(rows[int(row)] for row in unusable),
        assayed=int(np.sum(figures[:, IRON] == 1.0)),
    )


def _largest(values: Array, most: int, above: float) -> Index:
    """Rows of the largest values, largest first, equal ones in the order of the table."""
    there = np.flatnonzero(values > above)
    return there[np.argsort(-values[there], kind="stable")][:most]


def _bins(iron: Array, limit: float | None) -> tuple[tuple[float, float, float], ...]:
    iron = iron[iron > 0.0]
    if len(iron) < LEAST_ROWS_OF_BINS or iron.min() == iron.max():
        return ()
    edges, parts = product_bins(iron, limit)
    return tuple(
        (float(a), float(b), float(p)) for a, b, p in zip(edges[:-1], edges[1:], parts, strict=True)
    )


def _records(
    told: Sequence[Path], partition_rows: int, figures: Array, status: Index, asked: Sequence[int]
) -> Rows:
    """Records of some rows; only their partitions are opened again."""
    out: Rows = {}
    open_number, kept = -1, None
    for row in asked:
        number, place = divmod(row, partition_rows)
        if kept is None or number != open_number:
            open_number, kept = number, read_told(told[number])
        out[row] = _record(row, place, kept, figures[row], STATUSES[status[row]])
    return out


def _record(row: int, place: int, kept: Told, own: Array, status: str) -> BatchRow:
    removal = None
    if own[FEED] > 0.0:
        removal = _number(100.0 - own[PRODUCT] * own[YIELD] / own[FEED])
    return BatchRow(
        sample=kept.names[place],
        row=row + 2,
        status=status,
        product_Fe2O3_wt_pct=_number(own[PRODUCT]),
        product_Fe2O3_p05_wt_pct=_number(own[LOW]),
        product_Fe2O3_p95_wt_pct=_number(own[HIGH]),
        yield_pct=_number(own[YIELD]),
        chance_of_meeting_limit=_number(own[CHANCE]),
        iron_removal_pct=removal,
        unseen_iron_share_pct=_number(own[UNSEEN]),
        notes=kept.notes[place],
    )


def _number(value: float) -> float | None:
    return float(value) if np.isfinite(value) else None
