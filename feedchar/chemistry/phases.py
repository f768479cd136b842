"""Phases ready for trials: tabulated minerals, the user's own, `unidentified` and `unseen`."""

from __future__ import annotations

from dataclasses import dataclass
from math import exp, log

import numpy as np

from feedchar.chemistry.curie import FE2_SLOPE, lattice_susceptibility, law_susceptibility
from feedchar.chemistry.iron_line import IronState, iron_line, mixed, state_of
from feedchar.chemistry.iron_prior import Z95, IronPrior, ends_wanted
from feedchar.chemistry.mineralogy import OXIDES, UNSEEN, Array, PhaseModel
from feedchar.chemistry.oxides import COLUMN, FE2O3_PER_FE, row_of
from feedchar.sample.records import Phase
from feedchar.tables.minerals import Mineral, minerals
from feedchar.tables.priors import iron_prior

UNIDENTIFIED = "unidentified"
"""What a method could not name; any sample may list it."""

_LAW_VOID_GROUPS = ("sulphide", "metal")
_LAW_DOUBTFUL = ("chromite", "pseudorutile", "wuestite", "lepidocrocite", "limonite")
_LAW_LN_SD, _LAW_LN_SD_FE3 = 0.10, 0.20
_MEASURED_IRON_SD = 0.03
_UNIDENTIFIED_OXIDES = {
    "SiO2": 62.0, "TiO2": 0.7, "Al2O3": 17.0, "Fe2O3": 5.0, "MnO": 0.1, "MgO": 2.0, "CaO": 2.0,
    "Na2O": 2.0, "K2O": 3.2, "P2O5": 0.2, "LOI": 5.8,
}  # fmt: skip
"""A mean fine sediment (guess); only its iron matters, and that is drawn. [wt %]"""


@dataclass(frozen=True)
class Ingredient:
    """A phase with the prior of its iron."""

    model: PhaseModel
    iron: IronPrior


@dataclass(frozen=True)
class Measured:
    """What the user measured on one mineral of the bag."""

    iron_wt_pct: float | None = None
    mass_susceptibility_m3_kg: float | None = None


def _slope(low: IronState, high: IronState) -> float:
    span = high.iron_wt_pct - low.iron_wt_pct
    if span < 1e-9:
        return 0.0
    change = high.ions_wt_pct - low.ions_wt_pct
    return law_susceptibility(change, 1e30) / span


def _at(low: IronState, high: IronState, iron: float) -> IronState:
    span = high.iron_wt_pct - low.iron_wt_pct
    return low if span < 1e-9 else mixed(low, high, (iron - low.iron_wt_pct) / span)


def law_holds(record: Mineral) -> bool:
    """True where susceptibility follows iron by the paramagnetic law.

    Parameters
    ----------
    record : Mineral
        Row of the mineral tables. [-]

    Returns
    -------
    bool
        False for ordered minerals, sulphides, metals and where exchange spoils the law. [-]

    References
    ----------
    curie_model.
    """
    return (
        record.magnetic_order in ("diamagnetic", "paramagnetic")
        and record.group not in _LAW_VOID_GROUPS
        and record.mineral not in _LAW_DOUBTFUL
    )


