"""Non-negative least squares: the typical mineralogy, and where each chain starts."""

from __future__ import annotations

from math import log

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import nnls

from feedchar.chemistry.iron_prior import Z95
from feedchar.chemistry.mineral_trials import NOT_FOUND_LN_SD, NOT_FOUND_MEDIAN
from feedchar.chemistry.mineralogy import Array
from feedchar.chemistry.system import FOUND, Prior, Rows

_CLOSURE_SD = 1e-3
"""Closure enters as one more row this tight and is then made exact. [wt %]"""
_ROUNDS = 10
Index = NDArray[np.intp]


def amount_spreads(prior: Prior) -> Array:
    """Rough sd of each amount before the assay, for least squares.

    Parameters
    ----------
    prior : Prior
        Amounts, M phases. [-]

    Returns
    -------
    array, shape (M,)
        sd; of a limit its third, of unseen iron its own size. [wt %]
    """
    spreads = []
    for amount in prior.amounts:
        if amount.kind in FOUND:
            spreads.append(max(amount.sd, 1e-6))
        elif amount.kind == "unseen":
            u = prior.unseen
            wide = u.kind == "log-uniform"
            middle = (u.low_wt_pct * u.high_wt_pct) ** 0.5 if wide else u.median_wt_pct
            spreads.append((2.0 if wide else 1.5) * middle / 0.9)
        else:
            spreads.append(amount.limit / 3.0)
    return np.array(spreads)


def least_squares(
    low: Array, high: Array, split: Index, value: Array, sd: Array, wanted: Array, spread: Array,
    place: Array, place_sd: Array, size: Array,
) -> tuple[Array, Array]:  # fmt: skip
    """Weighted non-negative least squares of amounts and iron contents together.

    A phase whose iron matters enters as two columns, the ends of its mixing line; their sum is its
    amount and their ratio its iron, so that the problem stays linear.

    Parameters
    ----------
    low, high : array, shape (M, K)
        Content at the ends of each line (at the drawn iron where a phase is not split). [-]
    split : array of int, shape (V,)
        Phases that enter as two columns. [-]
    value, sd : array, shape (K,)
        Measured rows. [wt %]
    wanted, spread : array, shape (M,)
        Amount that each phase is drawn to, and how firmly. [wt %]
    place, place_sd : array, shape (M,)
        Place on the line that each split phase is drawn to, and how firmly. [-]
    size : array, shape (M,)
        Rough amounts, which weigh the rows of the iron. [wt %]

    Returns
    -------
    tuple of array
        Amounts, shape (M,), at or above zero, summing to 100 [wt %], and places, shape (M,) [-].

    References
    ----------
    Whiten 2007 and Zhang 2000: weighted non-negative least squares with added rows.
    """
    phases, extra = len(wanted), len(split)
    columns = phases + extra
    amount_rows = np.zeros((phases, columns))
    amount_rows[np.arange(phases), np.arange(phases)] = 1.0
    amount_rows[split, phases + np.arange(extra)] = 1.0
    iron_rows = np.zeros((extra, columns))
    firm = np.maximum(size[split] * place_sd[split], 1e-9)
    iron_rows[np.arange(extra), split] = -place[split] / firm
    iron_rows[np.arange(extra), phases + np.arange(extra)] = (1.0 - place[split]) / firm
    matrix = np.vstack(
        [
            np.vstack([low, high[split]]).T / sd[:, None],
            amount_rows / spread[:, None],
            iron_rows,
            np.full((1, columns), 1.0 / _CLOSURE_SD),
        ]
    )
    target = np.concatenate([value / sd, wanted / spread, np.zeros(extra), [100.0 / _CLOSURE_SD]])
    solved, _ = nnls(matrix, target)
    amounts = amount_rows @ solved
    places = place.copy()
    real = amounts[split] > 1e-9
    upper = solved[phases:]
    places[split] = np.where(real, upper / np.maximum(amounts[split], 1e-9), place[split])
    return amounts * (100.0 / amounts.sum()), places


def _line_places(prior: Prior) -> tuple[Array, Array, Array]:
    """Typical place of each phase on its line, and the sd of the place below and above it."""
    typical, below, above = np.zeros((3, len(prior.iron)))
    for j, iron in enumerate(prior.iron):
        span = iron.ceiling_wt_pct - iron.floor_wt_pct
        if iron.certain or span < 1e-12:
            continue
        typical[j] = (iron.typical_wt_pct - iron.floor_wt_pct) / span
        below[j] = (iron.typical_wt_pct - iron.low_wt_pct) / span / Z95
        above[j] = (iron.high_wt_pct - iron.typical_wt_pct) / span / Z95
    return typical, np.maximum(below, 1e-6), np.maximum(above, 1e-6)


def splits(prior: Prior, rows: Rows, amounts: Array) -> Index:
    """Phases whose iron can move a measured row noticeably.

    Parameters
    ----------
    prior : Prior
        Iron, M phases. [-]
    rows : Rows
        Measured rows. [-]
    amounts : array, shape (M,)
        Rough amounts. [wt %]

    Returns
    -------
    array of int
        Phases for which one sd of iron moves some row by a fifth of its sd. [-]
    """
    _, below, above = _line_places(prior)
    effect = np.abs(rows.change[:, :, 0]) * (amounts * np.maximum(below, above))[:, None]
    noticed = np.max(effect / rows.sd, axis=1) > 0.2
    free = np.array([not iron.certain for iron in prior.iron])
    return np.flatnonzero(noticed & free)


