"""What a table of many samples amounts to, as records: a page of it, whatever its length."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class BatchRow:
    """One sample of the table."""

    sample: str
    row: int
    """In the file, the heading being row 1."""
    status: str
    """meets | uncertain | fails | assay needed | data disagree | no limit given | not usable"""
    product_Fe2O3_wt_pct: float | None
    """Median of the trials, as are yield and the others."""
    product_Fe2O3_p05_wt_pct: float | None
    product_Fe2O3_p95_wt_pct: float | None
    yield_pct: float | None
    chance_of_meeting_limit: float | None
    iron_removal_pct: float | None
    unseen_iron_share_pct: float | None
    notes: str


@dataclass(frozen=True)
class BatchDoubt:
    """A sample whose data contradict each other."""

    row: BatchRow
    residual_sd: float
    """How far the worst datum lies from what all else says."""


@dataclass(frozen=True)
class BatchAssay:
    """What an assay of iron in the bag would do for the product of one sample."""

    row: BatchRow
    product_sd_wt_pct: float
    variance_removed_share: float

    @property
    def product_sd_after_wt_pct(self) -> float:
        """Standard deviation that is left."""
        return self.product_sd_wt_pct * float(max(1.0 - self.variance_removed_share, 0.0)) ** 0.5


@dataclass(frozen=True)
class BatchGroup:
    """Feeds that answer the machine alike, and the sample that stands for them."""

    representative: BatchRow
    rows: int
    stand_ins: tuple[BatchRow, ...]
    """Nearest neighbours of the representative in its group."""
    product_Fe2O3_p05_wt_pct: float
    product_Fe2O3_p50_wt_pct: float
    product_Fe2O3_p95_wt_pct: float
    """Over the rows of the group."""


@dataclass(frozen=True)
class BatchGroups:
    """The samples chosen to be tested."""

    groups: tuple[BatchGroup, ...]
    """Largest first."""
    explained_share: float
    """Share of the differences between feeds that lies between the groups, not in them."""
    odd: tuple[BatchRow, ...]
    """Samples least like any that was chosen."""
    points: tuple[tuple[int, float, float], ...]
    """Some rows: group, product Fe2O3, yield. [wt %, %]"""


@dataclass(frozen=True)
class BatchSummary:
    """What a table says as a whole."""

    table: str
    sha256: str
    out: str
    rows: int
    trials: int
    seed: int
    limit: dict[str, float]
    """What is asked, as in the answer of one sample; empty when nothing is."""
    machine: str
    roll: str
    belt_speed_m_s: float
    splitter_m: float
    passes: int
    drum_first: str | None
    """weak | strong, ahead of the first pass."""
    treated_passing_um: float | None
    treated_retained_um: float | None
    has_sizes: bool
    assayed: int
    """Rows with an assay of iron."""
    twins: int
    counts: tuple[tuple[str, int], ...]
    """Rows by status."""
    product_Fe2O3_points_wt_pct: tuple[float, ...]
    """5, 25, 50, 75 and 95 in 100 rows lie below these; empty without a usable row."""
    bins: tuple[tuple[float, float, float], ...]
    """Lower edge, upper edge, rows of 100 in it. [wt %, wt %, %]"""
    best: tuple[BatchRow, ...]
    """Highest chance first; where there is none, lowest product iron first."""
    last: tuple[BatchRow, ...]
    """The other end of that order, where not all rows are shown."""
    doubts: tuple[BatchDoubt, ...]
    doubtful: int
    """Rows with a datum beyond 2 sd."""
    assays: tuple[BatchAssay, ...]
    groups: BatchGroups | None
    unusable: tuple[BatchRow, ...]
    phases: tuple[str, ...]
    """All minerals of the table: they decide the cautions."""
