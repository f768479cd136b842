r"""Sampling variance grain by grain: what a mass must be when a feed holds many kinds of grains.

The short formula of sampling takes one mineral, one size and factors for the rest. Where every
class of grains is known (its mass, the mass of one of its grains, its content), the sum over the
classes says the same without them:

.. math:: C = \sum_c w_c M_c (a_c - a)^2 / a^2 ,

and a mass m taken from a lot has the relative variance C (1/m - 1/lot).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from feedchar.errors import InputError
from feedchar.testwork.grain_numbers import SPHERE

Array = NDArray[np.float64]

PAN_SHARE = 0.5
"""Lower end of a pan over its upper end (guess). [-]"""


def heterogeneity_parts_g(
    mass_fraction: ArrayLike, grain_mass_g: ArrayLike, content: ArrayLike
) -> Array:
    """What each class of grains adds to the mass whose fundamental relative sd would be 1.

    Parameters
    ----------
    mass_fraction : array_like, shape (C,)
        Mass of each class; scaled to sum to 1. [-]
    grain_mass_g : array_like, shape (C,)
        Mass of one grain of the class. [g]
    content : array_like, shape (C,)
        Content of the class, of iron for instance. [any]

    Returns
    -------
    array, shape (C,)
        Its sum is the sampling constant C. [g]

    Raises
    ------
    InputError
        A mass or content below 0, no mass at all, or no content at all.

    References
    ----------
    wills_2006, sampling; derived here: two classes of one size give its formula with g = l = 1.

    Examples
    --------
    >>> parts = heterogeneity_parts_g([0.0001, 0.9999], [5e-4, 3e-4], [1.0, 0.0])
    >>> round(float(parts.sum()), 1)
    5.0
    """
    w, grain, a = (np.asarray(v, dtype=float) for v in (mass_fraction, grain_mass_g, content))
    if not (np.all(w >= 0.0) and np.all(grain >= 0.0) and np.all(a >= 0.0) and w.sum() > 0.0):
        msg = "masses and contents of grains must be 0 or more, and not all masses 0"
        raise InputError(msg)
    w = w / w.sum()
    mean = float((w * a).sum())
    if not mean > 0.0:
        msg = "nothing in these grains holds what is sampled for (content 0)"
        raise InputError(msg)
    return np.asarray(w * grain * (a - mean) ** 2 / mean**2)


def sampling_relative_sd(
    constant_g: ArrayLike, mass_g: ArrayLike, lot_mass_g: ArrayLike = np.inf
) -> Array:
    """Fundamental relative sd of a mass correctly taken from a lot.

    Parameters
    ----------
    constant_g : array_like
        Sampling constant. [g]
    mass_g : array_like
        Mass taken, above 0. [g]
    lot_mass_g : array_like
        Lot; infinity leaves it out. [g]

    Returns
    -------
    array
        Relative standard deviation; 0 where the whole lot is taken. [-]

    References
    ----------
    wills_2006, sampling.
    """
    mass, lot = np.asarray(mass_g, dtype=float), np.asarray(lot_mass_g, dtype=float)
    return np.sqrt(np.asarray(constant_g) * np.maximum(1.0 / mass - 1.0 / lot, 0.0))


def sampling_mass_g(
    constant_g: ArrayLike, relative_sd: ArrayLike, lot_mass_g: ArrayLike = np.inf
) -> Array:
    """Mass that gives a wanted fundamental relative sd.

    Parameters
    ----------
    constant_g : array_like
        Sampling constant. [g]
    relative_sd : array_like
        Wanted, above 0. [-]
    lot_mass_g : array_like
        Lot; infinity leaves it out. [g]

    Returns
    -------
    array
        Never more than the lot. [g]

    Raises
    ------
    InputError
        A relative sd that is not above 0.

    References
    ----------
    wills_2006, sampling.
    """
    wanted = np.asarray(relative_sd, dtype=float)
    if not np.all(wanted > 0.0):
        msg = "the wanted relative sd must be above 0"
        raise InputError(msg)
    constant = np.maximum(np.asarray(constant_g, dtype=float), 1e-300)
    return np.asarray(1.0 / (wanted**2 / constant + 1.0 / np.asarray(lot_mass_g, dtype=float)))


def class_grain_mass_g(
    passing_cm: ArrayLike,
    retained_cm: ArrayLike,
    density_g_cm3: ArrayLike,
    thickness_ratio: ArrayLike = 1.0,
) -> Array:
    """Mass of one grain of a size class, the mean by mass, for the variance of sampling.

    Parameters
    ----------
    passing_cm, retained_cm : array_like
        Bounds of the class; a pan (0) is taken from half its upper bound. [cm]
    density_g_cm3 : array_like
        Of the grain. [g cm⁻³]
    thickness_ratio : array_like
        Thickness over size of a flake, 1 for the rest. [-]

    Returns
    -------
    array
        Mean over masses spread evenly in the logarithm of size. [g]

    References
    ----------
    Derived here: the mean cube is (b^3 - a^3) / (3 ln(b/a)).
    """
    high = np.asarray(passing_cm, dtype=float)
    low = np.asarray(retained_cm, dtype=float)
    low = np.where(low > 0.0, low, PAN_SHARE * high)
    width = np.log(high / low)
    cube = np.where(width > 1e-9, (high**3 - low**3) / (3.0 * np.maximum(width, 1e-9)), high**3)
    return np.asarray(SPHERE * cube * np.asarray(density_g_cm3) * np.asarray(thickness_ratio))