def typical_fit(prior: Prior, rows: Rows, wanted: Array) -> tuple[Array, Array]:
    """Unperturbed least squares of amounts and iron contents.

    Parameters
    ----------
    prior : Prior
        Amounts and iron, M phases. [-]
    rows : Rows
        Measured rows, K of them. [-]
    wanted : array, shape (M,)
        Typical amounts before the assay. [wt %]

    Returns
    -------
    tuple of array
        Amounts, shape (M,), summing to 100 [wt %], and place on the mixing lines, shape (M,) [-].

    References
    ----------
    Iterated: the rows of the iron are weighed by the amounts of the round before.
    """
    low, change = rows.low[:, :, 0], rows.change[:, :, 0]
    typical, below, above = _line_places(prior)
    spread = amount_spreads(prior)
    split = splits(prior, rows, np.maximum(wanted, 0.3 * spread))
    fixed = np.ones(len(wanted), dtype=bool)
    fixed[split] = False
    start = np.where(fixed[:, None], low + typical[:, None] * change, low)
    use = ~rows.capped
    amounts, place = wanted, typical
    for _ in range(_ROUNDS):
        place_sd = np.where(place < typical, below, above)
        target, width = _log_normal_rows(prior, wanted, spread, amounts)
        amounts, place = least_squares(
            start[:, use], (low + change)[:, use], split, rows.value[use], rows.sd[use], target,
            width, typical, place_sd, np.maximum(amounts, 0.02 * spread),
        )  # fmt: skip
        fitted = amounts @ low + (amounts * place) @ change
        use = use | (rows.capped & (fitted > rows.value))
    silent = np.ones(len(wanted), dtype=bool)
    silent[splits(prior, rows, amounts)] = False
    return amounts, np.where(silent, typical, place)


def _log_normal_rows(
    prior: Prior, wanted: Array, spread: Array, amounts: Array
) -> tuple[Array, Array]:
    """Normal rows that touch the log-normal priors at the amounts of the round before."""
    target, width = wanted.copy(), spread.copy()
    for j, amount in enumerate(prior.amounts):
        if amount.kind == "not found":
            median, ln_sd = NOT_FOUND_MEDIAN * amount.limit, NOT_FOUND_LN_SD
        elif amount.kind == "unseen":
            median, ln_sd = max(wanted[j], 1e-6), prior.unseen.ln_spread
        else:
            continue
        x = min(max(amounts[j], 0.05 * median), 50.0 * median)
        width[j] = ln_sd * x
        target[j] = x * (1.0 - log(x / median))
    return target, width


def chain_starts(
    prior: Prior, rows: Rows, wanted: Array, place: Array, noise: Array, uniform: Array
) -> tuple[Array, Array]:
    """One least-squares solution a trial, each with its own perturbed data.

    Parameters
    ----------
    prior : Prior
        Amounts and iron, M phases. [-]
    rows : Rows
        Measured rows, K of them. [-]
    wanted : array, shape (M, T)
        Amounts drawn before the assay. [wt %]
    place : array, shape (M, T)
        Places drawn on the mixing lines. [-]
    noise : array, shape (K, T)
        Standard normal scores. [-]
    uniform : array, shape (K, T)
        Uniform draws, for rows known as an interval. [-]

    Returns
    -------
    tuple of array
        Amounts, shape (M, T), above zero, each column summing to 100 [wt %], and places [-].

    References
    ----------
    Perturb and solve; a start only, since it puts too much at the bounds.
    """
    spread = amount_spreads(prior)
    _, below, above = _line_places(prior)
    place_sd = np.maximum(below, above)
    middle = np.median(wanted, axis=1)
    split = splits(prior, rows, np.maximum(middle, 0.3 * spread))
    fixed = np.ones(len(middle), dtype=bool)
    fixed[split] = False
    value = rows.value[:, None] + rows.sd[:, None] * noise
    value = np.where(rows.capped[:, None], rows.value[:, None] * uniform, value)
    sd = np.where(rows.capped, np.abs(rows.value) / 3.5 + rows.sd, rows.sd)
    low = np.broadcast_to(rows.low, (*rows.low.shape[:2], place.shape[1]))
    change = np.broadcast_to(rows.change, low.shape)
    out, places = np.empty_like(wanted), np.empty_like(place)
    size = np.maximum(middle, 0.02 * spread)
    for trial in range(wanted.shape[1]):
        at = np.where(fixed, place[:, trial], 0.0)
        start = low[:, :, trial] + at[:, None] * change[:, :, trial]
        end = low[:, :, trial] + change[:, :, trial]
        out[:, trial], places[:, trial] = least_squares(
            start, end, split, value[:, trial], sd, wanted[:, trial], spread, place[:, trial],
            place_sd, size,
        )  # fmt: skip
    # No amount may start at exactly zero: a small part of what the prior drew.
    out = np.maximum(out, 1e-3 * wanted + 1e-7)
    out *= 100.0 / out.sum(axis=0)
    for phase, amount in enumerate(prior.amounts):
        if amount.kind == "interval":
            out[phase] = np.minimum(out[phase], 0.99 * amount.limit)
    out[int(np.argmax(middle))] += 100.0 - out.sum(axis=0)
    return out, places