def mineral_ingredient(
    record: Mineral, rock: str | None = None, measured: Measured | None = None
) -> Ingredient:
    """A tabulated mineral with its mixing line, its magnetism and the prior of its iron.

    Parameters
    ----------
    record : Mineral
        Row of the mineral tables. [-]
    rock : str or None
        Rock setting that narrows the iron of some minerals. [-]
    measured : Measured or None
        What the user measured on this mineral. [-]

    Returns
    -------
    Ingredient
        Phase and prior. [-]

    References
    ----------
    Iron: minerals.csv and iron_priors.csv; susceptibility: the preferred row of
    susceptibility.csv moved along the line by curie_model.
    """
    measured = measured or Measured()
    low, typical, high = record.iron_low_wt_pct, record.iron_typical_wt_pct, record.iron_high_wt_pct
    by_rock = iron_prior(record.mineral, rock)
    if by_rock is not None:
        low, _, typical, _, high = by_rock.Fe_wt_pct
        low = max(low, typical / 20.0)  # analyses below their detection limit are written 0
    if measured.iron_wt_pct is not None:
        typical = measured.iron_wt_pct
        sd = _MEASURED_IRON_SD * typical
        low, high = max(typical - Z95 * sd, 0.0), typical + Z95 * sd
    natural = state_of(record.formula, dict(record.ions))
    wanted_low, wanted_high = ends_wanted(low, typical, high)
    line_low, line_high = iron_line(
        record.mineral, record.formula, dict(record.ions), wanted_low, wanted_high
    )
    floor, ceiling = line_low.iron_wt_pct, line_high.iron_wt_pct
    typical = min(max(typical, floor), ceiling)
    prior = IronPrior(
        min(max(low, floor), typical), typical, max(min(high, ceiling), typical), floor, ceiling
    )
    chi = _magnetism(record, line_low, line_high, typical, natural, measured)
    at_typical = _at(line_low, line_high, typical)
    dark = _dark_oxides(at_typical) > 5.0 or record.marked_dark
    model = PhaseModel(
        name=record.mineral,
        role=record.role,
        density_kg_m3=record.density_kg_m3,
        shape=record.shape,
        order=chi.order,
        status="typical" if measured == Measured() else "measured",
        source=chi.source,
        iron_low_wt_pct=floor,
        iron_high_wt_pct=ceiling,
        iron_typical_wt_pct=typical,
        oxides_low_wt_pct=line_low.oxides_wt_pct,
        oxides_high_wt_pct=line_high.oxides_wt_pct,
        susceptibility_m3_kg=chi.value,
        susceptibility_iron_wt_pct=chi.iron,
        susceptibility_per_iron_m3_kg=chi.slope,
        susceptibility_ln_sd=chi.ln_sd,
        grain_ln_sd=record.grain_ln_sd,
        saturation_moment_A_m2_kg=chi.moment,
        is_dark=dark,
    )
    return Ingredient(model, prior)


def _dark_oxides(state: IronState) -> float:
    return float(state.oxides_wt_pct[COLUMN["Fe2O3"]] + state.oxides_wt_pct[COLUMN["MnO"]])


@dataclass(frozen=True)
class _Magnetism:
    value: float
    iron: float
    slope: float
    ln_sd: float
    order: str
    moment: float
    source: str


def _magnetism(
    record: Mineral, low: IronState, high: IronState, iron: float, natural: IronState,
    measured: Measured,
) -> _Magnetism:  # fmt: skip
    row = record.susceptibility
    slope = _slope(low, high) if law_holds(record) else 0.0
    if record.mineral == "ilmenite":
        slope = FE2_SLOPE  # weathered grains hold Fe3+, but exchange keeps them from gaining by it
    ions = _at(low, high, iron).ions_wt_pct
    rich_in_fe3 = ions[1] > ions[0] and ions[1] > 5.0
    ln_sd = _LAW_LN_SD_FE3 if rich_in_fe3 else _LAW_LN_SD
    order = {"canted": "canted", "ferrimagnetic": "ferrimagnetic", "ferromagnetic": "ferrimagnetic"}
    kind = order.get(record.magnetic_order, "none")
    moment = (record.saturation.typical if record.saturation else None) or 0.0
    if moment > 0 and kind == "none":
        kind = "canted"  # goethite: a weak defect moment on top of a linear part
    if measured.mass_susceptibility_m3_kg is not None:
        return _Magnetism(measured.mass_susceptibility_m3_kg, iron, 0.0, 0.05, kind, 0.0, "user")
    value, at_iron = row.typical or 0.0, row.iron_wt_pct
    if record.high_field is not None and record.high_field.typical is not None:
        value = record.high_field.typical
    elif kind == "ferrimagnetic":
        value = 0.0
    elif kind == "canted" and moment == 0.0:
        # Martite: hematite with relics of magnetite, whose low-field value tells how much.
        relics = value / (3.0 / 5201.0)
        value, moment = 2.8e-7, 0.4 + 92.0 * relics
    if at_iron is None:
        at_iron = natural.iron_wt_pct
    if measured.iron_wt_pct is not None and law_holds(record):
        return _Magnetism(
            law_susceptibility(ions, record.density_kg_m3), iron, slope, ln_sd, kind, moment,
            "curie_model",
        )  # fmt: skip
    if not law_holds(record) and row.low and row.high and row.low > 0 and kind == "none":
        ln_sd = max(ln_sd, log(row.high / row.low) / (2 * Z95))
    return _Magnetism(value, at_iron, slope, ln_sd, kind, moment, row.source)


