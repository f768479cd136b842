"""Parameters of a machine as independent standard normal scores of their stated priors.

In scores every prior is alike and nothing can leave its range, so a walk needs no borders.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import log

import numpy as np
from numpy.typing import NDArray
from scipy.special import betainc, betaincinv, ndtr, ndtri

from feedchar.errors import SettingError
from feedchar.separation.parameters import (
    ADHESION_MEDIAN_LN_SD,
    ADHESION_MEDIAN_N,
    ENTRAINMENT_MEDIAN,
    ENTRAINMENT_P05,
    ENTRAINMENT_P95,
    P95,
    Calibration,
    bypass_shape,
)
from feedchar.separation.records import Parameters
from feedchar.uncertainty.streams import stream

Array = NDArray[np.float64]

NAMES = ("bypass", "entrainment", "pull_factor", "adhesion_N")
"""Columns of every array of scores."""
PULL_LN_SD = 0.15
"""How well construction and remanence tell the pull of a roll, belt wear included (guess). [-]"""
FARTHEST = 5.0
"""Scores beyond this are not believed: one in three million of the prior. [-]"""
LEAST_DRAWS = 20
"""Draws below this tell no covariance. [-]"""


@dataclass(frozen=True)
class MachinePrior:
    """A normal distribution of the scores: the stated priors, or what earlier tests left."""

    mean: Array
    """(4,) [-]"""
    covariance: Array
    """(4, 4) [-]"""

    def ln_density(self, scores: Array) -> Array:
        """Logarithm of the density less its constant. (N,) [-]"""
        away = scores - self.mean
        inside = np.all(np.abs(scores) <= FARTHEST, axis=1)
        solved = np.linalg.solve(self.covariance, away.T)
        return np.where(inside, -0.5 * np.sum(away.T * solved, axis=0), -np.inf)


STATED = MachinePrior(np.zeros(4), np.eye(4))
"""The stated priors, the pull of PULL_LN_SD among them."""


def scores_of(parameters: Parameters | Calibration) -> Array:
    """Scores of machine parameters.

    Parameters
    ----------
    parameters : Parameters or Calibration
        N values each. [SI]

    Returns
    -------
    array, shape (N, 4)
        Columns NAMES, within FARTHEST. [-]

    References
    ----------
    Derived here: quantiles of the stated priors.
    """
    first, second = bypass_shape()
    below, above = _entrainment_sds()
    carried = np.log(np.asarray(parameters.entrainment, dtype=float) / ENTRAINMENT_MEDIAN)
    columns = (
        ndtri(betainc(first, second, np.asarray(parameters.bypass, dtype=float))),
        carried / np.where(carried < 0.0, below, above),
        np.log(np.asarray(parameters.pull_factor, dtype=float)) / PULL_LN_SD,
        np.log(np.asarray(parameters.adhesion_N, dtype=float) / ADHESION_MEDIAN_N)
        / ADHESION_MEDIAN_LN_SD,
    )
    return np.clip(np.stack(np.broadcast_arrays(*columns), axis=1), -FARTHEST, FARTHEST)


def parameters_of(scores: Array) -> Parameters:
    """Machine parameters of scores.

    Parameters
    ----------
    scores : array, shape (N, 4)
        Columns NAMES. [-]

    Returns
    -------
    Parameters
        N values each. [SI]

    References
    ----------
    Derived here: the inverse of `scores_of`.
    """
    first, second = bypass_shape()
    below, above = _entrainment_sds()
    missed, carried, pulled, held = np.asarray(scores, dtype=float).T
    return Parameters(
        bypass=betaincinv(first, second, ndtr(missed)),
        entrainment=ENTRAINMENT_MEDIAN * np.exp(carried * np.where(carried < 0.0, below, above)),
        pull_factor=np.exp(PULL_LN_SD * pulled),
        adhesion_N=ADHESION_MEDIAN_N * np.exp(ADHESION_MEDIAN_LN_SD * held),
    )


def draw_scores(count: int, seed: int, calibration: Calibration | None = None) -> Array:
    """Draws of a machine before its tests.

    Parameters
    ----------
    count : int
        Number of draws. [-]
    seed : int
        Seed of the streams. [-]
    calibration : Calibration or None
        Draws that earlier tests left; None: the stated priors. [-]

    Returns
    -------
    array, shape (count, 4)
        Columns NAMES. [-]

    Raises
    ------
    SettingError
        A calibration of too few draws.

    References
    ----------
    Priors are guesses, no source stands behind them.
    """
    if calibration is None:
        columns = [stream(seed, f"tested/{name}").standard_normal(count) for name in NAMES]
        return np.clip(np.stack(columns, axis=1), -FARTHEST, FARTHEST)
    left = scores_of(calibration)
    if len(left) < LEAST_DRAWS:
        message = f"A calibration needs {LEAST_DRAWS} draws to be built upon, found {len(left)}"
        raise SettingError(message)
    return left[stream(seed, "tested/calibration").integers(0, len(left), count)]


def prior_of(calibration: Calibration | None = None) -> MachinePrior:
    """The prior as a density that a walk can ask.

    Parameters
    ----------
    calibration : Calibration or None
        Draws that earlier tests left; None: the stated priors. [-]

    Returns
    -------
    MachinePrior
        Of a calibration the normal with the mean and covariance of its scores. [-]

    References
    ----------
    Derived here.
    """
    if calibration is None:
        return STATED
    left = scores_of(calibration)
    # A little of the stated spread keeps a covariance of few draws invertible.
    return MachinePrior(left.mean(axis=0), np.cov(left.T) + 1e-4 * np.eye(4))


def calibration_of(scores: Array, source: str = "") -> Calibration:
    """Scores as the record that the separation room takes.

    Parameters
    ----------
    scores : array, shape (N, 4)
        Columns NAMES. [-]
    source : str
        The tests, for the report. [-]

    Returns
    -------
    Calibration
        N draws. [SI]

    References
    ----------
    Derived here.
    """
    made = parameters_of(scores)
    return Calibration(made.bypass, made.entrainment, made.pull_factor, made.adhesion_N, source)


def _entrainment_sds() -> tuple[float, float]:
    """Standard deviations of the logarithm to either side of the median."""
    return (
        log(ENTRAINMENT_MEDIAN / ENTRAINMENT_P05) / P95,
        log(ENTRAINMENT_P95 / ENTRAINMENT_MEDIAN) / P95,
    )
