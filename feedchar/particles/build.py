"""From masses by mineral and size to particle classes: who sits in which grain."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from feedchar.chemistry.mineralogy import UNSEEN, Mineralogy, PhaseModel
from feedchar.particles.classes import FORMS, ParticleClasses, SizeClasses
from feedchar.particles.composites import Wanted, inclusion_wanted, joined_wanted
from feedchar.particles.placement import Placement, placements_of
from feedchar.particles.surface import spread_over_sizes, surface_seed
from feedchar.sample.records import Note, Sample

Array = NDArray[np.float64]
Index = NDArray[np.intp]

FREE, JOINED, INCLUSION, STAIN, INSIDE, NOT_FOUND = range(len(FORMS))
HOSTS_OF_JOINED = 2
"""Hosts that joined grains of no stated host are spread over, the largest pale phases."""
LEAST_HOST_OF_JOINED = 0.25
"""Least share of the pale mass of such a host; pale minerals differ little in a magnet. [-]"""
HOSTS_OF_RIDERS = 3
LEAST_HOST_OF_RIDERS = 0.05
"""The same for the hosts of stain and of unseen iron. [-]"""
FLAKE_THICKNESS_RATIO = 0.1
"""Median thickness over sieve size of a flake (guess). [-]"""
HOST_ROOM = 0.98
"""Most of a host in one size that may be taken up by composite grains. [-]"""


@dataclass
class _Columns:
    """Classes as they are collected, one entry a block of columns."""

    mineral: list[Index]
    host: list[Index]
    form: list[Index]
    size: list[Index]
    grade: list[Array]
    carrier: list[Index]
    acts_as: list[Index]
    mass: list[Array]

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
    """
    pale = [i for i, phase in enumerate(phases) if phase.role == "host"]
    whole = float(mass[0, pale].sum())
    present = sorted((i for i in pale if mass[0, i] > 0.0), key=lambda i: (-mass[0, i], i))
    large = [i for i in present if mass[0, i] >= least_share * whole]
    return sorted((large or present[:1])[:most])


def _stain_masses(
    parts: list[Placement], mass: Array, pale_volume: Array, sizes: SizeClasses
) -> list[Array]:
    """Mass by size of each stain part: by the surface of pale grains, but sized rows as stated."""
    if not parts:
        return []
    if any(np.ptp(part.share, axis=1).max() > 1e-12 for part in parts):
        return [part.share * mass for part in parts]
    share = np.stack([np.broadcast_to(part.share[:, 0], len(mass)) for part in parts], axis=1)
    share = np.concatenate([share, 1.0 - share.sum(axis=1, keepdims=True)], axis=1)
    seeds = np.ones((len(mass), share.shape[1], len(sizes)))
    tilt = surface_seed(pale_volume, sizes.middle_um)
    seeds[:, :-1, :] = (tilt / np.maximum(tilt.max(axis=1, keepdims=True), 1e-300))[:, None, :]
    spread = spread_over_sizes(mass, share, seeds)
    return [spread[:, k, :] for k in range(len(parts))]


def _wanted(
    index: int,
    parts: tuple[Placement, ...],
    mineralogy: Mineralogy,
    mass: Array,
    left: Array,
    hosts: list[int],
    sizes: SizeClasses,
    seed: int,
    bins: int,
) -> list[Wanted]:
    """Composite grains that one mineral asks for, before its hosts are asked."""
    names = [phase.name for phase in mineralogy.phases]
    out: list[Wanted] = []
    for part in parts:
        if part.form not in ("joined", "inclusion"):
            continue
        on = [names.index(part.host)] if part.host in names else hosts
        if not on:
            continue
        amount = part.share * left
        pale = mass[:, on, :]
        whole = pale.sum(axis=1, keepdims=True)
        split = np.divide(pale, whole, out=np.zeros_like(pale), where=whole > 0.0)
        make = joined_wanted if part.form == "joined" else inclusion_wanted
        for k, host in enumerate(on):
            out.append(
                make(
                    index, host, amount * split[:, k, :], mass[:, host, :], part, mineralogy,
                    sizes, seed, bins,
                )
            )  # fmt: skip
    return out


