"""Linear mass susceptibility from the ions of a mineral, by Curie's law."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from feedchar.chemistry.curie import DIAMAGNETISM, FE2_SLOPE, FE3_SLOPE, MN2_SLOPE
from feedchar.constants import (
    REFERENCE_TEMPERATURE_K,
    VACUUM_PERMEABILITY_T_M_A,
)
from feedchar.errors import SettingError
from feedchar.field.checked import number
from feedchar.magnetics.susceptibility import checked_density

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
    return number(paramagnetic + DIAMAGNETISM / checked_density(density_kg_m3))


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
    return total + float(DIAMAGNETISM / checked_density(density_kg_m3))


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


def _content(ion: str, value: ArrayLike) -> Array:
    content = np.asarray(value, dtype=float)
    if not np.all((content >= 0.0) & (content <= 100.0)):
        message = f"{ion} must be from 0 to 100 wt %, found {np.ravel(content)}."
        raise SettingError(message)
    return content
