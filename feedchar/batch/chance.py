"""Whether the product of each row meets what is asked, over the trials."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from feedchar.batch.drawn import Drawn
from feedchar.batch.product import FeedTrials, oxide_content
from feedchar.chemistry.mineralogy import OXIDES
from feedchar.chemistry.oxides import COLUMN
from feedchar.errors import UnknownNameError
from feedchar.sample.records import Limit

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]


class Contents:
    """Oxides of mixtures of the phases of one feed."""

    def __init__(self, drawn: Drawn, feed: FeedTrials) -> None:
        self.drawn, self.feed = drawn, feed

    def of(self, wt_pct: Array, oxide: str) -> Array:
        """One oxide of a mixture, in wt % of the bag. (N, T)"""
        drawn = self.drawn
        return oxide_content(wt_pct, drawn.low, drawn.change, self.feed.place, COLUMN[oxide])


def chance_of_rows(
    limit: Limit | None, content: Contents, stays: Array, mass: Array
) -> tuple[Array, Flags]:
    """Chance of meeting all that is asked and known, and whether anything is.

    Parameters
    ----------
    limit : Limit or None
        What is asked. [-]
    content : Contents
        Oxides of mixtures. [wt %]
    stays : array, shape (P, N, T)
        What each phase leaves in the product. [wt % of the bag]
    mass : array, shape (N, T)
        Mass of the product. [wt % of the bag]

    Returns
    -------
    chance : array, shape (N,)
        Share of the trials, row 0 left out. [-]
    known : array of bool, shape (N,)
        False where nothing that is asked is known. [-]

    References
    ----------
    Derived: as feedchar.product.answer: an oxide that no phase carries is not known.
    """
    count = mass.shape[0]
    nothing = np.full(count, np.nan), np.zeros(count, dtype=bool)
    if limit is None or mass.shape[1] == 1:
        return nothing
    joint, some = np.ones(mass.shape, dtype=bool), np.zeros(count, dtype=bool)
    for figures, is_most in ((limit.max_wt_pct, True), (limit.min_wt_pct, False)):
        for name, asked in sorted(figures.items()):
            parts = (content.of(stays, part.strip()) for part in name.split("+"))
            values = 100.0 * sum(parts, np.zeros_like(mass)) / np.maximum(mass, 1e-300)
            known = np.any(values != 0.0, axis=1)
            met = (values <= asked if is_most else values >= asked) & (mass > 0.0)
            joint &= met | ~known[:, None]
            some |= known
    if limit.yield_min_pct is not None:
        joint &= mass >= limit.yield_min_pct
        some[:] = True
    return joint[:, 1:].mean(axis=1), some


def check_limit(limit: Limit | None) -> None:
    """Refuse a limit on something that is not computed.

    Parameters
    ----------
    limit : Limit or None
        What is asked. [-]

    Raises
    ------
    UnknownNameError
        For an oxide that is none of OXIDES.
    """
    if limit is None:
        return
    for name in (*limit.max_wt_pct, *limit.min_wt_pct):
        for part in name.split("+"):
            if part.strip() not in OXIDES:
                message = f"the limit names {part.strip()}, which is not computed"
                raise UnknownNameError(message, OXIDES)
