"""How much sand a belt carries one grain deep."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from feedchar.errors import SettingError
from feedchar.field.checked import not_negative, number, positive


def single_layer_capacity(
    density_kg_m3: ArrayLike,
    diameter_m: ArrayLike,
    coverage: ArrayLike,
    belt_speed_m_s: ArrayLike,
) -> Any:
    """Mass flow of a single layer of spheres, per metre of belt width.

    The shadows of the grains cover a share c of the belt: mass per area (2/3) c rho d.

    Parameters
    ----------
    density_kg_m3 : array_like
        Grain density. [kg m⁻³]
    diameter_m : array_like
        Grain diameter; of a mixture the Sauter mean, see `sauter_mean`. [m]
    coverage : array_like
        Share of the belt under the grains' shadows; equal spheres touch at 0.907. [-]
    belt_speed_m_s : array_like
        Belt speed. [m s⁻¹]

    Returns
    -------
    float or array
        Mass flow per width; times 3.6 it is in t/h per metre. [kg s⁻¹ m⁻¹]

    Raises
    ------
    SettingError
        A figure that cannot be.

    References
    ----------
    Geometry of spheres, derived here.
    """
    density = positive("Grain density", density_kg_m3, "Give kg/m3, such as 2650.")
    diameter = positive("Grain diameter", diameter_m, "Give metres, such as 0.0003.")
    cover = not_negative("Coverage", coverage, "Give a share from 0 to 1, such as 0.7.")
    if np.any(cover > 1.0):
        message = (
            f"Coverage must be a share from 0 to 1, found {float(np.max(cover)):g}. "
            "A full single layer of equal spheres has 0.907."
        )
        raise SettingError(message)
    speed = not_negative("Belt speed", belt_speed_m_s, "Give metres per second, such as 1.5.")
    return number(2.0 / 3.0 * cover * density * diameter * speed)


def sauter_mean(mass_fraction: ArrayLike, diameter_m: ArrayLike) -> float:
    """Sauter mean diameter of a mixture of one density, 1 / sum(w / d).

    Parameters
    ----------
    mass_fraction : array_like, shape (S,)
        Mass of each size; scaled to sum to 1. [-]
    diameter_m : array_like, shape (S,)
        Diameter of each size. [m]

    Returns
    -------
    float
        The diameter with the mixture's surface per volume. [m]

    Raises
    ------
    SettingError
        No mass, a negative one, or a diameter that cannot be.

    References
    ----------
    Definition of the surface-volume mean.
    """
    mass = not_negative("Mass fraction", mass_fraction, "Give shares such as 0.3, 0.4, 0.3.")
    diameter = positive("Grain diameter", diameter_m, "Give metres, such as 0.0003.")
    if mass.sum() <= 0.0:
        message = "There is no mass to average over. Give shares such as 0.3, 0.4, 0.3."
        raise SettingError(message)
    return float(mass.sum() / (mass / diameter).sum())
