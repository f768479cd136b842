"""Amounts of minerals as trials: what each method says, before any assay."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from scipy.special import ndtr, ndtri

from feedchar.chemistry.mineralogy import Array
from feedchar.uncertainty.streams import stream

NOT_FOUND_LN_SD = 1.5
"""Spread of a mineral that was looked for and not found. [-]"""
NOT_FOUND_MEDIAN = 0.1
"""Its median as a share of the detection limit. [-]"""
LIMIT_SD = 1.0 / 3.0
"""sd of the method at its detection limit, as a share of the limit (3 sd rule). [-]"""
_GRID = 801


@dataclass(frozen=True)
class Amount:
    """What is known of the amount of one phase of the bag, in wt %.

    kind `gamma` (or `assumed`, when nobody looked): mean and sd of a relative amount, the gammas
    together filling what the others leave; `count`: the same from counted points or grains;
    `not found`: log-normal below a blurred
    limit; `interval`: anywhere from 0 to the limit; `unseen`: see the room's rule for it.
    """

    kind: str
    mean: float = 0.0
    """Relative amount by mass of a gamma. [wt %]"""
    shape: float = 1.0
    """Gamma shape k, (mean / sd)^2. [-]"""
    limit: float = 0.0
    """Detection limit, or upper end of an interval. [wt %]"""
    text: str = field(default="", compare=False)
    """The datum in words, for messages."""

    @property
    def sd(self) -> float:
        """sd of a gamma's relative amount. [wt %]"""
        return self.mean / self.shape**0.5


def diffraction_sd(wt_pct: float) -> float:
    """sd of a diffraction result or an estimate when none is given.

    Parameters
    ----------
    wt_pct : float
        Amount. [wt %]

    Returns
    -------
    float
        Half of Hillier's 95 % bound X^0.35. [wt %]

    References
    ----------
    hillier_2000.
    """
    return 0.5 * wt_pct**0.35


def count_shape(counts: float) -> float:
    """Gamma shape of a counted phase: Jeffreys' Dirichlet, one phase at a time.

    Parameters
    ----------
    counts : float
        Points or grains counted. [-]

    Returns
    -------
    float
        n + 1/2. [-]

    References
    ----------
    vermeesch_2015.
    """
    return counts + 0.5


def not_found_scores(limit: float, quantile: Array) -> Array:
    """Amount of a mineral that was looked for and not found, at given probabilities.

    Parameters
    ----------
    limit : float
        Detection limit. [wt %]
    quantile : array, shape (T,)
        Probabilities. [-]

    Returns
    -------
    array, shape (T,)
        Amounts: log-normal, median a tenth of the limit and ln-sd 1.5, weighted by the chance
        Phi((limit - x)/sd) of missing it. [wt %]

    References
    ----------
    Common practice, no source; the sd is a third of the limit.
    """
    z = np.linspace(-5.0, 5.0, _GRID)
    x = NOT_FOUND_MEDIAN * limit * np.exp(NOT_FOUND_LN_SD * z)
    density = np.exp(-0.5 * z * z) * ndtr((limit - x) / (LIMIT_SD * limit))
    steps = 0.5 * (density[1:] + density[:-1])
    cumulative = np.concatenate([[0.0], np.cumsum(steps)])
    scores = np.interp(quantile, cumulative / cumulative[-1], z)
    return NOT_FOUND_MEDIAN * limit * np.exp(NOT_FOUND_LN_SD * scores)


def small_amounts(amount: Amount, name: str, trials: int, seed: int) -> Array:
    """Trials of a phase given by a limit, in wt % of the bag.

    Parameters
    ----------
    amount : Amount
        Kind `not found` or `interval`. [-]
    name : str
        Phase. [-]
    trials : int
        Number of draws. [-]
    seed : int
        The run's seed. [-]

    Returns
    -------
    array, shape (T,)
        Row 0 is the median. [wt %]

    References
    ----------
    By definition of the records of this room.
    """
    uniform = np.concatenate([[0.5], stream(seed, f"{name}/mass").random(trials)])
    if amount.kind == "interval":
        return amount.limit * uniform
    return not_found_scores(amount.limit, uniform)


def gamma_amounts(amount: Amount, name: str, trials: int, seed: int) -> Array:
    """Trials of the relative amount of a phase that was found.

    Parameters
    ----------
    amount : Amount
        Kind `gamma` or `count`. [-]
    name : str
        Phase. [-]
    trials : int
        Number of draws. [-]
    seed : int
        The run's seed. [-]

    Returns
    -------
    array, shape (T,)
        Row 0 is the mean. [wt % before closure]

    References
    ----------
    By definition of the records of this room.
    """
    draws = stream(seed, f"{name}/mass").standard_gamma(amount.shape, trials)
    return np.concatenate([[amount.mean], draws * (amount.mean / amount.shape)])


def standard_scores(name: str, trials: int, seed: int) -> Array:
    """Standard normal scores of a named quantity, 0 in row 0.

    Parameters
    ----------
    name : str
        What is drawn, such as "biotite/iron". [-]
    trials : int
        Number of draws. [-]
    seed : int
        The run's seed. [-]

    Returns
    -------
    array, shape (T,)
        Scores. [-]

    References
    ----------
    By definition of the records of this room.
    """
    return np.concatenate([[0.0], ndtri(stream(seed, name).random(trials))])
