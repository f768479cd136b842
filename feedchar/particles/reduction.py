"""Sums over the classes, by a sparse matrix on one thread: the same bits whatever else runs."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import csr_array

from feedchar.particles.classes import ParticleClasses

Array = NDArray[np.float64]
Index = NDArray[np.intp]


def host_part(classes: ParticleClasses) -> Array:
    """Mass fraction of each class that is its host: 0 for pure grains and riders.

    Parameters
    ----------
    classes : ParticleClasses
        C classes. [-]

    Returns
    -------
    array, shape (C,)
        Fraction. [-]

    References
    ----------
    computed_here
    """
    return np.asarray(np.where(classes.host >= 0, 1.0 - classes.grade, 0.0))


def sum_matrix(target: Index, source: Index, weight: Array, shape: tuple[int, int]) -> csr_array:
    """Matrix that sums sources into targets.

    Parameters
    ----------
    target, source : array of int, shape (N,)
        Row and column of each entry; entries of one place add up. [-]
    weight : array, shape (N,)
        Entries. [any]
    shape : tuple of int
        Targets and sources. [-]

    Returns
    -------
    csr_array, shape `shape`
        For `summed`. [any]

    References
    ----------
    computed_here
    """
    return csr_array((weight, (target, source)), shape=shape)


def summed(matrix: csr_array, values: Array) -> Array:
    """Values of the sources summed into the targets, trial by trial.

    Parameters
    ----------
    matrix : csr_array, shape (K, C)
        From `sum_matrix`. [any]
    values : array, shape (T, C)
        Values of the sources. [any]

    Returns
    -------
    array, shape (T, K)
        Sums. [any]

    References
    ----------
    computed_here
    """
    return np.ascontiguousarray((matrix @ np.ascontiguousarray(values.T)).T)


def phase_size_matrix(classes: ParticleClasses) -> csr_array:
    """Mass of phase and size in each class, the mineral's part and the host's part of a grain.

    Parameters
    ----------
    classes : ParticleClasses
        C classes, M phases, S sizes. [-]

    Returns
    -------
    csr_array, shape (M * S, C)
        Each column sums to 1. [-]

    References
    ----------
    computed_here (mass balance)
    """
    sizes, count = len(classes.sizes), len(classes.size)
    hosts = host_part(classes)
    both = np.flatnonzero(hosts > 0.0)
    own = classes.mineral * sizes + classes.size
    other = (classes.host * sizes + classes.size)[both]
    return sum_matrix(
        np.concatenate([own, other]),
        np.concatenate([np.arange(count), both]),
        np.concatenate([1.0 - hosts, hosts[both]]),
        (len(classes.phase_names) * sizes, count),
    )
