"""The result of an assessment as frozen records: everything a report may show, nothing computed.

Field names carry units and are the keys of the JSON document. Tables by class, and the lines
of iron that stays, hold typical values; totals are `Uncertain`. None means undefined, and then a
note says why.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from feedchar.sample.records import Note, SourceFile
from feedchar.uncertainty.summary import Uncertain

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Basis:
    """What the answer rests on."""

    feed: str
    """assayed | not assayed"""
    separation: str
    """tested | not tested"""
    assumptions_that_decide: tuple[str, ...]


@dataclass(frozen=True)
class MeasuredOxide:
    """A head assay as it was given or combined."""

    value: float
    sd: float
    below_detection: bool


@dataclass(frozen=True)
class OxideResidual:
    """Misfit of one oxide."""

    oxide: str
    residual_sd: float
    """(measured - fitted) / sd. [-]"""


@dataclass(frozen=True)
class AgreementResult:
    """How minerals and assay agree; None where there is no assay."""

    chi_square: float | None
    predictive_probability: float | None
    worst: tuple[OxideResidual, ...]
    degrees_of_freedom: int = 0
    settled: bool = True
    doubtful: str | None = None


@dataclass(frozen=True)
class AssayResult:
    """Predicted, measured and reconciled bulk composition of the dry bag."""

    predicted_wt_pct: dict[str, Uncertain]
    measured_wt_pct: dict[str, MeasuredOxide]
    reconciled_wt_pct: dict[str, Uncertain]
    agreement: AgreementResult


@dataclass(frozen=True)
class UnseenIron:
    """Iron that no method has named."""

    Fe2O3_wt_pct: Uncertain
    share_of_iron_pct: Uncertain


@dataclass(frozen=True)
class MineralResult:
    """One phase of the feed."""

    mineral: str
    mass_pct: Uncertain
    density_kg_m3: float
    Fe2O3_wt_pct: Uncertain
    mass_susceptibility_m3_kg: Uncertain
    share_of_iron_pct: Uncertain
    status: str
    """typical | measured | assumed"""
    source: str
    role: str = ""
    mass_range_pct: tuple[float, float] | None = None
    """By linear programming, where phases outnumber data."""
    to_magnetics_pct: Uncertain | None = None
    """Share of the phase in the treated feed that leaves with magnetics and middlings."""


@dataclass(frozen=True)
class IronLine:
    """Iron of one mineral in one form and size class."""

    mineral: str
    form: str
    passing_um: float
    retained_um: float
    Fe2O3_wt_pct_of_feed: float
    share_of_iron_pct: float


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
    roll_temperature_c: float = 20.0
    feed_temperature_c: float = 20.0
    chosen_by: str = "given"
    """given | default | searched"""


@dataclass(frozen=True)
class OutletResult:
    """One product of the separation; percentages of the dry bag and of the roll feed."""

    yield_pct: Uncertain
    yield_of_roll_feed_pct: Uncertain
    assay_wt_pct: dict[str, Uncertain]
    specks_per_100_g: Uncertain
    iron_share_pct: Uncertain | None = None
    """Share of all the iron of the bag that is here."""


@dataclass(frozen=True)
class ProductResult:
    """The separation's products."""

    non_magnetics: OutletResult
    middlings: OutletResult
    magnetics: OutletResult
    untreated: OutletResult
    iron_removal_pct: Uncertain
    sand_lost_pct: Uncertain | None = None
    """Pale minerals of the treated feed that leave with magnetics and middlings."""
    sand_lost_mostly_below_um: float | None = None
    refractory_grains_per_100_g: Uncertain | None = None


@dataclass(frozen=True)
class CurvePoint:
    """Product iron at a yield of the dry bag."""

    yield_pct: float
    Fe2O3_wt_pct: float | None


@dataclass(frozen=True)
class BestMeetingLimit:
    """The best curve point that meets the limit."""

    curve: str
    yield_pct: float
    Fe2O3_wt_pct: float


@dataclass(frozen=True)
class BestPossible:
    """What could be: curves of product iron against yield, typical case."""

    every_grain_sorted: tuple[CurvePoint, ...]
    ideal_magnet: tuple[CurvePoint, ...]
    this_roll: tuple[CurvePoint, ...]
    best_meeting_limit: BestMeetingLimit | None
    at_product_yield: dict[str, float | None] = field(default_factory=dict)
    """Product Fe2O3 of each curve at the yield of this setting. [wt %]"""
    other_treatments: tuple[tuple[str, float, float], ...] = ()
    """(treatment, Fe2O3 wt %, yield %) of scrub, deslime, grind, another pass; typical case."""


@dataclass(frozen=True)
class StayLine:
    """Iron that stays for one reason."""

    reason: str
    Fe2O3_ppm_of_product: float
    share_pct: float
    carriers: tuple[str, ...]
    remedy: str
    evidence: str = "prior"
    """measured | fitted | prior"""
    mean_Fe2O3_ppm_of_product: float | None = None


@dataclass(frozen=True)
class LimitRow:
    """One thing asked of the product."""

    quantity: str
    """Such as Fe2O3 or yield."""
    unit: str
    bound: str
    """max | min"""
    asked: float
    likely: float | None
    """None where no phase of the list carries the oxide."""
    p05: float | None
    p95: float | None
    chance: float | None
    """None where no chance may be given."""


@dataclass(frozen=True)
class Answer:
    """The answer in one place."""

    limit: dict[str, float | str]
    status: str
    """meets | fails | uncertain | assay needed | data disagree | no limit given"""
    chance_of_meeting_limit: float | None
    sentence: str
    rows: tuple[LimitRow, ...] = ()


@dataclass(frozen=True)
class MeasureNext:
    """A measurement that one can order."""

    measurement: str
    unit: str
    assumed_sd: float
    variance_removed_share: float
    hours: float | None = None
    """Common practice, no source; None where nothing is known."""


@dataclass(frozen=True)
class InputFiles:
    """What was read, by base name."""

    name: str
    files: tuple[SourceFile, ...]


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
class BestPair:
    """The two measurements that together remove most."""

    first: str
    second: str
    variance_removed_share: float


@dataclass(frozen=True)
class DirtiestFeed:
    """How dirty the feed may get at this setting, its iron growing in proportion."""

    oxide: str
    limit_wt_pct: float
    typical_wt_pct: float | None
    """Feed whose typical product just meets the limit."""
    nine_in_ten_wt_pct: float | None
    """Feed that still passes in 9 of 10 trials."""


@dataclass(frozen=True)
class Characterisation:
    """Everything about one bag, from feed to answer."""

    command: str
    seed: int
    trials: int
    input: InputFiles
    basis: Basis
    assay: AssayResult
    unseen_iron: UnseenIron
    minerals: tuple[MineralResult, ...]
    iron: tuple[IronLine, ...]
    response: tuple[ResponseLine, ...]
    setting: SettingResult
    product: ProductResult
    best_possible: BestPossible
    iron_that_stays: tuple[StayLine, ...]
    answer: Answer
    measure_next: tuple[MeasureNext, ...]
    notes: tuple[Note, ...]
    searched: tuple[SearchedSetting, ...] = ()
    best_pair: BestPair | None = None
    doubt: dict[str, float] = field(default_factory=dict)
    """Share of the spread of product iron that comes with each reason; adds to 1."""
    dirtiest_feed: DirtiestFeed | None = None
    received_kg: float | None = None
    moisture_pct: float | None = None
    sample_note: str = ""
    origin: str | None = None
    trial_values: dict[str, Array] = field(default_factory=dict, repr=False, compare=False)
    """Named trial arrays (T,) for those who compute on: never in the document."""
