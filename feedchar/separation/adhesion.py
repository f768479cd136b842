"""Forces between a dry grain and the belt in contact: how large adhesion can be."""

from __future__ import annotations

from math import pi
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from feedchar.constants import GRAVITY_M_S2
from feedchar.field.checked import not_negative, number, positive


def smooth_sphere_adhesion(
    diameter_m: ArrayLike, hamaker_J: ArrayLike = 6.5e-20, distance_m: ArrayLike = 4e-10
) -> Any:
    """Van der Waals pull-off force of a smooth sphere on a plane, A d / (12 z^2).

    Natural grains are rough and hold with a hundredth of this: see `asperity_adhesion`.

    Parameters
    ----------
    diameter_m : array_like
        Grain diameter. [m]
    hamaker_J : array_like
        Hamaker constant. [J]
    distance_m : array_like
        Contact distance. [m]

    Returns
    -------
    float or array
        Force. [N]

    Raises
    ------
    SettingError
        A figure that is not positive.

    References
    ----------
    Hamaker's theory (from memory).
    """
    distance = positive("Contact distance", distance_m, "Give metres, such as 4e-10.")
    constant = positive("Hamaker constant", hamaker_J, "Give joules, such as 6.5e-20.")
    diameter = positive("Grain diameter", diameter_m, "Give metres, such as 0.0001.")
    return number(constant * diameter / (12.0 * distance**2))


def asperity_adhesion(
    radius_m: ArrayLike = 1e-7, hamaker_J: ArrayLike = 6.5e-20, distance_m: ArrayLike = 4e-10
) -> Any:
    """Van der Waals pull-off force of one round asperity on a plane, A r / (6 z^2).

    Parameters
    ----------
    radius_m : array_like
        Radius of the asperity. [m]
    hamaker_J : array_like
        Hamaker constant. [J]
    distance_m : array_like
        Contact distance. [m]

    Returns
    -------
    float or array
        Force, whatever the size of the grain. [N]

    Raises
    ------
    SettingError
        A figure that is not positive.

    References
    ----------
    Hamaker's theory (from memory).
    """
    radius = positive("Radius of the asperity", radius_m, "Give metres, such as 1e-7.")
    return smooth_sphere_adhesion(2.0 * radius, hamaker_J, distance_m)


def sphere_weight(density_kg_m3: ArrayLike, diameter_m: ArrayLike) -> Any:
    """Weight of a spherical grain.

    Parameters
    ----------
    density_kg_m3 : array_like
        Grain density. [kg m⁻³]
    diameter_m : array_like
        Grain diameter. [m]

    Returns
    -------
    float or array
        Weight. [N]

    Raises
    ------
    SettingError
        A figure that is not positive.

    References
    ----------
    Definition.
    """
    density = positive("Grain density", density_kg_m3, "Give kg/m3, such as 2650.")
    diameter = positive("Grain diameter", diameter_m, "Give metres, such as 0.0001.")
    return number(density * pi / 6.0 * diameter**3 * GRAVITY_M_S2)


def diameter_held_by(force_N: ArrayLike, density_kg_m3: ArrayLike) -> Any:
    """Diameter of the sphere whose weight equals a force: finer grains hang by it.

    Parameters
    ----------
    force_N : array_like
        Adhesion. [N]
    density_kg_m3 : array_like
        Grain density. [kg m⁻³]

    Returns
    -------
    float or array
        Diameter. [m]

    Raises
    ------
    SettingError
        A figure that cannot be.

    References
    ----------
    Definition.
    """
    force = not_negative("Force", force_N, "Give newtons, such as 1e-8.")
    density = positive("Grain density", density_kg_m3, "Give kg/m3, such as 2650.")
    return number(np.cbrt(6.0 * force / (pi * density * GRAVITY_M_S2)))
