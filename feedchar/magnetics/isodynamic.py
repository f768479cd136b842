"""The isodynamic laboratory separator: current and side slope against susceptibility."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from feedchar.constants import GRAVITY_M_S2, VACUUM_PERMEABILITY_T_M_A
from feedchar.field.checked import number, positive
from feedchar.units import M3_KG_PER_CM3_G

CALIBRATION_M3_A2_KG = 20e-6 * M3_KG_PER_CM3_G
"""Susceptibility that balances a slope of 90 degrees at 1 A; belongs to one magnet and must be
calibrated anew on each. [m³ A² kg⁻¹]"""


def isodynamic_susceptibility(
    current_a: ArrayLike,
    side_slope_rad: ArrayLike,
    calibration_m3_A2_kg: float = CALIBRATION_M3_A2_KG,
) -> Any:
    """Mass susceptibility of grains that just divide at a current and a side slope.

    Parameters
    ----------
    current_a : array_like
        Coil current. [A]
    side_slope_rad : array_like
        Side slope of the chute. [rad]
    calibration_m3_A2_kg : float
        Constant of the magnet. [m³ A² kg⁻¹]

    Returns
    -------
    float or array
        Mass susceptibility. [m³ kg⁻¹]

    Raises
    ------
    SettingError
        A current or a slope that is not positive.

    References
    ----------
    Hess; McAndrew (from memory): 20e-6 sin(slope) / current^2 in cm³/g.
    """
    current = positive("Current", current_a, "Give amperes, such as 0.4.")
    slope = positive("Side slope", side_slope_rad, "Give radians; 15 degrees are 0.262.")
    return number(calibration_m3_A2_kg * np.sin(slope) / current**2)


def isodynamic_current(
    susceptibility_m3_kg: ArrayLike,
    side_slope_rad: ArrayLike,
    calibration_m3_A2_kg: float = CALIBRATION_M3_A2_KG,
) -> Any:
    """Coil current at which grains of a susceptibility just divide.

    Parameters
    ----------
    susceptibility_m3_kg : array_like
        Mass susceptibility; what is not attracted never reports, whatever the current. [m³ kg⁻¹]
    side_slope_rad : array_like
        Side slope of the chute. [rad]
    calibration_m3_A2_kg : float
        Constant of the magnet. [m³ A² kg⁻¹]

    Returns
    -------
    float or array
        Current, infinite for a susceptibility of zero or below. [A]

    Raises
    ------
    SettingError
        A slope that is not positive.

    References
    ----------
    Hess; McAndrew (from memory): 20e-6 sin(slope) / current^2 in cm³/g.
    """
    chi = np.asarray(susceptibility_m3_kg, dtype=float)
    slope = positive("Side slope", side_slope_rad, "Give radians; 15 degrees are 0.262.")
    attracted = chi > 0.0
    square = calibration_m3_A2_kg * np.sin(slope) / np.where(attracted, chi, 1.0)
    return number(np.where(attracted, np.sqrt(square), np.inf))


def isodynamic_force_product(
    current_a: ArrayLike, calibration_m3_A2_kg: float = CALIBRATION_M3_A2_KG
) -> Any:
    """Force product across the chute: mu0 g I^2 over the constant of the magnet.

    Parameters
    ----------
    current_a : array_like
        Coil current; above about 1.5 A the poles saturate and this is too high. [A]
    calibration_m3_A2_kg : float
        Constant of the magnet. [m³ A² kg⁻¹]

    Returns
    -------
    float or array
        B dB/dx. [T² m⁻¹]

    Raises
    ------
    SettingError
        A current that is not positive.

    References
    ----------
    Derived from the calibration: the pull along the slope balances g sin(slope).
    """
    current = positive("Current", current_a, "Give amperes, such as 0.4.")
    return number(VACUUM_PERMEABILITY_T_M_A * GRAVITY_M_S2 * current**2 / calibration_m3_A2_kg)
