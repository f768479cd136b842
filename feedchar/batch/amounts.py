"""Amounts of every phase before any assay: rows of the table beside trials."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtri

from feedchar.batch.drawn import Drawn
from feedchar.batch.rows import ASSUMED, FOUND, INTERVAL, NOT_FOUND, Block
from feedchar.chemistry.oxides import COLUMN
from feedchar.chemistry.unseen import FE2O3_SHARE, UnseenPrior, unseen_prior
from feedchar.sample.naming import UNIDENTIFIED

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]
Index = NDArray[np.intp]

_FE2O3, _AL2O3 = COLUMN["Fe2O3"], COLUMN["Al2O3"]


@dataclass(frozen=True)
class Amounts:
    """Amounts of P phases (`unseen` last) in N rows and T trials."""

    wt_pct: Array
    """(P, N, T) sums to 100 over P. [wt %]"""
    priors: tuple[UnseenPrior, ...]
    """Of the total of unseen iron, one a row."""
    hidden: Flags
    """(P, N) phases whose iron counts towards that total."""


def listed_amounts(block: Block, rows: Index, drawn: Drawn) -> Array:
    """Trials of the listed phases, closed to 100, before unseen iron.

    Parameters
    ----------
    block : Block
        What the rows say. [wt %]
    rows : array of int, shape (N,)
        Rows to take. [-]
    drawn : Drawn
        Draws of the table. [-]

    Returns
    -------
    array, shape (P, N, T)
        `unseen` is 0. [wt %]

    References
    ----------
    Derived: as feedchar.chemistry.draws, rows and trials at once.
    """
    kind = block.kind[:, rows]
    wt_pct = np.zeros((len(kind) + 1, len(rows), drawn.trials + 1))
    for phase in np.flatnonzero(kind.any(axis=1)):
        own = kind[phase]
        found = np.flatnonzero((own == FOUND) | (own == ASSUMED))
        if found.size:
            shape, mean = block.shape[phase, rows[found]], block.mean[phase, rows[found]]
            wt_pct[phase, found] = mean[:, None] * drawn.gammas(int(phase), shape)
        for code, table in ((NOT_FOUND, drawn.not_found), (INTERVAL, drawn.uniform)):
            below = np.flatnonzero(own == code)
            wt_pct[phase, below] = block.limit[phase, rows[below], None] * table[phase]
    _fill(wt_pct, _found(kind), 100.0)
    return wt_pct


def _found(kind: NDArray[np.int8]) -> Flags:
    """(P, N) phases that fill what the others leave; `unseen` is none of them."""
    found = (kind == FOUND) | (kind == ASSUMED)
    return np.concatenate([found, np.zeros((1, found.shape[1]), dtype=bool)])


def _added(wt_pct: Array, chosen: Flags) -> Array:
    """Sum over chosen phases, in the order of the phases. (N, T)"""
    total = np.zeros(wt_pct.shape[1:])
    for phase in np.flatnonzero(chosen.any(axis=1)):
        total += wt_pct[phase] * chosen[phase, :, None]
    return total


def _fill(wt_pct: Array, found: Flags, whole: float) -> Array:
    """Scale what was found so that all but `unseen` sums to the whole; what the rest takes."""
    small = _added(wt_pct[:-1], ~found[:-1])
    scale = (whole - small) / _added(wt_pct, found)
    for phase in np.flatnonzero(found.any(axis=1)):
        wt_pct[phase] *= np.where(found[phase, :, None], scale, 1.0)
    return small


def amounts_before_assay(block: Block, rows: Index, drawn: Drawn) -> Amounts:
    """Trials of all amounts before the assay, unseen iron included.

    Parameters
    ----------
    block : Block
        What the rows say. [wt %]
    rows : array of int, shape (N,)
        Rows to take, all of them usable. [-]
    drawn : Drawn
        Draws of the table. [-]

    Returns
    -------
    Amounts
        Closed to 100. [wt %]

    References
    ----------
    Derived: as feedchar.chemistry.draws; smith_2013 for unseen iron.
    """
    kind = block.kind[:, rows]
    found = _found(kind)
    wt_pct = listed_amounts(block, rows, drawn)
    low, change, place = drawn.low, drawn.change, drawn.place
    iron = (low[:, _FE2O3, None] + place * change[:, _FE2O3, None]) / 100.0
    alumina = (low[:, _AL2O3] + place[:, 0] * change[:, _AL2O3]) / 100.0
    priors = []
    for n, row in enumerate(rows):
        assayed = float(block.assay[_FE2O3, row])
        priors.append(
            unseen_prior(
                block.origin[row],
                False,
                float(np.sum(wt_pct[:, n, 0] * alumina)),
                float(np.sum(wt_pct[:, n, 0] * iron[:, 0])),
                assayed if np.isfinite(assayed) else None,
            )
        )
    total = unseen_totals(priors, drawn.unseen_uniform)
    undetected = (kind == NOT_FOUND) | (kind == INTERVAL)
    hidden = np.zeros(found.shape, dtype=bool)
    hidden[:-1] = undetected & drawn.bears_iron[:-1, None]
    own = drawn.names.index(UNIDENTIFIED)
    named = wt_pct[own] * iron[own]
    bearing = hidden.copy()
    bearing[own] = False
    carried = np.zeros_like(named)
    for phase in np.flatnonzero(bearing.any(axis=1)):
        carried += wt_pct[phase] * iron[phase] * bearing[phase, :, None]
    # Together they hold no more iron than the unseen total leaves them.
    room = np.maximum(total - named, 0.0)
    less = np.minimum(1.0, room / np.maximum(carried, 1e-12))
    for phase in np.flatnonzero(bearing.any(axis=1)):
        wt_pct[phase] *= np.where(bearing[phase, :, None], less, 1.0)
    small = _fill(wt_pct, found, 100.0)
    left = np.maximum(total - named - np.minimum(carried, room), 1e-6)
    wt_pct[-1] = np.minimum(left / FE2O3_SHARE, 0.9 * (100.0 - small))
    scale = (100.0 - small - wt_pct[-1]) / (100.0 - small)
    for phase in np.flatnonzero(found.any(axis=1)):
        wt_pct[phase] *= np.where(found[phase, :, None], scale, 1.0)
    hidden[own] |= found[own]
    hidden[-1] = True
    return Amounts(wt_pct, tuple(priors), hidden)


def unseen_totals(priors: list[UnseenPrior], uniform: Array) -> Array:
    """Trials of the total of unseen iron of every row.

    Parameters
    ----------
    priors : list of UnseenPrior
        One a row. [-]
    uniform : array, shape (T,)
        Draws of the table. [-]

    Returns
    -------
    array, shape (N, T)
        Fe2O3 of the bag. [wt %]

    References
    ----------
    As `UnseenPrior`.
    """
    score = ndtri(uniform + 2.0**-54)
    out = np.empty((len(priors), len(uniform)))
    for n, prior in enumerate(priors):
        if prior.kind == "log-uniform":
            out[n] = prior.quantile(uniform)
        else:
            out[n] = prior.median_wt_pct * np.exp(prior.ln_sd * score)
    return out
