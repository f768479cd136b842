"""Non-negative least squares: the typical mineralogy, and where each chain starts."""

from __future__ import annotations

import numpy as np
from scipy.optimize import nnls

from feedchar.chemistry.mineralogy import Array
from feedchar.chemistry.system import FOUND, Prior, Rows

_CLOSURE_SD = 1e-3
"""Closure enters as one more row this tight and is then made exact. [wt %]"""
_ROUNDS = 4


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


def least_squares(content: Array, value: Array, sd: Array, wanted: Array, spread: Array) -> Array:
    """Weighted non-negative least squares of the amounts, closed to 100.

    Parameters
    ----------
    content : array, shape (M, K)
        Content of each phase by row, per wt % of the phase. [-]
    value, sd : array, shape (K,)
        Measured rows. [wt %]
    wanted, spread : array, shape (M,)
        Amount that each phase is drawn to, and how firmly. [wt %]

    Returns
    -------
    array, shape (M,)
        Amounts, at or above zero, summing to 100. [wt %]

    References
    ----------
    Whiten 2007 and Zhang 2000: weighted non-negative least squares with added rows.
    """
    phases = len(wanted)
    matrix = np.vstack(
        [(content / sd).T, np.diag(1.0 / spread), np.full((1, phases), 1.0 / _CLOSURE_SD)]
    )
    target = np.concatenate([value / sd, wanted / spread, [100.0 / _CLOSURE_SD]])
    amounts, _ = nnls(matrix, target)
    return amounts * (100.0 / amounts.sum())


def typical_fit(prior: Prior, rows: Rows, wanted: Array) -> tuple[Array, Array]:
    """Unperturbed least squares of amounts and iron contents in turn.

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
    Alternating least squares; bounds by clipping.
    """
    low, change = rows.low[:, :, 0], rows.change[:, :, 0]
    floor = np.array([iron.floor_wt_pct for iron in prior.iron])
    span = np.array([iron.ceiling_wt_pct for iron in prior.iron]) - floor
    span = np.where(span > 1e-12, span, 1.0)
    typical = (np.array([iron.typical_wt_pct for iron in prior.iron]) - floor) / span
    half = np.array([iron.high_wt_pct - iron.low_wt_pct for iron in prior.iron]) / span / 3.29
    free = np.array([not iron.certain for iron in prior.iron])
    t, spread = np.where(free, typical, 0.0), amount_spreads(prior)
    use = ~rows.capped.astype(bool)
    amounts = wanted
    for _ in range(_ROUNDS):
        content = low + t[:, None] * change
        value, sd = rows.value.copy(), rows.sd.copy()
        amounts = least_squares(content[:, use], value[use], sd[use], wanted, spread)
        over = rows.capped.astype(bool) & (amounts @ content > rows.value)
        use = use | over
        if free.any():
            sensitivity = (amounts[:, None] * change)[:, use] / sd[use]
            residual = (value - amounts @ low)[use] / sd[use]
            g = sensitivity[free]
            weight = 1.0 / np.maximum(half[free], 1e-6) ** 2
            left = g @ g.T + np.diag(weight)
            right = g @ (residual - t[~free] @ sensitivity[~free]) + weight * typical[free]
            t[free] = np.clip(np.linalg.solve(left, right), 0.0, 1.0)
    content = low + t[:, None] * change
    return least_squares(content[:, use], rows.value[use], rows.sd[use], wanted, spread), t


def chain_starts(
    prior: Prior, rows: Rows, wanted: Array, t: Array, noise: Array, uniform: Array
) -> Array:
    """One least-squares solution a trial, each with its own perturbed data.

    Parameters
    ----------
    prior : Prior
        Amounts and iron, M phases. [-]
    rows : Rows
        Measured rows, K of them. [-]
    wanted : array, shape (M, T)
        Amounts drawn before the assay. [wt %]
    t : array, shape (M, T)
        Place on the mixing lines. [-]
    noise : array, shape (K, T)
        Standard normal scores. [-]
    uniform : array, shape (K, T)
        Uniform draws, for rows known as an interval. [-]

    Returns
    -------
    array, shape (M, T)
        Amounts above zero, each column summing to 100. [wt %]

    References
    ----------
    Perturb and solve; a start only, since it puts too much at the bounds.
    """
    spread = amount_spreads(prior)
    capped = rows.capped.astype(bool)[:, None]
    value = rows.value[:, None] + rows.sd[:, None] * noise
    value = np.where(capped, rows.value[:, None] * uniform, value)
    sd = np.where(rows.capped, rows.value / 3.5 + rows.sd, rows.sd)
    low = np.broadcast_to(rows.low, (*rows.low.shape[:2], t.shape[1]))
    change = np.broadcast_to(rows.change, low.shape)
    out = np.empty_like(wanted)
    for trial in range(wanted.shape[1]):
        content = low[:, :, trial] + t[:, trial, None] * change[:, :, trial]
        out[:, trial] = least_squares(content, value[:, trial], sd, wanted[:, trial], spread)
    # No amount may start at exactly zero: a small part of what the prior drew.
    out = np.maximum(out, 1e-3 * wanted + 1e-7)
    return out * (100.0 / out.sum(axis=0))
