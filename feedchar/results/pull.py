"""What the calculator beside the roll gives: field, grains and speeds, as frozen records.

The field names are the keys of the document `feedchar-pull/1`.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from feedchar.results.calibration import CalibrationUsed
from feedchar.results.pull_machine import FieldPull, MachinePull, OtherMachine
from feedchar.sample.records import Note

Array = NDArray[np.float64]


@dataclass(frozen=True)
class PhasePull:
    """One phase as the calculator takes it, at the temperature of the feed."""

    phase: str
    """Label, unique in the document."""
    mineral: str | None
    """Name in the reference tables; None for a phase of the user's own."""
    status: str
    """typical | measured"""
    source: str
    """Key of sources.csv, or user."""
    density_kg_m3: float
    lies_flat: bool
    iron_wt_pct: float | None
    mass_susceptibility_m3_kg: float
    """Linear part."""
    moment: str
    """none | canted | ferrimagnetic"""
    saturation_moment_A_m2_kg: float
    isodynamic_current_a: float | None
    """At which it divides in an isodynamic separator; None where no current would do."""


@dataclass(frozen=True)
class SpeedPull:
    """One grain at one belt speed."""

    belt_speed_m_s: float
    grain_speed_m_s: float
    """Of its centre."""
    reports_to: str
    """weak drum | strong drum | permanent roll | stronger machine | no magnet"""
    force_product_needed_tesla2_m: float | None
    """At the grain, to hold it to 90 degrees."""
    flux_density_needed_tesla: float | None
    """B1 of a roll of this pitch that holds it to 90 degrees, single exponential."""
    flux_density_needed_180_tesla: float | None
    """The same for the lowest point of the roll."""
    detachment_angle_deg: float
    """From the top, in the mean field along the axis."""
    detachment_angle_least_deg: float
    """Where the pull is weakest along the axis."""
    detachment_angle_greatest_deg: float
    detachment_angle_single_exponential_deg: float
    """With B1 alone."""
    carried_round_share: float | None
    """Share of the positions along the axis where it is carried round to the lowest point; None
    for dust, which follows the air."""
    landing_m: float | None
    """From the roll axis, pulled on in flight: mean of the other positions; None without any."""
    landing_least_m: float | None
    landing_greatest_m: float | None
    landing_without_pull_m: float | None
    """Leaving level at the top; None where it would meet the belt again."""


@dataclass(frozen=True)
class GrainPull:
    """One phase in one size."""

    phase: str
    size_um: float
    thickness_um: float | None
    """Of a grain that lies flat."""
    force_product_offered_tesla2_m: float
    """On the belt, mean over the grain and the axis."""
    force_product_offered_least_tesla2_m: float
    force_product_offered_greatest_tesla2_m: float
    pull_m_s2: float
    """Towards the roll on the belt, mean along the axis; negative pushes off."""
    belt_speed_max_m_s: float | None
    """Highest that holds it to 90 degrees; None where nothing holds."""
    belt_speed_max_single_exponential_m_s: float | None
    terminal_velocity_m_s: float
    at_speed: tuple[SpeedPull, ...]


@dataclass(frozen=True)
class CapacityPull:
    """Sand in a single layer."""

    size_um: float
    belt_speed_m_s: float
    single_layer_t_h_m: float


@dataclass(frozen=True)
class PullResult:
    """Everything the calculator gives."""

    command: str
    machine: MachinePull
    field: FieldPull
    plane_below_axis_m: float
    """Where landing positions are taken: 10 mm below the lowest point of the roll."""
    throw_off_speed_m_s: float
    """Above it a grain without pull leaves at the top."""
    side_slope_deg: float
    """Of the isodynamic separator."""
    phases: tuple[PhasePull, ...]
    grains: tuple[GrainPull, ...]
    sand_density_kg_m3: float
    coverage: float
    """Share of the belt under the grains' shadows."""
    capacity: tuple[CapacityPull, ...]
    other_machines: tuple[OtherMachine, ...]
    notes: tuple[Note, ...]
    calibration: CalibrationUsed | None = None
    """Whose pull is counted; None: that of the construction."""
