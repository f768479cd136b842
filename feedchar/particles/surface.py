"""Spreading the forms of one phase over the sizes, with its mass in every size kept.

Stain follows surface (about 1/d) and inclusions follow the mass of their hosts, but the phase as
a whole must keep the sizes that the mineralogy gives it: iterative proportional fitting.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


def surface_seed(volume: Array, middle_um: Array) -> Array:
    """Relative surface of grains by size class: volume over size.

    Parameters
    ----------
    volume : array, shape (T, S)
        Volume of the grains by size. [any]
    middle_um : array, shape (S,)
        Middle of each class. [um]

    Returns
    -------
    array, shape (T, S)
        Surface up to a factor. [any]

    References
    ----------
    common practice, no source
    """
    return np.asarray(volume / middle_um)


def spread_over_sizes(
    mass_by_size: Array, form_share: Array, seeds: Array, rounds: int = 24
) -> Array:
    """Mass of each form in each size, from totals by size and shares by form.

    Parameters
    ----------
    mass_by_size : array, shape (T, S)
        Mass of the phase in each size; kept exactly. [-]
    form_share : array, shape (T, F)
        Share of the phase in each form, summing to 1; kept as far as the sizes allow. [-]
    seeds : array, shape (T, F, S)
        Where each form would like to sit, up to a factor; 0 forbids. The last form takes what
        no other form can hold. [-]
    rounds : int
        Rounds of proportional fitting. [-]

    Returns
    -------
    array, shape (T, F, S)
        Masses; summed over forms they equal `mass_by_size`. [as mass_by_size]

    References
    ----------
    common practice, no source (iterative proportional fitting)
    """
    total = mass_by_size.sum(axis=1, keepdims=True)
    want = (form_share * total)[:, :, None]
    # The seeds are tilts: a form with no leaning of its own follows the phase.
    mass = seeds * mass_by_size[:, None, :]
    for _ in range(rounds):
        row = mass.sum(axis=2, keepdims=True)
        mass = mass * np.divide(want, row, out=np.zeros_like(want), where=row > 0.0)
        column = mass.sum(axis=1)
        fit = np.divide(mass_by_size, column, out=np.zeros_like(column), where=column > 0.0)
        mass = mass * fit[:, None, :]
    mass[:, -1, :] += np.maximum(mass_by_size - mass.sum(axis=1), 0.0)
    return np.asarray(mass)
