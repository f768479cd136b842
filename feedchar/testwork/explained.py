"""Which one change explains best why a prediction and a test differ.

The trials say how far measured and predicted figures may be apart, and in which directions. A
change (a machine that misses more, more of a mineral, two labels exchanged) moves the figures; how
much it raises the likelihood, less the cost of its freedom and of its rivals, is its score.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import chdtrc

from feedchar.testwork.likelihood import DISCREPANCY_LN

Array = NDArray[np.float64]

FEWEST_TRIALS = 200
"""With fewer the trials do not say in which directions figures may be apart. [-]"""
CERTAIN_SLOPE = 4.0
"""A slope over the trials counts from this many of its standard errors. [-]"""


@dataclass(frozen=True)
class Misfit:
    """Measured less predicted figures, D of them, and what the trials allow."""

    away: Array
    """(D,) measured - mean of the trials. [-]"""
    factor: Array
    """(D, D) lower triangle of the covariance of measured and predicted figures together."""
    z: Array
    """(D,) each difference over its own standard deviation. [-]"""

    @property
    def chi_square(self) -> float:
        """Squared length of the whitened difference. [-]"""
        return float(np.sum(self.white(self.away) ** 2))

    @property
    def p_value(self) -> float:
        """Chance of so large a difference when the prediction and all errors are right. [-]"""
        return float(chdtrc(len(self.away), self.chi_square)) if len(self.away) else 1.0

    def white(self, difference: Array) -> Array:
        """A difference in units in which chance is the same in all directions."""
        return np.asarray(np.linalg.solve(self.factor, difference))

    def gain_at(self, moved: Array) -> float:
        """Rise of the log-likelihood when the prediction moves by so much. [-]"""
        rest = self.white(self.away - moved)
        return 0.5 * (self.chi_square - float(np.sum(rest**2)))

    def gain_along(self, direction: Array) -> tuple[float, float]:
        """Rise of the log-likelihood along a straight direction, and how far to go. [-]"""
        line, rest = self.white(direction), self.white(self.away)
        length = float(line @ line)
        if not length > 0.0:
            return 0.0, 0.0
        return 0.5 * float(line @ rest) ** 2 / length, float(line @ rest) / length


def misfit(
    value: Array, sd: Array, predicted: Array, discrepancy_ln: float = DISCREPANCY_LN
) -> Misfit:
    """Difference of measured and predicted figures.

    Parameters
    ----------
    value, sd : array, shape (D,)
        Measured figures and their errors, on the scale of comparison. [-]
    predicted : array, shape (T, D)
        Trials; row 0 is the typical case and left out where there are others. [-]
    discrepancy_ln : float
        What no parameter of the model explains, on each figure by itself. [-]

    Returns
    -------
    Misfit
        Differences and what is allowed. [-]

    References
    ----------
    Normal errors; the discrepancy is a guess.
    """
    draws = predicted[1:] if len(predicted) > 1 else predicted
    centred = draws - draws.mean(axis=0)
    spread = centred.T @ centred / max(len(draws) - 1, 1)
    covariance = spread + np.diag(sd**2 + discrepancy_ln**2)
    away = value - draws.mean(axis=0)
    return Misfit(away, np.linalg.cholesky(covariance), away / np.sqrt(np.diag(covariance)))


def slope_over_trials(predicted: Array, cause: Array) -> Array | None:
    """How the figures move with one uncertain input, over the trials.

    Parameters
    ----------
    predicted : array, shape (T, D)
        Trials, row 0 the typical case. [-]
    cause : array, shape (T,)
        The input in the same trials. [any]

    Returns
    -------
    array, shape (D,), or None
        Change of each figure with a unit of the input; None where the trials cannot tell it from
        chance. [-]

    References
    ----------
    Least squares, closed form.
    """
    draws, own = predicted[1:], cause[1:] - cause[1:].mean()
    power = float(own @ own)
    if len(draws) < FEWEST_TRIALS or not power > 0.0:
        return None
    centred = draws - draws.mean(axis=0)
    slope = own @ centred / power
    rest = np.maximum((centred**2).sum(axis=0) - slope**2 * power, np.finfo(float).tiny)
    error = np.sqrt(rest / (len(draws) - 2) / power)
    if not np.any(np.abs(slope) > CERTAIN_SLOPE * error):
        return None
    return np.asarray(slope)


def score_of(gain: float, freedom: int, rivals: int, figures: int) -> float:
    """Log odds of a change against none.

    Parameters
    ----------
    gain : float
        Rise of the log-likelihood. [-]
    freedom : int
        Numbers that were fitted. [-]
    rivals : int
        Changes of the same kind that were tried. [-]
    figures : int
        Figures compared. [-]

    Returns
    -------
    float
        Gain less half the freedom times the logarithm of the figures, less that of the rivals. [-]

    References
    ----------
    The penalty for freedom after Schwarz 1978, from memory.
    """
    return gain - 0.5 * freedom * float(np.log(max(figures, 2))) - float(np.log(max(rivals, 1)))
