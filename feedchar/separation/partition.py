"""Partition curves of the textbooks, kept to compare with: on a roll they fail by half.

Against single-grain simulation a curve in the ratio of pull to v^2/Rc is 48 % off in product iron,
because the real force has a hard lower end, grains in flight are still pulled, flakes sit lower
than spheres and fines land inside the edge whatever they are. `separate` does not use them.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from feedchar.field.checked import number, positive

POSITIVE = "Give a number above 0."


def logistic_partition(x: ArrayLike, x50: ArrayLike, sharpness: ArrayLike) -> Any:
    """Share taken by a logistic curve in the logarithm of x.

    Parameters
    ----------
    x : array_like
        Pull, susceptibility or their ratio to what is needed. [any]
    x50 : array_like
        Value at which half is taken. [as x]
    sharpness : array_like
        Exponent n. [-]

    Returns
    -------
    float or array
        1 / (1 + (x50/x)^n). [-]

    Raises
    ------
    SettingError
        A figure that is not positive.

    References
    ----------
    Mineral-processing texts (from memory).
    """
    ratio = positive("Cut point", x50, POSITIVE) / positive("Value", x, POSITIVE)
    return number(1.0 / (1.0 + ratio ** positive("Sharpness", sharpness, POSITIVE)))


def logistic_quartile_ratio(sharpness: ArrayLike) -> Any:
    """Ratio of the 75 % point to the 25 % point of a logistic curve.

    Parameters
    ----------
    sharpness : array_like
        Exponent n. [-]

    Returns
    -------
    float or array
        9^(1/n). [-]

    Raises
    ------
    SettingError
        A sharpness that is not positive.

    References
    ----------
    Closed form.
    """
    return number(9.0 ** (1.0 / positive("Sharpness", sharpness, POSITIVE)))


def logistic_sharpness_of_spread(ln_sd: ArrayLike) -> Any:
    """Exponent of the logistic curve that is as wide as a log-normal one.

    Parameters
    ----------
    ln_sd : array_like
        Standard deviation in ln x. [-]

    Returns
    -------
    float or array
        1.702 / s. [-]

    Raises
    ------
    SettingError
        A spread that is not positive.

    References
    ----------
    The usual approximation of the normal by the logistic distribution (from memory).
    """
    return number(1.702 / positive("Spread", ln_sd, POSITIVE))


def weibull_partition(x: ArrayLike, x50: ArrayLike, shape: ArrayLike) -> Any:
    """Share taken by a cumulative Weibull curve.

    Parameters
    ----------
    x : array_like
        Pull, susceptibility or their ratio to what is needed. [any]
    x50 : array_like
        Value at which half is taken. [as x]
    shape : array_like
        Exponent m. [-]

    Returns
    -------
    float or array
        1 - exp(-ln 2 (x/x50)^m). [-]

    Raises
    ------
    SettingError
        A figure that is not positive.

    References
    ----------
    Mineral-processing texts (from memory).
    """
    ratio = positive("Value", x, POSITIVE) / positive("Cut point", x50, POSITIVE)
    return number(-np.expm1(-np.log(2.0) * ratio ** positive("Shape", shape, POSITIVE)))


def left_after_passes(
    taken: ArrayLike, passes: int, bypass: ArrayLike = 0.0, entrainment: ArrayLike = 0.0
) -> Any:
    """Share left in the non-magnetics after equal passes, every grain with a fresh chance.

    The textbook form. It makes second passes too good where the spread sits in the grains, so
    `separate` averages over what is permanent in a grain after the passes.

    Parameters
    ----------
    taken : array_like
        Share a pass takes of the grains that meet the field. [-]
    passes : int
        Number of passes. [-]
    bypass : array_like
        Share that never meets the field. [-]
    entrainment : array_like
        Share of the rest that is carried along. [-]

    Returns
    -------
    float or array
        ((1-e)(1-(1-b)P))^N. [-]

    References
    ----------
    Independent passes, closed form.
    """
    once = 1.0 - (1.0 - np.asarray(bypass)) * np.asarray(taken, dtype=float)
    return number(((1.0 - np.asarray(entrainment)) * once) ** passes)
