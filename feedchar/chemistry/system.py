"""The data of one bag as a linear system: rows that a mineralogy must honour, and its prior."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.special import log_ndtr

from feedchar.chemistry.iron_prior import IronPrior
from feedchar.chemistry.mineral_trials import (
    LIMIT_SD,
    NOT_FOUND_LN_SD,
    NOT_FOUND_MEDIAN,
    Amount,
)
from feedchar.chemistry.mineralogy import Array
from feedchar.chemistry.unseen import UnseenPrior

Flags = NDArray[np.bool_]

FOUND = ("gamma", "count", "assumed")
"""Kinds of amount that are gammas."""


@dataclass(frozen=True)
class Rows:
    """Measured quantities that are sums over the phases, mass times content.

    `low` and `change` give the content of each phase along its mixing line: low + t * change,
    t from 0 to 1. Axis order (phase, row, trial or 1).
    """

    names: tuple[str, ...]
    value: Array
    """(K,) measured value, or the upper end of an interval."""
    sd: Array
    """(K,)"""
    low: Array
    """(M, K, 1 or T) content at the low-iron end, per wt % of the phase."""
    change: Array
    """(M, K, 1 or T) high end less low end."""
    capped: Flags
    """(K,) True where the truth lies from 0 to the value."""
    spread: Array
    """(M, K) sd of the content of each phase that its line leaves out, per wt % of the phase."""

    def widened(self, amounts: Array) -> Rows:
        """The same rows with what fixed compositions leave out added to the sd.

        Parameters
        ----------
        amounts : array, shape (M,)
            Rough amounts of the phases. [wt %]

        Returns
        -------
        Rows
            A changed copy. [-]

        References
        ----------
        Independent errors add by squares; they are taken as independent between rows.
        """
        sd = np.sqrt(self.sd**2 + np.sum((amounts[:, None] * self.spread) ** 2, axis=0))
        return replace(self, sd=sd, spread=np.zeros_like(self.spread))


@dataclass(frozen=True)
class Prior:
    """What is known of the amounts before the assay, M phases in canonical order."""

    amounts: tuple[Amount, ...]
    iron: tuple[IronPrior, ...]
    unseen: UnseenPrior
    iron_oxide_low: Array
    """(M,) Fe2O3 of each phase at the low end of its line, as a fraction. [-]"""
    iron_oxide_change: Array
    """(M,) high end less low end. [-]"""
    hidden: tuple[int, ...]
    """Phases whose iron counts towards the unseen total: undetected iron oxides, unidentified and
    unseen itself."""

    @property
    def gamma(self) -> Flags:
        """(M,) True for phases that were found."""
        return np.array([a.kind in FOUND for a in self.amounts])

    @property
    def shape(self) -> Array:
        """(M,) gamma shapes, 1 elsewhere. [-]"""
        return np.array([a.shape if a.kind in FOUND else 1.0 for a in self.amounts])

    @property
    def scale(self) -> Array:
        """(M,) gamma scales, 1 elsewhere. [wt %]"""
        return np.array([a.mean / a.shape if a.kind in FOUND else 1.0 for a in self.amounts])

    def loosened(self, phase: int) -> Prior:
        """The same prior with one listed amount hardly known.

        Parameters
        ----------
        phase : int
            Index of a phase that was found. [-]

        Returns
        -------
        Prior
            A changed copy. [-]
        """
        amount = self.amounts[phase]
        loose = replace(amount, shape=(amount.mean / 1e4) ** 2)
        return replace(self, amounts=(*self.amounts[:phase], loose, *self.amounts[phase + 1 :]))

    def log_amount(self, phase: int, x: Array) -> Array:
        """Log density of one amount, the shared terms left out.

        Parameters
        ----------
        phase : int
            Index of the phase. [-]
        x : array, shape (T,)
            Amount, above zero. [wt %]

        Returns
        -------
        array, shape (T,)
            ln density up to a constant. [-]

        References
        ----------
        Derived from the densities of the trials.
        """
        amount = self.amounts[phase]
        if amount.kind in FOUND:
            return (amount.shape - 1.0) * np.log(x)
        if amount.kind == "not found":
            ln_x = np.log(x)
            score = (ln_x - np.log(NOT_FOUND_MEDIAN * amount.limit)) / NOT_FOUND_LN_SD
            missed = log_ndtr((amount.limit - x) / (LIMIT_SD * amount.limit))
            return -0.5 * score * score - ln_x + missed
        if amount.kind == "interval":
            return np.where(x <= amount.limit, 0.0, -np.inf)
        return np.zeros_like(x)  # unseen: by its total

    def hidden_iron(self, x: Array, t: Array) -> Array:
        """Iron that counts towards the unseen total.

        Parameters
        ----------
        x : array, shape (M, T)
            Amounts. [wt %]
        t : array, shape (M, T)
            Place on the mixing lines. [-]

        Returns
        -------
        array, shape (T,)
            Fe2O3 of the bag. [wt %]
        """
        total = np.zeros(x.shape[1])
        for phase in self.hidden:
            share = self.iron_oxide_low[phase] + t[phase] * self.iron_oxide_change[phase]
            total += x[phase] * share
        return total
