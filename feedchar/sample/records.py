"""What was measured, as frozen records; nothing here computes.

Sizes are micrometres, percentages wt % of the dry bag unless a field says otherwise.
`None` means not given. Every row keeps the place it was read from, for messages.
"""

from __future__ import annotations

from dataclasses import dataclass, field


@dataclass(frozen=True)
class Place:
    """Where a datum was read."""

    file: str = ""
    row: int | None = None
    column: str = ""


@dataclass(frozen=True)
class SourceFile:
    """A file that was read, by base name."""

    name: str
    sha256: str


@dataclass(frozen=True)
class Note:
    """Something the reader of the report must know."""

    code: str
    text: str
    severity: str = "note"  # note | warning | stop


@dataclass(frozen=True)
class ExtraColumn:
    """A column that is not understood: kept as written, never used."""

    file: str
    column: str
    values: tuple[str, ...]
    """One text a row, blank where nothing stood."""


@dataclass(frozen=True)
class MineralAmount:
    """One row of minerals.csv: an amount on exactly one basis."""

    mineral: str
    """Canonical mineral name, or the name of a user's phase."""
    basis: str
    """mass_pct | volume_pct | points | grains"""
    value: float
    """Amount on that basis; for a detection limit or trace row, the upper end."""
    below_detection: bool = False
    """True for `<0.5` and `tr`: the truth lies from 0 to `value`."""
    sd: float | None = None
    """Standard deviation on the same basis."""
    method: str | None = None
    """As written: diffraction, point count, grain count, estimate, ..."""
    detection_limit_pct: float | None = None
    passing_um: float | None = None
    retained_um: float | None = None
    fraction: str | None = None
    """Name of a fraction of fractions.csv, None for the bag."""
    iron_wt_pct: float | None = None
    """Fe of this mineral when measured."""
    mass_susceptibility_m3_kg: float | None = None
    """Of this mineral when measured."""
    place: Place = field(default_factory=Place)


@dataclass(frozen=True)
class Phase:
    """A phase of the user's own (phases.csv)."""

    phase: str
    like: str | None
    density_kg_m3: float | None
    mass_susceptibility_m3_kg: float | None
    mass_susceptibility_sd_m3_kg: float | None
    oxides_wt_pct: dict[str, float]
    oxides_sd_wt_pct: dict[str, float]
    place: Place = field(default_factory=Place)


@dataclass(frozen=True)
class SieveClass:
    """One row of sieves.csv; `retained_um` is 0 for the pan."""

    passing_um: float
    retained_um: float
    mass_pct: float
    """Share of the sieved mass, the classes summing to 100."""
    oxides_wt_pct: dict[str, float] = field(default_factory=dict)
    place: Place = field(default_factory=Place)
    below_detection: tuple[str, ...] = ()
    """Oxides of `oxides_wt_pct` that are an upper end: the truth lies from 0 to it."""


@dataclass(frozen=True)
class Sieving:
    """How the sieve sheet came about."""

    start_g: float | None = None
    recovered_g: float | None = None
    """Sum over the classes and the washed loss, when given in grams."""
    washed_loss_g: float | None = None
    kind: str | None = None
    """dry | wet"""


@dataclass(frozen=True)
class OxideValue:
    """A measured oxide (or LOI) of the dry bag."""

    value: float
    """Value, or the upper end when below detection. [wt %]"""
    sd: float | None
    below_detection: bool = False
    place: Place = field(default_factory=Place)


@dataclass(frozen=True)
class Determination:
    """One row of assays.csv, converted to wt % on the dried basis; iron as Fe2O3."""

    bag: str
    passing_um: float | None
    retained_um: float | None
    oxide: str
    value: float
    below_detection: bool
    laboratory: str | None = None
    method: str | None = None
    repeat_of: str | None = None
    repeat_kind: str | None = None
    """reread | new bead | new split | new bag"""
    mill: str | None = None
    place: Place = field(default_factory=Place)


@dataclass(frozen=True)
class Texture:
    """One row of textures.csv."""

    mineral: str
    host: str | None
    form: str
    """free | joined | inclusion | stain | inside"""
    share_pct: float | None
    grain_size_um: float | None = None
    thickness_um: float | None = None
    passing_um: float | None = None
    retained_um: float | None = None
    words: str | None = None
    place: Place = field(default_factory=Place)


