"""What the element of a gaussmeter, of finite size, reads above a roll."""

from __future__ import annotations

from math import pi

import numpy as np
from numpy.typing import ArrayLike, NDArray

from feedchar.field.checked import finite, not_negative
from feedchar.field.series import radial_decay

Array = NDArray[np.float64]

STRIPS = 24
"""Strips into which the disc is cut across the roll axis, a Gauss rule on the chord."""

PLACES = 121
"""Places along the axis where the largest reading is looked for."""


def probe_flux_density(
    harmonics: ArrayLike,
    pitch_m: float,
    roll_radius_m: float,
    probe_m: float,
    probe_height_m: float,
    axial_m: ArrayLike,
) -> Array:
    """Flux density through a round flat element that lies tangent to the roll.

    The mean over the disc of the component along its normal: each strip across the axis averages
    sin(nkz) along its chord, and lies further from the roll the further out it is.

    Parameters
    ----------
    harmonics : array_like, shape (N,)
        Odd radial harmonics at the bare roll surface. [T]
    pitch_m : float
        Magnet plus steel. [m]
    roll_radius_m : float
        Radius of the bare roll. [m]
    probe_m : float
        Diameter of the element, 0 for a point. [m]
    probe_height_m : float
        From the bare roll to the middle of the element. [m]
    axial_m : array_like, shape (...)
        Place along the axis from mid-magnet. [m]

    Returns
    -------
    array, shape (...)
        Reading. [T]

    Raises
    ------
    SettingError
        A length that cannot be.

    References
    ----------
    Derived here: the field of the cylinder averaged over a disc.
    """
    amplitude = finite("A harmonic", harmonics, "Give teslas, first harmonic first.")
    size = float(not_negative("Size of the probe", probe_m, "Give metres, such as 0.001."))
    height = float(not_negative("Height of the probe", probe_height_m, "Give metres, as 0.0003."))
    along = finite("Distance along the axis", axial_m, "Give metres from mid-magnet.")[..., None]
    points, weights = np.polynomial.legendre.leggauss(STRIPS)
    angle = 0.5 * pi * points
    # Strips at x = a sin(angle) with half chord a cos(angle): weight cos^2 over the disc.
    share = weights * np.cos(angle) ** 2
    share /= share.sum()
    across, chord = 0.5 * size * np.sin(angle), 0.5 * size * np.cos(angle)
    distance = np.hypot(roll_radius_m + height, across)
    nk, radial, _ = radial_decay(len(amplitude), pitch_m, roll_radius_m, distance - roll_radius_m)
    tilt = (roll_radius_m + height) / distance
    blur = np.sinc(nk * chord[:, None] / pi)
    through = amplitude * ((share * tilt)[:, None] * radial * blur).sum(axis=0)
    return np.asarray((through * np.sin(nk * along)).sum(axis=-1))


def probe_reading(
    harmonics: ArrayLike,
    pitch_m: float,
    roll_radius_m: float,
    probe_m: float,
    probe_height_m: float,
) -> float:
    """The largest flux density that an element finds as it is moved along the roll.

    Parameters
    ----------
    harmonics : array_like, shape (N,)
        Odd radial harmonics at the bare roll surface. [T]
    pitch_m : float
        Magnet plus steel. [m]
    roll_radius_m : float
        Radius of the bare roll. [m]
    probe_m : float
        Diameter of the element, 0 for a point. [m]
    probe_height_m : float
        From the bare roll to the middle of the element. [m]

    Returns
    -------
    float
        Reading. [T]

    Raises
    ------
    SettingError
        A length that cannot be.

    References
    ----------
    Derived here: the field of the cylinder averaged over a disc.
    """
    places = np.linspace(0.0, pitch_m, PLACES)
    return float(
        probe_flux_density(harmonics, pitch_m, roll_radius_m, probe_m, probe_height_m, places).max()
    )
