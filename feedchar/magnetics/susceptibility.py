"""Linear mass susceptibility at another temperature, and from the reading of a bulk meter."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from feedchar.chemistry.curie import DIAMAGNETISM
from feedchar.constants import (
    REFERENCE_TEMPERATURE_K,
    ZERO_CELSIUS_K,
)
from feedchar.errors import SettingError
from feedchar.field.checked import number, positive
from feedchar.units import M3_KG_PER_CM3_G, SI_PER_CGS_VOLUME

Array = NDArray[np.float64]


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
    paramagnetic = np.maximum(value - DIAMAGNETISM / checked_density(density_kg_m3), 0.0)
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
        return number(reading * per_volume[unit] / checked_density(density_kg_m3))
    message = (
        f'Unit of susceptibility "{unit}" is not known. '
        f"Give one of: {', '.join([*per_mass, *per_volume])}."
    )
    raise SettingError(message)


def checked_density(value: ArrayLike) -> Array:
    """A density that can be.

    Parameters
    ----------
    value : array_like
        Density. [kg m⁻³]

    Returns
    -------
    array
        The same. [kg m⁻³]

    Raises
    ------
    SettingError
        Where it is not above 0.

    References
    ----------
    Definition.
    """
    return positive("Density", value, "Give kg/m3; quartz has 2650.")
