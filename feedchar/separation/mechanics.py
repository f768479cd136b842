"""Checks of roll, belt and grain as mechanics, and the few lengths and speeds all modules share."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from feedchar.constants import GRAVITY_M_S2
from feedchar.errors import SettingError
from feedchar.field.checked import not_negative, number, positive

Array = NDArray[np.float64]

DIAMETER_RIGHT = "Give metres, such as 0.0003 for 300 um."
SPEED_RIGHT = "Give metres per second, such as 1.5; a belt at rest separates nothing."
RADIUS_RIGHT = "Give metres, such as 0.05."
BELT_RIGHT = "Give metres, such as 0.0002."


@dataclass(frozen=True)
class Contact:
    """Grain, belt and roll that passed the checks, as arrays that broadcast."""

    diameter_m: Array
    grain_speed_m_s: Array
    roll_radius_m: Array
    belt_thickness_m: Array

    @property
    def height_m(self) -> Array:
        """Height of the grain centre above the bare roll. [m]"""
        return self.belt_thickness_m + 0.5 * self.diameter_m

    @property
    def path_radius_m(self) -> Array:
        """Radius of the path of the grain centre, Rc = R + t + d/2. [m]"""
        return self.roll_radius_m + self.height_m

    @property
    def centrifugal_m_s2(self) -> Array:
        """v^2 / Rc. [m s⁻²]"""
        return self.grain_speed_m_s**2 / self.path_radius_m


def contact(
    diameter_m: ArrayLike,
    grain_speed_m_s: ArrayLike,
    roll_radius_m: ArrayLike,
    belt_thickness_m: ArrayLike,
) -> Contact:
    """Grain on a belt over a roll, refused where it cannot be.

    Parameters
    ----------
    diameter_m : array_like
        Grain diameter. [m]
    grain_speed_m_s : array_like
        Speed of the grain centre. [m s⁻¹]
    roll_radius_m : array_like
        Radius of the bare roll. [m]
    belt_thickness_m : array_like
        Belt thickness, 0 for a bare roll. [m]

    Returns
    -------
    Contact
        The same figures. [SI]

    Raises
    ------
    SettingError
        A length or speed that cannot be, or a grain larger than the roll's radius.

    References
    ----------
    Geometry, derived here.
    """
    diameter = positive("Grain diameter", diameter_m, DIAMETER_RIGHT)
    radius = positive("Radius of the roll", roll_radius_m, RADIUS_RIGHT)
    if np.any(diameter > radius):
        message = (
            f"A grain of {1e3 * float(np.max(diameter)):g} mm is larger than the roll radius "
            f"({1e3 * float(np.min(radius)):g} mm). {DIAMETER_RIGHT}"
        )
        raise SettingError(message)
    return Contact(
        diameter,
        positive("Grain speed", grain_speed_m_s, SPEED_RIGHT),
        radius,
        not_negative("Belt thickness", belt_thickness_m, BELT_RIGHT),
    )


def check_pitch(pitch_m: ArrayLike, roll_radius_m: ArrayLike, belt_thickness_m: ArrayLike) -> Array:
    """A pitch that fits roll and belt.

    Parameters
    ----------
    pitch_m : array_like
        Magnet plus steel. [m]
    roll_radius_m : array_like
        Radius of the bare roll. [m]
    belt_thickness_m : array_like
        Belt thickness. [m]

    Returns
    -------
    array
        The pitch. [m]

    Raises
    ------
    SettingError
        A pitch above the roll's radius, or a belt thicker than the pitch.

    References
    ----------
    Derived here: at a height of one pitch the force has fallen to e^(-2 pi), 0.2 %.
    """
    pitch = positive("Pitch", pitch_m, "Give metres, such as 0.005.")
    if np.any(pitch > np.asarray(roll_radius_m, dtype=float)):
        message = (
            f"The pitch ({1e3 * float(np.max(pitch)):g} mm) is larger than the roll radius "
            f"({1e3 * float(np.min(roll_radius_m)):g} mm); give a pitch below the radius."
        )
        raise SettingError(message)
    if np.any(np.asarray(belt_thickness_m, dtype=float) > pitch):
        message = (
            f"The belt ({1e3 * float(np.max(belt_thickness_m)):g} mm) is thicker than the pitch "
            f"({1e3 * float(np.min(pitch)):g} mm), where no pull is left. Belts have 0.1 to 1 mm."
        )
        raise SettingError(message)
    return pitch


def grain_speed(
    belt_speed_m_s: ArrayLike,
    roll_radius_m: ArrayLike,
    belt_thickness_m: ArrayLike,
    half_height_m: ArrayLike,
) -> Any:
    """Speed of the centre of a grain that rides on the belt around the roll.

    Parameters
    ----------
    belt_speed_m_s : array_like
        Speed of the outside of the belt. [m s⁻¹]
    roll_radius_m : array_like
        Radius of the bare roll. [m]
    belt_thickness_m : array_like
        Belt thickness. [m]
    half_height_m : array_like
        Height of the grain centre above the belt. [m]

    Returns
    -------
    float or array
        Speed times Rc / (R + t). [m s⁻¹]

    References
    ----------
    Rotation of a rigid body, closed form.
    """
    face = np.asarray(roll_radius_m, dtype=float) + np.asarray(belt_thickness_m, dtype=float)
    return number(np.asarray(belt_speed_m_s) * (1.0 + np.asarray(half_height_m) / face))


def throw_off_speed(path_radius_m: ArrayLike) -> Any:
    """Speed above which a grain without pull or adhesion leaves at the top of the roll.

    Parameters
    ----------
    path_radius_m : array_like
        Radius of the path of the grain centre. [m]

    Returns
    -------
    float or array
        sqrt(g Rc). [m s⁻¹]

    Raises
    ------
    SettingError
        A radius that is not positive.

    References
    ----------
    Radial balance on a belt, derived here.
    """
    return number(np.sqrt(GRAVITY_M_S2 * positive("Path radius", path_radius_m, RADIUS_RIGHT)))
