"""Linear mass susceptibility: from the ions of a mineral, at a temperature, from a bulk reading."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from feedchar.chemistry.curie import DIAMAGNETISM, FE2_SLOPE, FE3_SLOPE, MN2_SLOPE
from feedchar.constants import (
    REFERENCE_TEMPERATURE_K,
    VACUUM_PERMEABILITY_T_M_A,
    ZERO_CELSIUS_K,
)
from feedchar.errors import SettingError
from feedchar.field.checked import number, positive
from feedchar.units import M3_KG_PER_CM3_G, SI_PER_CGS_VOLUME

Array = NDArray[np.float64]

AVOGADRO_MOL = 6.02214076e23
BOLTZMANN_J_K = 1.380649e-23
BOHR_MAGNETON_A_M2 = 9.2740100783e-24

ION_MOMENTS = {
    "Ti4+": 0.0, "V4+": 1.8, "V3+": 2.8, "Cr3+": 3.75, "Mn4+": 4.0, "Mn3+": 5.0, "Mn2+": 5.9,
    "Fe3+": 5.9, "Fe2+": 5.4, "Co2+": 4.8, "Ni2+": 3.2, "Cu2+": 1.9, "La3+": 0.0, "Ce3+": 2.4,
    "Pr3+": 3.5, "Nd3+": 3.5, "Sm3+": 1.5, "Eu3+": 3.4, "Gd3+": 8.0, "Tb3+": 9.5, "Dy3+": 10.6,
    "Ho3+": 10.4, "Er3+": 9.5, "Tm3+": 7.3, "Yb3+": 4.5, "Lu3+": 0.0,
}  # fmt: skip
"""Measured effective moments, ashcroft_mermin_1976 (Co2+, Ni2+, Cu2+ from memory). [μB]"""


def curie_mass_susceptibility(
    fe2_wt_pct: ArrayLike,
    fe3_wt_pct: ArrayLike,
    mn2_wt_pct: ArrayLike,
    density_kg_m3: ArrayLike,
) -> Any:
    """Mass susceptibility of a paramagnetic mineral from its iron and manganese, at 20 °C.

    Good to 10 % for Fe2+ silicates and carbonates, 10 to 20 % high for much Fe3+, void for
    hematite, goethite, magnetite and sulphides.

    Parameters
    ----------
    fe2_wt_pct : array_like
        Fe2+ of the mineral. [wt %]
    fe3_wt_pct : array_like
        Fe3+ of the mineral. [wt %]
    mn2_wt_pct : array_like
        Mn2+ of the mineral. [wt %]
    density_kg_m3 : array_like
        Density of the mineral. [kg m⁻³]

    Returns
    -------
    float or array
        Mass susceptibility, the arguments broadcast. [m³ kg⁻¹]

    Raises
    ------
    SettingError
        An ion content outside 0 to 100 wt %, or a density that is not positive.

    References
    ----------
    rochette_1992 for the coefficients; curie_model.
    """
    fe2, fe3, mn2 = (
        _content(name, value)
        for name, value in (("Fe2+", fe2_wt_pct), ("Fe3+", fe3_wt_pct), ("Mn2+", mn2_wt_pct))
    )
    paramagnetic = FE2_SLOPE * fe2 + FE3_SLOPE * fe3 + MN2_SLOPE * mn2
    return number(paramagnetic + DIAMAGNETISM / _density(density_kg_m3))


def ion_mass_susceptibility(
    moles_per_kg: Mapping[str, float],
    density_kg_m3: float,
    temperature_k: float = REFERENCE_TEMPERATURE_K,
) -> float:
    """Mass susceptibility of a mineral from the measured moments of its ions (Curie's law).

    Iron and manganese follow the law of `curie_mass_susceptibility`, which was fitted to
    minerals; the others (chromium, rare earths) their measured moments.

    Parameters
    ----------
    moles_per_kg : mapping of str to float
        Ion, such as "Ce3+", to its amount in the mineral. [mol kg⁻¹]
    density_kg_m3 : float
        Density of the mineral. [kg m⁻³]
    temperature_k : float
        Temperature. [K]

    Returns
    -------
    float
        Mass susceptibility. [m³ kg⁻¹]

    Raises
    ------
    SettingError
        An ion without a moment, or a density that is not positive.

    References
    ----------
    ashcroft_mermin_1976 for the moments; Curie's law with CODATA 2018 constants.
    """
    regression = {"Fe2+": FE2_SLOPE, "Fe3+": FE3_SLOPE, "Mn2+": MN2_SLOPE}
    molar_mass_kg = {"Fe2+": 0.055845, "Fe3+": 0.055845, "Mn2+": 0.054938}
    scale = REFERENCE_TEMPERATURE_K / temperature_k
    total = 0.0
    for ion in sorted(moles_per_kg):
        amount = moles_per_kg[ion]
        if ion in regression:
            total += 100.0 * amount * molar_mass_kg[ion] * regression[ion] * scale
        elif ion in ION_MOMENTS:
            total += amount * float(curie_molar_susceptibility(ION_MOMENTS[ion], temperature_k))
        else:
            message = f"No magnetic moment is known for {ion}. Known: {', '.join(ION_MOMENTS)}."
            raise SettingError(message)
    return total + float(DIAMAGNETISM / _density(density_kg_m3))


def curie_molar_susceptibility(
    moment_bohr_magneton: ArrayLike, temperature_k: ArrayLike = REFERENCE_TEMPERATURE_K
) -> Any:
    """Molar susceptibility of free ions: mu0 N mu^2 / (3 k T).

    Parameters
    ----------
    moment_bohr_magneton : array_like
        Effective moment of the ion. [μB]
    temperature_k : array_like
        Temperature. [K]

    Returns
    -------
    float or array
        Molar susceptibility. [m³ mol⁻¹]

    References
    ----------
    Curie's law with CODATA 2018 constants.
    """
    moment = np.asarray(moment_bohr_magneton, dtype=float) * BOHR_MAGNETON_A_M2
    temperature = np.asarray(temperature_k, dtype=float)
    return number(
        VACUUM_PERMEABILITY_T_M_A * AVOGADRO_MOL * moment**2 / (3.0 * BOLTZMANN_J_K * temperature)
    )


def at_temperature(
    susceptibility_m3_kg: ArrayLike, density_kg_m3: ArrayLike, temperature_c: float
) -> Any:
    """Susceptibility of a para- or diamagnetic mineral at another temperature than 20 °C.

    The paramagnetic part goes with 1/T; the diamagnetic part, -14.6e-6 over density, stays. What
    is more diamagnetic than that (quartz) has no part to scale.

    Parameters
    ----------
    susceptibility_m3_kg : array_like
        At 20 °C. [m³ kg⁻¹]
    density_kg_m3 : array_like
        Density. [kg m⁻³]
    temperature_c : float
        Temperature of the grains. [°C]

    Returns
    -------
    float or array
        At that temperature. [m³ kg⁻¹]

    Raises
    ------
    SettingError
        A temperature outside -50 to 300 °C.

    References
    ----------
    Curie's law; rochette_1992 for the diamagnetic part.
    """
    if not -50.0 <= temperature_c <= 300.0:
        message = (
            f"Grain temperature must be from -50 to 300 °C, found {temperature_c:g}. "
            "Warm feeds reach 20 to 120 °C."
        )
        raise SettingError(message)
    value = np.asarray(susceptibility_m3_kg, dtype=float)
    paramagnetic = np.maximum(value - DIAMAGNETISM / _density(density_kg_m3), 0.0)
    scale = REFERENCE_TEMPERATURE_K / (temperature_c + ZERO_CELSIUS_K)
    return number(value + paramagnetic * (scale - 1.0))


def mass_susceptibility_si(value: ArrayLike, unit: str, density_kg_m3: ArrayLike) -> Any:
    """A bulk reading of susceptibility in SI mass units.

    Parameters
    ----------
    value : array_like
        The reading. [as `unit`]
    unit : str
        m3/kg | 1e-9 m3/kg | 1e-8 m3/kg | cm3/g | 1e-6 cm3/g | SI volume | 1e-5 SI | 1e-6 SI |
        cgs volume | 1e-6 cgs. [-]
    density_kg_m3 : array_like
        Density the volume reading belongs to (bulk of the poured sample), unused otherwise.
        [kg m⁻³]

    Returns
    -------
    float or array
        Mass susceptibility. [m³ kg⁻¹]

    Raises
    ------
    SettingError
        An unknown unit, with the units to choose from, or a density that is not positive.

    References
    ----------
    Definition of the units: 1 cm³/g cgs is 4 pi 1e-3 m³/kg; volume cgs times 4 pi is SI.
    """
    per_mass = {
        "m3/kg": 1.0, "1e-9 m3/kg": 1e-9, "1e-8 m3/kg": 1e-8,
        "cm3/g": M3_KG_PER_CM3_G, "1e-6 cm3/g": 1e-6 * M3_KG_PER_CM3_G,
    }  # fmt: skip
    per_volume = {
        "SI volume": 1.0, "1e-5 SI": 1e-5, "1e-6 SI": 1e-6,
        "cgs volume": SI_PER_CGS_VOLUME, "1e-6 cgs": 1e-6 * SI_PER_CGS_VOLUME,
    }  # fmt: skip
    reading = np.asarray(value, dtype=float)
    if unit in per_mass:
        return number(reading * per_mass[unit])
    if unit in per_volume:
        return number(reading * per_volume[unit] / _density(density_kg_m3))
    message = (
        f'Unit of susceptibility "{unit}" is not known. '
        f"Give one of: {', '.join([*per_mass, *per_volume])}."
    )
    raise SettingError(message)


def _content(ion: str, value: ArrayLike) -> Array:
    content = np.asarray(value, dtype=float)
    if not np.all((content >= 0.0) & (content <= 100.0)):
        message = f"{ion} must be from 0 to 100 wt %, found {np.ravel(content)}."
        raise SettingError(message)
    return content


def _density(value: ArrayLike) -> Array:
    return positive("Density", value, "Give kg/m3; quartz has 2650.")
