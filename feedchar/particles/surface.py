"""Spreading the forms of one phase over the sizes, with its mass in every size kept.

Stain follows surface (about 1/d) and inclusions follow the mass of their hosts, but the phase as
a whole must keep the sizes that the mineralogy gives it: iterative proportional fitting.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from feedchar.chemistry.mineralogy import UNSEEN, Mineralogy
from feedchar.particles.classes import SizeClasses
from feedchar.sample.records import Sample

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
    want = form_share * mass_by_size.sum(axis=1, keepdims=True)
    mass = np.where(mass_by_size[:, None, :] > 0.0, seeds, 0.0)
    every_size = np.ones(mass.shape[2])
    for _ in range(rounds):  # always all rounds: one trial must not depend on the others
        row = mass @ every_size
        fit = np.divide(want, row, out=np.zeros_like(want), where=row > 0.0)
        mass *= fit[:, :, None]
        column = np.einsum("tfs->ts", mass)
        mass *= np.divide(mass_by_size, column, out=np.zeros_like(column), where=column > 0.0)[
            :, None, :
        ]
    mass[:, -1, :] += np.maximum(mass_by_size - mass.sum(axis=1), 0.0)
    return np.asarray(mass)


def sized_by_surface(sample: Sample, mineralogy: Mineralogy, sizes: SizeClasses) -> Mineralogy:
    """Mineralogy whose stains are spread over the sizes by surface where nobody measured it.

    A phase that shares the sizes of the whole bag was never sized. Of such a phase the part that
    is stain (of `unseen`: stain and fine free oxide) is spread by the surface of the pale
    grains, the rest by their mass, so that iron times size is flat across washed classes.

    Parameters
    ----------
    sample : Sample
        Its textures say which phases are stain. [-]
    mineralogy : Mineralogy
        Masses, sizes and the forms of the unseen iron. [-]
    sizes : SizeClasses
        Size classes, S of them. [um]

    Returns
    -------
    Mineralogy
        With `size_share` changed for those phases only. [-]

    References
    ----------
    common practice, no source (stain follows surface)
    """
    phases = mineralogy.phases
    pale = [k for k, phase in enumerate(phases) if phase.role == "host"]
    if not pale:
        return mineralogy
    stated = {
        name: sum(
            row.share_pct or 0.0
            for row in sample.textures
            if row.mineral == name and row.form == "stain" and row.passing_um is None
        )
        / 100.0
        for name in {row.mineral for row in sample.textures}
    }
    share = mineralogy.size_share
    amount = mineralogy.mass_fraction
    mass = np.einsum(
        "tm,tms->ts",
        amount[:, pale],
        np.broadcast_to(share[:, pale], (len(amount), len(pale), share.shape[2])),
    )
    surface = surface_seed(mass, sizes.middle_um)
    by_mass = mass / np.maximum(mass.sum(axis=1, keepdims=True), 1e-300)
    by_surface = surface / np.maximum(surface.sum(axis=1, keepdims=True), 1e-300)
    bag = amount[0] @ share[0]
    changed: dict[int, Array] = {}
    for k, phase in enumerate(phases):
        if phase.name == UNSEEN:
            part = 1.0 - mineralogy.unseen_form_share[:, 1:2]
        else:
            stain = stated.get(phase.name, 0.0) or mineralogy.stain_phase_share.get(phase.name, 0.0)
            part = np.full((1, 1), min(stain, 1.0))
        alike = np.allclose(share[0, k], bag, rtol=0.05, atol=1e-3)
        drawn = np.ptp(share[:, k], axis=0).max() > 1e-12
        if phase.role == "host" or drawn or not alike or not part.any():
            continue
        changed[k] = part * by_surface + (1.0 - part) * by_mass
    if not changed:
        return mineralogy
    full = np.repeat(share, len(amount), axis=0) if len(share) == 1 else share.copy()
    moved = np.zeros_like(mass)
    for k, spread in changed.items():
        moved += amount[:, k : k + 1] * (spread - full[:, k])
        full[:, k] = spread
    # The largest pale mineral gives way, so that every class keeps the mass of the sieves.
    largest = max(pale, key=lambda k: (amount[0, k], -k))
    held = amount[:, largest : largest + 1]
    left = np.maximum(held * full[:, largest] - moved, 0.0)
    total = left.sum(axis=1, keepdims=True)
    full[:, largest] = np.divide(left, total, out=full[:, largest].copy(), where=total > 0.0)
    return replace(mineralogy, size_share=full)
