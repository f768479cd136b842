"""From masses by mineral and size to particle classes: who sits in which grain."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from feedchar.chemistry.mineralogy import UNSEEN, Mineralogy
from feedchar.particles.classes import ParticleClasses, SizeClasses
from feedchar.particles.columns import (
    FREE,
    INCLUSION,
    INSIDE,
    JOINED,
    NOT_FOUND,
    STAIN,
    Columns,
    assemble,
    thickness_ratios,
)
from feedchar.particles.composites import Wanted, inclusion_wanted, joined_wanted
from feedchar.particles.placement import Placement, placements_of
from feedchar.particles.riders import Rider, pale_hosts, stain_masses, unseen_riders
from feedchar.particles.texture_notes import texture_notes
from feedchar.sample.records import Note, Sample

Array = NDArray[np.float64]

HOSTS_OF_JOINED = 2
"""Hosts that joined grains of no stated host are spread over, the largest pale phases."""
LEAST_HOST_OF_JOINED = 0.25
"""Least share of the pale mass of such a host; pale minerals differ little in a magnet. [-]"""
HOSTS_OF_RIDERS = 3
LEAST_HOST_OF_RIDERS = 0.05
"""The same for the hosts of stain and of unseen iron. [-]"""
HOST_ROOM = 0.98
"""Most of a host in one size that may be taken up by composite grains. [-]"""


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
    sample: Sample,
) -> list[Wanted]:
    """Composite grains that one mineral asks for, before its hosts are asked."""
    names = [phase.name for phase in mineralogy.phases]
    out: list[Wanted] = []
    for part in parts:
        if part.form not in ("joined", "inclusion"):
            continue
        stated = _host_index(part, names, index)
        on = hosts if stated is None else [stated]
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
                    index, host, amount * split[:, k, :],
                    mass[:, host, :] / _sharing(sample, names[host], part), part, mineralogy,
                    sizes, seed, bins,
                )
            )  # fmt: skip
    return out


def _sharing(sample: Sample, host: str, part: Placement) -> int:
    """How many minerals share the grains of a host that hold inclusions of unknown size."""
    if part.grain_size_um is not None:
        return 1  # thrown at random over all grains of the host
    rows = [row for row in sample.textures if row.form == "inclusion" and row.host in (None, host)]
    return max(len({row.mineral for row in rows}), 1)


def _fit_to_hosts(
    wanted: list[Wanted], riders: list[Rider], mass: Array
) -> list[tuple[Wanted, Array]]:
    """Scale what is wanted of a host in a size to what it has there; (wanted, scale (T, S))."""
    demand: dict[int, Array] = {}
    for want in wanted:
        demand[want.host] = demand.get(want.host, 0.0) + want.host_mass()
    scale = {}
    for host, need in demand.items():
        # A host that is itself joined to others, or rides, has only the rest of it to give.
        used = [want.mineral_mass.sum(axis=2) for want in wanted if want.mineral == host]
        used += [rider.mass for rider in riders if rider.mineral == host]
        left = mass[:, host, :] - sum(used, np.zeros_like(need))
        room = HOST_ROOM * np.maximum(left, 0.0)
        scale[host] = np.minimum(1.0, np.divide(room, need, out=np.ones_like(need), where=need > 0))
    return [(want, scale[want.host]) for want in wanted]


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
    riders: list[Rider] = []
    wanted: list[Wanted] = []
    notes = texture_notes(sample, mineralogy)

    pale_volume = sum((mass[:, h, :] / density[h] for h in rider_hosts), np.zeros((trials, count)))
    for i, phase in enumerate(phases):
        if phase.name == UNSEEN:
            riders += unseen_riders(i, mineralogy, mass, pale_volume, sizes)
            continue
        if phase.role == "host":
            continue
        parts = placements_of(
            phase.name, sample, sizes, volume[:, i], phase.role == "removable",
            mineralogy.stain_phase_share.get(phase.name, 0.0), seed,
        )  # fmt: skip
        stains = [part for part in parts if part.form == "stain"]
        stain = stain_masses(stains, mass[:, i, :], pale_volume, sizes)
        # Stain by surface takes more than its mean share of a fine class: the other forms share
        # what it leaves there.
        left = np.maximum(mass[:, i, :] - sum(stain, np.zeros((trials, count))), 0.0)
        unstained = 1.0 - sum((part.share for part in stains), np.zeros((1, count)))
        parts = tuple(
            replace(part, share=np.clip(part.share / np.maximum(unstained, 1e-12), 0.0, 1.0))
            for part in parts if part.form != "stain"
        )  # fmt: skip
        for part, amount in zip(stains, stain, strict=True):
            riders.append(Rider(i, _host_index(part, names, i), STAIN, STAIN, amount))
        for part in parts:
            if part.form == "inside":
                amount = part.share * left
                riders.append(Rider(i, _host_index(part, names, i), INSIDE, INSIDE, amount))
        wanted += _wanted(
            i, parts, mineralogy, mass, left, joined_hosts, sizes, seed, grade_bins, sample
        )

    if not rider_hosts:
        riders = [rider for rider in riders if rider.host is not None]
    placed = _fit_to_hosts(wanted, riders, mass)
    short: dict[str, list[str]] = {}
    for want, scale in placed:
        free[:, want.mineral, :] -= scale * want.mineral_mass.sum(axis=2)
        free[:, want.host, :] -= scale * want.host_mass()
        if scale[0].min() < 0.999:
            short.setdefault(names[want.host], []).append(names[want.mineral])
    for pale, guests in sorted(short.items()):
        text = f"{pale} is short as a host of {', '.join(sorted(set(guests)))} in some sizes"
        notes.append(Note("host_short", f"{text}; the joined share was scaled down there", "note"))
    for rider in riders:
        free[:, rider.mineral, :] -= rider.mass
    np.maximum(free, 0.0, out=free)  # rounding only: shares never sum above 1

    columns = Columns()
    every_size = np.arange(count)
    for i, phase in enumerate(phases):
        form = NOT_FOUND if phase.name == UNSEEN else FREE
        columns.add(i, -1, form, every_size, np.ones(count), free[:, i, :], acts_as=FREE)
    for want, scale in placed:
        n = want.grades.shape[1]
        columns.add(
            want.mineral, want.host, JOINED if want.form == "joined" else INCLUSION,
            np.repeat(every_size, n), want.grades.ravel(),
            (scale[:, :, None] * want.mineral_mass / want.grades).reshape(trials, count * n),
        )  # fmt: skip
    for rider in riders:
        on = rider_hosts if rider.host is None else [rider.host]
        surface = np.stack([free[:, h, :] / density[h] for h in on], axis=1)
        whole = surface.sum(axis=1, keepdims=True)
        even = np.full_like(surface, 1.0 / len(on))
        split = np.divide(surface, whole, out=even, where=whole > 0.0)
        for k, host in enumerate(on):
            columns.add(
                rider.mineral, host, rider.form, every_size, np.ones(count),
                rider.mass * split[:, k, :], carrier=host * count + every_size,
                acts_as=rider.acts_as,
            )  # fmt: skip
    thickness = thickness_ratios(phases, sample, sizes)
    return assemble(columns, tuple(names), sizes, thickness), _unique(notes)


def _host_index(part: Placement, names: list[str], own: int) -> int | None:
    """Place of the stated host; None for the pale minerals together."""
    place = names.index(part.host) if part.host in names else None
    return None if place == own else place


def _unique(notes: list[Note]) -> tuple[Note, ...]:
    return tuple(dict.fromkeys(notes))
