"""Figures of every row: percentiles of what is predicted, and whether the product will do."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from feedchar.batch.amounts import Amounts, amounts_before_assay
from feedchar.batch.assayed import fitted_feed
from feedchar.batch.chance import Contents, chance_of_rows
from feedchar.batch.columns import NUMBERS, PREDICTED
from feedchar.batch.prepared import LOADS, Table
from feedchar.batch.product import FeedTrials, kept_amounts, oxide_content
from feedchar.batch.row_fit import add_carriers
from feedchar.batch.rows import Block
from feedchar.batch.sizes import SizeKey, size_key, size_shares
from feedchar.batch.told import (
    FEED,
    HIGH,
    IRON,
    LOW,
    PRODUCT,
    REMOVED,
    SD,
    WIDTH,
    product_figures,
    told_of,
)
from feedchar.chemistry.build import ASSAY_NEEDED_BELOW
from feedchar.chemistry.mineralogy import OXIDES
from feedchar.chemistry.oxides import COLUMN
from feedchar.separation.load import MAGNETICS_LIMIT
from feedchar.uncertainty.summary import QUANTILES

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]
Index = NDArray[np.intp]

_FE2O3 = COLUMN["Fe2O3"]
_OTHERS = {name: NUMBERS.index(name) for name in NUMBERS[len(PREDICTED) :]}


@dataclass(frozen=True)
class Answers:
    """What is added to N rows."""

    numbers: Array
    """(N, len(NUMBERS)) NaN where nothing can be said."""
    assay_needed: NDArray[np.object_]
    """(N,) True, False, or None for a row that cannot be used."""
    notes: tuple[str, ...]
    bad: Flags
    told: Array | None = None
    """(N, WIDTH) of feedchar.batch.told; None unless asked for."""


class Filled:
    """Answers of N rows as they are filled in."""

    def __init__(self, rows: int, told: bool) -> None:
        self.numbers = np.full((rows, len(NUMBERS)), np.nan)
        self.needed = np.full(rows, None, dtype=object)
        self.stop = np.zeros(rows, dtype=bool)
        self.told = np.full((rows, WIDTH), np.nan) if told else None


ROWS_AT_ONCE = 32
"""Rows worked on together, so that rows x trials x phases stay in cache."""
FITTED_AT_ONCE = 250
"""The same for rows with an assay: enough for rows of one pattern to meet."""


def quantiles(values: Array) -> Array:
    """Percentiles 5, 50 and 95 over the trials, row 0 left out.

    Parameters
    ----------
    values : array, shape (N, T)
        Trials. [any]

    Returns
    -------
    array, shape (3, N)
        Only the typical case, in the middle, where there are no trials. [as values]

    References
    ----------
    Linear interpolation between order statistics: common practice, no source.
    """
    if values.shape[1] == 1:
        nothing = np.full(len(values), np.nan)
        return np.stack([nothing, values[:, 0], nothing])
    ordered = np.sort(values[:, 1:], axis=1)
    out = np.empty((len(QUANTILES), len(values)))
    for k, point in enumerate(QUANTILES):
        place = point * (ordered.shape[1] - 1)
        below = min(int(place), max(ordered.shape[1] - 2, 0))
        above = min(below + 1, ordered.shape[1] - 1)
        part = place - below
        out[k] = ordered[:, below] * (1.0 - part) + ordered[:, above] * part
    return out


def groups_of(block: Block, chosen: Index, most: int) -> list[tuple[SizeKey, str | None, Index]]:
    """Rows that share size and origin.

    Parameters
    ----------
    block : Block
        Rows. [-]
    chosen : array of int
        Rows to take. [-]
    most : int
        Rows of a group. [-]

    Returns
    -------
    list of tuple
        Size, origin, rows. [-]
    """
    groups: dict[tuple[SizeKey, str | None], list[int]] = {}
    for row in chosen:
        key = size_key(float(block.d50_um[row]), float(block.d90_um[row]))
        groups.setdefault((key, block.origin[row]), []).append(int(row))
    return [
        (key, origin, np.array(rows[start : start + most], dtype=np.intp))
        for (key, origin), rows in groups.items()
        for start in range(0, len(rows), most)
    ]


def predicted(table: Table, amounts: Amounts, rows: Index, numbers: Array) -> None:
    """Fill the predicted oxides of some rows.

    Parameters
    ----------
    table : Table
        Draws. [-]
    amounts : Amounts
        Before the assay. [wt %]
    rows : array of int, shape (N,)
        Their places among the numbers. [-]
    numbers : array
        Filled in place. [wt %]
    """
    drawn = table.drawn
    for k in range(len(OXIDES) - 1):
        values = oxide_content(amounts.wt_pct, drawn.low, drawn.change, drawn.place[:, None], k)
        numbers[rows, 3 * k : 3 * k + 3] = quantiles(values).T


def answer_rows(
    table: Table, block: Block, rows: Index, key: SizeKey, origin: str | None, feed: FeedTrials,
    filled: Filled,
) -> None:  # fmt: skip
    """Fill what the product of some rows is like.

    Parameters
    ----------
    table : Table
        Machine and demands. [-]
    block : Block
        Rows; their notes grow. [-]
    rows : array of int, shape (N,)
        Rows that share size and origin. [-]
    key : tuple of int or None
        Their size. [-]
    origin : str or None
        Their origin. [-]
    feed : Feed
        Trials of their feed. [wt %]
    filled : Filled
        Changed in place; the predicted oxides are there already. [-]

    References
    ----------
    Derived: as feedchar.product.answer.
    """
    drawn, numbers, needed = table.drawn, filled.numbers, filled.needed
    filled.stop[rows] = feed.disagree
    stays, share = _stays(table, key, origin, feed)
    content = Contents(drawn, feed)
    iron = content.of(feed.wt_pct, "Fe2O3")
    unseen = feed.wt_pct[-1] * drawn.low[-1, _FE2O3] / 100.0
    numbers[rows, _OTHERS["unseen_iron_share_pct"]] = quantiles(100.0 * unseen / iron)[1]
    mass = stays.sum(axis=0)
    product = 100.0 * content.of(stays, "Fe2O3") / np.maximum(mass, 1e-300)
    points = quantiles(product)
    numbers[rows, _OTHERS["product_Fe2O3_p50_wt_pct"]] = points[1]
    numbers[rows, _OTHERS["product_yield_p50_pct"]] = quantiles(mass)[1]
    median = numbers[rows, 3 * _FE2O3 + 1]
    no_iron = ~np.isfinite(block.assay[_FE2O3, rows])
    needed[rows] = no_iron & ((origin != "as dug") | (median < ASSAY_NEEDED_BELOW))
    if filled.told is not None:
        filled.told[rows[:, None], [LOW, PRODUCT, HIGH]] = points.T
        figures = product_figures(product, iron, ~no_iron, drawn.seed)
        filled.told[rows[:, None], [SD, FEED, REMOVED, IRON]] = figures
    chance, known = chance_of_rows(table.limit, content, stays, mass)
    withheld = needed[rows].astype(bool) | feed.disagree | ~known
    numbers[rows, _OTHERS["chance_of_meeting_limit"]] = np.where(withheld, np.nan, chance)
    for row, part in zip(rows, share, strict=True):
        if part > MAGNETICS_LIMIT:
            text = f"magnetics are {100 * part:.0f} % of the belt and bury each other"
            block.notes[row].append(f"{text}: take them off first, or feed less")


def _stays(table: Table, key: SizeKey, origin: str | None, feed: FeedTrials) -> tuple[Array, Array]:
    """What stays of every phase, and the typical share of magnetics on the belt of every row."""
    drawn, machine = table.drawn, table.machine

    def at_load(rung: int, some: FeedTrials) -> Array:
        kept = table.kept(key, origin, some.nodes is not None, rung)
        joined, density = drawn.joined[origin], drawn.density_kg_m3
        return kept_amounts(some.wt_pct, machine, kept, joined, density, some.nodes)

    stays = at_load(0, feed)
    fed = 100.0 * float(np.sum(size_shares(key, machine.sizes) * machine.window))
    share = 1.0 - stays[:, :, 0].sum(axis=0) / max(fed, 1e-12)
    place = np.interp(np.log(share.clip(1e-9)), np.log(LOADS), np.arange(float(len(LOADS))))
    for rung in range(len(LOADS) - 1):
        rows = np.flatnonzero((place > rung) & (place <= rung + 1))
        if rows.size:
            part, some = (place[rows] - rung)[:, None], feed.of_rows(rows)
            low, high = at_load(rung, some), at_load(rung + 1, some)
            stays[:, rows] = (1.0 - part) * low + part * high
    return stays, share


def answers_of(table: Table, block: Block, told: bool = False) -> Answers:
    """Everything that is added to the rows of a block.

    Parameters
    ----------
    table : Table
        Draws, machine, demands. [-]
    block : Block
        N rows. [-]
    told : bool
        Whether the figures for a page of the whole table are wanted too. [-]

    Returns
    -------
    Answers
        In the order of the rows. [-]

    References
    ----------
    computed_here
    """
    filled = Filled(len(block.bad), told)
    assayed = np.isfinite(block.assay).any(axis=0)
    plain, fitted = np.flatnonzero(~block.bad & ~assayed), np.flatnonzero(~block.bad & assayed)
    for key, origin, rows in groups_of(block, plain, ROWS_AT_ONCE):
        amounts = amounts_before_assay(block, rows, table.drawn)
        predicted(table, amounts, rows, filled.numbers)
        feed = FeedTrials(
            amounts.wt_pct, table.drawn.place[:, None], None, np.zeros(len(rows), dtype=bool)
        )
        answer_rows(table, block, rows, key, origin, feed, filled)
    add_carriers(block, fitted, table.drawn)
    for key, origin, rows in groups_of(block, fitted, FITTED_AT_ONCE):
        amounts = amounts_before_assay(block, rows, table.drawn)
        predicted(table, amounts, rows, filled.numbers)
        feed = fitted_feed(block, rows, amounts, table.drawn)
        answer_rows(table, block, rows, key, origin, feed, filled)
    notes = tuple("; ".join(row) for row in block.notes)
    figures = filled.told
    if figures is not None:
        figures = told_of(
            figures, filled.numbers, filled.needed.tolist(), block.misfit_sd, filled.stop, block.bad
        )
    return Answers(filled.numbers, filled.needed, notes, block.bad, figures)
