"""A grain of two minerals: mass and volume fraction, and density."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]


def mass_grade(
    volume_grade: ArrayLike, mineral_density_kg_m3: ArrayLike, host_density_kg_m3: ArrayLike
) -> Array:
    """Mass fraction of a mineral in a composite grain from its volume fraction.

    Parameters
    ----------
    volume_grade : array_like
        Volume fraction of the mineral in the grain. [-]
    mineral_density_kg_m3, host_density_kg_m3 : array_like
        Densities. [kg m⁻³]

    Returns
    -------
    array
        Mass fraction, arguments broadcast. [-]

    References
    ----------
    computed_here (composite_grain.csv)
    """
    grade = np.asarray(volume_grade, dtype=float)
    mineral = grade * np.asarray(mineral_density_kg_m3, dtype=float)
    return np.asarray(mineral / (mineral + (1.0 - grade) * np.asarray(host_density_kg_m3)))


def volume_grade(
    mass_grade: ArrayLike, mineral_density_kg_m3: ArrayLike, host_density_kg_m3: ArrayLike
) -> Array:
    """Volume fraction of a mineral in a composite grain from its mass fraction.

    Parameters
    ----------
    mass_grade : array_like
        Mass fraction of the mineral in the grain. [-]
    mineral_density_kg_m3, host_density_kg_m3 : array_like
        Densities. [kg m⁻³]

    Returns
    -------
    array
        Volume fraction, arguments broadcast. [-]

    References
    ----------
    computed_here (composite_grain.csv)
    """
    grade = np.asarray(mass_grade, dtype=float)
    mineral = grade / np.asarray(mineral_density_kg_m3, dtype=float)
    return np.asarray(mineral / (mineral + (1.0 - grade) / np.asarray(host_density_kg_m3)))


def composite_density(
    volume_grade: ArrayLike, mineral_density_kg_m3: ArrayLike, host_density_kg_m3: ArrayLike
) -> Array:
    """Density of a composite grain.

    Parameters
    ----------
    volume_grade : array_like
        Volume fraction of the mineral. [-]
    mineral_density_kg_m3, host_density_kg_m3 : array_like
        Densities. [kg m⁻³]

    Returns
    -------
    array
        Density, arguments broadcast. [kg m⁻³]

    References
    ----------
    computed_here (composite_grain.csv)
    """
    grade = np.asarray(volume_grade, dtype=float)
    return np.asarray(
        grade * np.asarray(mineral_density_kg_m3)
        + (1.0 - grade) * np.asarray(host_density_kg_m3, dtype=float)
    )
