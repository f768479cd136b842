"""When the iron sits in few grains: how many a mass holds, and what mass holds enough of them."""

from __future__ import annotations

from math import pi

import numpy as np
from numpy.typing import ArrayLike, NDArray

from feedchar.errors import InputError
from feedchar.field.checked import number

Array = NDArray[np.float64]

SPHERE = pi / 6.0
"""Volume of a sphere over the cube of its diameter. [-]"""


def grain_mass_g(
    diameter_cm: ArrayLike, density_g_cm3: ArrayLike, shape: ArrayLike = SPHERE
) -> float | Array:
    """Mass of one grain.

    Parameters
    ----------
    diameter_cm : float or array
        Size of the grain. [cm]
    density_g_cm3 : float or array
        Its density. [g cm⁻³]
    shape : float or array
        Volume over the cube of the size, that of the sphere by default. [-]

    Returns
    -------
    float or array
        Mass. [g]

    Raises
    ------
    InputError
        A figure that is not above 0.

    References
    ----------
    mccabe_smith_harriott, screen analysis.
    """
    figures = [np.asarray(v, dtype=float) for v in (diameter_cm, density_g_cm3, shape)]
    if not all(np.all(np.isfinite(v) & (v > 0.0)) for v in figures):
        msg = "size, density and shape of a grain must be numbers above 0"
        raise InputError(msg)
    return number(figures[2] * figures[1] * figures[0] ** 3)


def grains_in_mass(
    mass_g: ArrayLike,
    mineral_fraction: ArrayLike,
    diameter_cm: ArrayLike,
    density_g_cm3: ArrayLike,
    shape: ArrayLike = SPHERE,
) -> float | Array:
    """Grains of a mineral to expect in a mass of sample, all of one size.

    Parameters
    ----------
    mass_g : float or array
        Mass of the sample. [g]
    mineral_fraction : float or array
        Mass fraction of the mineral. [-]
    diameter_cm, density_g_cm3, shape : float or array
        Of the grain, as in `grain_mass_g`. [cm, g cm⁻³, -]

    Returns
    -------
    float or array
        Expected number. [-]

    Raises
    ------
    InputError
        A figure of the grain that is not above 0.

    References
    ----------
    mccabe_smith_harriott, screen analysis.

    Examples
    --------
    >>> round(grains_in_mass(10.0, 1e-4, 0.025, 4.7))
    26
    """
    content = np.asarray(mass_g, dtype=float) * np.asarray(mineral_fraction, dtype=float)
    return number(content / grain_mass_g(diameter_cm, density_g_cm3, shape))


def mass_for_grains(
    grains: ArrayLike,
    mineral_fraction: ArrayLike,
    diameter_cm: ArrayLike,
    density_g_cm3: ArrayLike,
    shape: ArrayLike = SPHERE,
) -> float | Array:
    """Mass of sample in which a number of grains of a mineral is to be expected.

    Parameters
    ----------
    grains : float or array
        Wanted number. [-]
    mineral_fraction : float or array
        Mass fraction of the mineral, above 0. [-]
    diameter_cm, density_g_cm3, shape : float or array
        Of the grain, as in `grain_mass_g`. [cm, g cm⁻³, -]

    Returns
    -------
    float or array
        Mass. [g]

    Raises
    ------
    InputError
        A fraction or a figure of the grain that is not above 0.

    References
    ----------
    mccabe_smith_harriott, screen analysis.
    """
    fraction = np.asarray(mineral_fraction, dtype=float)
    if not np.all(fraction > 0.0):
        msg = "no mass holds grains of a mineral that is not there (fraction 0)"
        raise InputError(msg)
    one = grain_mass_g(diameter_cm, density_g_cm3, shape)
    return number(np.asarray(grains, dtype=float) * one / fraction)


def grains_for_relative_sd(relative_sd: ArrayLike) -> float | Array:
    """Grains that must be counted, or be in the sample, for a wanted relative sd.

    Parameters
    ----------
    relative_sd : float or array
        Wanted relative standard deviation, above 0. [-]

    Returns
    -------
    float or array
        1/s^2, by Poisson. [-]

    Raises
    ------
    InputError
        A relative sd that is not above 0.

    References
    ----------
    minkkinen_2004.

    Examples
    --------
    >>> round(grains_for_relative_sd(0.2))
    25
    """
    wanted = np.asarray(relative_sd, dtype=float)
    if not np.all(wanted > 0.0):
        msg = "the wanted relative sd must be above 0"
        raise InputError(msg)
    return number(wanted**-2.0)
