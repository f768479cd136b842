"""What a machine does with single grains: hold, fastest belt, release, landing, machine needed."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from feedchar.assembly.pull_nodes import GrainSet, grain_set, mean_pull, single_product
from feedchar.assembly.pull_phases import ReadyPhase
from feedchar.constants import GRAVITY_M_S2
from feedchar.field.setting import Pass, Setting
from feedchar.field.working import WorkingField
from feedchar.results.pull import GrainPull, SpeedPull
from feedchar.separation.drag import terminal_velocity
from feedchar.separation.fine_flight import fine_flights
from feedchar.separation.flight import landing_position
from feedchar.separation.grain_nodes import GrainNodes
from feedchar.separation.hold import highest_grain_speed
from feedchar.separation.landing import axial_nodes
from feedchar.separation.mechanics import grain_speed
from feedchar.separation.records import Grains
from feedchar.separation.reporting import Reporting, offered_force_product, reporting_of
from feedchar.separation.thrower import PLANE_BELOW_ROLL_M, Thrower
from feedchar.units import M_PER_UM

Array = NDArray[np.float64]

DUST_UM = 20.0
"""Below this a grain follows the air of the room, and no landing is told. [µm]"""


def grains_of_phases(
    setting: Setting,
    field: WorkingField,
    phases: tuple[ReadyPhase, ...],
    sizes_um: tuple[float, ...],
    belt_speeds_m_s: tuple[float, ...],
    pull_factor: float = 1.0,
) -> tuple[GrainPull, ...]:
    """Every phase in every size at every speed.

    Parameters
    ----------
    setting : Setting
        Machine and temperatures. [SI]
    field : WorkingField
        What it offers. [SI]
    phases : tuple of ReadyPhase
        Phases. [SI]
    sizes_um : tuple of float
        Sieve sizes. [µm]
    belt_speeds_m_s : tuple of float
        Belt speeds. [m s⁻¹]
    pull_factor : float
        Pull of the machine over that of its construction. [-]

    Returns
    -------
    tuple of GrainPull
        Phase by phase, size by size. [SI]

    Raises
    ------
    SettingError
        A grain or a speed that cannot be.
    """
    if not phases:
        return ()
    own = grain_set(field, phases, sizes_um, pull_factor)
    nodes = own.nodes
    face = field.roll_radius_m + field.belt_thickness_m
    radius = face + nodes.half_height_m
    offered = offered_force_product(field, nodes.diameter_m, nodes.half_height_m, nodes.is_flake)
    pull = mean_pull(own, field, offered)
    single = single_product(field, nodes)
    single_pull = mean_pull(own, field, single)
    by_speed = [
        _at_speed(setting, field, own, speed, pull, single_pull) for speed in belt_speeds_m_s
    ]
    # Drag of a flake over its sphere's is the same as less weight in the same drag.
    falling = terminal_velocity(nodes.density_kg_m3 / nodes.drag_factor, nodes.sphere_diameter_m)
    return tuple(
        GrainPull(
            phase=own.phases[p].told.phase,
            size_um=sizes_um[p % len(sizes_um)],
            thickness_um=(
                2.0 * float(nodes.half_height_m[p]) / M_PER_UM if nodes.is_flake[p] else None
            ),
            force_product_offered_tesla2_m=float(offered[p]),
            force_product_offered_least_tesla2_m=float(own.products[p].min()),
            force_product_offered_greatest_tesla2_m=float(own.products[p].max()),
            pull_m_s2=float(pull[p]),
            belt_speed_max_m_s=_fastest(float(pull[p]), float(radius[p]), face),
            belt_speed_max_single_exponential_m_s=_fastest(
                float(single_pull[p]), float(radius[p]), face
            ),
            terminal_velocity_m_s=float(falling[p]),
            at_speed=tuple(rows[p] for rows in by_speed),
        )
        for p in range(len(nodes))
    )


def _fastest(pull: float, radius: float, face: float) -> float | None:
    if pull <= 0.0:
        return None
    return float(highest_grain_speed(pull, radius)) * face / radius


def _at_speed(
    setting: Setting,
    field: WorkingField,
    own: GrainSet,
    speed: float,
    pull: Array,
    single_pull: Array,
) -> list[SpeedPull]:
    nodes = own.nodes
    thrower = Thrower(field.roll_radius_m, field.belt_thickness_m, field.pitch_m, speed)
    radius = thrower.path_radius_m(nodes)
    centre = grain_speed(speed, field.roll_radius_m, field.belt_thickness_m, nodes.half_height_m)
    centrifugal = centre**2 / radius
    grains = _grains(own)
    factor = own.pull_factor
    at_side = reporting_of(replace(setting, passes=(Pass(speed),)), grains, factor)
    # Held to the lowest point at a speed is held to the side at a higher one.
    faster = np.sqrt(centre**2 + GRAVITY_M_S2 * radius) * (radius - nodes.half_height_m) / radius
    below = [_reporting_at(setting, grains, p, float(faster[p])) for p in range(len(nodes))]
    local = own.pulls.values[:, 0].real
    landed, dust = landed_positions(own, thrower), is_dust(nodes.diameter_m)
    thrown = _thrown(field, nodes, centre)
    return [
        SpeedPull(
            belt_speed_m_s=speed,
            grain_speed_m_s=float(centre[p]),
            reports_to=at_side[p].reports_to,
            force_product_needed_tesla2_m=at_side[p].force_product_needed_tesla2_m,
            flux_density_needed_tesla=at_side[p].flux_density_needed_tesla,
            flux_density_needed_180_tesla=below[p].flux_density_needed_tesla,
            detachment_angle_deg=_angle(centrifugal[p], pull[p]),
            detachment_angle_least_deg=_angle(centrifugal[p], local[p].min()),
            detachment_angle_greatest_deg=_angle(centrifugal[p], local[p].max()),
            detachment_angle_single_exponential_deg=_angle(centrifugal[p], single_pull[p]),
            **_landing(landed[p], bool(dust[p])),
            landing_without_pull_m=float(thrown[p]) if np.isfinite(thrown[p]) else None,
        )
        for p in range(len(nodes))
    ]


def landed_positions(own: GrainSet, thrower: Thrower) -> Array:
    """Where each grain crosses the plane of the edges, over positions along the axis.

    Parameters
    ----------
    own : GrainSet
        P grains. [SI]
    thrower : Thrower
        Belt and roll. [SI]

    Returns
    -------
    array, shape (P, positions)
        From the roll axis; 0 where it is carried round, as dust is, which is not flown. [m]
    """
    nodes, axial = own.nodes, axial_nodes(thrower.pitch_m)
    flown = np.flatnonzero(~is_dust(nodes.diameter_m))
    landed = np.zeros((len(nodes), len(axial)))
    if flown.size:
        node, places = np.repeat(flown, len(axial)), np.tile(axial, len(flown))
        found = fine_flights(thrower, nodes, own.pulls, node, places)
        landed[flown] = found.landed_m.reshape(len(flown), len(axial))
    return landed


def is_dust(diameter_m: Array) -> NDArray[np.bool_]:
    """Whether grains follow the air of the room.

    Parameters
    ----------
    diameter_m : array
        Sizes. [m]

    Returns
    -------
    array of bool
        True below 20 µm, which itself still flies. [-]
    """
    return np.asarray(diameter_m / M_PER_UM < DUST_UM - 1e-6)


def _angle(centrifugal: float, pull: float) -> float:
    return float(np.degrees(np.arccos(np.clip((centrifugal - pull) / GRAVITY_M_S2, -1.0, 1.0))))


def _grains(own: GrainSet) -> Grains:
    """The same grains as the reporting takes them: classes too narrow to matter."""
    nodes, phases = own.nodes, own.phases
    narrow = 1.0 + 1e-9
    return Grains(
        passing_m=nodes.diameter_m * narrow,
        retained_m=nodes.diameter_m / narrow,
        is_flake=nodes.is_flake,
        thickness_ratio=2.0 * nodes.half_height_m / nodes.diameter_m,
        density_kg_m3=nodes.density_kg_m3,
        susceptibility_m3_kg=np.array([[phase.law.susceptibility_m3_kg for phase in phases]]),
        moment_A_m2_kg=np.array([[phase.law.moment_A_m2_kg for phase in phases]]),
        order=np.array([phase.law.order for phase in phases], dtype=np.intp),
        grain_ln_sd=np.array([phase.grain_ln_sd for phase in phases]),
        saturation_field_tesla=np.array([p.law.saturation_field_tesla for p in phases]),
    )


def _reporting_at(setting: Setting, grains: Grains, p: int, belt_speed_m_s: float) -> Reporting:
    """Reporting of one grain at a belt speed of its own."""
    one = slice(p, p + 1)
    saturation = grains.saturation_field_tesla
    alone = Grains(
        passing_m=grains.passing_m[one],
        retained_m=grains.retained_m[one],
        is_flake=grains.is_flake[one],
        thickness_ratio=grains.thickness_ratio[one],
        density_kg_m3=grains.density_kg_m3[one],
        susceptibility_m3_kg=grains.susceptibility_m3_kg[:, one],
        moment_A_m2_kg=grains.moment_A_m2_kg[:, one],
        order=grains.order[one],
        grain_ln_sd=grains.grain_ln_sd[one],
        saturation_field_tesla=None if saturation is None else saturation[one],
    )
    return reporting_of(replace(setting, passes=(Pass(belt_speed_m_s),)), alone)[0]


def _landing(landed: Array, is_dust: bool) -> dict[str, float | None]:
    """Share of the positions that carry the grain round, and where the others land it."""
    free = landed[landed > 0.0]
    found: list[float | None] = [None, None, None]
    if free.size and not is_dust:
        found = [float(free.mean()), float(free.min()), float(free.max())]
    return {
        "carried_round_share": None if is_dust else float(np.mean(landed == 0.0)),
        "landing_m": found[0],
        "landing_least_m": found[1],
        "landing_greatest_m": found[2],
    }


def _thrown(field: WorkingField, nodes: GrainNodes, centre: Array) -> Array:
    """Landing without pull, leaving level at the top; NaN where a grain meets the belt again."""
    face = field.roll_radius_m + field.belt_thickness_m
    # The function puts the centre half a diameter above the belt; a flake's lies lower.
    radius = face + nodes.half_height_m - 0.5 * nodes.sphere_diameter_m
    density = nodes.density_kg_m3 / nodes.drag_factor
    plane = field.roll_radius_m + PLANE_BELOW_ROLL_M
    return np.asarray(
        landing_position(density, nodes.sphere_diameter_m, centre, radius, 0.0, plane)
    )
