"""From the bag to the bead: sampling in stages, each taken from the one before, ever finer."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from feedchar.errors import InputError
from feedchar.testwork.sampling import (
    combine_relative_sd,
    fundamental_sampling_error,
    mass_for_sampling_error,
)

Array = NDArray[np.float64]


def stage_masses_g(
    relative_sd: float,
    top_size_cm: ArrayLike,
    liberation_size_cm: ArrayLike,
    mineral_fraction: ArrayLike,
    mineral_density_g_cm3: ArrayLike,
    gangue_density_g_cm3: ArrayLike,
    shape: ArrayLike = 0.5,
    granulometric: ArrayLike = 0.25,
    safety_factor: float = 1.0,
) -> Array:
    """Mass to keep at each stage when every stage may spend the same variance.

    Parameters
    ----------
    relative_sd : float
        Wanted fundamental relative sd of the whole chain. [-]
    top_size_cm : array_like, shape (stages,)
        Sieve that 95 % passes at each stage, coarsest first. [cm]
    liberation_size_cm, mineral_fraction, mineral_density_g_cm3 : float or array
        Of the mineral, as in `fundamental_sampling_error`. [cm, -, g cm⁻³]
    gangue_density_g_cm3, shape, granulometric : float or array
        As in `fundamental_sampling_error`. [g cm⁻³, -, -]
    safety_factor : float
        Multiplies every mass. [-]

    Returns
    -------
    array, shape (stages,)
        Mass to keep; the lots are taken as much larger. [g]

    Raises
    ------
    InputError
        An input that cannot be.

    References
    ----------
    wills_1982, tabulation of a sampling plan in four stages.
    """
    sizes = np.atleast_1d(np.asarray(top_size_cm, dtype=float))
    if not safety_factor > 0.0:
        msg = f"the safety factor must be above 0, found {safety_factor:g}"
        raise InputError(msg)
    masses = mass_for_sampling_error(
        relative_sd / np.sqrt(sizes.size),
        np.inf,
        sizes,
        liberation_size_cm,
        mineral_fraction,
        mineral_density_g_cm3,
        gangue_density_g_cm3,
        shape,
        granulometric,
    )
    return safety_factor * np.asarray(masses)


def chain_relative_sd(
    mass_g: ArrayLike,
    lot_mass_g: float,
    top_size_cm: ArrayLike,
    liberation_size_cm: ArrayLike,
    mineral_fraction: ArrayLike,
    mineral_density_g_cm3: ArrayLike,
    gangue_density_g_cm3: ArrayLike,
    shape: ArrayLike = 0.5,
    granulometric: ArrayLike = 0.25,
) -> tuple[Array, float]:
    """Fundamental relative sd of each stage of a chain, and of the whole.

    Parameters
    ----------
    mass_g : array_like, shape (stages,)
        Mass kept at each stage; each is taken from the one before. [g]
    lot_mass_g : float
        Mass of the first lot; infinity leaves it out. [g]
    top_size_cm : array_like, shape (stages,)
        Sieve that 95 % passes at each stage. [cm]
    liberation_size_cm, mineral_fraction, mineral_density_g_cm3 : float or array
        Of the mineral, as in `fundamental_sampling_error`. [cm, -, g cm⁻³]
    gangue_density_g_cm3, shape, granulometric : float or array
        As in `fundamental_sampling_error`. [g cm⁻³, -, -]

    Returns
    -------
    stages : array, shape (stages,)
        Relative standard deviation of each stage. [-]
    whole : float
        Of the last sample against the first lot. [-]

    Raises
    ------
    InputError
        An input that cannot be, or a stage that keeps more than it was given.

    References
    ----------
    wills_2006, sampling; minkkinen_2004 for the sum of the variances.
    """
    kept = np.atleast_1d(np.asarray(mass_g, dtype=float))
    lots = np.concatenate([[lot_mass_g], kept[:-1]])
    stages = np.atleast_1d(
        fundamental_sampling_error(
            kept,
            lots,
            top_size_cm,
            liberation_size_cm,
            mineral_fraction,
            mineral_density_g_cm3,
            gangue_density_g_cm3,
            shape,
            granulometric,
        )
    )
    return stages, float(combine_relative_sd(*stages))
