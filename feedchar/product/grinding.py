"""A bag ground finer: what breaks, what is freed, and where the daughters lie."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from feedchar.particles.classes import ParticleClasses
from feedchar.particles.columns import FREE, INCLUSION, JOINED
from feedchar.particles.composite_grain import volume_grade
from feedchar.particles.free_share import gaudin_free_share
from feedchar.particles.reduction import sum_matrix, summed
from feedchar.product.outlets import treated_share
from feedchar.product.scenarios import acting_form

Array = NDArray[np.float64]


def daughter_shares(passing_um: Array, retained_um: Array, top_um: float) -> Array:
    """How ground material spreads over the size classes: finer than d goes as d over the top.

    Parameters
    ----------
    passing_um, retained_um : array, shape (S,)
        Size classes. [um]
    top_um : float
        Size that all ground material passes. [um]

    Returns
    -------
    array, shape (S,)
        Shares, summing to 1. [-]

    References
    ----------
    common practice, no source (straight line of the sizes of a short grind, exponent 1)
    """
    share = (np.minimum(passing_um, top_um) - np.minimum(retained_um, top_um)) / top_um
    share = np.maximum(share, 0.0)
    share[np.argmin(passing_um)] += max(1.0 - float(share.sum()), 0.0)
    return np.asarray(share)


def ground(classes: ParticleClasses, density_kg_m3: Array, top_um: float) -> ParticleClasses:
    """The feed after grinding everything coarser than a size to pass it.

    The mineral of a joined grain is taken as one lump, of the cube root of its volume share in
    size; a daughter of the grain smaller than the lump frees part of it (Gaudin), and the grains
    that stay joined keep their grade. Inclusions stay inside. Stain follows its host.

    Parameters
    ----------
    classes : ParticleClasses
        C classes over T trials. [-]
    density_kg_m3 : array, shape (M,)
        Of each phase. [kg m⁻³]
    top_um : float
        Size that all is ground to pass. [um]

    Returns
    -------
    ParticleClasses
        New classes; every phase keeps its mass. [-]

    References
    ----------
    gaudin_1939 (from memory); common practice, no source (sizes of the ground part)
    """
    sizes = classes.sizes
    coarse = 1.0 - treated_share(sizes, top_um, None)
    spread = daughter_shares(sizes.passing_um, sizes.retained_um, top_um)
    middle = sizes.middle_um
    acts = acting_form(classes)
    keys: dict[tuple[int, int, int, int, float, int], int] = {}
    flat: list[float] = []
    rows: list[int] = []
    columns: list[int] = []
    weights: list[float] = []

    def put(
        source: int, key: tuple[int, int, int, int, float, int], ratio: float, part: float
    ) -> None:
        if key not in keys:
            keys[key] = len(keys)
            flat.append(ratio)
        rows.append(source)
        columns.append(keys[key])
        weights.append(part)

    for c in range(len(classes.size)):
        mineral, host = int(classes.mineral[c]), int(classes.host[c])
        form, size, grade = int(classes.form[c]), int(classes.size[c]), float(classes.grade[c])
        ratio = float(classes.thickness_ratio[c])
        key = (mineral, host, form, size, grade, int(acts[c]))
        put(c, key, ratio, 1.0 - coarse[size])
        if coarse[size] <= 0.0:
            continue
        lump = middle[size]
        if form == JOINED:
            part = volume_grade(grade, density_kg_m3[mineral], density_kg_m3[host])
            lump = middle[size] * float(part) ** (1.0 / 3.0)
        for small in np.flatnonzero(spread):
            amount = coarse[size] * spread[small]
            daughter = (mineral, host, form, int(small), grade, int(acts[c]))
            freed = float(gaudin_free_share(lump / middle[small])) if form == JOINED else 0.0
            put(c, daughter, ratio, amount * (1.0 - freed))
            if freed > 0.0:
                pure = (mineral, -1, FREE, int(small), 1.0, FREE)
                pale = (host, -1, FREE, int(small), 1.0, FREE)
                put(c, pure, 1.0, amount * freed * grade)
                put(c, pale, 1.0, amount * freed * (1.0 - grade))
    carriers = [
        (key[1], -1, FREE, key[3], 1.0, FREE)
        if key[1] >= 0 and key[2] not in (JOINED, INCLUSION)
        else key
        for key in keys
    ]
    for key in carriers:
        if key not in keys:
            keys[key] = len(keys)
            flat.append(1.0)
    carriers += list(keys)[len(carriers) :]
    matrix = sum_matrix(
        np.array(columns), np.array(rows), np.array(weights), (len(keys), len(classes.size))
    )
    table = np.array(list(keys), dtype=float)
    whole = [table[:, k].astype(np.intp) for k in range(6)]
    return ParticleClasses(
        phase_names=classes.phase_names,
        sizes=sizes,
        mineral=whole[0],
        host=whole[1],
        form=whole[2],
        size=whole[3],
        grade=table[:, 4],
        carrier=np.array([keys[key] for key in carriers], dtype=np.intp),
        mass=summed(matrix, classes.mass),
        thickness_ratio=np.array(flat),
        acts_as=whole[5],
    )