@dataclass(frozen=True)
class Fraction:
    """One row of fractions.csv: a separated part of the bag (sinks, hand-magnet bag)."""

    fraction: str
    mass_pct: float
    """Share of the bag (or of the class it was made from). [wt %]"""
    passing_um: float | None = None
    retained_um: float | None = None
    oxides_wt_pct: dict[str, float] = field(default_factory=dict)
    place: Place = field(default_factory=Place)
    below_detection: tuple[str, ...] = ()
    """Oxides of `oxides_wt_pct` that are an upper end: the truth lies from 0 to it."""


@dataclass(frozen=True)
class Diagnostic:
    """One row of diagnostics.csv."""

    treatment: str
    """scrub | hot acid | hand-picked clear grains | hand magnet | burn-off | mill blank"""
    mass_in_g: float | None
    mass_out_g: float | None
    Fe2O3_in_wt_pct: float | None
    Fe2O3_out_wt_pct: float | None
    place: Place = field(default_factory=Place)
    below_detection: tuple[str, ...] = ()
    """Of the two Fe2O3 fields, those that are an upper end."""


@dataclass(frozen=True)
class TestBag:
    """One row of tests.csv: a weighed bag."""

    __test__ = False  # not a pytest class

    test: str
    step: str | None
    repeat: str | None
    machine: str | None
    from_bag: str | None
    bag: str
    product: str
    """magnetics | middlings | non-magnetics | dust | feed (weighed in) | screened (a size)"""
    mass_g: float
    belt_speed_m_s: float | None = None
    splitter_m: float | None = None
    splitter_2_m: float | None = None
    feed_kg_h: float | None = None
    belt_width_m: float | None = None
    current_a: float | None = None
    side_slope_deg: float | None = None
    feed_temperature_c: float | None = None
    roll_temperature_c: float | None = None
    humidity_pct: float | None = None
    operator: str | None = None
    date: str | None = None
    place: Place = field(default_factory=Place)
    passing_um: float | None = None
    """Of a screened bag: the sieve it passes."""
    retained_um: float | None = None
    """Of a screened bag: the sieve it stays on, 0 for none."""


@dataclass(frozen=True)
class BulkSusceptibility:
    """[susceptibility] of the bulk, in SI mass units."""

    mass_susceptibility_m3_kg: float
    sd_m3_kg: float | None = None
    flux_density_tesla: float | None = None
    place: Place = field(default_factory=Place)


@dataclass(frozen=True)
class Limit:
    """What is asked of the product."""

    use: str | None = None
    """Key of product_limits.csv when one was named."""
    max_wt_pct: dict[str, float] = field(default_factory=dict)
    min_wt_pct: dict[str, float] = field(default_factory=dict)
    yield_min_pct: float | None = None
    specks_per_100_g_max: float | None = None
    passing_um: float | None = None
    retained_um: float | None = None

    def is_empty(self) -> bool:
        """True when nothing is asked."""
        return not (
            self.max_wt_pct
            or self.min_wt_pct
            or self.yield_min_pct is not None
            or self.specks_per_100_g_max is not None
        )


@dataclass(frozen=True)
class Sample:
    """Everything that was measured on one bag."""

    name: str
    note: str = ""
    origin: str | None = None
    """as dug | washed | crushed rock | plant product"""
    rock: str | None = None
    """granite | pegmatite | gneiss or schist | syenite | sand"""
    received_kg: float | None = None
    moisture_pct: float | None = None
    roll_feed_moisture_pct: float | None = None
    feed_temperature_c: float = 20.0
    roll_temperature_c: float = 20.0
    feed_t_h: float | None = None
    minerals: tuple[MineralAmount, ...] = ()
    phases: tuple[Phase, ...] = ()
    sieves: tuple[SieveClass, ...] = ()
    sieving: Sieving | None = None
    assay: dict[str, OxideValue] = field(default_factory=dict)
    """Head assay of the dry bag as oxides; iron always as Fe2O3, LOI included."""
    determinations: tuple[Determination, ...] = ()
    textures: tuple[Texture, ...] = ()
    fractions: tuple[Fraction, ...] = ()
    diagnostics: tuple[Diagnostic, ...] = ()
    tests: tuple[TestBag, ...] = ()
    susceptibility: BulkSusceptibility | None = None
    limit: Limit | None = None
    files: tuple[SourceFile, ...] = ()
    notes: tuple[Note, ...] = ()
    """Found while reading: extra columns kept, floors applied, what was assumed."""
    extras: tuple[ExtraColumn, ...] = ()
    """Columns that are not understood, kept as written."""
    read_paths: tuple[str, ...] = ()
    """Resolved paths of all files read, so that nothing is ever written over them."""
