"""Drag of still air on a grain, and the speed at which it falls."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from feedchar.constants import AIR_DENSITY_KG_M3, AIR_VISCOSITY_PA_S, GRAVITY_M_S2
from feedchar.field.checked import number, positive

DENSITY_RIGHT = "Give kg/m3, such as 2650."


def drag_coefficient(reynolds: ArrayLike) -> Any:
    """Drag coefficient of a sphere.

    Parameters
    ----------
    reynolds : array_like
        Particle Reynolds number; the law is good to about 5 % up to 1000. [-]

    Returns
    -------
    float or array
        24/Re (1 + 0.15 Re^0.687). [-]

    Raises
    ------
    SettingError
        A Reynolds number that is not positive.

    References
    ----------
    Schiller and Naumann 1933, Z. Ver. Dtsch. Ing. 77, 318 (from memory).
    """
    re = positive("Reynolds number", reynolds, "Give a positive number.")
    return number(24.0 / re * (1.0 + 0.15 * re**0.687))


def drag_rate(speed_m_s: ArrayLike, density_kg_m3: ArrayLike, diameter_m: ArrayLike) -> Any:
    """Deceleration of a sphere by air over its speed.

    Parameters
    ----------
    speed_m_s : array_like
        Speed relative to the air. [m s⁻¹]
    density_kg_m3 : array_like
        Grain density. [kg m⁻³]
    diameter_m : array_like
        Diameter. [m]

    Returns
    -------
    float or array
        18 mu / (rho d^2) (1 + 0.15 Re^0.687). [s⁻¹]

    References
    ----------
    Schiller and Naumann 1933, Z. Ver. Dtsch. Ing. 77, 318 (from memory).
    """
    diameter = np.asarray(diameter_m, dtype=float)
    stokes = 18.0 * AIR_VISCOSITY_PA_S / (np.asarray(density_kg_m3, dtype=float) * diameter**2)
    re = AIR_DENSITY_KG_M3 * diameter / AIR_VISCOSITY_PA_S * np.asarray(speed_m_s, dtype=float)
    return number(stokes * (1.0 + 0.15 * re**0.687))


def terminal_velocity(density_kg_m3: ArrayLike, diameter_m: ArrayLike) -> Any:
    """Terminal velocity of a sphere falling in air, buoyancy left out.

    Parameters
    ----------
    density_kg_m3 : array_like
        Grain density. [kg m⁻³]
    diameter_m : array_like
        Diameter. [m]

    Returns
    -------
    float or array
        Speed at which drag equals weight. [m s⁻¹]

    Raises
    ------
    SettingError
        A figure that cannot be.

    References
    ----------
    Schiller and Naumann 1933, Z. Ver. Dtsch. Ing. 77, 318 (from memory).
    """
    density = positive("Grain density", density_kg_m3, DENSITY_RIGHT)
    diameter = positive("Grain diameter", diameter_m, "Give metres, such as 0.0003.")
    stokes = density * diameter**2 * GRAVITY_M_S2 / (18.0 * AIR_VISCOSITY_PA_S)
    a = 0.15 * (AIR_DENSITY_KG_M3 * diameter / AIR_VISCOSITY_PA_S) ** 0.687
    speed = stokes * np.ones_like(a)
    for _ in range(60):  # Newton on a convex, rising function from above: monotone
        excess = speed * (1.0 + a * speed**0.687) - stokes
        step = excess / (1.0 + 1.687 * a * speed**0.687)
        speed = speed - step
        if np.all(np.abs(step) <= 1e-14 * speed):
            break
    return number(speed)
