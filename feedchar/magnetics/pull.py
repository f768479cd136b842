"""The pull of a field on grains of finite size: spheres and flat flakes."""

from __future__ import annotations

from math import pi
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import j1

from feedchar.constants import VACUUM_PERMEABILITY_T_M_A
from feedchar.field.checked import finite, not_negative, number, positive

Array = NDArray[np.float64]

SERIES_BELOW = 0.5
"""Below this the closed forms lose digits to cancellation and the series is used. [-]"""

LARGEST_EXPONENT = 709.78
"""Natural logarithm of the largest float, rounded down. [-]"""


def sphere_average(x: ArrayLike) -> Any:
    """Volume average over a sphere of a force that falls exponentially, over its centre value.

    S(x) = 3 (x cosh x - sinh x) / x^3 with x = k d, for a square of the field that falls as
    e^(-2 k y). Beyond x of about 722, where it leaves the range of floats, the largest float.

    Parameters
    ----------
    x : array_like
        Wave number times diameter. [-]

    Returns
    -------
    float or array
        Average over centre value, 1 at x = 0. [-]

    References
    ----------
    Closed form; checked against a Monte Carlo average in the tests.
    """
    size = np.abs(np.asarray(x, dtype=float))
    # The logarithm reaches as far as the average itself, a little beyond exp alone.
    closed = np.maximum(size, SERIES_BELOW)
    logarithm = closed + np.log(_scaled_closed(closed))
    average = np.exp(np.minimum(logarithm, LARGEST_EXPONENT))
    return number(np.where(size < SERIES_BELOW, _series(size), average))


def scaled_sphere_average(x: ArrayLike) -> Any:
    """`sphere_average(x)` times e^(-x): finite for every x.

    Parameters
    ----------
    x : array_like
        Wave number times diameter, 0 or more. [-]

    Returns
    -------
    float or array
        Scaled average. [-]

    References
    ----------
    Closed form.
    """
    size = np.asarray(x, dtype=float)
    small = size < SERIES_BELOW
    near = _series(size) * np.exp(-np.minimum(size, SERIES_BELOW))
    return number(np.where(small, near, _scaled_closed(np.maximum(size, SERIES_BELOW))))


def flake_average(
    thickness_m: ArrayLike,
    diameter_m: ArrayLike,
    sum_wave_number_1_m: ArrayLike,
    difference_wave_number_1_m: ArrayLike = 0.0,
) -> Any:
    """Volume average over a flat disc of a product of two harmonics, over its centre value.

    The product of harmonics n and m falls as e^(-(n+m) k y) and goes along the roll as
    cos((n-m) k z), so the disc, lying flat, gives sinh(a)/a times 2 J1(q)/q with
    a = (n+m) k h / 2 and q = |n-m| k d / 2.

    Parameters
    ----------
    thickness_m : array_like
        Thickness h of the flake. [m]
    diameter_m : array_like
        Diameter d of the flake. [m]
    sum_wave_number_1_m : array_like
        (n + m) k. [m⁻¹]
    difference_wave_number_1_m : array_like
        |n - m| k; 0 for a single harmonic. [m⁻¹]

    Returns
    -------
    float or array
        Average over centre value. [-]

    References
    ----------
    Closed form; checked against a Monte Carlo average in the tests.
    """
    a = 0.5 * np.asarray(sum_wave_number_1_m, dtype=float) * np.asarray(thickness_m, dtype=float)
    q = (
        0.5
        * np.abs(np.asarray(difference_wave_number_1_m, dtype=float))
        * np.asarray(diameter_m, dtype=float)
    )
    return number(_sinh_over(a) * _disc_factor(q))


def magnetic_acceleration(
    susceptibility_m3_kg: ArrayLike,
    b1_tesla: ArrayLike,
    pitch_m: ArrayLike,
    height_m: ArrayLike,
    diameter_m: ArrayLike = 0.0,
) -> Any:
    """Pull on a sphere in a single exponential field, per unit mass, positive towards the roll.

    chi/mu0 k B1^2 e^(-2 k y) S(k d), k = pi / pitch: the planar fundamental, a lower bound near
    the roll (the other harmonics add a fifth at 0.5 mm over a pitch of 5 mm).

    Parameters
    ----------
    susceptibility_m3_kg : array_like
        Mass susceptibility, negative for a diamagnet. [m³ kg⁻¹]
    b1_tesla : array_like
        Radial first harmonic at the bare roll surface. [T]
    pitch_m : array_like
        Magnet plus steel. [m]
    height_m : array_like
        Height of the grain centre above the bare roll. [m]
    diameter_m : array_like
        Diameter, 0 for a point. [m]

    Returns
    -------
    float or array
        Acceleration, the arguments broadcast. [m s⁻²]

    Raises
    ------
    SettingError
        A figure that cannot be.

    References
    ----------
    Force on a weakly magnetic grain from memory; the sphere average is closed form.
    """
    chi = finite("Mass susceptibility", susceptibility_m3_kg, "Give m3/kg, such as 5e-7.")
    b1 = not_negative("First harmonic B1", b1_tesla, "Give teslas, such as 1.1.")
    k = pi / positive("Pitch", pitch_m, "Give metres, such as 0.005.")
    height = not_negative("Height above the roll", height_m, "Give metres, such as 0.0004.")
    x = k * not_negative("Grain diameter", diameter_m, "Give metres, such as 0.0003.")
    # One exponent for the decay and the sphere average, so that neither overflows.
    with np.errstate(under="ignore", over="ignore"):
        fall = np.exp(np.minimum(x - 2.0 * k * height, 700.0)) * scaled_sphere_average(x)
    return number(chi / VACUUM_PERMEABILITY_T_M_A * k * b1**2 * fall)


def _series(x: Array) -> Array:
    """S(x) for small x, good to the last digit below SERIES_BELOW."""
    s = np.minimum(x, SERIES_BELOW) ** 2
    return 1.0 + s / 10.0 * (
        1.0 + s / 28.0 * (1.0 + s / 54.0 * (1.0 + s / 88.0 * (1.0 + s / 130.0)))
    )


def _scaled_closed(x: Array) -> Array:
    """S(x) e^(-x) by the closed form."""
    return np.asarray(1.5 * (x - 1.0 + (x + 1.0) * np.exp(-2.0 * x)) / x**3)


def _sinh_over(a: Array) -> Array:
    """sinh(a)/a, 1 at 0, the largest float where it leaves the range."""
    small = np.abs(a) < 1e-3
    safe = np.where(small, 1.0, np.minimum(np.abs(a), 709.0))
    return np.where(small, 1.0 + a**2 / 6.0, np.sinh(safe) / safe)


def _disc_factor(q: Array) -> Array:
    """2 J1(q)/q, 1 at 0."""
    small = np.abs(q) < 1e-3
    safe = np.where(small, 1.0, q)
    return np.where(small, 1.0 - q**2 / 8.0, 2.0 * j1(safe) / safe)
