"""Phases that no table holds: the user's own, and `unidentified`."""

from __future__ import annotations

from math import exp

import numpy as np

from feedchar.chemistry.composition_spread import own_spread
from feedchar.chemistry.curie import law_susceptibility
from feedchar.chemistry.iron_prior import Z95, IronPrior, ends_wanted
from feedchar.chemistry.mineralogy import OXIDES, Array, PhaseModel
from feedchar.chemistry.oxides import COLUMN, row_of
from feedchar.chemistry.phases import MEASURED_IRON_SD, Ingredient, Measured, mineral_ingredient
from feedchar.constants import FE2O3_PER_FE
from feedchar.sample.records import Phase
from feedchar.tables.minerals import minerals

UNIDENTIFIED = "unidentified"
"""What a method could not name; any sample may list it."""
_UNIDENTIFIED_OXIDES = {
    "SiO2": 62.0, "TiO2": 0.7, "Al2O3": 17.0, "Fe2O3": 5.0, "MnO": 0.1, "MgO": 2.0, "CaO": 2.0,
    "Na2O": 2.0, "K2O": 3.2, "P2O5": 0.2, "LOI": 5.8,
}  # fmt: skip
"""A mean fine sediment (guess); only its iron matters, and that is drawn. [wt %]"""
_DENSITY = 2650.0
"""Of a phase that says nothing of it (guess). [kg m⁻³]"""
_REMOVABLE_CHI = 3e-8
"""A phase above this is taken to answer some magnet (guess). [m³ kg⁻¹]"""
_MOST_IRON = 69.9


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
    if like is not None and not oxides and measured.iron_wt_pct is None:
        model = _own_model(phase, like, measured, like.model, like.iron)
        return Ingredient(model, like.iron, like.spread)
    if like is not None:
        borrowed = _at_model(like.model, like.model.iron_typical_wt_pct)
        rest = max(100.0 - sum(oxides.values()), 0.0)
        missing = {o: borrowed[COLUMN[o]] for o in OXIDES[:-1] if o not in oxides}
        total = sum(max(value, 0.0) for value in missing.values())
        if total > 0 and rest > 0:  # a metal gains on ignition: it may have nothing to lend
            scale = min(1.0, rest / total)
            oxides |= {o: value * scale for o, value in missing.items()}
    row = row_of(oxides)
    iron = float(row[COLUMN["Fe2O3"]] / FE2O3_PER_FE)
    sd = phase.oxides_sd_wt_pct.get("Fe2O3")
    sd_iron = sd / FE2O3_PER_FE if sd is not None else 0.1 * iron
    if measured.iron_wt_pct is not None:
        iron, sd_iron = measured.iron_wt_pct, MEASURED_IRON_SD * measured.iron_wt_pct
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
    rest = row.copy()
    rest[COLUMN["Fe2O3"]] = 0.0
    pure = np.zeros(len(OXIDES))
    pure[COLUMN["Fe2O3"]] = 100.0
    rest = rest * (100.0 / rest.sum()) if rest.sum() > 1e-9 else pure

    def at(value: float) -> Array:
        share = value * FE2O3_PER_FE / 100.0
        return share * pure + (1.0 - share) * rest

    if iron >= _MOST_IRON:  # an oxide or a metal: nothing else is left to take the place of
        low = high = floor = ceiling = iron
        ends = row, row
    else:
        floor, ceiling = ends_wanted(low, iron, high)
        ceiling = min(ceiling, _MOST_IRON)
        ends = at(floor), at(ceiling)
    prior = IronPrior(low, iron, min(high, ceiling), floor, ceiling)
    line = PhaseModel(
        name=phase.phase, role="host", density_kg_m3=_DENSITY, shape="equant", order="none",
        status="assumed", source="user", iron_low_wt_pct=floor, iron_high_wt_pct=ceiling,
        iron_typical_wt_pct=iron, oxides_low_wt_pct=ends[0], oxides_high_wt_pct=ends[1],
    )  # fmt: skip
    spread = own_spread(row, phase.oxides_sd_wt_pct, phase.phase == UNIDENTIFIED)
    return Ingredient(_own_model(phase, like, measured, line, prior), prior, spread)


def _own_model(
    phase: Phase, like: Ingredient | None, measured: Measured, line: PhaseModel, prior: IronPrior
) -> PhaseModel:
    """Magnetism and manner of a user's phase on a given mixing line."""
    base = like.model if like is not None else None
    density = phase.density_kg_m3 or (base.density_kg_m3 if base else _DENSITY)
    iron = prior.typical_wt_pct
    chi = phase.mass_susceptibility_m3_kg
    if chi is None:
        chi = measured.mass_susceptibility_m3_kg
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
        role = "removable" if chi > _REMOVABLE_CHI else "host"
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
