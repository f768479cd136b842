"""What the machine is and what answers it, as records."""

from __future__ import annotations

from dataclasses import dataclass

from feedchar.constants import REFERENCE_TEMPERATURE_C


@dataclass(frozen=True)
class ResponseLine:
    """What a magnet does with one phase in one form and size class."""

    mineral: str
    form: str
    passing_um: float
    retained_um: float
    reports_to: str
    force_product_needed_tesla2_m: float | None
    flux_density_needed_tesla: float | None
    belt_speed_max_m_s: float | None
    share_to_magnetics: float | None


@dataclass(frozen=True)
class PassResult:
    """One pass over the roll."""

    belt_speed_m_s: float
    splitter_m: float
    splitter_2_m: float | None


@dataclass(frozen=True)
class SettingResult:
    """The machine as assessed; the first pass where passes differ."""

    roll: str
    roll_radius_m: float
    pitch_m: float
    belt_thickness_m: float
    belt_speed_m_s: float
    splitter_m: float
    passes: int
    treated_passing_um: float | None
    treated_retained_um: float | None
    surface_flux_density_tesla: float
    force_product_at_belt_tesla2_m: float
    splitter_2_m: float | None = None
    machine: str = "permanent-roll"
    drum_first: str | None = None
    roll_temperature_c: float = REFERENCE_TEMPERATURE_C
    feed_temperature_c: float = REFERENCE_TEMPERATURE_C
    chosen_by: str = "given"
    """given | default | searched"""
    retreat: str = "non-magnetics"
    """What goes on to the next pass: non-magnetics | middlings."""
    each_pass: tuple[PassResult, ...] = ()


@dataclass(frozen=True)
class SearchedSetting:
    """One setting that was tried when none was given; typical case."""

    belt_speed_m_s: float
    splitter_m: float
    passes: int
    Fe2O3_wt_pct: float
    yield_pct: float
    chosen: bool
    efficient: bool = True
    """No other setting tried beats it in both iron and cost."""


@dataclass(frozen=True)
class MachineRun:
    """What one kind of machine does to this feed, typical case."""

    machine: str
    """permanent-roll | induced-roll"""
    belt_speed_m_s: float
    Fe2O3_wt_pct: float | None
    """Of the product; None where nothing is left."""
    yield_pct: float
    """Of the dry bag."""
    sand_lost_pct: float
    """Pale minerals of the treated feed that leave with magnetics and middlings."""
    top_size_m: float | None
    """Largest grain that passes its gap; None where nothing bridges."""


@dataclass(frozen=True)
class MachinesCompared:
    """The machine assessed beside the other kind; figures of an induced roll are guesses."""

    assessed: MachineRun
    other: MachineRun
