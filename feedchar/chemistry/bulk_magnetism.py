"""The susceptibility of the bulk as one more measured row."""

from __future__ import annotations

import numpy as np

from feedchar.chemistry.curie import lattice_susceptibility
from feedchar.chemistry.ingredients import Feed
from feedchar.chemistry.mineral_trials import standard_scores
from feedchar.chemistry.mineralogy import Array, PhaseModel
from feedchar.chemistry.system import Rows
from feedchar.constants import VACUUM_PERMEABILITY_T_M_A
from feedchar.sample.records import BulkSusceptibility

NAME = "susceptibility"
"""Name of the row."""
UNIT = 1e-9
"""Unit of the row. [m³ kg⁻¹]"""
LOW_FIELD_TESLA = 0.02
"""Flux density of the usual bridges, where none is given (an upper guess). [T]"""
_CANTED_LEAST_TESLA = 0.15
_STRONG_LN_SD = 0.4
"""Chains and needles make magnetite up to twice the sphere law at low field. [-]"""


def apparent_moment_susceptibility(phase: PhaseModel, flux_density_tesla: float) -> float:
    """Susceptibility that the ordered moment of a phase adds in a bulk measurement.

    Parameters
    ----------
    phase : PhaseModel
        The phase. [-]
    flux_density_tesla : float
        Field of the instrument. [T]

    Returns
    -------
    float
        Moment over field, not above 3/density of an equant ferrimagnetic grain. [m³ kg⁻¹]

    References
    ----------
    field_rule.
    """
    if phase.saturation_moment_A_m2_kg <= 0 or phase.order == "none":
        return 0.0
    if phase.order == "canted":
        field = max(flux_density_tesla, _CANTED_LEAST_TESLA)
        return phase.saturation_moment_A_m2_kg * VACUUM_PERMEABILITY_T_M_A / field
    saturated = (
        phase.saturation_moment_A_m2_kg * VACUUM_PERMEABILITY_T_M_A / max(flux_density_tesla, 1e-6)
    )
    return min(saturated, 3.0 / phase.density_kg_m3)


def bulk_row(feed: Feed, bulk: BulkSusceptibility, magnetic_scores: Array, seed: int) -> Rows:
    """Bulk susceptibility as a row of the fit.

    Parameters
    ----------
    feed : Feed
        M phases. [-]
    bulk : BulkSusceptibility
        The measurement. [m³ kg⁻¹]
    magnetic_scores : array, shape (T, M)
        Standard normal scores of what iron does not explain. [-]
    seed : int
        The run's seed. [-]

    Returns
    -------
    Rows
        One row. Where a strong mineral is listed the sum must meet the measurement; where none
        is, unlisted magnetite may add to it, so the listed phases may only not exceed it.
        [1e-9 m³ kg⁻¹]

    References
    ----------
    Susceptibilities add by mass; field_rule for ordered minerals.
    """
    trials = magnetic_scores.shape[0] - 1
    field = bulk.flux_density_tesla or LOW_FIELD_TESLA
    low, high = np.zeros((2, len(feed.names), 1, trials + 1))
    strong = False
    for j, (name, ingredient) in enumerate(zip(feed.names, feed.ingredients, strict=True)):
        phase = ingredient.model
        moment = apparent_moment_susceptibility(phase, field)
        if phase.order == "ferrimagnetic":
            strong = True
            scores = standard_scores(f"{name}/moment", trials, seed)
            ordered = moment * np.exp(_STRONG_LN_SD * scores)
        else:
            ordered = np.full(trials + 1, moment)
        lattice = lattice_susceptibility(phase.density_kg_m3)
        spread = np.exp(phase.susceptibility_ln_sd * magnetic_scores[:, j])
        for end, iron in ((low, phase.iron_low_wt_pct), (high, phase.iron_high_wt_pct)):
            moved = phase.susceptibility_per_iron_m3_kg * (iron - phase.susceptibility_iron_wt_pct)
            linear = phase.susceptibility_m3_kg + moved
            end[j, 0] = (lattice + (linear - lattice) * spread + ordered) / UNIT / 100.0
    value = bulk.mass_susceptibility_m3_kg / UNIT
    sd = bulk.sd_m3_kg / UNIT if bulk.sd_m3_kg else 0.05 * abs(value) + 0.5
    return Rows(
        (NAME,), np.array([value]), np.array([max(sd, 1e-3)]), low, high - low,
        np.array([not strong]), np.zeros((len(feed.names), 1)),
    )  # fmt: skip
