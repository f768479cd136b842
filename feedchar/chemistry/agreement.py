"""How well minerals and assay agree, and which datum to doubt when they do not."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from scipy.special import gammaincc

from feedchar.chemistry.fit import Fit
from feedchar.chemistry.mineralogy import Agreement, Array
from feedchar.chemistry.start import typical_fit
from feedchar.chemistry.system import FOUND, Prior, Rows

WARN_SD, STOP_SD = 2.0, 4.0
"""Misfits that are warned of, and beyond which no answer is given. [sd]"""
LISTED = ("gamma", "count")
"""Kinds of amount that somebody found, not assumed."""
STOP_CHANCE = 6.3e-5
"""Two-sided chance of 4 sd. [-]"""
_DOUBT_CHANCE = 0.05


@dataclass(frozen=True)
class Misfit:
    """Residuals of every datum at the fitted mean."""

    rows: dict[str, float]
    """(measured - fitted) / sd of each assayed row. [-]"""
    minerals: dict[str, float]
    """(listed - fitted) / sd of each listed amount. [-]"""

    @property
    def worst(self) -> tuple[str, float]:
        """The datum with the largest misfit, and the misfit."""
        both = [(f"the assay of {n}", v) for n, v in sorted(self.rows.items())]
        both += [(f"the amount of {n}", v) for n, v in sorted(self.minerals.items())]
        return max(both, key=lambda item: abs(item[1]), default=("", 0.0))


def chi_square_chance(chi_square: float | Array, degrees: int) -> float | Array:
    """Chance of a worse misfit than this.

    Parameters
    ----------
    chi_square : float or array
        Sum of squared residuals. [-]
    degrees : int
        Degrees of freedom, 1 or more. [-]

    Returns
    -------
    float or array
        Upper tail of the chi-square distribution. [-]

    References
    ----------
    Textbook.
    """
    return gammaincc(degrees / 2.0, np.asarray(chi_square) / 2.0)


def fitted_rows(rows: Rows, amounts: Array, place: Array) -> Array:
    """What the trials predict of each measured row.

    Parameters
    ----------
    rows : Rows
        K measured rows. [-]
    amounts, place : array, shape (T, M)
        Amounts [wt %] and places on the mixing lines [-].

    Returns
    -------
    array, shape (T, K)
        Predicted values. [as the rows]
    """
    out = np.empty((amounts.shape[0], len(rows.names)))
    for k in range(len(rows.names)):
        low, change = rows.low[:, k].T, rows.change[:, k].T
        if amounts.shape[0] == 1:
            low, change = low[:1], change[:1]
        out[:, k] = np.sum(amounts * (low + place * change), axis=1)
    return out


def row_residuals(rows: Rows, fitted: Array) -> Array:
    """Residuals in sd; an interval misses only when it is exceeded.

    Parameters
    ----------
    rows : Rows
        K measured rows. [-]
    fitted : array, shape (..., K)
        Predicted values. [as the rows]

    Returns
    -------
    array, shape (..., K)
        (measured - fitted) / sd. [-]
    """
    residual = (rows.value - fitted) / rows.sd
    return np.where(rows.capped, np.minimum(residual, 0.0), residual)


def _listed(prior: Prior) -> tuple[Array, Array, Array]:
    found = np.array([a.kind in LISTED for a in prior.amounts])
    mean = np.array([a.mean for a in prior.amounts])
    sd = np.array([max(a.sd, 1e-9) if a.kind in FOUND else 1.0 for a in prior.amounts])
    return found, mean, sd


def misfit_of(prior: Prior, rows: Rows, names: tuple[str, ...], fit: Fit) -> Misfit:
    """Residual of each datum at the fitted mean.

    Parameters
    ----------
    prior : Prior
        Listed amounts, M phases. [-]
    rows : Rows
        K measured rows. [-]
    names : tuple of str
        Phases. [-]
    fit : Fit
        Trials. [-]

    Returns
    -------
    Misfit
        Residuals by name. [-]
    """
    draws = slice(1, None) if fit.amounts.shape[0] > 1 else slice(0, 1)
    fitted = fitted_rows(rows, fit.amounts, fit.place)[draws].mean(axis=0)
    residual = row_residuals(rows, fitted)
    found, mean, sd = _listed(prior)
    off = (mean - fit.amounts[draws].mean(axis=0)) / sd
    return Misfit(
        {name: float(value) for name, value in zip(rows.names, residual, strict=True)},
        {name: float(off[j]) for j, name in enumerate(names) if found[j]},
    )


def least_chi_square(prior: Prior, rows: Rows, amounts: Array, place: Array) -> float:
    """Sum of squared misfits of assay, listed amounts and iron at one mineralogy.

    Parameters
    ----------
    prior : Prior
        Listed amounts and iron, M phases. [-]
    rows : Rows
        K measured rows. [-]
    amounts, place : array, shape (M,)
        Amounts [wt %] and places on the mixing lines [-].

    Returns
    -------
    float
        Chi-square; each row beyond the number of parameters is a degree of freedom. [-]

    References
    ----------
    Weighted least squares with prior rows.
    """
    assay = row_residuals(rows, fitted_rows(rows, amounts[None, :], place[None, :]))
    found, mean, sd = _listed(prior)
    total = float(np.sum(assay**2) + np.sum(((amounts - mean) / sd)[found] ** 2))
    for j, iron in enumerate(prior.iron):
        if not iron.certain:
            value = iron.floor_wt_pct + place[j] * (iron.ceiling_wt_pct - iron.floor_wt_pct)
            total += float(iron.score(np.asarray(value))) ** 2
    return total


def agreement_of(
    prior: Prior, rows: Rows, names: tuple[str, ...], fit: Fit, wanted: Array
) -> tuple[Agreement, Misfit]:
    """Agreement of minerals and assay.

    Parameters
    ----------
    prior : Prior
        Listed amounts and iron, M phases. [-]
    rows : Rows
        K measured rows, at least one. [-]
    names : tuple of str
        Phases. [-]
    fit : Fit
        Trials, row 0 the least-squares solution. [-]
    wanted : array, shape (M,)
        Typical amounts before the assay. [wt %]

    Returns
    -------
    tuple of Agreement and Misfit
        The posterior-predictive chance counts assay and listed amounts alike. [-]

    References
    ----------
    Closure chi-square and its flags: methods of testing predictions, common practice.
    """
    misfit = misfit_of(prior, rows, names, fit)
    chi = least_chi_square(prior, rows, fit.amounts[0], fit.place[0])
    degrees = len(rows.names)
    found, mean, sd = _listed(prior)
    draws = slice(1, None) if fit.amounts.shape[0] > 1 else slice(0, 1)
    residual = row_residuals(rows, fitted_rows(rows, fit.amounts, fit.place)[draws])
    off = ((fit.amounts[draws] - mean) / sd)[:, found]
    each = np.sum(residual**2, axis=1) + np.sum(off**2, axis=1)
    counted = degrees + int(found.sum())
    predictive = float(np.mean(chi_square_chance(each, counted)))
    chance = float(chi_square_chance(chi, degrees))
    doubtful = None
    if chance < _DOUBT_CHANCE or abs(misfit.worst[1]) > WARN_SD:
        doubtful = _doubtful(prior, rows, names, wanted, chi, misfit)
    return Agreement(chi, degrees, predictive, misfit.rows, fit.settled, doubtful), misfit


def disagrees(agreement: Agreement, misfit: Misfit) -> bool:
    """True when the data cannot all be right.

    Parameters
    ----------
    agreement : Agreement
        Chi-square and its degrees of freedom. [-]
    misfit : Misfit
        Residuals. [-]

    Returns
    -------
    bool
        A residual beyond 4 sd, or a chi-square that unlikely. [-]

    References
    ----------
    Sanity rules of the trade: stop at 4 sd.
    """
    if agreement.chi_square is None:
        return False
    chance = float(chi_square_chance(agreement.chi_square, max(agreement.degrees_of_freedom, 1)))
    return chance < STOP_CHANCE or abs(misfit.worst[1]) > STOP_SD


def _doubtful(
    prior: Prior, rows: Rows, names: tuple[str, ...], wanted: Array, chi: float, misfit: Misfit
) -> str:
    """The datum without which the rest agree best."""
    gains: list[tuple[float, str]] = []
    for k, name in enumerate(rows.names):
        sd = rows.sd.copy()
        sd[k] = 1e6
        loose = replace(rows, sd=sd)
        gains.append((chi - least_chi_square(prior, loose, *typical_fit(prior, loose, wanted)),
                      f"the assay of {name}"))  # fmt: skip
    for j, name in enumerate(names):
        if prior.amounts[j].kind in LISTED and abs(misfit.minerals.get(name, 0.0)) > 0.5:
            loose_prior = prior.loosened(j)
            new = least_chi_square(loose_prior, rows, *typical_fit(loose_prior, rows, wanted))
            gains.append((chi - new, f"the amount of {name}"))
    gain, words = max(gains)
    return f"{words} (without it chi-square falls from {chi:.1f} to {max(chi - gain, 0.0):.1f})"
