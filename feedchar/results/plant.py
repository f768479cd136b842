"""What a test result implies at full size, as records."""

from __future__ import annotations

from dataclasses import dataclass

from feedchar.results.characterisation import InputFiles
from feedchar.results.feed import Basis
from feedchar.results.product import LimitRow
from feedchar.sample.records import Note
from feedchar.uncertainty.summary import Uncertain


@dataclass(frozen=True)
class PlantStream:
    """One stream of a circuit, typical case."""

    from_step: str
    outlet: str
    to: str
    """A step, or product, reject, dust."""
    t_h: float
    Fe2O3_wt_pct: float | None
    returns: bool
    """Whether it goes back to a step that it has passed."""


@dataclass(frozen=True)
class PlantStep:
    """One step of a circuit; what concerns belts is None for screens and drums. Typical case."""

    step: str
    kind: str
    """screen | split | drum | roll"""
    feed_t_h: float
    cuts_um: tuple[float, ...]
    roll: str | None = None
    belt_speed_m_s: float | None = None
    splitter_m: float | None = None
    splitter_2_m: float | None = None
    sauter_mean_um: float | None = None
    capacity_t_h_m: float | None = None
    """Of a full single layer of this feed, per metre of belt."""
    belt_m: float | None = None
    """Metres of belt that carry the feed one grain deep."""
    units: int | None = None
    """Belts side by side, of a usual width."""
    unit_width_m: float | None = None
    one_metre_belts: int | None = None
    feed_t_h_m: float | None = None
    """Feed per metre of the belts installed."""
    magnetics_on_belt_pct: float | None = None
    over_bench_rate: float | None = None
    """Feed per metre over that of the bench test; None where no test tells its rate."""


@dataclass(frozen=True)
class PlantOutlet:
    """Product, reject or dust."""

    t_h: Uncertain
    per_100_dry_bag: Uncertain
    assay_wt_pct: dict[str, Uncertain]
    iron_share_pct: Uncertain


@dataclass(frozen=True)
class PlantCircuit:
    """One circuit at full size."""

    circuit: str
    words: str
    steps: tuple[PlantStep, ...]
    streams: tuple[PlantStream, ...]
    product: PlantOutlet
    reject: PlantOutlet
    dust: PlantOutlet
    iron_removal_pct: Uncertain
    sand_lost_pct: Uncertain
    status: str
    chance_of_meeting_limit: float | None
    rows: tuple[LimitRow, ...]
    belt_m: float
    """All passes, one grain deep."""
    lost_t_h: float
    """Feed that is not product, typical case."""
    cost: float
    """In metres of belt, or in money where prices were given; see `cost_unit`."""
    closure_t_h: float
    chosen: bool
    chosen_by: str
    """given | searched: how speed and edges were found."""


@dataclass(frozen=True)
class PlantInverse:
    """The questions asked backwards of the chosen circuit."""

    yield_at_grade_pct: Uncertain | None = None
    """Product of 100 dry bag where edges or speeds are set for the wanted grade."""
    grade_wanted_wt_pct: float | None = None
    set_for_grade: str | None = None
    """What was moved: all edges, or all belt speeds, and how far."""
    grade_at_yield_wt_pct: Uncertain | None = None
    yield_wanted_pct: float | None = None
    set_for_yield: str | None = None
    dirtiest_feed_typical_wt_pct: float | None = None
    """Fe2O3 of the feed whose typical product just meets all that is asked."""
    dirtiest_feed_nine_in_ten_wt_pct: float | None = None
    highest_feed_typical_t_h: float | None = None
    """On the belts as sized."""
    highest_feed_nine_in_ten_t_h: float | None = None
    highest_feed_tried_t_h: float | None = None
    """An answer equal to this says no more than that more was not tried."""


@dataclass(frozen=True)
class PlantSensitivity:
    """What one change does to the chosen circuit on its belts, typical case and chance."""

    change: str
    Fe2O3_wt_pct: float | None
    Fe2O3_change_ppm: float | None
    per_100_dry_bag: float
    per_100_change: float
    chance_of_meeting_limit: float | None
    belt_m: float


@dataclass(frozen=True)
class ScaleUp:
    """Circuits compared for one feed."""

    command: str
    seed: int
    trials: int
    input: InputFiles
    basis: Basis
    feed_t_h: float
    """Dry."""
    wet_feed_t_h: float | None
    water_to_dry_t_h: float | None
    """From the moisture of the bag to that of the roll feed; None where either is unknown."""
    bench_t_h_m: float | None
    """Feed per metre of belt of the tests in tests.csv."""
    bench_belt_kg_h: float | None
    """Feed of a bench belt of `bench_belt_m` that imitates the first pass of the chosen circuit."""
    bench_belt_m: float
    limit: dict[str, float | str]
    circuits: tuple[PlantCircuit, ...]
    chosen: str
    choice: str
    """Why, in a sentence."""
    cost_unit: str
    inverse: PlantInverse
    sensitivity: tuple[PlantSensitivity, ...]
    cautions: tuple[str, ...]
    notes: tuple[Note, ...]
    sample_note: str = ""
    minerals: tuple[str, ...] = ()
    """Handled: they decide the cautions."""