def _fit_to_hosts(wanted: list[Wanted], mass: Array) -> list[tuple[Wanted, Array]]:
    """Scale what is wanted of a host in a size to what it has there; (wanted, scale (T, S))."""
    demand: dict[int, Array] = {}
    for want in wanted:
        demand[want.host] = demand.get(want.host, 0.0) + want.host_mass()
    scale = {}
    for host, need in demand.items():
        room = HOST_ROOM * mass[:, host, :]
        scale[host] = np.minimum(1.0, np.divide(room, need, out=np.ones_like(need), where=need > 0))
    return [(want, scale[want.host]) for want in wanted]


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
        1 for equant and needle shapes; of flakes as stated, else a tenth (guess). [-]
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


def build_classes(
    sample: Sample,
    mineralogy: Mineralogy,
    sizes: SizeClasses,
    seed: int = 1,
    grade_bins: int = 8,
) -> tuple[ParticleClasses, tuple[Note, ...]]:
    """Particle classes of a sample, with the notes that the reader must see.

    Parameters
    ----------
    sample : Sample
        Textures and origin. [-]
    mineralogy : Mineralogy
        Masses by phase and size over T trials. [-]
    sizes : SizeClasses
        Size classes, S of them, the same as those of `mineralogy.size_share`. [um]
    seed : int
        The run's seed. [-]
    grade_bins : int
        Bins of the grade of joined grains. [-]

    Returns
    -------
    tuple
        ParticleClasses (mass as fraction of the dry bag, summing over classes to the mass of
        every phase in every size) and a tuple of Note. [-]

    References
    ----------
    common practice, no source (the precedence and the defaults)
    """
    phases, count = mineralogy.phases, len(sizes)
    trials = len(mineralogy.mass_fraction)
    density = np.array([phase.density_kg_m3 for phase in phases])
    mass = mineralogy.mass_fraction[:, :, None] * mineralogy.size_share
    volume = mineralogy.mass_fraction / density
    volume = volume / volume.sum(axis=1, keepdims=True)
    joined_hosts = pale_hosts(
        phases, mineralogy.mass_fraction, HOSTS_OF_JOINED, LEAST_HOST_OF_JOINED
    )
    rider_hosts = pale_hosts(
        phases, mineralogy.mass_fraction, HOSTS_OF_RIDERS, LEAST_HOST_OF_RIDERS
    )
    names = [phase.name for phase in phases]
    free = mass.copy()
    riders: list[tuple[int, int | None, int, int, Array]] = []  # mineral, host, form, acts as
    wanted: list[Wanted] = []
    notes: list[Note] = []

    pale_volume = sum((mass[:, h, :] / density[h] for h in rider_hosts), np.zeros((trials, count)))
    for i, phase in enumerate(phases):
        if phase.name == UNSEEN:
            riders += _unseen_riders(i, mineralogy, mass, pale_volume, sizes)
            continue
        if phase.role == "host":
            continue
        parts = placements_of(
            phase.name, sample, sizes, volume[:, i], phase.role == "removable",
            mineralogy.stain_phase_share.get(phase.name, 0.0), seed,
        )  # fmt: skip
        notes += [
            Note("texture_host", f"{phase.name} sits on {part.host}, which is not listed; "
                 "the pale minerals were taken instead", "warning")
            for part in parts if part.host is not None and part.host not in names
        ]  # fmt: skip
        stains = [part for part in parts if part.form == "stain"]
        stain = _stain_masses(stains, mass[:, i, :], pale_volume, sizes)
        # Stain by surface takes more than its mean share of a fine class: the other forms share
        # what it leaves there.
        left = np.maximum(mass[:, i, :] - sum(stain, np.zeros((trials, count))), 0.0)
        unstained = 1.0 - sum((part.share for part in stains), np.zeros((1, count)))
        parts = tuple(
            replace(part, share=np.clip(part.share / np.maximum(unstained, 1e-12), 0.0, 1.0))
            for part in parts if part.form != "stain"
        )  # fmt: skip
        for part, amount in zip(stains, stain, strict=True):
            riders.append((i, _host_index(part, names), STAIN, STAIN, amount))
        for part in parts:
            if part.form == "inside":
                riders.append((i, _host_index(part, names), INSIDE, INSIDE, part.share * left))
        wanted += _wanted(i, parts, mineralogy, mass, left, joined_hosts, sizes, seed, grade_bins)

    placed = _fit_to_hosts(wanted, mass)
    for want, scale in placed:
        free[:, want.mineral, :] -= scale * want.mineral_mass.sum(axis=2)
        free[:, want.host, :] -= scale * want.host_mass()
        if scale[0].min() < 0.999:
            notes.append(
                Note("host_short", f"{names[want.host]} is short as a host of {names[want.mineral]}"
                     " in some sizes; the joined share was scaled down there", "note")
            )  # fmt: skip
    for mineral, _, _, _, amount in riders:
        free[:, mineral, :] -= amount
    np.maximum(free, 0.0, out=free)  # rounding only: shares never sum above 1

    columns = _Columns([], [], [], [], [], [], [], [])
    every_size = np.arange(count)
    for i, phase in enumerate(phases):
        form = NOT_FOUND if phase.name == UNSEEN else FREE
        columns.add(i, -1, form, every_size, np.ones(count), free[:, i, :], acts_as=FREE)
    for want, scale in placed:
        n = len(want.grades)
        columns.add(
            want.mineral, want.host, JOINED if want.form == "joined" else INCLUSION,
            np.repeat(every_size, n), np.tile(want.grades, count),
            (scale[:, :, None] * want.mineral_mass / want.grades).reshape(trials, count * n),
        )  # fmt: skip
    for mineral, stated, form, acts_as, amount in riders:
        on = rider_hosts if stated is None else [stated]
        surface = np.stack([free[:, h, :] / density[h] for h in on], axis=1)
        whole = surface.sum(axis=1, keepdims=True)
        even = np.full_like(surface, 1.0 / len(on))
        split = np.divide(surface, whole, out=even, where=whole > 0.0)
        for k, host in enumerate(on):
            columns.add(
                mineral, host, form, every_size, np.ones(count), amount * split[:, k, :],
                carrier=host * count + every_size, acts_as=acts_as,
            )  # fmt: skip
    thickness = thickness_ratios(phases, sample, sizes)
    return _assemble(columns, tuple(names), sizes, thickness), _unique(notes)


