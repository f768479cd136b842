"""Iron that rides on pale grains: stain, lamellae inside, and iron that was not found."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from feedchar.chemistry.mineralogy import Mineralogy, PhaseModel
from feedchar.particles.classes import SizeClasses
from feedchar.particles.columns import INCLUSION, NOT_FOUND, STAIN
from feedchar.particles.placement import Placement
from feedchar.particles.surface import spread_over_sizes, surface_seed

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Rider:
    """Mass of one mineral that rides on a host, or on the pale hosts by their surface."""

    mineral: int
    host: int | None
    form: int
    acts_as: int
    mass: Array
    """(T, S) [-]"""


def pale_hosts(
    phases: tuple[PhaseModel, ...], mass: Array, most: int, least_share: float
) -> list[int]:
    """The pale phases that host what has no stated host, largest first in the typical case.

    Parameters
    ----------
    phases : tuple of PhaseModel
        All phases, M of them. [-]
    mass : array, shape (T, M)
        Mass fractions. [-]
    most : int
        Greatest number of hosts. [-]
    least_share : float
        Least share of the pale mass; the largest pale phase always counts. [-]

    Returns
    -------
    list of int
        Indices of phases, in canonical order. [-]

    References
    ----------
    common practice, no source
    """
    pale = [i for i, phase in enumerate(phases) if phase.role == "host"]
    whole = float(mass[0, pale].sum())
    present = sorted((i for i in pale if mass[0, i] > 0.0), key=lambda i: (-mass[0, i], i))
    large = [i for i in present if mass[0, i] >= least_share * whole]
    return sorted((large or present[:1])[:most])


def stain_masses(
    parts: list[Placement], mass: Array, pale_volume: Array, sizes: SizeClasses
) -> list[Array]:
    """Mass by size of each stain part: by the surface of pale grains, but sized rows as stated.

    Parameters
    ----------
    parts : list of Placement
        Stains of one mineral. [-]
    mass : array, shape (T, S)
        Mass of the mineral by size. [-]
    pale_volume : array, shape (T, S)
        Volume of the pale grains by size, up to a factor. [any]
    sizes : SizeClasses
        Size classes, S of them. [um]

    Returns
    -------
    list of array, shape (T, S)
        Mass of each part. [-]

    References
    ----------
    common practice, no source (stain follows surface)
    """
    if not parts:
        return []
    if any(np.ptp(part.share, axis=1).max() > 1e-12 for part in parts):
        return [part.share * mass for part in parts]
    share = np.stack([np.broadcast_to(part.share[:, 0], len(mass)) for part in parts], axis=1)
    share = np.concatenate([share, 1.0 - share.sum(axis=1, keepdims=True)], axis=1)
    # What is not stain leans to where the mineral is.
    lean = mass / np.maximum(mass.max(axis=1, keepdims=True), 1e-300)
    seeds = np.repeat(lean[:, None, :], share.shape[1], axis=1)
    tilt = surface_seed(pale_volume, sizes.middle_um)
    seeds[:, :-1, :] = (tilt / np.maximum(tilt.max(axis=1, keepdims=True), 1e-300))[:, None, :]
    spread = spread_over_sizes(mass, share, seeds)
    return [spread[:, k, :] for k in range(len(parts))]


def unseen_riders(
    index: int, mineralogy: Mineralogy, mass: Array, pale_volume: Array, sizes: SizeClasses
) -> list[Rider]:
    """Unseen iron as stain and inclusion by size; what is left is fine free oxide.

    Parameters
    ----------
    index : int
        Place of the phase `unseen`. [-]
    mineralogy : Mineralogy
        Shares of its three forms in each trial. [-]
    mass : array, shape (T, M, S)
        Mass by phase and size. [-]
    pale_volume : array, shape (T, S)
        Volume of the pale grains by size, up to a factor. [any]
    sizes : SizeClasses
        Size classes, S of them. [um]

    Returns
    -------
    list of Rider
        Empty where there is no unseen iron or nothing for it to sit on. [-]

    References
    ----------
    common practice, no source (stain follows surface)
    """
    own = mass[:, index, :]
    if not own.any() or not pale_volume.any():
        return []
    seeds = np.stack(
        [
            surface_seed(pale_volume, sizes.middle_um / sizes.middle_um.min()),
            pale_volume,
            np.maximum(mass.sum(axis=1), 1e-12) / (sizes.middle_um / sizes.middle_um.min()),
        ],
        axis=1,
    )
    seeds /= np.maximum(seeds.max(axis=2, keepdims=True), 1e-300)
    spread = spread_over_sizes(own, mineralogy.unseen_form_share, seeds)
    return [
        Rider(index, None, NOT_FOUND, STAIN, spread[:, 0, :]),
        Rider(index, None, NOT_FOUND, INCLUSION, spread[:, 1, :]),
    ]