def unseen_ingredient() -> Ingredient:
    """Iron that no method has named: about 90 % Fe2O3 and 10 % LOI.

    Returns
    -------
    Ingredient
        The phase `unseen`; its magnetism is that of a poorly crystalline hydroxide (guess). [-]

    References
    ----------
    smith_2013 for what it stands for; magnetism from memory.
    """
    row = row_of({"Fe2O3": 90.0, "LOI": 10.0})
    iron = 90.0 / FE2O3_PER_FE
    model = PhaseModel(
        name=UNSEEN, role="stays", density_kg_m3=3800.0, shape="equant", order="none",
        status="assumed", source="project_memory", iron_low_wt_pct=iron, iron_high_wt_pct=iron,
        iron_typical_wt_pct=iron, oxides_low_wt_pct=row, oxides_high_wt_pct=row,
        susceptibility_m3_kg=5e-7, susceptibility_iron_wt_pct=iron, susceptibility_ln_sd=0.5,
        is_dark=False,
    )  # fmt: skip
    return Ingredient(model, IronPrior(iron, iron, iron, iron, iron))


def own_phase_ingredient(
    phase: Phase, measured: Measured | None = None, rock: str | None = None
) -> Ingredient:
    """A phase of the user's own; what it does not give is borrowed from `like`, else assumed.

    Parameters
    ----------
    phase : Phase
        Row of phases.csv. [-]
    measured : Measured or None
        Iron or susceptibility given with the amounts. [-]
    rock : str or None
        Rock setting, for the mineral borrowed from. [-]

    Returns
    -------
    Ingredient
        Phase and prior of its iron; oxides not given are `other`. [-]

    References
    ----------
    curie_model with all iron as Fe3+ where no susceptibility is given.
    """
    measured = measured or Measured()
    like = mineral_ingredient(minerals()[phase.like], rock) if phase.like else None
    oxides = dict(phase.oxides_wt_pct)
    if like is not None and not oxides:
        row, line = like.model.oxides_low_wt_pct, like
        return Ingredient(_own_model(phase, like, measured, line.model, line.iron), line.iron)
    if like is not None:
        borrowed = _at_model(like.model, like.model.iron_typical_wt_pct)
        rest = max(100.0 - sum(oxides.values()), 0.0)
        missing = {o: borrowed[COLUMN[o]] for o in OXIDES[:-1] if o not in oxides}
        total = sum(max(value, 0.0) for value in missing.values())
        if total > 0 and rest > 0:
            scale = min(1.0, rest / total)
            oxides |= {o: value * scale for o, value in missing.items()}
    row = row_of(oxides)
    iron = float(row[COLUMN["Fe2O3"]] / FE2O3_PER_FE)
    sd = phase.oxides_sd_wt_pct.get("Fe2O3")
    sd_iron = sd / FE2O3_PER_FE if sd is not None else 0.1 * iron
    if measured.iron_wt_pct is not None:
        iron, sd_iron = measured.iron_wt_pct, _MEASURED_IRON_SD * measured.iron_wt_pct
    low, high = max(iron - Z95 * sd_iron, 0.0), iron + Z95 * sd_iron
    return _with_line(phase, like, measured, row, (low, iron, high))


def unidentified_ingredient(phase: Phase | None = None) -> Ingredient:
    """What a method could not name: Fe2O3 log-normal, median 5 %, ln-sd 1.

    Parameters
    ----------
    phase : Phase or None
        The user's own figures for it. [-]

    Returns
    -------
    Ingredient
        The phase `unidentified`. [-]

    References
    ----------
    Common practice, no source; the other oxides are a mean fine sediment (guess).
    """
    if phase is not None and "Fe2O3" in phase.oxides_wt_pct:
        return own_phase_ingredient(phase)
    oxides = dict(_UNIDENTIFIED_OXIDES)
    if phase is not None:
        oxides |= phase.oxides_wt_pct
    median = 5.0 / FE2O3_PER_FE
    spread = exp(Z95)
    empty = phase or Phase(UNIDENTIFIED, None, None, None, None, {}, {})
    quantiles = (median / spread, median, median * spread)
    return _with_line(empty, None, Measured(), row_of(oxides), quantiles)


def _at_model(model: PhaseModel, iron: float) -> Array:
    span = model.iron_high_wt_pct - model.iron_low_wt_pct
    share = (iron - model.iron_low_wt_pct) / span if span > 1e-9 else 0.0
    return model.oxides_low_wt_pct + share * (model.oxides_high_wt_pct - model.oxides_low_wt_pct)


