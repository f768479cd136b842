"""From a gaussmeter to a roll: what an element of finite size reads, and the magnets behind it."""

from __future__ import annotations

from dataclasses import replace
from math import pi

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.optimize import brentq

from feedchar.errors import SettingError
from feedchar.field.checked import finite, not_negative, number, positive
from feedchar.field.harmonics import radial_decay, roll_harmonics
from feedchar.field.setting import Roll

Array = NDArray[np.float64]

STRIPS = 24
"""Strips into which the disc is cut across the roll axis, a Gauss rule on the chord."""

PLACES = 121
"""Places along the axis where the largest reading is looked for."""

WEAKEST_TESLA, STRONGEST_TESLA = 0.05, 2.5
"""Remanences among which the one behind a reading is looked for."""


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


def roll_of_reading(
    roll: Roll, reading_tesla: float, probe_m: float, probe_height_m: float
) -> Roll:
    """The roll whose magnets explain a gaussmeter reading.

    The steel saturates, so the field does not simply scale: the remanence is looked for at which
    the construction gives the reading.

    Parameters
    ----------
    roll : Roll
        Construction; its remanence is not used. [SI]
    reading_tesla : float
        Largest reading found along the roll. [T]
    probe_m : float
        Diameter of the element, 0 for a point. [m]
    probe_height_m : float
        From the bare roll to the middle of the element. [m]

    Returns
    -------
    Roll
        The same roll with that remanence. [SI]

    Raises
    ------
    SettingError
        A reading that no remanence within the table of field solutions explains.

    References
    ----------
    Derived here: the field of the cylinder averaged over a disc, roll_harmonics.csv.
    """
    wanted = float(
        positive("The reading", reading_tesla, "Give teslas, such as 1.1; 10 kG is 1 T.")
    )

    def reading(remanence_tesla: float) -> float:
        harmonics = roll_harmonics(
            roll.magnet_m,
            roll.steel_m,
            roll.roll_radius_m,
            roll.bore_radius_m,
            remanence_tesla,
            roll.steel_saturation_tesla,
        )
        return probe_reading(harmonics, roll.pitch_m, roll.roll_radius_m, probe_m, probe_height_m)

    least, most = remanence_reach(roll.steel_saturation_tesla)
    low, high = reading(least), reading(most)
    if not low <= wanted <= high:
        message = (
            f"A reading of {wanted:.4g} T at {1e3 * probe_height_m:g} mm is outside what this roll "
            f"can give: {low:.3g} to {high:.3g} T with remanences of {least:.3g} to {most:.3g} T. "
            "Check the height from the bare roll to the element, the size of the element, and "
            "whether the reading is in tesla."
        )
        raise SettingError(message)
    remanence = float(brentq(lambda value: reading(value) - wanted, least, most, xtol=1e-6))
    source = f"remanence from a reading of {wanted:g} T; {roll.source}".rstrip("; ")
    return replace(roll, remanence_tesla=remanence, source=source)


def remanence_reach(steel_saturation_tesla: float) -> tuple[float, float]:
    """Least and greatest remanence that the table of field solutions holds for a steel.

    Parameters
    ----------
    steel_saturation_tesla : float
        Saturation polarisation of the steel, 0 for spacers that are not magnetic. [T]

    Returns
    -------
    tuple of float
        Least and greatest remanence. [T]

    References
    ----------
    roll_harmonics.csv.
    """
    from feedchar.field.harmonics import NO_IRON_TESLA
    from feedchar.field.solutions import solution_table

    if steel_saturation_tesla < NO_IRON_TESLA:
        return WEAKEST_TESLA, STRONGEST_TESLA
    nodes = solution_table().nodes[1]
    low, high = nodes[0] * steel_saturation_tesla, nodes[-1] * steel_saturation_tesla
    return number(max(low, WEAKEST_TESLA)), number(min(high, STRONGEST_TESLA))
