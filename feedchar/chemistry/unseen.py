"""Iron that no method has named: how much to expect before an assay, and in what form.

One precedence keeps iron from being counted twice: what is listed (stain of textures.csv
included) comes first, then `unidentified`, then oxides that were looked for and not found;
`unseen` is what is left of the unseen total after these.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import exp, log

import numpy as np
from scipy.special import ndtri

from feedchar.chemistry.mineralogy import Array
from feedchar.uncertainty.streams import stream

FE2O3_SHARE = 0.90
"""Fe2O3 of the phase `unseen`, the rest LOI. [-]"""
INTERCEPT, SLOPE = -0.96, 0.54
"""ln(unseen Fe2O3 %) = a + b ln(predicted Al2O3 %), open half of the soil sands. [-]"""
RESIDUAL_LN_SD = 0.85
LEAST_ALUMINA = 0.5
COUNT_SHARE, COUNT_LN_SD = 0.05, 1.0
LOG_UNIFORM = (0.003, 0.3)
FORMS = ("stain", "inclusion", "fine free oxide")
FORM_WEIGHTS = {
    "as dug": (2.0, 1.0, 1.0),
    "washed": (1.5, 1.5, 0.6),
    "crushed rock": (0.6, 2.0, 1.0),
    "plant product": (1.0, 2.0, 0.5),
    "": (1.2, 1.2, 1.0),
}
"""Dirichlet weights of the three forms by origin (guess)."""


@dataclass(frozen=True)
class UnseenPrior:
    """Total of the iron that no listed mineral carries, as Fe2O3 of the bag."""

    kind: str
    """log-normal | log-uniform"""
    median_wt_pct: float = 0.0
    ln_sd: float = RESIDUAL_LN_SD
    low_wt_pct: float = LOG_UNIFORM[0]
    high_wt_pct: float = LOG_UNIFORM[1]
    assay_needed: bool = False
    """True where the prior says too little to answer without an assay."""
    text: str = ""

    @property
    def ln_spread(self) -> float:
        """Standard deviation of the logarithm of the total. [-]"""
        if self.kind == "log-uniform":
            return log(self.high_wt_pct / self.low_wt_pct) / 12.0**0.5
        return self.ln_sd

    def quantile(self, probability: Array) -> Array:
        """Total at given probabilities.

        Parameters
        ----------
        probability : array, any shape
            Probabilities. [-]

        Returns
        -------
        array, same shape
            Fe2O3. [wt %]

        References
        ----------
        smith_2013 for the log-normal; the log-uniform is a guess.
        """
        if self.kind == "log-uniform":
            span = log(self.high_wt_pct / self.low_wt_pct)
            return self.low_wt_pct * np.exp(span * probability)
        return self.median_wt_pct * np.exp(self.ln_sd * ndtri(probability))

    def log_density(self, total: Array) -> Array:
        """Logarithm of the density, up to a constant.

        Parameters
        ----------
        total : array, any shape
            Fe2O3. [wt %]

        Returns
        -------
        array, same shape
            ln density; minus infinity outside a log-uniform. [-]

        References
        ----------
        As `quantile`.
        """
        ln_total = np.log(np.maximum(total, 1e-300))
        if self.kind == "log-uniform":
            # Below the low end nothing is known either, and nothing there matters: held flat.
            value = -np.maximum(ln_total, log(self.low_wt_pct))
            return np.where(total <= self.high_wt_pct, value, -np.inf)
        score = (ln_total - log(self.median_wt_pct)) / self.ln_sd
        return -0.5 * score * score - ln_total


def unseen_prior(
    origin: str | None,
    counted: bool,
    alumina_wt_pct: float,
    listed_Fe2O3_wt_pct: float,
    assayed_Fe2O3_wt_pct: float | None,
) -> UnseenPrior:
    """Prior of unseen iron by origin and method.

    Parameters
    ----------
    origin : str or None
        As dug, washed, crushed rock, plant product. [-]
    counted : bool
        True when the minerals were counted as points or grains. [-]
    alumina_wt_pct : float
        Al2O3 that the minerals predict. [wt %]
    listed_Fe2O3_wt_pct : float
        Fe2O3 that the listed phases predict. [wt %]
    assayed_Fe2O3_wt_pct : float or None
        Head assay, when there is one. [wt %]

    Returns
    -------
    UnseenPrior
        The prior. [wt %]

    References
    ----------
    smith_2013 (fitted on the open half of the soil sands); vermeesch_2015 for counted sands;
    the log-uniform is a guess.
    """
    if origin == "as dug" and counted:
        median = max(COUNT_SHARE * listed_Fe2O3_wt_pct, 1e-4)
        text = f"unseen iron taken as {COUNT_SHARE:g} of the counted minerals' iron"
        return UnseenPrior("log-normal", median, COUNT_LN_SD, text=text)
    if origin == "as dug":
        median = exp(INTERCEPT + SLOPE * log(max(alumina_wt_pct, LEAST_ALUMINA)))
        text = "unseen iron by the alumina, as in quartz-feldspar soils"
        return UnseenPrior("log-normal", median, RESIDUAL_LN_SD, text=text)
    high = LOG_UNIFORM[1]
    if assayed_Fe2O3_wt_pct is not None:
        high = max(high, 1.5 * assayed_Fe2O3_wt_pct)
    text = "unseen iron anywhere from 0.003 to 0.3 % Fe2O3 (guess)"
    return UnseenPrior(
        "log-uniform", high_wt_pct=high, assay_needed=assayed_Fe2O3_wt_pct is None, text=text
    )


def unseen_totals(prior: UnseenPrior, trials: int, seed: int) -> Array:
    """Trials of the unseen total, row 0 the median.

    Parameters
    ----------
    prior : UnseenPrior
        The prior. [-]
    trials : int
        Number of draws. [-]
    seed : int
        The run's seed. [-]

    Returns
    -------
    array, shape (T,)
        Fe2O3 of the bag. [wt %]

    References
    ----------
    As `UnseenPrior`.
    """
    uniform = stream(seed, "unseen/mass").random(trials) + 2.0**-54
    return prior.quantile(np.concatenate([[0.5], uniform]))


def form_shares(origin: str | None, named_stain: bool, trials: int, seed: int) -> Array:
    """How the unseen iron sits: drawn, because no measurement here tells.

    Parameters
    ----------
    origin : str or None
        As dug, washed, crushed rock, plant product. [-]
    named_stain : bool
        True when textures.csv already names the stain, so that little of it is unseen. [-]
    trials : int
        Number of draws. [-]
    seed : int
        The run's seed. [-]

    Returns
    -------
    array, shape (T, 3)
        Stain, inclusion in pale grains, fine free oxide; rows sum to 1. [-]

    References
    ----------
    A Dirichlet by origin (guess).
    """
    weights = list(FORM_WEIGHTS.get(origin or "", FORM_WEIGHTS[""]))
    if named_stain:
        weights[0] *= 0.2
    shares = np.empty((trials + 1, 3))
    shares[0] = weights
    for column, (form, weight) in enumerate(zip(FORMS, weights, strict=True)):
        shares[1:, column] = stream(seed, f"unseen/{form}").standard_gamma(weight, trials)
    return shares / shares.sum(axis=1, keepdims=True)