def _host_index(part: Placement, names: list[str]) -> int | None:
    return names.index(part.host) if part.host in names else None


def _unseen_riders(
    index: int, mineralogy: Mineralogy, mass: Array, pale_volume: Array, sizes: SizeClasses
) -> list[tuple[int, int | None, int, int, Array]]:
    """Unseen iron as stain and inclusion by size; what is left is fine free oxide."""
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
        (index, None, NOT_FOUND, STAIN, spread[:, 0, :]),
        (index, None, NOT_FOUND, INCLUSION, spread[:, 1, :]),
    ]


def _assemble(
    columns: _Columns, names: tuple[str, ...], sizes: SizeClasses, thickness: Array
) -> ParticleClasses:
    """One record from the blocks, empty classes dropped (carriers of others kept)."""
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


def _unique(notes: list[Note]) -> tuple[Note, ...]:
    return tuple(dict.fromkeys(notes))


def classes_of(
    sample: Sample,
    mineralogy: Mineralogy,
    sizes: SizeClasses,
    seed: int = 1,
    grade_bins: int = 8,
) -> ParticleClasses:
    """Particle classes of a sample; `build_classes` gives the notes too.

    Parameters
    ----------
    sample : Sample
        Textures and origin. [-]
    mineralogy : Mineralogy
        Masses by phase and size over T trials. [-]
    sizes : SizeClasses
        Size classes, S of them. [um]
    seed : int
        The run's seed. [-]
    grade_bins : int
        Bins of the grade of joined grains. [-]

    Returns
    -------
    ParticleClasses
        Mass as fraction of the dry bag. [-]

    References
    ----------
    common practice, no source (the precedence and the defaults)
    """
    return build_classes(sample, mineralogy, sizes, seed, grade_bins)[0]
