"""The machine and what it meets: from classes to grains, and the setting as a record."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from feedchar.chemistry.mineralogy import Mineralogy
from feedchar.field.setting import Pass, Setting
from feedchar.field.working import WorkingField, working_field
from feedchar.magnetics.moment import apparent_susceptibility, ordered_fraction
from feedchar.magnetics.response import grains_of
from feedchar.particles.classes import ParticleClasses
from feedchar.results import PassResult, SettingResult
from feedchar.separation.magnetic_response import response_reference
from feedchar.separation.records import Grains
from feedchar.units import M_PER_UM

Array = NDArray[np.float64]

COMPARED_AT_TESLA = 0.7
"""Flux density at which responses are ranked for the ideal magnet: a roll's field on its belt."""


def grains_for(
    classes: ParticleClasses, mineralogy: Mineralogy, feed_temperature_c: float
) -> Grains:
    """Particle classes as the separation room takes them.

    Parameters
    ----------
    classes : ParticleClasses
        C classes over T trials. [-]
    mineralogy : Mineralogy
        Trials of the phases. [-]
    feed_temperature_c : float
        Temperature of the grains. [°C]

    Returns
    -------
    Grains
        Riders have the character of the grain that carries them. [SI]
    """
    response = grains_of(classes, mineralogy, feed_temperature_c)
    carrier = classes.carrier
    flake = np.array([phase.shape == "flake" for phase in mineralogy.phases])
    # A joined grain is a lump of its host, whatever the shape of its mineral.
    is_flake = flake[classes.mineral] & (classes.host < 0)
    return Grains(
        passing_m=classes.sizes.passing_um[classes.size] * M_PER_UM,
        retained_m=classes.sizes.retained_um[classes.size] * M_PER_UM,
        is_flake=is_flake[carrier],
        thickness_ratio=np.where(is_flake, classes.thickness_ratio, 1.0)[carrier],
        density_kg_m3=response.density_kg_m3,
        susceptibility_m3_kg=response.susceptibility_m3_kg,
        moment_A_m2_kg=response.moment_A_m2_kg,
        order=response.order,
        grain_ln_sd=response.grain_ln_sd,
        saturation_field_tesla=response.saturation_field_tesla,
    )


def moments_as_susceptibility(grains: Grains, setting: Setting) -> Grains:
    """Grains whose moments count as the susceptibility that they amount to on the belt.

    A moment is pulled further out than a susceptibility is; where only settings are compared, or
    weights of magnetics, that does not matter, and half of the flights are saved.

    Parameters
    ----------
    grains : Grains
        C classes over T trials. [SI]
    setting : Setting
        The machine. [SI]

    Returns
    -------
    Grains
        Without moments. [SI]
    """
    if not np.any(grains.moment_A_m2_kg > 0.0):
        return grains
    speed = setting.passes[0].belt_speed_m_s if setting.passes else Pass().belt_speed_m_s
    reference, flux = response_reference(working_field(setting), speed)
    saturation = grains.saturation_field_tesla
    share = ordered_fraction(grains.order, flux, 0.0 if saturation is None else saturation)
    moment = share * grains.moment_A_m2_kg * reference.susceptibility_per_moment
    return replace(
        grains,
        susceptibility_m3_kg=grains.susceptibility_m3_kg + moment,
        moment_A_m2_kg=np.zeros_like(grains.moment_A_m2_kg),
        order=np.zeros_like(grains.order),
    )


def ranking_response(grains: Grains) -> Array:
    """Pull for its mass of every class, for the ideal magnet, typical case.

    Parameters
    ----------
    grains : Grains
        C classes. [SI]

    Returns
    -------
    array, shape (C,)
        Apparent mass susceptibility at 0.7 T. [m³ kg⁻¹]
    """
    return np.asarray(
        apparent_susceptibility(
            grains.susceptibility_m3_kg[0], grains.moment_A_m2_kg[0], COMPARED_AT_TESLA
        )
    )


def setting_result(setting: Setting, field: WorkingField, chosen_by: str) -> SettingResult:
    """The setting as the document shows it.

    Parameters
    ----------
    setting : Setting
        The machine. [SI]
    field : WorkingField
        Its field at the temperature of the roll. [SI]
    chosen_by : str
        given, default or searched. [-]

    Returns
    -------
    SettingResult
        First pass where passes differ. [SI]
    """
    first = setting.passes[0]
    return SettingResult(
        roll=field.name,
        roll_radius_m=field.roll_radius_m,
        pitch_m=field.pitch_m,
        belt_thickness_m=field.belt_thickness_m,
        belt_speed_m_s=first.belt_speed_m_s,
        splitter_m=first.splitter_m,
        passes=len(setting.passes),
        treated_passing_um=setting.treated_passing_um,
        treated_retained_um=setting.treated_retained_um,
        surface_flux_density_tesla=field.surface_flux_density_tesla,
        force_product_at_belt_tesla2_m=field.force_product_at_belt_tesla2_m,
        splitter_2_m=first.splitter_2_m,
        machine=setting.machine,
        drum_first=setting.drum_first,
        roll_temperature_c=setting.roll_temperature_c,
        feed_temperature_c=setting.feed_temperature_c,
        chosen_by=chosen_by,
        retreat=setting.retreat,
        each_pass=tuple(
            PassResult(one.belt_speed_m_s, one.splitter_m, one.splitter_2_m)
            for one in setting.passes
        ),
    )
