"""Priors and measured rows of many bags, one value a chain: rows of a table times trials."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray
from scipy.special import log_ndtr

from feedchar.chemistry.iron_prior import IronPrior
from feedchar.chemistry.mineral_trials import LIMIT_SD, NOT_FOUND_LN_SD, NOT_FOUND_MEDIAN
from feedchar.chemistry.mineralogy import Array
from feedchar.chemistry.unseen import LOG_UNIFORM

Index = NDArray[np.intp]

GAMMA, NOT_FOUND, INTERVAL, UNSEEN = range(4)
"""Kinds of amount."""


@dataclass(frozen=True)
class FoldedUnseen:
    """Prior of the total of unseen iron, one value a chain."""

    log_uniform: bool
    ln_median: Array
    ln_sd: Array
    high_wt_pct: Array

    def log_density(self, total: Array) -> Array:
        """As `UnseenPrior.log_density`."""
        ln_total = np.log(np.maximum(total, 1e-300))
        if self.log_uniform:
            value = -np.maximum(ln_total, np.log(LOG_UNIFORM[0]))
            return np.where(total <= self.high_wt_pct, value, -np.inf)
        score = (ln_total - self.ln_median) / self.ln_sd
        return np.asarray(-0.5 * score * score - ln_total)

    def at(self, chosen: Index) -> FoldedUnseen:
        """The same for some chains."""
        return FoldedUnseen(
            self.log_uniform, self.ln_median[chosen], self.ln_sd[chosen], self.high_wt_pct[chosen]
        )


@dataclass(frozen=True)
class FoldedPrior:
    """Amounts and iron before the assay: M phases, C chains (rows times trials)."""

    kind: NDArray[np.int8]
    """(M, C) GAMMA, NOT_FOUND, INTERVAL or UNSEEN."""
    mean: Array
    """(M, C) of gammas. [wt %]"""
    shape: Array
    """(M, C) of gammas. [-]"""
    limit: Array
    """(M, C) [wt %]"""
    hides: Array
    """(M, C) 1 where iron counts towards the unseen total, else 0. [-]"""
    iron: tuple[IronPrior, ...]
    unseen: FoldedUnseen
    iron_oxide_low: Array
    iron_oxide_change: Array

    @cached_property
    def hidden(self) -> tuple[int, ...]:
        """Phases that hide iron in any chain."""
        return tuple(np.flatnonzero(self.hides.any(axis=1)).tolist())

    @cached_property
    def _chains_of(self) -> list[tuple[bool, Index, Index]]:
        """By phase: whether any chain has a gamma, chains not found, chains below a limit."""
        return [
            (
                bool(np.any(own == GAMMA)),
                np.flatnonzero(own == NOT_FOUND),
                np.flatnonzero(own == INTERVAL),
            )
            for own in self.kind
        ]

    def log_amount(self, phase: int, x: Array) -> Array:
        """As `Prior.log_amount`, the kind of amount chain by chain."""
        some_gamma, missed, below = self._chains_of[phase]
        out = (self.shape[phase] - 1.0) * np.log(x) if some_gamma else np.zeros_like(x)
        if missed.size:
            limit, own = self.limit[phase, missed], x[missed]
            ln_x = np.log(own)
            score = (ln_x - np.log(NOT_FOUND_MEDIAN * limit)) / NOT_FOUND_LN_SD
            chance = log_ndtr((limit - own) / (LIMIT_SD * limit))
            out[missed] = -0.5 * score * score - ln_x + chance
        if below.size:
            out[below] = np.where(x[below] <= self.limit[phase, below], 0.0, -np.inf)
        return out

    def hidden_iron(self, x: Array, t: Array) -> Array:
        """As `Prior.hidden_iron`."""
        total = np.zeros(x.shape[1])
        for phase in self.hidden:
            share = self.iron_oxide_low[phase] + t[phase] * self.iron_oxide_change[phase]
            total += x[phase] * share * self.hides[phase]
        return total

    def at(self, chosen: Index) -> FoldedPrior:
        """The same for some chains."""
        return replace(
            self,
            kind=self.kind[:, chosen],
            mean=self.mean[:, chosen],
            shape=self.shape[:, chosen],
            limit=self.limit[:, chosen],
            hides=self.hides[:, chosen],
            unseen=self.unseen.at(chosen),
        )


@dataclass(frozen=True)
class FoldedRows:
    """Measured rows of the fit in C chains, in units of their sd, Gaussian rows first."""

    gaussian: int
    low: Array
    """(M, K, C)"""
    change: Array
    """(M, K, C)"""
    target: Array
    """(K, C)"""

    def at(self, chosen: Index) -> FoldedRows:
        """The same for some chains."""
        return FoldedRows(
            self.gaussian, self.low[:, :, chosen], self.change[:, :, chosen],
            self.target[:, chosen],
        )  # fmt: skip
