"""A machine setting as plain records: the roll, the passes, the window treated."""

from __future__ import annotations

from dataclasses import dataclass

from feedchar.constants import REFERENCE_TEMPERATURE_C

MACHINES = ("permanent-roll", "induced-roll")
"""Kinds of machine that a setting can be of; the first is taken where none is named."""


@dataclass(frozen=True)
class Roll:
    """A roll by its construction, remanence and saturation at 20 degrees Celsius."""

    roll: str
    """Name; generic rolls are named by construction only."""
    roll_radius_m: float
    bore_radius_m: float
    magnet_m: float
    """Axial thickness of one magnet disc."""
    steel_m: float
    """Axial thickness of one steel disc."""
    remanence_tesla: float
    steel_saturation_tesla: float
    belt_thickness_m: float
    source: str = ""
    """How the figures are known, for the report."""

    @property
    def pitch_m(self) -> float:
        """Magnet plus steel: half the period of the field along the axis. [m]"""
        return self.magnet_m + self.steel_m


@dataclass(frozen=True)
class Pass:
    """One pass: belt speed and the splitter edges, as distances beyond the bare roll face."""

    belt_speed_m_s: float = 1.5
    splitter_m: float = 0.010
    """Edge that bounds the magnetics."""
    splitter_2_m: float | None = None
    """Larger; bounds the middlings. None: no middlings."""


@dataclass(frozen=True)
class InducedRoll:
    """A toothed roll magnetised in the gap of an electromagnet; all defaults are guesses."""

    roll: str = "induced-100"
    """Name, by construction only."""
    roll_radius_m: float = 0.05
    """To the tips of the teeth."""
    tooth_pitch_m: float = 0.006
    """From tooth to tooth along the axis."""
    tooth_depth_m: float = 0.004
    gap_m: float = 0.004
    """Between the tips and the pole piece."""
    current_a: float = 4.0
    saturation_current_a: float = 4.0
    """Where the straight first part of the magnetisation would reach saturation."""
    saturation_tesla: float = 2.0
    """Flux density in the gap that no current exceeds."""
    steel_saturation_tesla: float = 2.1
    """Saturation polarisation of the teeth."""
    tooth_modulation: float = 0.35
    """First harmonic of the teeth over the flux density of the gap, before they saturate. [-]"""


@dataclass(frozen=True)
class Setting:
    """What the machine is set to; one `Pass` an entry, in order.

    Without passes a setting only says which machine: an assessment then searches the rest.
    """

    roll: Roll
    passes: tuple[Pass, ...] = (Pass(),)
    retreat: str = "non-magnetics"
    """What goes on to the next pass: non-magnetics | middlings."""
    drum_first: str | None = None
    """None | weak | strong: a drum before the first pass."""
    treated_passing_um: float | None = None
    """Upper end of the size window that goes to the machine; None: everything."""
    treated_retained_um: float | None = None
    roll_temperature_c: float = REFERENCE_TEMPERATURE_C
    feed_temperature_c: float = REFERENCE_TEMPERATURE_C
    machine: str = "permanent-roll"
    """permanent-roll | induced-roll"""
    induced: InducedRoll | None = None
    """The electromagnet when machine is induced-roll; None: its defaults."""
