"""How much sand: masses from every class of grains of this feed and of its product."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from feedchar.assembly.subset import Trials
from feedchar.chemistry.mineralogy import UNSEEN
from feedchar.particles.classes import FORMS
from feedchar.particles.iron import FE2O3
from feedchar.product.outlets import treated_share
from feedchar.results.plan import PlanGrains
from feedchar.separation.records import Shares
from feedchar.testwork.grain_numbers import grains_for_relative_sd
from feedchar.testwork.heterogeneity import class_grain_mass_g, heterogeneity_parts_g
from feedchar.testwork.sampling import mass_for_sampling_error

Array = NDArray[np.float64]

GROUND_UM = 75.0
"""Top size of a pulverised split; common practice, no source. [um]"""
TOP_SHARE = 0.95
"""Share of the mass that passes the top size of the sampling formula."""
CM_PER_UM = 1e-4
WORTH_TELLING = 0.005
"""Phases that add less to the variance and hold less of the iron are not listed. [-]"""


@dataclass(frozen=True)
class GrainTable:
    """Grains of one stream as they are sampled, riders counted with their carriers, typical."""

    mass: Array
    """(G,) fraction of the dry bag. [-]"""
    grain_g: Array
    """(G,) mass of one grain."""
    iron: Array
    """(G,) content. [wt % Fe2O3]"""
    mineral: NDArray[np.intp]
    """(G,) the phase that carries the iron."""
    grade: Array
    """(G,) share of that phase in the grain. [-]"""
    size_um: Array
    parts_g: Array
    """(G,) what each adds to the sampling constant."""

    @property
    def constant_g(self) -> float:
        """Mass whose fundamental relative sd would be 1. [g]"""
        return float(self.parts_g.sum())


def grain_table(trials: Trials, share: Array | None = None) -> GrainTable:
    """The grains of the feed, or of an outlet of it.

    Parameters
    ----------
    trials : Trials
        The feed; row 0 is used. [-]
    share : array, shape (C,), or None
        Share of each class in the outlet; None: the feed. [-]

    Returns
    -------
    GrainTable
        One row a class of grains that move alone. [-]
    """
    classes, grains = trials.classes, trials.grains
    iron_of = trials.mineralogy.oxides_wt_pct[0, :, FE2O3]
    mass = classes.mass[0] * (1.0 if share is None else share)
    rest = np.where(classes.host >= 0, iron_of[classes.host], 0.0)
    content = classes.grade * iron_of[classes.mineral] + (1.0 - classes.grade) * rest
    count = len(mass)
    whole = np.asarray(np.bincount(classes.carrier, mass, count), dtype=float)
    held = np.asarray(np.bincount(classes.carrier, mass * content, count), dtype=float)
    kept = np.flatnonzero(whole > 0.0)
    density = grains.density_kg_m3[kept] / 1000.0
    grain_g = class_grain_mass_g(
        100.0 * grains.passing_m[kept],
        100.0 * grains.retained_m[kept],
        density,
        np.where(grains.is_flake[kept], grains.thickness_ratio[kept], 1.0),
    )
    iron = held[kept] / whole[kept]
    return GrainTable(
        mass=whole[kept],
        grain_g=grain_g,
        iron=iron,
        mineral=classes.mineral[kept],
        grade=classes.grade[kept],
        size_um=classes.sizes.middle_um[classes.size[kept]],
        parts_g=_parts(whole[kept], grain_g, iron),
    )


def outlet_share(
    trials: Trials, shares: Shares, outlet: str, window: tuple[float | None, float | None]
) -> Array:
    """Share of every class that goes to an outlet, typical case.

    Parameters
    ----------
    trials : Trials
        The feed. [-]
    shares : Shares
        Where each class goes. [-]
    outlet : str
        non_magnetics, middlings or magnetics. [-]
    window : tuple of float or None
        Size window treated, upper and lower end. [um]

    Returns
    -------
    array, shape (C,)
        Share of the class. [-]
    """
    inside = treated_share(trials.classes.sizes, *window)[trials.classes.size]
    return np.asarray(getattr(shares, outlet)[0] * inside)


def ground_constant_g(trials: Trials, table: GrainTable) -> float:
    """Sampling constant of a stream after pulverising, named phase and rest of a grain apart.

    Parameters
    ----------
    trials : Trials
        The feed, for densities and iron. [-]
    table : GrainTable
        The stream. [-]

    Returns
    -------
    float
        For the bead. [g]
    """
    phases = trials.mineralogy.phases
    iron_of = trials.mineralogy.oxides_wt_pct[0, :, FE2O3]
    densities = np.array([phase.density_kg_m3 / 1000.0 for phase in phases])
    top_cm = GROUND_UM * CM_PER_UM
    ground_g = class_grain_mass_g(top_cm, 0.5 * top_cm, densities)[table.mineral]
    own = table.grade
    # Nothing grows in the mill: an inclusion is at most what its grain held.
    piece = np.minimum(ground_g, own * table.grain_g)
    rest = np.minimum(ground_g, (1.0 - own) * table.grain_g)
    alone = own > 1.0 - 1e-9
    named = np.where(alone, table.iron, iron_of[table.mineral])
    left = np.divide(table.iron - own * named, 1.0 - own, out=np.zeros_like(own), where=~alone)
    return float(
        _parts(
            np.concatenate([table.mass * own, table.mass * (1.0 - own)]),
            np.concatenate([piece, rest]),
            np.concatenate([named, np.maximum(left, 0.0)]),
        ).sum()
    )


def top_size_um(trials: Trials) -> float:
    """Size that 95 % of the feed passes, from its classes.

    Parameters
    ----------
    trials : Trials
        The feed; row 0 is used. [-]

    Returns
    -------
    float
        Between the bounds of a class by the logarithm of size. [um]
    """
    sizes = trials.classes.sizes
    mass = np.bincount(trials.classes.size, trials.classes.mass[0], len(sizes))
    above = np.concatenate([[0.0], np.cumsum(mass) / mass.sum()])
    bounds = np.concatenate([sizes.passing_um, [max(sizes.retained_um[-1], 1.0)]])
    return float(np.exp(np.interp(1.0 - TOP_SHARE, above, np.log(bounds))))


def grain_lines(
    trials: Trials, table: GrainTable, split_g: float, relative_sd: float, top_um: float
) -> tuple[PlanGrains, ...]:
    """Phases that carry the iron of a stream: how many grains, how much sand.

    Parameters
    ----------
    trials : Trials
        The feed. [-]
    table : GrainTable
        The stream. [-]
    split_g : float
        Split that is pulverised. [g]
    relative_sd : float
        Wanted of one stage, from each phase by itself. [-]
    top_um : float
        Top size of the feed. [um]

    Returns
    -------
    tuple of PlanGrains
        The largest part of the sampling variance first. [-]
    """
    phases = trials.mineralogy.phases
    weight = table.mass * table.iron
    total, variance = weight.sum(), table.parts_g.sum()
    typical = trials.mineralogy.mass_fraction[0]
    hosts = [k for k, phase in enumerate(phases) if phase.role == "host"]
    gangue = phases[max(hosts, key=lambda k: typical[k])].density_kg_m3 / 1000.0 if hosts else 2.65
    made = []
    for k, phase in enumerate(phases):
        own = table.mineral == k
        if phase.name == UNSEEN or not own.any() or not table.mass[own].sum() > 0.0:
            continue
        iron_share, part = weight[own].sum() / total, table.parts_g[own].sum() / variance
        if max(iron_share, part) < WORTH_TELLING:
            continue
        held = table.mass[own] * table.grade[own]
        fraction = float(held.sum() / table.mass.sum())
        # Grains that count: as many alike would sample as well as these of all sizes and grades.
        each = held * table.grade[own] * table.grain_g[own]
        per_g = float(held.sum() ** 2 / each.sum() / table.mass.sum())
        size = float(np.average(table.size_um[own], weights=held))
        needed = relative_sd / max(float(iron_share), 1e-9)
        short = None
        if phase.role != "host":
            sizes = top_um * CM_PER_UM, min(size, top_um) * CM_PER_UM
            density = phase.density_kg_m3 / 1000.0
            short = mass_for_sampling_error(needed, np.inf, *sizes, fraction, density, gangue)
        made.append(
            PlanGrains(
                mineral=phase.name,
                mass_pct=100.0 * fraction,
                share_of_iron_pct=100.0 * float(iron_share),
                size_um=size,
                sampling_variance_share=float(part),
                grains_in_split=per_g * split_g,
                mass_for_grains_g=None
                if short is None
                else float(grains_for_relative_sd(needed)) / per_g,
                short_formula_g=None if short is None else float(short),
            )
        )
    return tuple(sorted(made, key=lambda one: (-one.sampling_variance_share, one.mineral)))


def joined_share(trials: Trials) -> float:
    """Share of the iron of the feed in grains that are joined or hold inclusions, typical case.

    Parameters
    ----------
    trials : Trials
        The feed. [-]

    Returns
    -------
    float
        0 to 1. [-]
    """
    classes = trials.classes
    iron_of = trials.mineralogy.oxides_wt_pct[0, :, FE2O3]
    held = classes.mass[0] * classes.grade * iron_of[classes.mineral]
    locked = np.isin(classes.form, [FORMS.index("joined"), FORMS.index("inclusion")])
    return float(held[locked].sum() / max(held.sum(), 1e-300))


def _parts(mass: Array, grain_g: Array, iron: Array) -> Array:
    if not (mass * iron).sum() > 0.0:
        return np.zeros_like(mass)
    return heterogeneity_parts_g(mass, grain_g, iron)
