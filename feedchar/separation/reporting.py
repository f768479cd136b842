"""Which machine a class of grains reports to, and the field, force product and speed behind it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import pi

import numpy as np
from numpy.typing import NDArray

from feedchar.constants import VACUUM_PERMEABILITY_T_M_A
from feedchar.field.drum import STRONG_DRUM, WEAK_DRUM
from feedchar.field.setting import Setting
from feedchar.field.working import WorkingField, working_field
from feedchar.magnetics.moment import ordered_fraction
from feedchar.magnetics.pull import flake_average, scaled_sphere_average
from feedchar.separation.hold import highest_grain_speed
from feedchar.separation.mechanics import grain_speed
from feedchar.separation.records import Grains

Array = NDArray[np.float64]

WEAK_DRUM_TESLA2_M = 0.6
STRONG_DRUM_TESLA2_M = 25.0
STRONGEST_TESLA2_M = 2000.0
"""Force products that the kinds of machine offer; the last of them is a matrix's, not a roll's."""
FLUX_DENSITIES_TESLA = np.geomspace(1e-4, 50.0, 160)
"""Where the pull of a class with a moment is followed to find the flux density it needs."""


@dataclass(frozen=True)
class Reporting:
    """What one class needs at a setting, typical case; None where no field would do."""

    reports_to: str
    """weak drum | strong drum | permanent roll | stronger machine | no magnet"""
    force_product_needed_tesla2_m: float | None
    """At the grain, to hold it to 90 degrees; for moments, on the machine it reports to."""
    flux_density_needed_tesla: float | None
    """B1 of a roll of this pitch, single exponential."""
    belt_speed_max_m_s: float | None
    """Highest belt speed at which this machine still holds it to 90 degrees."""


@dataclass(frozen=True)
class _Classes:
    """Typical magnetic character of C classes."""

    susceptibility: Array
    moment: Array
    order: NDArray[np.intp]
    saturation_field: Array
    background_tesla: float

    def some(self, which: NDArray[np.intp]) -> _Classes:
        """A few of them."""
        return _Classes(
            self.susceptibility[which],
            self.moment[which],
            self.order[which],
            self.saturation_field[which],
            self.background_tesla,
        )

    def pull(self, flux: Array, wave_number: float) -> Array:
        """Pull in an exponential field of size `flux`, (C, ...) against flux (C or 1, ...)."""
        shape = (-1,) + (1,) * (np.ndim(flux) - 1)
        magnetising = np.maximum(flux, self.background_tesla)
        share = ordered_fraction(
            self.order.reshape(shape), magnetising, self.saturation_field.reshape(shape)
        )
        linear = self.susceptibility.reshape(shape) * wave_number * flux**2
        linear = linear / VACUUM_PERMEABILITY_T_M_A
        # A moment is pulled by the gradient of the flux density that is there.
        gradient = wave_number * flux**2 / magnetising
        return linear + self.moment.reshape(shape) * share * gradient


def reporting_of(
    setting: Setting, grains: Grains, pull_factor: float = 1.0
) -> tuple[Reporting, ...]:
    """Reporting class of every class of grains at the slowest pass of a setting.

    Parameters
    ----------
    setting : Setting
        Machine and passes. [SI]
    grains : Grains
        C classes; row 0, the typical case, is used, at the middle of the size class. [SI]
    pull_factor : float
        Pull of this machine over that of its construction, as tests taught it. [-]

    Returns
    -------
    tuple of Reporting
        One for each class. [-]

    Raises
    ------
    SettingError
        A machine that cannot be.

    References
    ----------
    Hold to 90 degrees, derived here; force products of the kinds of machine from memory.
    """
    field = working_field(setting)
    low = np.where(grains.retained_m > 0.0, grains.retained_m, grains.passing_m / 2.0)
    size = np.sqrt(grains.passing_m * low)
    half = 0.5 * size * np.where(grains.is_flake, grains.thickness_ratio, 1.0)
    radius = field.roll_radius_m + field.belt_thickness_m + half
    # The pass that pulls longest decides: what one pass leaves, a slower one may take.
    slowest = min(one.belt_speed_m_s for one in setting.passes)
    speed = grain_speed(slowest, field.roll_radius_m, field.belt_thickness_m, half)
    needed = speed**2 / radius
    saturation = grains.saturation_field_tesla
    classes = _Classes(
        susceptibility=np.asarray(grains.susceptibility_m3_kg)[0],
        moment=np.asarray(grains.moment_A_m2_kg)[0],
        order=np.asarray(grains.order, dtype=np.intp),
        saturation_field=np.zeros(len(size)) if saturation is None else saturation,
        background_tesla=field.background_tesla,
    )
    k = pi / field.pitch_m
    at_roll = _flux_needed(classes, needed, k)
    product = k * at_roll**2
    offered = offered_force_product(field, size, half, grains.is_flake)
    offered_flux = np.sqrt(offered / k)
    pull = pull_factor * classes.pull(offered_flux, k)

    # A drum magnetises by its own field, without the gap of an induced roll.
    bare = replace(classes, background_tesla=0.0)
    on_weak = _held_by_drum(bare, needed, WEAK_DRUM.pitch_m, WEAK_DRUM_TESLA2_M)
    on_strong = _held_by_drum(bare, needed, STRONG_DRUM.pitch_m, STRONG_DRUM_TESLA2_M)
    roll_name = "permanent roll" if setting.machine == "permanent-roll" else "stronger machine"
    kinds = np.select(
        [on_weak, on_strong, pull >= needed, product <= STRONGEST_TESLA2_M],
        ["weak drum", "strong drum", roll_name, "stronger machine"],
        default="no magnet",
    )
    for drum, kind in ((WEAK_DRUM, "weak drum"), (STRONG_DRUM, "strong drum")):
        own = pi / drum.pitch_m
        product = np.where(kinds == kind, own * _flux_needed(bare, needed, own) ** 2, product)
    surface = at_roll / np.sqrt(_exponential_average(field, size, half, grains.is_flake))
    fastest = highest_grain_speed(pull, radius) * (radius - half) / radius
    return tuple(
        Reporting(
            str(kinds[c]),
            _or_none(product[c]),
            _or_none(surface[c]),
            _or_none(fastest[c] if pull[c] > 0.0 else np.inf),
        )
        for c in range(len(size))
    )


def offered_force_product(
    field: WorkingField, diameter_m: Array, half_height_m: Array, is_flake: NDArray[np.bool_]
) -> Array:
    """Force product that a machine offers grains on its belt, mean over the grain and the axis.

    Parameters
    ----------
    field : WorkingField
        What the machine offers. [SI]
    diameter_m : array, shape (C,)
        Size. [m]
    half_height_m : array, shape (C,)
        Height of the grain centre above the belt. [m]
    is_flake : array of bool, shape (C,)
        Flat discs rather than spheres. [-]

    Returns
    -------
    array, shape (C,)
        sum n k B_n^2 e^(-2nky) times each harmonic's average over the grain, times R/(R+y).
        [T² m⁻¹]

    References
    ----------
    Derived here; closed-form averages over sphere and disc.
    """
    k = pi / field.pitch_m
    total = np.zeros(len(diameter_m))
    height = field.belt_thickness_m + half_height_m
    for place, amplitude in enumerate(field.amplitudes):
        wave = (2 * place + 1) * k
        average = _average(wave, height, diameter_m, half_height_m, is_flake)
        total += wave * amplitude**2 * average
    return total * field.roll_radius_m / (field.roll_radius_m + height)


def _average(
    wave: float, height: Array, diameter: Array, half: Array, is_flake: NDArray[np.bool_]
) -> Array:
    """Mean over the grain of e^(-2 wave y)."""
    sphere = scaled_sphere_average(wave * diameter) * np.exp(wave * (diameter - 2.0 * height))
    disc = flake_average(2.0 * half, diameter, 2.0 * wave) * np.exp(-2.0 * wave * height)
    return np.where(is_flake, disc, sphere)


def _exponential_average(
    field: WorkingField, diameter: Array, half: Array, is_flake: NDArray[np.bool_]
) -> Array:
    height = field.belt_thickness_m + half
    return _average(pi / field.pitch_m, height, diameter, half, is_flake)


def _held_by_drum(
    classes: _Classes, needed: Array, pitch_m: float, product: float
) -> NDArray[np.bool_]:
    k = pi / pitch_m
    flux = np.full(len(needed), np.sqrt(product / k))
    return np.asarray(classes.pull(flux, k) >= needed)


def _flux_needed(classes: _Classes, needed: Array, wave_number: float) -> Array:
    """Least flux density at the grain whose pull is the one needed; infinite where none is."""
    linear = np.maximum(classes.susceptibility * wave_number, 0.0)
    with np.errstate(divide="ignore"):
        flux = np.sqrt(VACUUM_PERMEABILITY_T_M_A * needed / linear)
    which = np.flatnonzero((classes.moment > 0.0) & (classes.order > 0))
    if which.size:
        flux[which] = _followed(classes.some(which), needed[which], wave_number)
    return flux


def _followed(classes: _Classes, needed: Array, wave_number: float) -> Array:
    """The same for grains with a moment, whose pull need not rise all the way with the field."""
    ladder = FLUX_DENSITIES_TESLA
    enough = classes.pull(ladder[None, :], wave_number) >= needed[:, None]
    first = enough.argmax(axis=1)
    above, below = ladder[first], np.append(0.0, ladder)[first]
    for _ in range(30):
        middle = 0.5 * (below + above)
        holds = classes.pull(middle, wave_number) >= needed
        above, below = np.where(holds, middle, above), np.where(holds, below, middle)
    return np.where(enough.any(axis=1), above, np.inf)


def _or_none(value: float) -> float | None:
    return float(value) if np.isfinite(value) else None
