"""Grains of magnetite and its kin: how far a field has saturated them."""

from __future__ import annotations

from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import ArrayLike
from scipy.interpolate import PchipInterpolator

from feedchar.constants import VACUUM_PERMEABILITY_T_M_A
from feedchar.field.checked import not_negative, number, positive
from feedchar.tables.magnetite import magnetite_curve


@lru_cache(maxsize=1)
def _magnetite_curve() -> tuple[PchipInterpolator, float, float]:
    """Median curve of measured chips from the origin on, its last field and last value."""
    measured = magnetite_curve()
    field = np.array(measured.flux_density_tesla)
    median = np.array(measured.typical)
    curve = PchipInterpolator(np.append(0.0, field), np.append(0.0, median))
    return curve, float(field[-1]), float(median[-1])


def magnetite_saturation_fraction(flux_density_tesla: ArrayLike) -> Any:
    """Share of its saturation moment that natural magnetite reaches in an applied field.

    The median of 23 measured chips to 1.2 T, monotone between the points; beyond, the remainder
    falls with the square of the field.

    Parameters
    ----------
    flux_density_tesla : array_like
        Applied flux density, its size. [T]

    Returns
    -------
    float or array
        Moment over saturation moment. [-]

    Raises
    ------
    SettingError
        A flux density that is negative or not finite.

    References
    ----------
    santa_catalina_serpentinite; the approach to saturation above 1.2 T from memory.
    """
    flux = not_negative("Flux density", flux_density_tesla, "Give teslas, such as 0.5.")
    curve, last, reached = _magnetite_curve()
    beyond = 1.0 - (1.0 - reached) * (last / np.maximum(flux, last)) ** 2
    return number(np.where(flux <= last, curve(np.minimum(flux, last)), beyond))


def sphere_saturation_fraction(
    flux_density_tesla: ArrayLike, saturation_moment_A_m2_kg: ArrayLike, density_kg_m3: ArrayLike
) -> Any:
    """Share of its saturation moment that an equant ferrimagnetic grain reaches.

    The demagnetising field of the sphere lets the moment rise as 3 B / mu0 until B = mu0 Ms / 3.

    Parameters
    ----------
    flux_density_tesla : array_like
        Applied flux density, its size. [T]
    saturation_moment_A_m2_kg : array_like
        Saturation moment. [A m² kg⁻¹]
    density_kg_m3 : array_like
        Density of the ferrimagnetic mineral. [kg m⁻³]

    Returns
    -------
    float or array
        Moment over saturation moment. [-]

    Raises
    ------
    SettingError
        A figure that cannot be.

    References
    ----------
    Demagnetising factor of the sphere, 1/3; field_rule.
    """
    flux = not_negative("Flux density", flux_density_tesla, "Give teslas, such as 0.5.")
    limit = saturation_flux_density(saturation_moment_A_m2_kg, density_kg_m3)
    return number(np.minimum(flux / np.asarray(limit), 1.0))


def saturation_flux_density(saturation_moment_A_m2_kg: ArrayLike, density_kg_m3: ArrayLike) -> Any:
    """Applied flux density at which an equant ferrimagnetic grain is saturated, mu0 Ms / 3.

    Parameters
    ----------
    saturation_moment_A_m2_kg : array_like
        Saturation moment. [A m² kg⁻¹]
    density_kg_m3 : array_like
        Density of the ferrimagnetic mineral. [kg m⁻³]

    Returns
    -------
    float or array
        Flux density. [T]

    Raises
    ------
    SettingError
        A figure that cannot be.

    References
    ----------
    Demagnetising factor of the sphere, 1/3; field_rule.
    """
    moment = positive("Saturation moment", saturation_moment_A_m2_kg, "Magnetite has 92 A m2/kg.")
    density = positive("Density", density_kg_m3, "Give kg/m3, such as 5200.")
    return number(VACUUM_PERMEABILITY_T_M_A * moment * density / 3.0)


def sphere_volume_susceptibility(intrinsic_susceptibility: ArrayLike) -> Any:
    """Volume susceptibility that an isolated sphere shows: 3 chi / (3 + chi).

    Parameters
    ----------
    intrinsic_susceptibility : array_like
        Volume susceptibility of the material. [-]

    Returns
    -------
    float or array
        Apparent volume susceptibility, at most 3. [-]

    References
    ----------
    Derived from the demagnetising factor of the sphere, 1/3.
    """
    intrinsic = np.asarray(intrinsic_susceptibility, dtype=float)
    return number(3.0 * intrinsic / (3.0 + intrinsic))
