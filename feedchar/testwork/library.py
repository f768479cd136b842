"""What past tests say of the next one: the one door of scikit-learn.

The remainder, measured less predicted on the scale of logarithms, is taken as a shift towards
which a stated prior pulls; from 8 tests of 3 settings on as a Gaussian process over features of
feed and setting. Each sample is left out in turn and foretold from the others; where that does not
beat the plain prediction beyond chance, nothing is corrected.
"""

from __future__ import annotations

import warnings
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from feedchar.testwork.past_tests import PastTest

Array = NDArray[np.float64]

SHIFT_LN_SD = 0.3
"""What a shift may be before any test (guess). [-]"""
SCATTER_LN_SD, SCATTER_TESTS = 0.25, 2.0
"""Scatter of one sample round the shift, and how many samples that belief is worth (guess). [-]"""
PROCESS_TESTS, PROCESS_SETTINGS = 8, 3
LEAST_SAMPLES = 3
"""With fewer, none can be left out. [-]"""
LEAST_SKILL = 0.05
"""Part of the mean square error that a correction must take off. [-]"""
P95 = 1.6448536269514722
NONE, SHIFT, PROCESS = "none", "shift", "Gaussian process"
REFITTED = 60
"""Up to so many tests the process is fitted anew for each sample left out. [-]"""


@dataclass(frozen=True)
class Correction:
    """What past tests say of one quantity of the next."""

    quantity: str
    method: str
    """none | shift | Gaussian process: what was tried."""
    used: bool
    why: str
    tests: int
    samples: int
    settings: int
    shift_ln: float
    """Measured less predicted, as expected here; 0 where nothing is corrected. [-]"""
    sd_ln: float | None
    """Of the next measured figure round the corrected prediction. [-]"""
    coverage: float | None
    """Share of the tests left out inside their own 90 % interval. [-]"""
    skill: float | None
    """1 - mean square error over that of the plain prediction, samples left out in turn. [-]"""


def correction(tests: Sequence[PastTest], quantity: str, features: Sequence[float]) -> Correction:
    """What the library says of one quantity at one feed and setting.

    Parameters
    ----------
    tests : sequence of PastTest
        Of one kind of machine, in a fixed order. [-]
    quantity : str
        One of QUANTITIES. [-]
    features : sequence of float
        Of the feed and setting asked for, in the order of FEATURES. [-]

    Returns
    -------
    Correction
        Not used where it does not help. [-]

    References
    ----------
    Normal prior and likelihood, closed form; Gaussian processes as scikit-learn has them.
    """
    rows = [one for one in tests if quantity in one.measured and quantity in one.predicted]
    samples = [one.sample for one in rows]
    counts = (len(rows), len(set(samples)), len({one.setting for one in rows}))
    if counts[1] < LEAST_SAMPLES:
        why = f"fewer than {LEAST_SAMPLES} samples in the library measured it"
        return Correction(quantity, NONE, False, why, *counts, 0.0, None, None, None)
    remainder = np.array([one.measured[quantity] - one.predicted[quantity] for one in rows])
    points = np.array([one.features for one in rows], dtype=float)
    group = np.unique(np.array(samples), return_inverse=True)[1]
    process = counts[0] >= PROCESS_TESTS and counts[2] >= PROCESS_SETTINGS
    asked = np.array(features, dtype=float)[None, :]
    method = PROCESS if process else SHIFT
    expected, sd = np.empty_like(remainder), np.empty_like(remainder)
    for one in np.unique(group):
        out = group == one
        expected[out], sd[out] = _foretold(
            points[~out], remainder[~out], group[~out], points[out], process
        )
    gain = remainder**2 - (remainder - expected) ** 2
    plain = float(np.mean(remainder**2))
    skill = float(np.mean(gain)) / plain if plain > 0.0 else 0.0
    away = ((remainder - expected) / sd) ** 2
    wider = np.empty_like(sd)
    for one in np.unique(group):
        # How much wider the others say the interval must be; the sample itself has no say.
        wider[group == one] = _wider(away[group != one])
    coverage = float(np.mean(away <= (P95 * wider) ** 2))
    by_sample = np.array([gain[group == one].mean() for one in np.unique(group)])
    chance = float(by_sample.std(ddof=1) / np.sqrt(len(by_sample)))
    used = skill >= LEAST_SKILL and float(by_sample.mean()) > chance
    why = "samples left out in turn are foretold better than without it"
    if not used:
        why = "samples left out in turn are not foretold better beyond chance"
        return Correction(quantity, method, False, why, *counts, 0.0, None, coverage, skill)
    shift, spread = _foretold(points, remainder, group, asked, process)
    return Correction(
        quantity,
        method,
        True,
        why,
        *counts,
        float(shift[0]),
        float(spread[0]) * _wider(away),
        coverage,
        skill,
    )


def shrunk_shift(remainder: Array, group: NDArray[np.intp]) -> tuple[float, float]:
    """Shift common to all samples, pulled towards none, and the spread of a next test.

    Parameters
    ----------
    remainder : array, shape (n,)
        Measured less predicted. [-]
    group : array of int, shape (n,)
        Sample of each test; tests of one sample count as one. [-]

    Returns
    -------
    shift, sd : float
        Expected remainder of a next sample and its standard deviation. [-]

    References
    ----------
    Normal prior and likelihood, closed form; their widths are guesses.
    """
    means = np.array([remainder[group == one].mean() for one in np.unique(group)])
    count = len(means)
    scatter = (float(np.sum((means - means.mean()) ** 2)) + SCATTER_TESTS * SCATTER_LN_SD**2) / (
        count - 1 + SCATTER_TESTS
    )
    pull = count * SHIFT_LN_SD**2 / (count * SHIFT_LN_SD**2 + scatter)
    left = SHIFT_LN_SD**2 * (1.0 - pull)
    return float(pull * means.mean()), float(np.sqrt(scatter + left))


def _wider(away: Array) -> float:
    """Factor on an interval that those left out fell outside of more than they should. [-]"""
    return max(1.0, float(np.sqrt(np.mean(away))))


def _foretold(
    points: Array, remainder: Array, group: NDArray[np.intp], asked: Array, process: bool
) -> tuple[Array, Array]:
    shift, sd = shrunk_shift(remainder, group)
    if not process or len(remainder) < PROCESS_TESTS:
        return np.full(len(asked), shift), np.full(len(asked), sd)
    from sklearn.exceptions import ConvergenceWarning
    from sklearn.gaussian_process import GaussianProcessRegressor
    from sklearn.gaussian_process.kernels import RBF, ConstantKernel, WhiteKernel

    centre, scale = points.mean(axis=0), points.std(axis=0)
    # A feature that never changed in the library tells nothing of what it does.
    scale = np.where(scale > 1e-9, scale, np.inf)
    kernel = ConstantKernel(0.05, (1e-4, 1.0)) * RBF(3.0, (1.0, 30.0)) + WhiteKernel(
        0.05, (1e-3, 1.0)
    )
    optimiser = "fmin_l_bfgs_b" if len(remainder) <= REFITTED else None
    model = GaussianProcessRegressor(kernel, alpha=1e-9, optimizer=optimiser)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", ConvergenceWarning)  # an end of a range is an answer
        model.fit((points - centre) / scale, remainder - shift)
        mean, spread = model.predict((asked - centre) / scale, return_std=True)
    return shift + np.asarray(mean), np.asarray(spread)
