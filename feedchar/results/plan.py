"""The plan of a test as records: masses, programme, bags, laboratory order."""

from __future__ import annotations

from dataclasses import dataclass

from feedchar.results.characterisation import InputFiles
from feedchar.results.feed import Basis
from feedchar.results.machine import SettingResult
from feedchar.sample.records import Note
from feedchar.uncertainty.summary import Uncertain


@dataclass(frozen=True)
class PlanMass:
    """One stage of sampling."""

    stage: str
    of: str
    """feed | product: whose iron decides."""
    top_size_um: float
    constant_g: float
    """Mass whose fundamental relative sd would be 1."""
    needed_g: float
    """Mass that keeps the stage within its share of the wanted sd."""
    kept_g: float
    """Mass of the plan: rounded, and not below what handling needs."""
    relative_sd: float
    """Of the mass kept."""


@dataclass(frozen=True)
class PlanGrains:
    """Grains of one phase that carry iron, typical case."""

    mineral: str
    mass_pct: float
    """Of the product."""
    share_of_iron_pct: float
    """Of the iron of the product."""
    size_um: float
    """Mean by mass."""
    sampling_variance_share: float
    """Of the variance of product iron that sampling adds."""
    grains_in_split: float
    """Expected in the product split that is pulverised: so many alike would sample as well as
    these of all sizes and grades."""
    mass_for_grains_g: float | None
    """Product whose number of these grains keeps the iron within the stage's sd (Poisson)."""
    short_formula_g: float | None
    """The same by the short formula of sampling."""


@dataclass(frozen=True)
class PlanWork:
    """A piece of work that was weighed."""

    work: str
    kind: str
    """machine | laboratory"""
    kg: float
    hours: float
    removes_alone: float
    """Share of the variance of product iron, 0 to 1."""
    removes_more: float
    """Beyond the work chosen before it; for work left out, beyond all that was chosen."""
    removed_together: float
    chosen: bool
    why: str


@dataclass(frozen=True)
class PlanBag:
    """One bag that will be filled, weighed, and maybe assayed."""

    bag: str
    test: str
    step: str
    repeat: str
    machine: str
    from_bag: str
    product: str
    expected_g: float | None
    """Typical case, for a check at the balance."""
    assayed: bool
    belt_speed_m_s: float | None = None
    splitter_m: float | None = None
    splitter_2_m: float | None = None
    feed_kg_h: float | None = None
    belt_width_m: float | None = None
    current_a: float | None = None
    passing_um: float | None = None
    retained_um: float | None = None
    expected_Fe2O3_wt_pct: float | None = None


@dataclass(frozen=True)
class PlanSplit:
    """One part of the bag received."""

    part: str
    grams: float
    words: str


@dataclass(frozen=True)
class PlanOrder:
    """One line of the laboratory order, in the order of the mill: clean first."""

    line: int
    bag: str
    kind: str
    """blank | first | reread | new bead | new split | new bag | reference"""
    repeat_of: str | None
    pulverise_g: float
    mill: str
    oxides: tuple[str, ...]
    words: str
    in_table: bool
    """Whether assays.csv has rows for it; blanks and references are not of this sample."""


@dataclass(frozen=True)
class PlanRate:
    """The feed rate of the bench roll."""

    plant_t_h: float | None
    plant_belt_m: float | None
    plant_t_h_m: float
    bench_belt_m: float
    bench_kg_h: float
    single_layer_t_h_m: float
    """What a full single layer carries at the setting's speed."""
    how: str
    """Where the rate per metre comes from."""


@dataclass(frozen=True)
class Plan:
    """What to take, to run, to weigh and to assay."""

    command: str
    seed: int
    trials: int
    input: InputFiles
    basis: Basis
    setting: SettingResult
    product_Fe2O3_wt_pct: Uncertain
    limit_Fe2O3_wt_pct: float | None
    wanted_relative_sd: float
    """Of the iron of the product, from sampling alone."""
    wanted_how: str
    masses: tuple[PlanMass, ...]
    grains: tuple[PlanGrains, ...]
    rate: PlanRate
    work: tuple[PlanWork, ...]
    kg_used: float
    hours: float
    splits: tuple[PlanSplit, ...]
    bags: tuple[PlanBag, ...]
    order: tuple[PlanOrder, ...]
    received_dry_kg: float | None
    take_kg: float
    """Dry mass to take from the lot."""
    notes: tuple[Note, ...]
    minerals: tuple[str, ...]
    """Phases of the feed, for the cautions."""
    sample_note: str = ""
    moisture_pct: float | None = None
    """Of the bag as received."""
