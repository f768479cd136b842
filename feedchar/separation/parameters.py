"""Parameters of the machine that no construction tells: stated priors, or what tests taught."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from math import log

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import brentq
from scipy.special import betainc, ndtri

from feedchar.errors import SettingError
from feedchar.separation.records import BenchMagnet, Parameters
from feedchar.uncertainty.streams import stream

Array = NDArray[np.float64]

BYPASS_MEAN = 0.03
BYPASS_P95 = 0.10
"""Missed by the machine, a pass: mean and 95 % point of a beta distribution (guess). [-]"""
ENTRAINMENT_MEDIAN = 0.01
ENTRAINMENT_P05 = 0.005
ENTRAINMENT_P95 = 0.03
"""Sand carried, a pass: log-normal in two pieces, one to each side of the median (guess). [-]"""
ADHESION_MEDIAN_N = 1e-8
ADHESION_MEDIAN_LN_SD = 0.5
"""How well the median adhesion is known: 4 to 23 nN as 5 to 95 % (guess). One asperity of 0.1 um
holds with 7 nN at a contact distance of 0.4 nm and with 40 nN at 0.165 nm (see `adhesion`)."""
P95 = float(ndtri(0.95))


@dataclass(frozen=True)
class BenchPrior:
    """What is guessed of a small magnet of the laboratory before any test."""

    name: str
    bypass_mean: float
    bypass_p95: float
    """Missed: mean and 95 % point of a beta distribution. [-]"""
    entrainment_median: float
    entrainment_p95: float
    """Sand carried: median and 95 % point of a log-normal. [-]"""
    pull_ln_sd: float
    """How well its pull is known. [-]"""


HAND_MAGNET_PRIOR = BenchPrior("hand magnet", 0.10, 0.30, 5e-4, 2e-2, 0.0)
"""Drawn through the sand until it takes no more. Under paper it carries from 0.00125 % where its
tufts are dropped and taken up again until they are clean, to the 2 % of a single dirty pass (guess;
that it is far less than on a machine when cleaned is common practice, no source)."""
ISODYNAMIC_PRIOR = BenchPrior("isodynamic separator", 0.02, 0.06, 0.003, 0.02, 0.2)
"""Fed slowly, some grains at a time; its pull is as well known as the recalled constant of one
magnet is that of another (guesses)."""


@dataclass(frozen=True)
class Calibration:
    """What tests taught of a machine: draws of its posterior, in any number above one."""

    bypass: Array
    entrainment: Array
    pull_factor: Array
    adhesion_N: Array
    source: str = ""
    """The tests, by name, for the report."""
    machine: str = ""
    """permanent-roll | induced-roll, as the tests were run; empty where not said."""
    roll: str = ""
    """Name of the roll of the tests; empty where not said."""
    tests: tuple[str, ...] = ()
    """Checksums of the tests that were counted, so that none counts twice."""


def draw_parameters(trials: int, seed: int, calibration: Calibration | None = None) -> Parameters:
    """Machine parameters of every trial; row 0 is the typical case.

    Parameters
    ----------
    trials : int
        Number of draws. [-]
    seed : int
        Seed of the streams. [-]
    calibration : Calibration or None
        Its draws replace the priors, one row of it a trial; the typical case is then its median
        (mean of the bypass). [-]

    Returns
    -------
    Parameters
        trials + 1 values each. [SI]

    Raises
    ------
    SettingError
        A negative number of trials, or a calibration that cannot be used.

    References
    ----------
    Priors are guesses, no source stands behind them; see the constants of this module.
    """
    if trials < 0:
        message = f"The number of trials must be 0 or more, found {trials}"
        raise SettingError(message)
    if calibration is not None:
        return _from_calibration(trials, seed, calibration)
    first, second = bypass_shape()
    below = log(ENTRAINMENT_MEDIAN / ENTRAINMENT_P05) / P95
    above = log(ENTRAINMENT_P95 / ENTRAINMENT_MEDIAN) / P95
    carried = stream(seed, "machine/entrainment").standard_normal(trials)
    held = stream(seed, "machine/adhesion").standard_normal(trials)
    missed = stream(seed, "machine/bypass").beta(first, second, trials)
    return Parameters(
        bypass=np.append(BYPASS_MEAN, missed),
        entrainment=ENTRAINMENT_MEDIAN
        * np.exp(np.append(0.0, carried * np.where(carried < 0.0, below, above))),
        pull_factor=np.ones(trials + 1),
        adhesion_N=ADHESION_MEDIAN_N * np.exp(np.append(0.0, ADHESION_MEDIAN_LN_SD * held)),
        by_hand=draw_bench_magnet(HAND_MAGNET_PRIOR, trials, seed),
        isodynamic=draw_bench_magnet(ISODYNAMIC_PRIOR, trials, seed),
    )


def draw_bench_magnet(prior: BenchPrior, trials: int, seed: int) -> BenchMagnet:
    """A small magnet for every trial; row 0 is the typical one.

    Parameters
    ----------
    prior : BenchPrior
        Which magnet. [-]
    trials : int
        Number of draws. [-]
    seed : int
        Seed of the streams. [-]

    Returns
    -------
    BenchMagnet
        trials + 1 values each. [-]

    References
    ----------
    Guesses, no source stands behind them; see the constants of this module.
    """
    shape = bypass_shape(prior.bypass_mean, prior.bypass_p95)
    bypass = stream(seed, f"{prior.name}/bypass").beta(*shape, trials)
    kept = stream(seed, f"{prior.name}/entrainment").standard_normal(trials)
    pull = stream(seed, f"{prior.name}/pull").standard_normal(trials)
    median, width = prior.entrainment_median, log(prior.entrainment_p95 / prior.entrainment_median)
    return BenchMagnet(
        np.append(prior.bypass_mean, bypass),
        np.minimum(median * np.exp(width / P95 * np.append(0.0, kept)), 0.5),
        np.exp(prior.pull_ln_sd * np.append(0.0, pull)),
    )


@lru_cache(maxsize=3)
def bypass_shape(mean: float = BYPASS_MEAN, p95: float = BYPASS_P95) -> tuple[float, float]:
    """Shape of the beta prior of a bypass.

    Parameters
    ----------
    mean, p95 : float
        Mean and 95 % point; those of a roll by default. [-]

    Returns
    -------
    alpha, beta : float
        With the stated mean and 95 % point; of the two solutions the one that is not nearly
        always zero. [-]

    References
    ----------
    Mean and 95 % point are guesses; the incomplete beta function is exact.
    """
    odds = (1.0 - mean) / mean

    def excess(alpha: float) -> float:
        return float(betainc(alpha, alpha * odds, p95)) - 0.95

    alpha = float(brentq(excess, 0.3, 3.0, xtol=1e-12))
    return alpha, alpha * odds


def _from_calibration(trials: int, seed: int, calibration: Calibration) -> Parameters:
    """Rows of the posterior at random, the four figures of a row kept together."""
    names = ("bypass", "entrainment", "pull_factor", "adhesion_N")
    columns = {name: np.asarray(getattr(calibration, name), dtype=float) for name in names}
    lengths = {len(column) for column in columns.values()}
    within = (
        np.all((columns["bypass"] >= 0.0) & (columns["bypass"] < 1.0))
        and np.all((columns["entrainment"] >= 0.0) & (columns["entrainment"] < 1.0))
        and np.all((columns["pull_factor"] > 0.0) & (columns["pull_factor"] < np.inf))
        and np.all((columns["adhesion_N"] > 0.0) & (columns["adhesion_N"] < np.inf))
    )
    if len(lengths) != 1 or lengths == {0} or not within:
        message = (
            "The calibration cannot be used: it needs equally many values of bypass and "
            "entrainment (0 to below 1), pull factor and adhesion (above 0, finite)"
        )
        raise SettingError(message)
    rows = stream(seed, "machine/calibration").integers(0, lengths.pop(), trials)
    typical = {name: np.median(column) for name, column in columns.items()}
    typical["bypass"] = np.mean(columns["bypass"])
    drawn = {name: np.append(typical[name], column[rows]) for name, column in columns.items()}
    return Parameters(
        **drawn,
        by_hand=draw_bench_magnet(HAND_MAGNET_PRIOR, trials, seed),
        isodynamic=draw_bench_magnet(ISODYNAMIC_PRIOR, trials, seed),
    )
