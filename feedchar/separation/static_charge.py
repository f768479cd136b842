"""Grains held by their own charge: image force on the belt, and the most charge that air allows."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from feedchar.constants import GRAVITY_M_S2
from feedchar.field.checked import number, positive

VACUUM_PERMITTIVITY_F_M = 8.8541878128e-12
"""Electric constant, CODATA 2018. [F m⁻¹]"""


AIR_BREAKDOWN_V_M = 3e6
"""Field at which dry air breaks down (from memory). [V m⁻¹]"""


def image_force_over_weight(
    charge_C_m2: ArrayLike, diameter_m: ArrayLike, density_kg_m3: ArrayLike
) -> Any:
    """Electrostatic image force of a charged sphere on a conducting belt over its weight.

    Parameters
    ----------
    charge_C_m2 : array_like
        Surface charge; dry rubbed silicates have 1e-6 to 1e-5 (from memory). [C m⁻²]
    diameter_m : array_like
        Grain diameter. [m]
    density_kg_m3 : array_like
        Grain density. [kg m⁻³]

    Returns
    -------
    float or array
        1.5 sigma^2 / (eps0 rho g d). [-]

    Raises
    ------
    SettingError
        A figure that is not positive.

    References
    ----------
    Image of a point charge in a plane, derived here.
    """
    charge = np.asarray(charge_C_m2, dtype=float)
    density = positive("Grain density", density_kg_m3, "Give kg/m3, such as 2650.")
    diameter = positive("Grain diameter", diameter_m, "Give metres, such as 0.0001.")
    weight = VACUUM_PERMITTIVITY_F_M * density * GRAVITY_M_S2 * diameter
    return number(1.5 * charge**2 / weight)


def breakdown_charge(breakdown_V_m: ArrayLike = AIR_BREAKDOWN_V_M) -> Any:
    """Surface charge at which the air at a grain breaks down.

    Parameters
    ----------
    breakdown_V_m : array_like
        Field of breakdown. [V m⁻¹]

    Returns
    -------
    float or array
        eps0 E. [C m⁻²]

    Raises
    ------
    SettingError
        A field that is not positive.

    References
    ----------
    Gauss's law, closed form.
    """
    field = positive("Field of breakdown", breakdown_V_m, "Give volts per metre, such as 3e6.")
    return number(VACUUM_PERMITTIVITY_F_M * field)
