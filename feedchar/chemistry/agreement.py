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
_BELOW_DETECTION, _BELOW_DETECTION_COUNT = 0.1, 0.02
"""Oxide that phases below detection may hold together (guess). [wt %]"""
_HELD_BY_FEW = ("Fe2O3", "TiO2", "MnO", "P2O5", "Cr2O3", "ZrO2", "susceptibility")
"""Rows whose unlisted carriers are looked after one by one."""
_BETWEEN_LABORATORIES, _BETWEEN_METHODS = 0.03, 1.5


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
    Textbook (derived).
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

    References
    ----------
    By definition of the records of this room.
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

    References
    ----------
    By definition of the records of this room.
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

    References
    ----------
    By definition of the records of this room.
    """
    draws = slice(1 if len(fit.amounts) > 1 else 0, None)
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
    Weighted least squares with prior rows (derived).
    """
    assay = row_residuals(rows, fitted_rows(rows, amounts[None, :], place[None, :]))
    found, mean, sd = _listed(prior)
    total = float(np.sum(assay**2) + np.sum(((amounts - mean) / sd)[found] ** 2))
    for j, iron in enumerate(prior.iron):
        total += float(iron.score_at(place[j])) ** 2
    return total


def agreement_of(
    prior: Prior, rows: Rows, names: tuple[str, ...], fit: Fit, wanted: Array | None
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
    wanted : array, shape (M,), or None
        Typical amounts before the assay; None does not search for the datum to doubt. [wt %]

    Returns
    -------
    tuple of Agreement and Misfit
        The chance counts assay and listed amounts alike, and is None without trials. [-]

    References
    ----------
    Closure chi-square and its flags: methods of testing predictions, common practice.
    """
    misfit = misfit_of(prior, rows, names, fit)
    chi = least_chi_square(prior, rows, fit.amounts[0], fit.place[0])
    degrees = len(rows.names)
    found, mean, sd = _listed(prior)
    predictive = None  # the typical case is the best fit, not a draw: it says nothing of chance
    if len(fit.amounts) > 1:
        residual = row_residuals(rows, fitted_rows(rows, fit.amounts, fit.place)[1:])
        off = ((fit.amounts[1:] - mean) / sd)[:, found]
        each = np.sum(residual**2, axis=1) + np.sum(off**2, axis=1)
        predictive = float(np.mean(chi_square_chance(each, degrees + int(found.sum()))))
    chance = float(chi_square_chance(chi, degrees))
    doubtful = None
    if wanted is not None and (chance < _DOUBT_CHANCE or abs(misfit.worst[1]) > WARN_SD):
        doubtful = _doubtful(prior, rows, names, wanted, chi, misfit)
    return Agreement(chi, degrees, predictive, misfit.rows, fit.settled, doubtful), misfit


def contradict(prior: Prior, rows: Rows, wanted: Array, counted: bool) -> bool:
    """True when the data cannot all be right, even by the errors between laboratories.

    Parameters
    ----------
    prior : Prior
        Listed amounts and iron, M phases. [-]
    rows : Rows
        K measured rows. [-]
    wanted : array, shape (M,)
        Typical amounts before the assay. [wt %]
    counted : bool
        True when the minerals were counted. [-]

    Returns
    -------
    bool
        A misfit beyond 4 sd, or a chi-square that unlikely, with the sd of the assay widened by
        3 % and by what phases below detection may hold, and that of the amounts by half. [-]

    References
    ----------
    Sanity rules of the trade: stop at 4 sd. Results of several laboratories on one clay differ
    by more than one laboratory claims (contests read as abstracts); the widths are guesses,
    common practice, no source.
    """
    held = _BELOW_DETECTION_COUNT if counted else _BELOW_DETECTION
    extra = np.array([0.0 if name in _HELD_BY_FEW else held for name in rows.names])
    sd = np.sqrt(rows.sd**2 + (_BETWEEN_LABORATORIES * rows.value) ** 2 + extra**2)
    wide_rows = replace(rows, sd=sd)
    wide = replace(
        prior,
        amounts=tuple(
            replace(a, shape=a.shape / _BETWEEN_METHODS**2) if a.kind in LISTED else a
            for a in prior.amounts
        ),
    )
    amounts, place = typical_fit(wide, wide_rows, wanted)
    chi = least_chi_square(wide, wide_rows, amounts, place)
    residual = row_residuals(wide_rows, fitted_rows(wide_rows, amounts[None], place[None]))
    found, mean, listed_sd = _listed(wide)
    off = ((mean - amounts) / listed_sd)[found]
    if float(np.max(np.abs([*residual[0], *off]))) > STOP_SD:
        return True
    return float(chi_square_chance(chi, len(rows.names))) < STOP_CHANCE


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
