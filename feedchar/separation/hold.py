"""What holds a grain on the belt: flux density, angle of release, highest speed.

Radial balance of a grain at an angle from the top of the roll, per unit mass:
pull + g cos(angle) against v^2 / Rc. The field is the planar fundamental, B1 e^(-k y), with the
sphere average, so that a field needed can be compared between machines.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from feedchar.constants import GRAVITY_M_S2, VACUUM_PERMEABILITY_T_M_A
from feedchar.errors import SettingError
from feedchar.field.checked import finite, not_negative, number
from feedchar.magnetics.pull import magnetic_acceleration
from feedchar.separation.mechanics import check_pitch, contact

CHI_RIGHT = "Give m3/kg, such as 5e-7; negative for a diamagnet."


def flux_density_to_hold(
    susceptibility_m3_kg: ArrayLike,
    diameter_m: ArrayLike,
    grain_speed_m_s: ArrayLike,
    roll_radius_m: ArrayLike,
    belt_thickness_m: ArrayLike,
    pitch_m: ArrayLike,
    angle_rad: ArrayLike,
) -> Any:
    """B1 at the bare roll that holds a sphere on the belt to an angle from the top.

    Parameters
    ----------
    susceptibility_m3_kg : array_like
        Mass susceptibility. [m³ kg⁻¹]
    diameter_m : array_like
        Grain diameter. [m]
    grain_speed_m_s : array_like
        Speed of the grain centre. [m s⁻¹]
    roll_radius_m : array_like
        Radius of the bare roll. [m]
    belt_thickness_m : array_like
        Belt thickness. [m]
    pitch_m : array_like
        Magnet plus steel. [m]
    angle_rad : array_like
        Angle from the top of the roll, 0 to pi. [rad]

    Returns
    -------
    float or array
        Radial first harmonic at the roll surface; 0 where gravity alone holds, infinite where a
        susceptibility of 0 or below would have to be held. [T]

    Raises
    ------
    SettingError
        A figure that cannot be.

    References
    ----------
    Radial balance, derived here; the planar exponential field and its sphere average.
    """
    grain = contact(diameter_m, grain_speed_m_s, roll_radius_m, belt_thickness_m)
    check_pitch(pitch_m, roll_radius_m, belt_thickness_m)
    angle = _angle(angle_rad)
    chi = finite("Mass susceptibility", susceptibility_m3_kg, CHI_RIGHT)
    needed = np.maximum(grain.centrifugal_m_s2 - GRAVITY_M_S2 * np.cos(angle), 0.0)
    per_square = magnetic_acceleration(
        np.maximum(chi, 0.0), 1.0, pitch_m, grain.height_m, diameter_m
    )
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        return number(np.where(needed > 0.0, np.sqrt(needed / per_square), 0.0))


def detachment_angle(
    susceptibility_m3_kg: ArrayLike,
    diameter_m: ArrayLike,
    grain_speed_m_s: ArrayLike,
    roll_radius_m: ArrayLike,
    belt_thickness_m: ArrayLike,
    pitch_m: ArrayLike,
    b1_tesla: ArrayLike,
) -> Any:
    """Angle from the top of the roll at which a sphere leaves the belt.

    Parameters
    ----------
    susceptibility_m3_kg : array_like
        Mass susceptibility. [m³ kg⁻¹]
    diameter_m : array_like
        Grain diameter. [m]
    grain_speed_m_s : array_like
        Speed of the grain centre. [m s⁻¹]
    roll_radius_m : array_like
        Radius of the bare roll. [m]
    belt_thickness_m : array_like
        Belt thickness. [m]
    pitch_m : array_like
        Magnet plus steel. [m]
    b1_tesla : array_like
        Radial first harmonic at the roll surface. [T]

    Returns
    -------
    float or array
        0 when it leaves at the top, pi when the belt carries it under the roll. [rad]

    Raises
    ------
    SettingError
        A figure that cannot be.

    References
    ----------
    Radial balance, derived here; the planar exponential field and its sphere average.
    """
    grain = contact(diameter_m, grain_speed_m_s, roll_radius_m, belt_thickness_m)
    check_pitch(pitch_m, roll_radius_m, belt_thickness_m)
    pull = magnetic_acceleration(
        susceptibility_m3_kg, b1_tesla, pitch_m, grain.height_m, diameter_m
    )
    return number(np.arccos(np.clip((grain.centrifugal_m_s2 - pull) / GRAVITY_M_S2, -1.0, 1.0)))


def highest_grain_speed(
    pull_m_s2: ArrayLike, path_radius_m: ArrayLike, angle_rad: ArrayLike = np.pi / 2
) -> Any:
    """Highest speed of the grain centre at which a pull still holds it to an angle.

    Parameters
    ----------
    pull_m_s2 : array_like
        Pull towards the roll per unit mass. [m s⁻²]
    path_radius_m : array_like
        Radius of the path of the grain centre. [m]
    angle_rad : array_like
        Angle from the top of the roll, 0 to pi. [rad]

    Returns
    -------
    float or array
        sqrt((pull + g cos(angle)) Rc), 0 where nothing holds. [m s⁻¹]

    Raises
    ------
    SettingError
        A figure that cannot be.

    References
    ----------
    Radial balance, derived here.
    """
    pull = finite("Pull", pull_m_s2, "Give m/s2.")
    radius = not_negative("Path radius", path_radius_m, "Give metres, such as 0.05.")
    inward = pull + GRAVITY_M_S2 * np.cos(_angle(angle_rad))
    return number(np.sqrt(np.maximum(inward, 0.0) * radius))


def force_product_to_hold(
    susceptibility_m3_kg: ArrayLike,
    grain_speed_m_s: ArrayLike,
    path_radius_m: ArrayLike,
    angle_rad: ArrayLike = np.pi / 2,
) -> Any:
    """Force product at the grain, mean over it, that holds it on the belt to an angle.

    Parameters
    ----------
    susceptibility_m3_kg : array_like
        Mass susceptibility. [m³ kg⁻¹]
    grain_speed_m_s : array_like
        Speed of the grain centre. [m s⁻¹]
    path_radius_m : array_like
        Radius of the path of the grain centre. [m]
    angle_rad : array_like
        Angle from the top of the roll, 0 to pi. [rad]

    Returns
    -------
    float or array
        mu0 (v^2/Rc - g cos(angle)) / chi; 0 where gravity alone holds, infinite where a
        susceptibility of 0 or below would have to be held. [T² m⁻¹]

    Raises
    ------
    SettingError
        A figure that cannot be.

    References
    ----------
    Radial balance, derived here.
    """
    chi = finite("Mass susceptibility", susceptibility_m3_kg, CHI_RIGHT)
    speed = not_negative("Grain speed", grain_speed_m_s, "Give metres per second, such as 1.5.")
    radius = np.asarray(path_radius_m, dtype=float)
    needed = np.maximum(speed**2 / radius - GRAVITY_M_S2 * np.cos(_angle(angle_rad)), 0.0)
    with np.errstate(divide="ignore", invalid="ignore"):
        product = VACUUM_PERMEABILITY_T_M_A * needed / np.maximum(chi, 0.0)
    return number(np.where(needed > 0.0, product, 0.0))


def _angle(angle_rad: ArrayLike) -> Any:
    angle = np.asarray(angle_rad, dtype=float)
    if not np.all((angle >= 0.0) & (angle <= np.pi + 1e-9)):
        message = "The angle must be from 0 (top of the roll) to pi (below it), in radians"
        raise SettingError(message)
    return angle