def _with_line(
    phase: Phase, like: Ingredient | None, measured: Measured, row: Array,
    quantiles: tuple[float, float, float],
) -> Ingredient:  # fmt: skip
    """Line of a user's phase: iron takes the place of everything else in proportion."""
    low, iron, high = quantiles
    floor, ceiling = ends_wanted(low, iron, high)
    floor, ceiling = max(floor, 0.0), min(ceiling, 69.9)
    rest = row.copy()
    rest[COLUMN["Fe2O3"]] = 0.0
    pure = np.zeros(len(OXIDES))
    pure[COLUMN["Fe2O3"]] = 100.0
    rest = rest * (100.0 / rest.sum()) if rest.sum() > 1e-9 else pure

    def at(value: float) -> Array:
        share = value * FE2O3_PER_FE / 100.0
        return share * pure + (1.0 - share) * rest

    prior = IronPrior(low, iron, min(high, ceiling), floor, ceiling)
    line = PhaseModel(
        name=phase.phase, role="host", density_kg_m3=2650.0, shape="equant", order="none",
        status="assumed", source="user", iron_low_wt_pct=floor, iron_high_wt_pct=ceiling,
        iron_typical_wt_pct=iron, oxides_low_wt_pct=at(floor), oxides_high_wt_pct=at(ceiling),
    )  # fmt: skip
    return Ingredient(_own_model(phase, like, measured, line, prior), prior)


def _own_model(
    phase: Phase, like: Ingredient | None, measured: Measured, line: PhaseModel, prior: IronPrior
) -> PhaseModel:
    """Magnetism and manner of a user's phase on a given mixing line."""
    base = like.model if like is not None else None
    density = phase.density_kg_m3 or (base.density_kg_m3 if base else 2650.0)
    iron = prior.typical_wt_pct
    chi = phase.mass_susceptibility_m3_kg or measured.mass_susceptibility_m3_kg
    if chi is not None:
        sd = phase.mass_susceptibility_sd_m3_kg
        ln_sd = abs(sd / chi) if sd is not None and chi else 0.05
        slope, source, moment, order = 0.0, "user", 0.0, "none"
    elif base is not None:
        slope, ln_sd, source = base.susceptibility_per_iron_m3_kg, 0.2, base.source
        chi = base.susceptibility_m3_kg + slope * (iron - base.susceptibility_iron_wt_pct)
        moment, order = base.saturation_moment_A_m2_kg, base.order
    else:
        ions = np.array([0.0, iron, 0.0])
        chi, slope = (
            law_susceptibility(ions, density),
            law_susceptibility(np.array([0, 1.0, 0]), 1e30),
        )
        ln_sd, source, moment, order = 0.3, "curie_model", 0.0, "none"
    dark = iron * FE2O3_PER_FE > 5.0
    if base is not None:
        role = base.role
    else:
        role = "removable" if chi > 3e-8 else "host"
    given = phase.oxides_wt_pct and (phase.mass_susceptibility_m3_kg is not None)
    return PhaseModel(
        name=phase.phase,
        role=role,
        density_kg_m3=density,
        shape=base.shape if base else "equant",
        order=order,
        status="measured" if given else "assumed",
        source=source,
        iron_low_wt_pct=line.iron_low_wt_pct,
        iron_high_wt_pct=line.iron_high_wt_pct,
        iron_typical_wt_pct=iron,
        oxides_low_wt_pct=line.oxides_low_wt_pct,
        oxides_high_wt_pct=line.oxides_high_wt_pct,
        susceptibility_m3_kg=chi,
        susceptibility_iron_wt_pct=iron,
        susceptibility_per_iron_m3_kg=slope,
        susceptibility_ln_sd=ln_sd,
        grain_ln_sd=base.grain_ln_sd if base else 0.3,
        saturation_moment_A_m2_kg=moment,
        is_dark=dark,
    )


def susceptibility_at(model: PhaseModel, iron: Array, z: Array) -> Array:
    """Linear mass susceptibility of a phase, drawn together with its iron.

    Parameters
    ----------
    model : PhaseModel
        The phase. [-]
    iron : array, shape (T,)
        Fe of the phase. [wt %]
    z : array, shape (T,)
        Standard normal score of what iron does not explain. [-]

    Returns
    -------
    array, shape (T,)
        Mass susceptibility; the spread acts on the part above the diamagnetic lattice. [m³ kg⁻¹]

    References
    ----------
    curie_model.
    """
    lattice = lattice_susceptibility(model.density_kg_m3)
    moved = iron - model.susceptibility_iron_wt_pct
    linear = model.susceptibility_m3_kg + model.susceptibility_per_iron_m3_kg * moved
    return lattice + (linear - lattice) * np.exp(model.susceptibility_ln_sd * z)
