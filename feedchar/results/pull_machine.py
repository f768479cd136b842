"""The machine side of a pull: readings, teeth, other machines, force by height."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class ReadingPull:
    """What a flat round gaussmeter element finds at most, moved along the roll."""

    probe_m: float
    probe_height_m: float
    """From the bare roll to the element."""
    reading_tesla: float
    kind: str
    """given (the magnets were found from it) | expected (it follows from the magnets)"""


@dataclass(frozen=True)
class InducedPull:
    """The electromagnet of an induced roll."""

    current_a: float
    gap_m: float
    tooth_pitch_m: float
    tooth_depth_m: float
    background_tesla: float
    """Flux density of the gap at that current."""
    tooth_tesla: float
    """First harmonic that the teeth add at their tips."""
    top_size_m: float
    """Largest grain that passes the gap without bridging."""


@dataclass(frozen=True)
class MachinePull:
    """The machine by its construction."""

    machine: str
    """permanent-roll | induced-roll"""
    roll: str
    source: str
    roll_radius_m: float
    bore_radius_m: float | None
    magnet_m: float | None
    steel_m: float | None
    pitch_m: float
    belt_thickness_m: float
    remanence_tesla: float | None
    """At 20 degrees Celsius."""
    remanence_at_temperature_tesla: float | None
    steel_saturation_tesla: float
    roll_temperature_c: float
    feed_temperature_c: float
    reading: ReadingPull | None
    induced: InducedPull | None


@dataclass(frozen=True)
class HeightPull:
    """Field and force product at one height above the bare roll."""

    height_m: float
    where: str
    """roll face | belt | empty"""
    mid_pole_tesla: float
    """Over the middle of the steel, or over a tooth."""
    mid_magnet_tesla: float
    """Over the middle of a magnet, or over a valley."""
    fundamental_tesla: float
    """Radial first harmonic."""
    force_product_least_tesla2_m: float | None
    """Along the axis; None at the roll face, where the edge of the steel has no bound."""
    force_product_mean_tesla2_m: float | None
    force_product_greatest_tesla2_m: float | None


@dataclass(frozen=True)
class FieldPull:
    """What the machine offers."""

    surface_flux_density_tesla: float
    """B1, the radial first harmonic at the roll surface; equivalent for an induced roll."""
    surface_harmonics_tesla: tuple[float, ...]
    """B1, B3, B5, B7."""
    force_product_at_belt_tesla2_m: float
    """Mean along the axis."""
    force_halves_every_m: float
    """Height over which the pull of the fundamental falls by half."""
    heights: tuple[HeightPull, ...]


@dataclass(frozen=True)
class OtherMachine:
    """Force product that another kind of machine offers, order of magnitude."""

    machine: str
    force_product_tesla2_m: float
