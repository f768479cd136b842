"""Figures of every row that a page of the whole table needs, kept beside each partition."""

from __future__ import annotations

import io
import json
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from feedchar.batch.columns import NUMBERS
from feedchar.sample.assay_error import IRON_RELATIVE_SD, IRON_SD_WT_PCT
from feedchar.sample.cells import Cell, is_blank
from feedchar.uncertainty.shares_by_row import variance_shares
from feedchar.uncertainty.streams import stream

Array = NDArray[np.float64]

PRODUCT, LOW, HIGH, SD, YIELD, CHANCE, FEED, UNSEEN, MISFIT, REMOVED, NEEDED, STOP, BAD, IRON = (
    range(14)
)
"""Columns: product Fe2O3 (median, 5 %, 95 %, sd), yield, chance, Fe2O3 of the bag, unseen share,
worst residual, variance that an assay removes, and flags: assay needed, data disagree, not usable,
iron assayed."""
WIDTH = 14
LEAST_TRIALS = 50
"""With fewer, no share of a variance is told."""
_YIELD = NUMBERS.index("product_yield_p50_pct")
_CHANCE = NUMBERS.index("chance_of_meeting_limit")
_UNSEEN = NUMBERS.index("unseen_iron_share_pct")


@dataclass(frozen=True)
class Told:
    """What is told of the rows of one partition."""

    figures: Array
    """(N, WIDTH) NaN where unknown."""
    names: tuple[str, ...]
    notes: tuple[str, ...]

    def content(self) -> bytes:
        """As a file."""
        words = json.dumps([self.names, self.notes]).encode()
        sink = io.BytesIO()
        np.savez(sink, figures=self.figures, words=np.frombuffer(words, dtype=np.uint8))
        return sink.getvalue()


def read_told(path: Path, words: bool = True) -> Told:
    """What was kept of one partition.

    Parameters
    ----------
    path : Path
        File. [-]
    words : bool
        Whether names and notes are wanted too. [-]

    Returns
    -------
    Told
        Figures, names, notes. [-]
    """
    with np.load(path, allow_pickle=False) as kept:
        names, notes = json.loads(kept["words"].tobytes()) if words else ((), ())
        return Told(kept["figures"], tuple(names), tuple(notes))


def sample_names(rows: Sequence[Sequence[Cell]], place: int | None) -> tuple[str, ...]:
    """Names of the samples of some rows.

    Parameters
    ----------
    rows : sequence of sequence of cells
        Rows. [-]
    place : int or None
        Column of the names. [-]

    Returns
    -------
    tuple of str
        Empty where there is none. [-]
    """
    if place is None:
        return ("",) * len(rows)
    return tuple(
        str(row[place]) if place < len(row) and not is_blank(row[place]) else "" for row in rows
    )


def product_figures(product: Array, feed_iron: Array, assayed: NDArray[np.bool_],
                    seed: int) -> Array:  # fmt: skip
    """What the page tells of the product of some rows.

    Parameters
    ----------
    product : array, shape (N, T)
        Fe2O3 of the product, row 0 of the trials the typical case. [wt %]
    feed_iron : array, shape (N, T)
        Fe2O3 of the bag. [wt %]
    assayed : array of bool, shape (N,)
        Rows whose iron was assayed. [-]
    seed : int
        The run's seed. [-]

    Returns
    -------
    array, shape (N, 4)
        sd of the product, Fe2O3 of the bag, variance share that an assay of iron removes, iron
        assayed. [wt %, wt %, -, -]

    References
    ----------
    Derived: as feedchar.product.measure, the same error of the laboratory for every row.
    """
    out = np.full((len(product), 4), np.nan)
    trials = product.shape[1] - 1
    out[:, 1] = np.median(feed_iron[:, 1:], axis=1) if trials else feed_iron[:, 0]
    out[:, 3] = assayed
    if trials < LEAST_TRIALS:
        return out
    out[:, 0] = product[:, 1:].std(axis=1)
    open_rows = np.flatnonzero(~assayed)
    if open_rows.size:
        noise = stream(seed, "measure/head assay of the dry bag").standard_normal(trials)
        sd = IRON_RELATIVE_SD * feed_iron[open_rows, :1] + IRON_SD_WT_PCT
        measured = feed_iron[open_rows, 1:] + sd * noise
        out[open_rows, 2] = variance_shares(measured, product[open_rows, 1:])
    return out


def told_of(
    figures: Array, numbers: Array, needed: Sequence[bool | None], misfit_sd: Array,
    stop: NDArray[np.bool_], bad: NDArray[np.bool_],
) -> Array:  # fmt: skip
    """All figures of a partition, filled up from its answers.

    Parameters
    ----------
    figures : array, shape (N, WIDTH)
        Product and bag are there already. [-]
    numbers : array, shape (N, len(NUMBERS))
        Answers. [-]
    needed : sequence of bool or None
        Whether an assay is needed. [-]
    misfit_sd : array, shape (N,)
        Worst residual of the fit. [sd]
    stop, bad : array of bool, shape (N,)
        Data disagree; rows that cannot be used. [-]

    Returns
    -------
    array, shape (N, WIDTH)
        The same array. [-]
    """
    figures[:, [YIELD, CHANCE, UNSEEN]] = numbers[:, [_YIELD, _CHANCE, _UNSEEN]]
    figures[:, MISFIT], figures[:, STOP], figures[:, BAD] = misfit_sd, stop, bad
    figures[:, NEEDED] = [bool(value) for value in needed]
    return figures
