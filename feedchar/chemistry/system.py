"""The data of one bag as a linear system: rows that a mineralogy must honour, and its prior."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
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

FOUND = ("gamma", "count")
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
    capped: Array
    """(K,) True where the truth lies from 0 to the value."""


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
    def gamma(self) -> Array:
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
