"""Grains of two minerals: how much of a mineral at which grade, and the host that it needs."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr

from feedchar.chemistry.mineralogy import Mineralogy
from feedchar.particles.classes import SizeClasses
from feedchar.particles.grades import (
    STATED_GRADES,
    STATED_SHARES,
    beta_bins,
    grade_edges,
    inclusion_grades,
    log_normal_bins,
)
from feedchar.particles.joined_share import deviates
from feedchar.particles.joining import beta_parameters, joined_grade_moments
from feedchar.particles.placement import Placement

Array = NDArray[np.float64]

VOLUME_NODES = 7
"""Nodes over the trials' volume fraction at which the beta masses are worked out."""
INCLUSION_GRADE_LN_SD = 1.0
"""Spread of the grade of included grains among hosts, ln-sd (guess). [-]"""
CLUMPING_LN_SD = 0.5
"""How far inclusions are from random: ln-sd of how many sit where one would (guess). [-]"""


@dataclass(frozen=True)
class Wanted:
    """Composite grains that a mineral asks of one host."""

    mineral: int
    host: int
    form: str
    """joined | inclusion"""
    grades: Array
    """(S, B) mass fraction of the mineral in the grain."""
    mineral_mass: Array
    """(T, S, B) mass of the mineral."""

    def host_mass(self) -> Array:
        """Mass of host that the grains need. (T, S) [-]"""
        return np.asarray(np.einsum("tsb,sb->ts", self.mineral_mass, 1.0 / self.grades - 1.0))


def joined_wanted(
    mineral: int,
    host: int,
    amount: Array,
    host_mass: Array,
    part: Placement,
    mineralogy: Mineralogy,
    sizes: SizeClasses,
    seed: int,
    bins: int,
) -> Wanted:
    """Joined grains of one mineral on one host.

    With a grain size the grades follow the beta distribution whose moments the random lattice
    gives; else the stated grades.

    Parameters
    ----------
    mineral, host : int
        Indices of the phases. [-]
    amount : array, shape (T, S)
        Mass of the mineral that is joined to this host. [-]
    host_mass : array, shape (T, S)
        Mass of the host; not used here. [-]
    part : Placement
        Where the amount comes from. [-]
    mineralogy : Mineralogy
        Phases and masses. [-]
    sizes : SizeClasses
        Size classes, S of them. [um]
    seed : int
        The run's seed; not used here. [-]
    bins : int
        Grade bins. [-]

    Returns
    -------
    Wanted
        Masses by trial, size and grade. [-]

    References
    ----------
    wiegel_li_1967; common practice, no source (stated grades)
    """
    if part.grain_size_um is None:
        stated = np.tile(STATED_GRADES, (len(sizes), 1))
        return Wanted(mineral, host, "joined", stated, amount[:, :, None] * STATED_SHARES)
    density = [mineralogy.phases[k].density_kg_m3 for k in (mineral, host)]
    specific = mineralogy.mass_fraction / [p.density_kg_m3 for p in mineralogy.phases]
    volume = specific[:, mineral] / specific.sum(axis=1)
    ratio = part.grain_size_um / sizes.middle_um
    nodes = np.linspace(volume.min(), max(volume.max(), volume.min() + 1e-9), VOLUME_NODES)
    _, mean, variance = joined_grade_moments(ratio[None, :], nodes[:, None])
    a, b = beta_parameters(mean, variance)
    mineral_share, _ = beta_bins(a, b, density[0], density[1], bins)
    place = (volume - nodes[0]) / (nodes[1] - nodes[0])
    left = np.clip(place.astype(int), 0, VOLUME_NODES - 2)
    right_weight = np.clip(place - left, 0.0, 1.0)[:, None, None]
    shares = mineral_share[left] * (1 - right_weight) + mineral_share[left + 1] * right_weight
    grades = np.tile(_bin_grades(a, b, nodes, volume[0], density, bins), (len(sizes), 1))
    return Wanted(mineral, host, "joined", grades, amount[:, :, None] * shares)


def _bin_grades(
    a: Array, b: Array, nodes: Array, typical: float, density: list[float], bins: int
) -> Array:
    """Mass grade that stands for each bin: mineral over grain, at the typical volume fraction."""
    node = int(np.argmin(np.abs(nodes - typical)))
    # Mineral and host of the whole distribution by mass, with mean volume grade a / (a + b).
    mineral_share, host_share = beta_bins(a[node], b[node], density[0], density[1], bins)
    mean = (a[node] / (a[node] + b[node]))[:, None]
    mineral = (mineral_share * mean * density[0]).sum(axis=0)
    host = (host_share * (1.0 - mean) * density[1]).sum(axis=0)
    edges = grade_edges(bins)
    middle = (edges[1:] + edges[:-1]) / 2.0
    whole = mineral + host
    grade = np.divide(mineral, whole, out=middle.copy(), where=whole > 1e-12)
    return np.clip(grade, np.maximum(edges[:-1], 1e-4), edges[1:])


def inclusion_wanted(
    mineral: int,
    host: int,
    amount: Array,
    host_mass: Array,
    part: Placement,
    mineralogy: Mineralogy,
    sizes: SizeClasses,
    seed: int,
    bins: int,
) -> Wanted:
    """Pale grains that hold another mineral inside, log-normal in their grade.

    With the size of the inclusions they are thrown at random: of grains that would hold n on
    average, 1 - exp(-n) hold any, and none holds less than one. Without it, half of the host's
    grains hold them typically, drawn evenly from none to all.

    Parameters
    ----------
    mineral, host : int
        Indices of the phases. [-]
    amount : array, shape (T, S)
        Mass of the mineral inside this host. [-]
    host_mass : array, shape (T, S)
        Mass of the host that may hold it. [-]
    part : Placement
        Where the amount comes from, with the size of the inclusions or without. [-]
    mineralogy : Mineralogy
        Phases, for their names and densities. [-]
    sizes : SizeClasses
        Size classes, S of them. [um]
    seed : int
        The run's seed. [-]
    bins : int
        Grade bins of joined grains; inclusions take half as many more. [-]

    Returns
    -------
    Wanted
        Masses by trial, size and grade. [-]

    References
    ----------
    common practice, no source (guess)
    """
    names = [mineralogy.phases[k].name for k in (mineral, host)]
    deviate = deviates(seed, f"{names[0]}/bearing grains of {names[1]}", len(amount))
    if part.grain_size_um is None:
        bearing = np.clip(ndtr(deviate), 0.02, 0.98)[:, None]  # 0.5 in the typical row
    else:
        density = [mineralogy.phases[k].density_kg_m3 for k in (mineral, host)]
        one = np.minimum((part.grain_size_um / sizes.middle_um) ** 3, 0.5) * density[0] / density[1]
        held = np.divide(amount, host_mass, out=np.zeros_like(amount), where=host_mass > 0.0)
        clumped = np.exp(CLUMPING_LN_SD * deviate)[:, None]
        bearing = np.clip(-np.expm1(-held / one / clumped), 1e-9, 0.98)
    room = bearing * host_mass
    mean = np.divide(amount, amount + room, out=np.full_like(amount, 0.3), where=amount > 0.0)
    # Among grains ln-normal of that mean; weighted by the mineral its median moves up by s^2.
    half = INCLUSION_GRADE_LN_SD**2 / 2.0
    edges, grades = inclusion_grades(bins + bins // 2, mean[0] * np.exp(half))
    shares = log_normal_bins(np.maximum(mean, 1e-9) * np.exp(half), INCLUSION_GRADE_LN_SD, edges)
    return Wanted(mineral, host, "inclusion", grades, amount[:, :, None] * shares)
