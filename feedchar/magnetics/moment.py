"""Magnetisation against field: canted moments that are constant, ferrimagnets that saturate."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from feedchar.constants import VACUUM_PERMEABILITY_T_M_A
from feedchar.field.checked import not_negative, number, positive
from feedchar.magnetics.saturation import magnetite_saturation_fraction

Array = NDArray[np.float64]

NO_ORDER, CANTED, FERRIMAGNETIC = 0, 1, 2
"""Codes of the kind of ordered moment, as the separation room takes them."""

ORDER_CODES = {"none": NO_ORDER, "canted": CANTED, "ferrimagnetic": FERRIMAGNETIC}


def ordered_fraction(
    order: ArrayLike, flux_density_tesla: ArrayLike, saturation_field_tesla: ArrayLike = 0.0
) -> Any:
    """Share of the ordered moment that a field calls up, by kind of order.

    Parameters
    ----------
    order : array_like of int
        0 none, 1 canted (constant), 2 ferrimagnetic. [-]
    flux_density_tesla : array_like
        Applied flux density, its size. [T]
    saturation_field_tesla : array_like
        Field that saturates the ferrimagnetic grains as spheres; 0 stands for magnetite's
        measured curve. [T]

    Returns
    -------
    float or array
        Moment over the saturation moment, the arguments broadcast. [-]

    Raises
    ------
    SettingError
        A flux density that is negative or not finite.

    References
    ----------
    santa_catalina_serpentinite for magnetite; field_rule for the sphere.
    """
    code = np.asarray(order)
    flux = not_negative("Flux density", flux_density_tesla, "Give teslas, such as 0.5.")
    limit = np.asarray(saturation_field_tesla, dtype=float)
    as_sphere = np.minimum(flux / np.where(limit > 0.0, limit, 1.0), 1.0)
    ferrimagnetic = np.where(limit > 0.0, as_sphere, magnetite_saturation_fraction(flux))
    canted = np.where(code == CANTED, 1.0, 0.0)
    return number(np.where(code == FERRIMAGNETIC, ferrimagnetic, canted))


def apparent_susceptibility(
    susceptibility_m3_kg: ArrayLike, moment_A_m2_kg: ArrayLike, flux_density_tesla: ArrayLike
) -> Any:
    """Mass susceptibility that gives the pull of a linear part and a moment at one field.

    Parameters
    ----------
    susceptibility_m3_kg : array_like
        Linear (or high-field) mass susceptibility. [m³ kg⁻¹]
    moment_A_m2_kg : array_like
        Ordered moment reached at that field. [A m² kg⁻¹]
    flux_density_tesla : array_like
        Applied flux density, its size. [T]

    Returns
    -------
    float or array
        chi + mu0 M / B. [m³ kg⁻¹]

    Raises
    ------
    SettingError
        A flux density that is not positive.

    References
    ----------
    field_rule.
    """
    flux = positive("Flux density", flux_density_tesla, "Give teslas, such as 0.5.")
    moment = np.asarray(moment_A_m2_kg, dtype=float)
    linear = np.asarray(susceptibility_m3_kg, dtype=float)
    return number(linear + VACUUM_PERMEABILITY_T_M_A * moment / flux)
