"""How much sample is enough: fundamental sampling error, and counting when grains are few.

The fundamental error is the part that remains when everything is done well. Grouping and
segregation, preparation (iron from steel mills) and the laboratory come on top.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from feedchar.errors import InputError
from feedchar.field.checked import number

Array = NDArray[np.float64]


def liberation_factor(top_size_cm: ArrayLike, liberation_size_cm: ArrayLike) -> float | Array:
    """Liberation factor of the sampling formula, sqrt(dl/d) and never above 1.

    Not for gold: the square root is known to ask for absurd masses there.

    Parameters
    ----------
    top_size_cm : float or array
        Sieve that 95 % of the lot passes. [cm]
    liberation_size_cm : float or array
        Size at which the mineral's grains are free. [cm]

    Returns
    -------
    float or array
        Between 0 and 1. [-]

    Raises
    ------
    InputError
        A size that is not above 0.

    References
    ----------
    wills_2006, sampling; francois_bongarcon_2001 for the warning.
    """
    top = _above_zero("top size", top_size_cm)
    grain = _above_zero("liberation size", liberation_size_cm)
    return number(np.sqrt(np.minimum(grain / top, 1.0)))


def composition_factor(
    mineral_fraction: ArrayLike, mineral_density_g_cm3: ArrayLike, gangue_density_g_cm3: ArrayLike
) -> float | Array:
    """Mineralogical composition factor c of the sampling formula.

    Parameters
    ----------
    mineral_fraction : float or array
        Mass fraction of the mineral in the lot. [-]
    mineral_density_g_cm3 : float or array
        Density of the mineral. [g cm⁻³]
    gangue_density_g_cm3 : float or array
        Density of the rest. [g cm⁻³]

    Returns
    -------
    float or array
        ((1 - a)/a) ((1 - a) rho_mineral + a rho_rest). [g cm⁻³]

    Raises
    ------
    InputError
        A fraction that is not above 0 and at most 1, a density that is not above 0.

    References
    ----------
    wills_2006, sampling.
    """
    a = _above_zero("mineral fraction", mineral_fraction)
    if np.any(a > 1.0):
        problem = f"the mineral fraction must be at most 1, found {float(a.max()):g}"
        raise InputError(problem, remedy="Give a mass fraction: 0.0001 is 100 ppm.")
    mineral = _above_zero("mineral density", mineral_density_g_cm3)
    gangue = _above_zero("gangue density", gangue_density_g_cm3)
    return number((1.0 - a) / a * ((1.0 - a) * mineral + a * gangue))


def sampling_constant(
    top_size_cm: ArrayLike,
    liberation_size_cm: ArrayLike,
    mineral_fraction: ArrayLike,
    mineral_density_g_cm3: ArrayLike,
    gangue_density_g_cm3: ArrayLike,
    shape: ArrayLike = 0.5,
    granulometric: ArrayLike = 0.25,
) -> float | Array:
    """Mass whose fundamental relative sd would be 1: f g l c d^3.

    Parameters
    ----------
    top_size_cm, liberation_size_cm : float or array
        As in `liberation_factor`. [cm]
    mineral_fraction : float or array
        Mass fraction of the mineral. [-]
    mineral_density_g_cm3, gangue_density_g_cm3 : float or array
        Densities of the mineral and of the rest. [g cm⁻³]
    shape : float or array
        Volume of a grain over the cube of its size, f; 0.5 for equant grains. [-]
    granulometric : float or array
        Size range factor g: 0.25 unsized, 0.5 between two sieves 2:1. [-]

    Returns
    -------
    float or array
        Sampling constant. [g]

    Raises
    ------
    InputError
        An input that cannot be.

    References
    ----------
    wills_2006, sampling.
    """
    liberation = liberation_factor(top_size_cm, liberation_size_cm)
    composition = composition_factor(mineral_fraction, mineral_density_g_cm3, gangue_density_g_cm3)
    f, g = _above_zero("shape factor", shape), _above_zero("granulometric factor", granulometric)
    return number(f * g * liberation * composition * np.asarray(top_size_cm, dtype=float) ** 3)


def fundamental_sampling_error(
    mass_g: ArrayLike,
    lot_mass_g: ArrayLike,
    top_size_cm: ArrayLike,
    liberation_size_cm: ArrayLike,
    mineral_fraction: ArrayLike,
    mineral_density_g_cm3: ArrayLike,
    gangue_density_g_cm3: ArrayLike,
    shape: ArrayLike = 0.5,
    granulometric: ArrayLike = 0.25,
) -> float | Array:
    """Relative sd of a mineral's content in a sample correctly taken from a lot (Gy).

    Parameters
    ----------
    mass_g : float or array
        Mass of the sample. [g]
    lot_mass_g : float or array
        Mass of the lot; infinity leaves the lot out. [g]
    top_size_cm, liberation_size_cm : float or array
        Sieve that 95 % passes, and size at which the mineral's grains are free. [cm]
    mineral_fraction : float or array
        Mass fraction of the mineral. [-]
    mineral_density_g_cm3, gangue_density_g_cm3 : float or array
        Densities of the mineral and of the rest. [g cm⁻³]
    shape, granulometric : float or array
        Factors f and g, see `sampling_constant`. [-]

    Returns
    -------
    float or array
        Relative standard deviation; above about 0.3 count grains instead. [-]

    Raises
    ------
    InputError
        An input that cannot be, or a sample heavier than its lot.

    References
    ----------
    wills_2006, sampling; minkkinen_2004.

    Examples
    --------
    >>> s = fundamental_sampling_error(100, float("inf"), 0.06, 0.06, 1e-4, 4.7, 2.65)
    >>> round(s, 3)
    0.113
    """
    mass, lot = _above_zero("sample mass", mass_g), np.asarray(lot_mass_g, dtype=float)
    if not np.all(lot >= mass):  # also refuses NaN
        problem = "a sample cannot be heavier than the lot it is taken from"
        raise InputError(problem, remedy="Give the lot mass in grams, or infinity.")
    constant = sampling_constant(
        top_size_cm,
        liberation_size_cm,
        mineral_fraction,
        mineral_density_g_cm3,
        gangue_density_g_cm3,
        shape,
        granulometric,
    )
    return number(np.sqrt(constant * (1.0 / mass - 1.0 / lot)))


def mass_for_sampling_error(
    relative_sd: ArrayLike,
    lot_mass_g: ArrayLike,
    top_size_cm: ArrayLike,
    liberation_size_cm: ArrayLike,
    mineral_fraction: ArrayLike,
    mineral_density_g_cm3: ArrayLike,
    gangue_density_g_cm3: ArrayLike,
    shape: ArrayLike = 0.5,
    granulometric: ArrayLike = 0.25,
) -> float | Array:
    """Sample mass that gives a wanted fundamental relative sd.

    Parameters
    ----------
    relative_sd : float or array
        Wanted relative standard deviation. [-]
    lot_mass_g : float or array
        Mass of the lot; infinity leaves the lot out. [g]
    top_size_cm, liberation_size_cm : float or array
        Sieve that 95 % passes, and size at which the mineral's grains are free. [cm]
    mineral_fraction : float or array
        Mass fraction of the mineral. [-]
    mineral_density_g_cm3, gangue_density_g_cm3 : float or array
        Densities of the mineral and of the rest. [g cm⁻³]
    shape, granulometric : float or array
        Factors f and g, see `sampling_constant`. [-]

    Returns
    -------
    float or array
        Mass to take, never more than the lot. [g]

    Raises
    ------
    InputError
        An input that cannot be.

    References
    ----------
    wills_2006, sampling.
    """
    wanted, lot = _above_zero("relative sd", relative_sd), _lot(lot_mass_g)
    constant = sampling_constant(
        top_size_cm,
        liberation_size_cm,
        mineral_fraction,
        mineral_density_g_cm3,
        gangue_density_g_cm3,
        shape,
        granulometric,
    )
    return number(1.0 / (wanted**2 / constant + 1.0 / lot))


def combine_relative_sd(*relative_sd: ArrayLike) -> float | Array:
    """Relative sd of independent stages or errors together: the variances add.

    Parameters
    ----------
    *relative_sd : float or array
        Relative standard deviation of each stage. [-]

    Returns
    -------
    float or array
        Of the whole. [-]

    References
    ----------
    minkkinen_2004.

    Examples
    --------
    >>> round(combine_relative_sd(0.05, 0.02, 0.01), 4)
    0.0548
    """
    return number(np.sqrt(sum(np.asarray(sd, dtype=float) ** 2 for sd in relative_sd)))


def _lot(lot_mass_g: ArrayLike) -> Array:
    lot = np.asarray(lot_mass_g, dtype=float)
    if not np.all(lot > 0.0):
        msg = "the lot mass must be above 0"
        raise InputError(msg, remedy="Give it in grams, or infinity.")
    return lot


def _above_zero(name: str, value: ArrayLike) -> Array:
    array = np.asarray(value, dtype=float)
    bad = ~(np.isfinite(array) & (array > 0.0))
    if np.any(bad):
        found = float(array[bad].flat[0])
        problem = f"the {name} must be a number above 0, found {found:g}"
        raise InputError(problem)
    return array
