"""The grains asked for as nodes, and the pull of a field on each of them."""

from __future__ import annotations

from dataclasses import dataclass
from math import pi

import numpy as np
from numpy.typing import NDArray

from feedchar.assembly.pull_phases import THICKNESS_RATIO, ReadyPhase
from feedchar.field.working import WorkingField
from feedchar.magnetics.pull import flake_average, scaled_sphere_average
from feedchar.separation.grain_nodes import GrainNodes, Kind, grain_nodes
from feedchar.separation.mechanics import contact
from feedchar.separation.pull_map import LINEAR, MOMENT, PullMap, pull_map
from feedchar.units import M_PER_UM

Array = NDArray[np.float64]


@dataclass(frozen=True)
class GrainSet:
    """P grains, phase by phase, each over all sizes."""

    phases: tuple[ReadyPhase, ...]
    """(P,)"""
    nodes: GrainNodes
    pulls: PullMap
    """Acceleration of each grain, m/s2, over height and axis."""
    products: Array
    """(P, cells) force product on the belt along the axis, as the construction gives it."""
    pull_factor: float = 1.0
    """Multiplies every pull, `pulls` included: what tests taught of the machine. [-]"""


def kind_of(phase: ReadyPhase) -> Kind:
    """Shape and density of a phase as the flights take them.

    Parameters
    ----------
    phase : ReadyPhase
        The phase. [SI]

    Returns
    -------
    Kind
        A sphere, or a flake that lies flat. [-]
    """
    flat = phase.told.lies_flat
    return Kind(flat, phase.told.density_kg_m3, THICKNESS_RATIO if flat else 1.0)


def grain_set(
    field: WorkingField,
    phases: tuple[ReadyPhase, ...],
    sizes_um: tuple[float, ...],
    pull_factor: float = 1.0,
) -> GrainSet:
    """Every phase in every size as a node, with its pull over height and axis.

    Parameters
    ----------
    field : WorkingField
        What the machine offers. [SI]
    phases : tuple of ReadyPhase
        Phases. [SI]
    sizes_um : tuple of float
        Sieve sizes. [µm]
    pull_factor : float
        Pull of the machine over that of its construction. [-]

    Returns
    -------
    GrainSet
        P = phases times sizes grains. [SI]

    Raises
    ------
    SettingError
        A grain larger than the roll's radius.
    """
    diameters = tuple(size * M_PER_UM for size in sizes_um)
    kinds = tuple(kind_of(phase) for phase in phases)
    nodes = grain_nodes(kinds, diameters)
    contact(nodes.diameter_m, 1.0, field.roll_radius_m, field.belt_thickness_m)
    where = (field.amplitudes, field.pitch_m, field.roll_radius_m, field.belt_thickness_m)
    linear = pull_map(*where, kinds, diameters, LINEAR).values
    flux = np.ones(linear.shape)
    if any(phase.law.moment_A_m2_kg > 0.0 for phase in phases):
        moment = np.abs(pull_map(*where, kinds, diameters, MOMENT).values)
        flux = np.maximum(np.abs(linear) / np.maximum(moment, 1e-30), 1e-15)
    each = tuple(phase for phase in phases for _ in sizes_um)
    values = np.empty_like(linear)
    for p, phase in enumerate(each):
        law = phase.law.per_force_product(flux[p], field.background_tesla)
        values[p] = pull_factor * linear[p] * law
    return GrainSet(each, nodes, PullMap(values, field.pitch_m), linear[:, 0].real, pull_factor)


def mean_pull(own: GrainSet, field: WorkingField, product: Array) -> Array:
    """Pull of each grain at a force product of an exponential field.

    Parameters
    ----------
    own : GrainSet
        P grains. [SI]
    field : WorkingField
        For its pitch and background. [SI]
    product : array, shape (P,)
        Force product at each grain. [T² m⁻¹]

    Returns
    -------
    array, shape (P,)
        Towards the roll. [m s⁻²]
    """
    flux = np.sqrt(product * field.pitch_m / pi)
    return np.array(
        [
            own.pull_factor
            * product[p]
            * phase.law.per_force_product(flux[p], field.background_tesla)
            for p, phase in enumerate(own.phases)
        ]
    )


def single_product(field: WorkingField, nodes: GrainNodes) -> Array:
    """Force product of B1 alone on grains on the belt, planar, mean over the grain.

    Parameters
    ----------
    field : WorkingField
        What the machine offers. [SI]
    nodes : GrainNodes
        P grains. [SI]

    Returns
    -------
    array, shape (P,)
        k B1^2 e^(-2ky) times the average over the grain. [T² m⁻¹]
    """
    k = pi / field.pitch_m
    height = field.belt_thickness_m + nodes.half_height_m
    sphere = scaled_sphere_average(k * nodes.diameter_m)
    sphere = sphere * np.exp(k * (nodes.diameter_m - 2.0 * height))
    disc = flake_average(2.0 * nodes.half_height_m, nodes.diameter_m, 2.0 * k)
    disc = disc * np.exp(-2.0 * k * height)
    average = np.where(nodes.is_flake, disc, sphere)
    return np.asarray(k * field.surface_flux_density_tesla**2 * average)
