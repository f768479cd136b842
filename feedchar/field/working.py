"""The field a setting works with: what the separation room needs to know, for every machine."""

from __future__ import annotations

from dataclasses import dataclass
from math import pi

import numpy as np
from numpy.typing import NDArray

from feedchar.errors import SettingError
from feedchar.field.force import mean_force_product
from feedchar.field.induced import (
    equivalent_harmonics,
    induced_amplitudes,
    induced_top_size,
)
from feedchar.field.rolls import checked_roll, harmonics_of
from feedchar.field.setting import InducedRoll, Setting

Array = NDArray[np.float64]


FEWEST = 24
"""Harmonics that are kept in any case."""

LEAST_SHARE = 1e-3
"""A harmonic whose pull beside the fundamental is below this is left out. [-]"""


@dataclass(frozen=True)
class WorkingField:
    """A field as alternating harmonics; hashable, so that a grid can be kept by it."""

    name: str
    amplitudes: tuple[float, ...]
    """Odd radial harmonics at the bare roll surface, those that count from the belt up. [T]"""
    pitch_m: float
    roll_radius_m: float
    belt_thickness_m: float
    background_tesla: float = 0.0
    """Flux density that adds no force of its own but magnetises: the gap of an induced roll."""
    top_size_m: float | None = None
    """Largest grain that passes, None where nothing bridges."""

    @property
    def harmonics(self) -> Array:
        """Odd radial harmonics at the bare roll surface. (N,) [T]"""
        return np.array(self.amplitudes)

    @property
    def surface_flux_density_tesla(self) -> float:
        """B1, the radial first harmonic at the bare roll surface. [T]"""
        return self.amplitudes[0]

    @property
    def force_product_at_belt_tesla2_m(self) -> float:
        """Axial mean of the force product on the belt. [T² m⁻¹]"""
        return float(
            mean_force_product(
                self.harmonics, self.pitch_m, self.roll_radius_m, self.belt_thickness_m
            )
        )


def working_field(setting: Setting) -> WorkingField:
    """The field of a setting, at the temperature of its roll.

    Parameters
    ----------
    setting : Setting
        Machine and construction. [SI]

    Returns
    -------
    WorkingField
        Harmonics, real or equivalent. [SI]

    Raises
    ------
    SettingError
        A machine that is not known, a construction that cannot be, or one beyond the table.

    References
    ----------
    roll_harmonics.csv for the permanent roll; derived in `induced` for the induced roll.
    """
    if setting.machine == "permanent-roll":
        roll = checked_roll(setting.roll)
        harmonics = harmonics_of(roll, setting.roll_temperature_c)
        harmonics = felt_harmonics(harmonics, roll.pitch_m, roll.belt_thickness_m)
        return WorkingField(
            name=roll.roll,
            amplitudes=tuple(float(value) for value in harmonics),
            pitch_m=roll.pitch_m,
            roll_radius_m=roll.roll_radius_m,
            belt_thickness_m=roll.belt_thickness_m,
        )
    if setting.machine == "induced-roll":
        induced = setting.induced or InducedRoll()
        return WorkingField(
            name=induced.roll,
            amplitudes=tuple(float(value) for value in equivalent_harmonics(induced)),
            pitch_m=induced.tooth_pitch_m,
            roll_radius_m=induced.roll_radius_m,
            belt_thickness_m=0.0,
            background_tesla=induced_amplitudes(induced)[0],
            top_size_m=float(induced_top_size(induced.gap_m)),
        )
    message = (
        f'"{setting.machine[:60]}" is no known machine; choose from: permanent-roll, induced-roll'
    )
    raise SettingError(message)


def felt_harmonics(harmonics: Array, pitch_m: float, height_m: float) -> Array:
    """The harmonics that still count at a height and above; the far ones have died away.

    Next to the fundamental the n-th pulls with (n + 1)/2 B_n/B_1 e^(-(n - 1) k y); the list ends
    after the last that reaches LEAST_SHARE, and never before FEWEST.

    Parameters
    ----------
    harmonics : array, shape (N,)
        Odd radial harmonics at the bare roll surface. [T]
    pitch_m : float
        Magnet plus steel. [m]
    height_m : float
        Lowest height at which the field is wanted. [m]

    Returns
    -------
    array, shape (N or fewer,)
        The first of them, unchanged. [T]

    References
    ----------
    Derived from the pairs of harmonics in the force.
    """
    n = 2.0 * np.arange(len(harmonics)) + 1.0
    fall = np.exp(-(n - 1.0) * pi / pitch_m * height_m)
    share = 0.5 * (n + 1.0) * np.abs(harmonics / harmonics[0]) * fall
    counting = np.flatnonzero(share > LEAST_SHARE)
    return harmonics[: max(FEWEST, int(counting[-1]) + 1)]
