"""What comes out, what stays, what could be, and the answer, as records."""

from __future__ import annotations

from dataclasses import dataclass, field

from feedchar.uncertainty.summary import Uncertain


@dataclass(frozen=True)
class OutletResult:
    """One product of the separation; percentages of the dry bag and of the roll feed."""

    yield_pct: Uncertain
    yield_of_roll_feed_pct: Uncertain
    assay_wt_pct: dict[str, Uncertain]
    specks_per_100_g: Uncertain
    iron_share_pct: Uncertain | None = None
    """Share of all the iron of the bag that is here."""
    Fe2O3_wt_pct_of_bag: Uncertain | None = None
    """Iron that is here, in wt % of the dry bag; over the outlets it adds up to the bag's assay."""


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
