"""What a machine offers, at heights above its bare roll."""

from __future__ import annotations

from math import log, pi

import numpy as np
from numpy.typing import NDArray

from feedchar.errors import SettingError
from feedchar.field.force import local_force_product, mean_force_product
from feedchar.field.induced import induced_amplitudes, induced_force_product
from feedchar.field.reading import probe_reading
from feedchar.field.rolls import harmonics_of, warm_remanence
from feedchar.field.series import radial_decay, roll_flux_density
from feedchar.field.setting import InducedRoll, Setting
from feedchar.field.working import WorkingField
from feedchar.results.pull_machine import (
    FieldPull,
    HeightPull,
    InducedPull,
    MachinePull,
    ReadingPull,
)

Array = NDArray[np.float64]

HEIGHTS_OVER_PITCH = (0.02, 0.05, 0.1, 0.15, 0.2, 0.3, 0.4, 0.6, 1.0)
"""Heights shown when none is asked for; with a pitch of 5 mm from 0.1 to 5 mm. [-]"""
LEAST_OVER_PITCH, MOST_OVER_PITCH = 0.01, 3.0
"""Nearer the corner of the steel has no bound; further nothing is left. [-]"""
PLACES = 401
"""Places along the axis among which the least and greatest force are found."""
HARMONICS_TOLD = 4


def machine_of(setting: Setting, field: WorkingField, reading: ReadingPull | None) -> MachinePull:
    """The machine as the document shows it.

    Parameters
    ----------
    setting : Setting
        Machine and temperatures. [SI]
    field : WorkingField
        What it offers. [SI]
    reading : ReadingPull or None
        Gaussmeter reading, given or expected. [SI]

    Returns
    -------
    MachinePull
        Construction; what a machine does not have is None. [SI]
    """
    roll, permanent = setting.roll, setting.machine == "permanent-roll"
    electric = setting.induced or InducedRoll()
    induced = None
    if not permanent:
        background, tooth = induced_amplitudes(electric)
        induced = InducedPull(
            electric.current_a,
            electric.gap_m,
            electric.tooth_pitch_m,
            electric.tooth_depth_m,
            background,
            tooth,
            field.top_size_m or 0.0,
        )
    warm = warm_remanence(roll.remanence_tesla, setting.roll_temperature_c) if permanent else None
    return MachinePull(
        machine=setting.machine,
        roll=field.name,
        source=roll.source if permanent else "construction guessed: an order of magnitude",
        roll_radius_m=field.roll_radius_m,
        bore_radius_m=roll.bore_radius_m if permanent else None,
        magnet_m=roll.magnet_m if permanent else None,
        steel_m=roll.steel_m if permanent else None,
        pitch_m=field.pitch_m,
        belt_thickness_m=field.belt_thickness_m,
        remanence_tesla=roll.remanence_tesla if permanent else None,
        remanence_at_temperature_tesla=warm,
        steel_saturation_tesla=(
            roll.steel_saturation_tesla if permanent else electric.steel_saturation_tesla
        ),
        roll_temperature_c=setting.roll_temperature_c,
        feed_temperature_c=setting.feed_temperature_c,
        reading=reading,
        induced=induced,
    )


def field_of(
    setting: Setting, field: WorkingField, heights_m: tuple[float, ...] | None
) -> FieldPull:
    """Field and force product against height.

    Parameters
    ----------
    setting : Setting
        Machine and temperatures. [SI]
    field : WorkingField
        What it offers. [SI]
    heights_m : tuple of float or None
        Heights above the bare roll; None chooses them by the pitch. [m]

    Returns
    -------
    FieldPull
        The roll face, the belt and the heights, lowest first. [SI]

    Raises
    ------
    SettingError
        A height nearer than 0.01 or further than 3 pitches.
    """
    chosen = heights_m or tuple(share * field.pitch_m for share in HEIGHTS_OVER_PITCH)
    least, most = LEAST_OVER_PITCH * field.pitch_m, MOST_OVER_PITCH * field.pitch_m
    for height in chosen:
        if not least * (1 - 1e-9) <= height <= most * (1 + 1e-9):
            message = (
                f"Heights must be from {1e3 * least:.3g} to {1e3 * most:.3g} mm above the bare "
                f"roll (0.01 to 3 pitches), found {1e3 * height:g} mm"
            )
            raise SettingError(message)
    belt = (field.belt_thickness_m,) if field.belt_thickness_m >= least else ()
    levels = np.array(sorted({round(height, 9) for height in (*chosen, *belt)}))
    face = _level(setting, field, np.zeros(1), None)
    above = _level(setting, field, levels, field.belt_thickness_m)
    harmonics = _harmonics(setting, field)[:HARMONICS_TOLD]
    return FieldPull(
        surface_flux_density_tesla=field.surface_flux_density_tesla,
        surface_harmonics_tesla=tuple(float(value) for value in harmonics),
        force_product_at_belt_tesla2_m=field.force_product_at_belt_tesla2_m,
        force_halves_every_m=log(2.0) / 2.0 * field.pitch_m / pi,
        heights=(*face, *above),
    )


