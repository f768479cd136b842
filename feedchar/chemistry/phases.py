"""Phases ready for trials: tabulated minerals and `unseen`."""

from __future__ import annotations

from dataclasses import dataclass
from math import log

import numpy as np

from feedchar.chemistry.composition_spread import mineral_spread
from feedchar.chemistry.curie import FE2_SLOPE, lattice_susceptibility, law_susceptibility
from feedchar.chemistry.iron_line import IronState, iron_line, mixed, state_of
from feedchar.chemistry.iron_prior import Z95, IronPrior, ends_wanted
from feedchar.chemistry.mineralogy import UNSEEN, Array, PhaseModel
from feedchar.chemistry.oxides import COLUMN, row_of
from feedchar.constants import FE2O3_PER_FE
from feedchar.tables.minerals import Mineral
from feedchar.tables.priors import iron_prior

_LAW_VOID_GROUPS = ("sulphide", "metal")
_LAW_DOUBTFUL = ("chromite", "pseudorutile", "wuestite", "lepidocrocite", "limonite")
_LAW_LN_SD, _LAW_LN_SD_FE3 = 0.10, 0.20
MEASURED_IRON_SD = 0.03
"""Relative sd of an iron content that the user measured (guess). [-]"""


@dataclass(frozen=True)
class Ingredient:
    """A phase with the prior of its iron."""

    model: PhaseModel
    iron: IronPrior
    spread: Array
    """(K,) sd of its oxides beside iron. [wt %]"""


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
        sd = MEASURED_IRON_SD * typical
        low, high = typical - Z95 * sd, typical + Z95 * sd
    natural = state_of(record.formula, dict(record.ions))
    wanted_low, wanted_high = ends_wanted(low, typical, high)
    line_low, line_high = iron_line(
        record.mineral, record.formula, dict(record.ions), wanted_low, wanted_high
    )
    floor, ceiling = line_low.iron_wt_pct, line_high.iron_wt_pct
    typical = min(max(typical, floor), ceiling)
    prior = IronPrior(
        min(max(low, floor), typical), typical, max(min(high, ceiling), typical), floor, ceiling,
        by_rock.source if by_rock is not None and measured.iron_wt_pct is None else "",
    )  # fmt: skip
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
    spread = mineral_spread(record.mineral, record.group, at_typical.oxides_wt_pct)
    return Ingredient(model, prior, spread)


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
    return Ingredient(model, IronPrior(iron, iron, iron, iron, iron), np.zeros(len(row)))


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
