"""Non-negative least squares: the typical mineralogy, and where each chain starts."""

from __future__ import annotations

from math import log

import numpy as np

from feedchar.chemistry.iron_prior import Z95
from feedchar.chemistry.least_squares import Index, LeastSquares
from feedchar.chemistry.mineral_trials import NOT_FOUND_LN_SD, NOT_FOUND_MEDIAN
from feedchar.chemistry.mineralogy import Array
from feedchar.chemistry.system import FOUND, Prior, Rows

_ROUNDS = 10


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

    References
    ----------
    By definition of the records of this room.
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


def _line_places(prior: Prior) -> tuple[Array, Array, Array]:
    """Typical place of each phase on its line, and the sd of the place below and above it."""
    typical, below, above = np.zeros((3, len(prior.iron)))
    for j, iron in enumerate(prior.iron):
        if iron.certain:
            continue
        span = iron.ceiling_wt_pct - iron.floor_wt_pct
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

    References
    ----------
    By definition of the records of this room.
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
    Iterated: the rows of the iron are weighed by the amounts of the round before (derived).
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
        problem = LeastSquares(len(wanted), split, int(use.sum()))
        problem.amount_rows(*_log_normal_rows(prior, wanted, spread, amounts))
        problem.iron_rows(typical, place_sd * np.maximum(amounts, 0.02 * spread))
        end = (low + change)[split][:, use]
        amounts, place = problem.solve(start[:, use], end, rows.value[use], rows.sd[use], typical)
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
    Perturb and solve; a start only, since it puts too much at the bounds (derived).
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
    firm = place_sd * np.maximum(middle, 0.02 * spread)
    problem = LeastSquares(len(middle), split, len(rows.names))
    for trial in range(wanted.shape[1]):
        at = np.where(fixed, place[:, trial], 0.0)
        start = low[:, :, trial] + at[:, None] * change[:, :, trial]
        end = low[split, :, trial] + change[split, :, trial]
        problem.amount_rows(wanted[:, trial], spread)
        problem.iron_rows(place[:, trial], firm)
        out[:, trial], places[:, trial] = problem.solve(
            start, end, value[:, trial], sd, place[:, trial]
        )
    # No amount may start at exactly zero: a small part of what the prior drew.
    out = np.maximum(out, 1e-3 * wanted + 1e-7)
    out *= 100.0 / out.sum(axis=0)
    for phase, amount in enumerate(prior.amounts):
        if amount.kind == "interval":
            out[phase] = np.minimum(out[phase], 0.99 * amount.limit)
    out[int(np.argmax(middle))] += 100.0 - out.sum(axis=0)
    return out, places