def reading_of(setting: Setting, probe_m: float, probe_height_m: float) -> float:
    """What a gaussmeter finds at most over a permanent roll at its temperature.

    Parameters
    ----------
    setting : Setting
        A permanent roll and its temperature. [SI]
    probe_m : float
        Diameter of the element. [m]
    probe_height_m : float
        From the bare roll to the element. [m]

    Returns
    -------
    float
        Reading. [T]
    """
    roll = setting.roll
    harmonics = harmonics_of(roll, setting.roll_temperature_c)
    return probe_reading(harmonics, roll.pitch_m, roll.roll_radius_m, probe_m, probe_height_m)


def flux_density_map(
    setting: Setting, field: WorkingField, height_m: Array, axial_m: Array
) -> tuple[Array, Array]:
    """Radial and axial flux density above a machine, free of sources.

    Parameters
    ----------
    setting : Setting
        Machine and temperatures. [SI]
    field : WorkingField
        What it offers. [SI]
    height_m : array
        Heights above the bare roll. [m]
    axial_m : array
        Along the axis from mid-magnet or mid-valley; broadcasts with the heights. [m]

    Returns
    -------
    radial, axial : array
        Outward and along +z, so that div B = 0. [T]
    """
    if setting.machine == "permanent-roll":
        radial, axial = roll_flux_density(
            _harmonics(setting, field), field.pitch_m, field.roll_radius_m, height_m, axial_m
        )
        return radial, -axial
    background, tooth = induced_amplitudes(setting.induced or InducedRoll())
    q = 2.0 * pi / field.pitch_m
    fall = tooth * np.exp(-q * height_m)
    return background - fall * np.cos(q * axial_m), -fall * np.sin(q * axial_m)


def _level(
    setting: Setting, field: WorkingField, levels: Array, belt_m: float | None
) -> list[HeightPull]:
    """Rows at heights; without forces where `belt_m` is None, at the roll face."""
    half = 0.5 * field.pitch_m
    over_pole = flux_density_map(setting, field, levels, np.full(len(levels), half))[0]
    radial, axial = flux_density_map(setting, field, levels, np.zeros(len(levels)))
    over_magnet = np.hypot(radial, axial)
    fundamental = _fundamental(setting, field, levels)
    least, mean, greatest = _forces(setting, field, levels) if belt_m is not None else [None] * 3
    rows = []
    for place, height in enumerate(levels):
        forces = [None if part is None else float(part[place]) for part in (least, mean, greatest)]
        where = "roll face" if belt_m is None else ""
        if belt_m is not None and abs(height - belt_m) < 1e-9:
            where = "belt"
        rows.append(
            HeightPull(
                float(height),
                where,
                float(over_pole[place]),
                float(over_magnet[place]),
                float(fundamental[place]),
                *forces,
            )
        )
    return rows


def _forces(setting: Setting, field: WorkingField, levels: Array) -> tuple[Array, Array, Array]:
    """Least, mean and greatest force product along the axis."""
    along = np.linspace(0.0, 0.5 * field.pitch_m, PLACES)
    if setting.machine == "permanent-roll":
        harmonics = _harmonics(setting, field)
        local, _ = local_force_product(
            harmonics, field.pitch_m, field.roll_radius_m, levels[:, None], along
        )
        mean = mean_force_product(harmonics, field.pitch_m, field.roll_radius_m, levels)
        return local.min(axis=1), mean, local.max(axis=1)
    local = induced_force_product(setting.induced or InducedRoll(), levels[:, None], along)
    # The equivalent field is the mean over the half that attracts.
    k = pi / field.pitch_m
    mean = k * field.surface_flux_density_tesla**2 * np.exp(-2.0 * k * levels)
    return local.min(axis=1), mean, local.max(axis=1)


def _harmonics(setting: Setting, field: WorkingField) -> Array:
    """All odd harmonics, also those that die before the belt."""
    if setting.machine == "permanent-roll":
        return harmonics_of(setting.roll, setting.roll_temperature_c)
    return field.harmonics


def _fundamental(setting: Setting, field: WorkingField, levels: Array) -> Array:
    if setting.machine == "permanent-roll":
        _, radial, _ = radial_decay(1, field.pitch_m, field.roll_radius_m, levels)
        return field.surface_flux_density_tesla * radial[:, 0]
    return field.surface_flux_density_tesla * np.exp(-pi / field.pitch_m * levels)
