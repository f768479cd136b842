"""Columns of the class arrays as they are collected, and the record made of them."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from feedchar.chemistry.mineralogy import PhaseModel
from feedchar.particles.classes import FORMS, ParticleClasses, SizeClasses
from feedchar.sample.records import Sample

Array = NDArray[np.float64]
Index = NDArray[np.intp]

FREE, JOINED, INCLUSION, STAIN, INSIDE, NOT_FOUND = range(len(FORMS))
FLAKE_THICKNESS_RATIO = 0.1
"""Median thickness over sieve size of a flake (guess). [-]"""


@dataclass
class Columns:
    """Classes as they are collected, one entry a block of columns."""

    mineral: list[Index] = field(default_factory=list)
    host: list[Index] = field(default_factory=list)
    form: list[Index] = field(default_factory=list)
    size: list[Index] = field(default_factory=list)
    grade: list[Array] = field(default_factory=list)
    carrier: list[Index] = field(default_factory=list)
    acts_as: list[Index] = field(default_factory=list)
    mass: list[Array] = field(default_factory=list)

    def add(
        self,
        mineral: int,
        host: int,
        form: int,
        size: Index,
        grade: Array,
        mass: Array,
        carrier: Index | None = None,
        acts_as: int | None = None,
    ) -> None:
        """Append columns; without a carrier each class is its own."""
        n = mass.shape[1]
        start = sum(len(block) for block in self.size)
        self.mineral.append(np.full(n, mineral))
        self.host.append(np.full(n, host))
        self.form.append(np.full(n, form))
        self.size.append(size)
        self.grade.append(grade)
        self.carrier.append(start + np.arange(n) if carrier is None else carrier)
        self.acts_as.append(np.full(n, form if acts_as is None else acts_as))
        self.mass.append(mass)


def thickness_ratios(phases: tuple[PhaseModel, ...], sample: Sample, sizes: SizeClasses) -> Array:
    """Median thickness over sieve size of each phase in each size.

    Parameters
    ----------
    phases : tuple of PhaseModel
        All phases, M of them. [-]
    sample : Sample
        Its textures may give thicknesses. [-]
    sizes : SizeClasses
        Size classes, S of them. [um]

    Returns
    -------
    array, shape (M, S)
        1 for equant and needle shapes; of flakes as stated, else a tenth. [-]

    References
    ----------
    common practice, no source (a tenth is a guess)
    """
    out = np.ones((len(phases), len(sizes)))
    for i, phase in enumerate(phases):
        stated = [
            t.thickness_um for t in sample.textures
            if t.mineral == phase.name and t.thickness_um is not None
        ]  # fmt: skip
        if stated:
            out[i] = np.clip(float(np.mean(sorted(stated))) / sizes.middle_um, 0.005, 1.0)
        elif phase.shape == "flake":
            out[i] = FLAKE_THICKNESS_RATIO
    return out


def assemble(
    columns: Columns, names: tuple[str, ...], sizes: SizeClasses, thickness: Array
) -> ParticleClasses:
    """One record from the blocks, empty classes dropped (carriers of others kept).

    Parameters
    ----------
    columns : Columns
        Blocks of classes. [-]
    names : tuple of str
        Phases, M of them. [-]
    sizes : SizeClasses
        Size classes, S of them. [um]
    thickness : array, shape (M, S)
        Thickness over sieve size of each phase; a composite grain is as flat as its host. [-]

    Returns
    -------
    ParticleClasses
        Classes that hold mass in any trial, and their carriers. [-]

    References
    ----------
    computed_here
    """
    mineral = np.concatenate(columns.mineral)
    host = np.concatenate(columns.host)
    form = np.concatenate(columns.form)
    size = np.concatenate(columns.size)
    carrier = np.concatenate(columns.carrier)
    used = np.concatenate([block.max(axis=0) > 0.0 for block in columns.mass])
    used[carrier[used]] = True
    new = np.cumsum(used) - 1
    mass = np.empty((len(columns.mass[0]), int(used.sum())))
    start = 0
    for block in columns.mass:
        keep = used[start : start + block.shape[1]]
        place = new[start : start + block.shape[1]][keep]
        if len(place):
            mass[:, place[0] : place[-1] + 1] = block[:, keep]
        start += block.shape[1]
    is_composite = (form == JOINED) | (form == INCLUSION)
    flat = thickness[np.where(is_composite & (host >= 0), host, mineral), size]
    return ParticleClasses(
        phase_names=names,
        sizes=sizes,
        mineral=mineral[used],
        host=host[used],
        form=form[used],
        size=size[used],
        grade=np.concatenate(columns.grade)[used],
        carrier=new[carrier[used]],
        mass=mass,
        thickness_ratio=flat[used],
        acts_as=np.concatenate(columns.acts_as)[used],
    )
