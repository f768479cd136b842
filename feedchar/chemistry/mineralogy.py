"""What the chemistry room hands on: phases, their trials, and how well they fit the assay."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from feedchar.sample.records import Note

Array = NDArray[np.float64]

UNSEEN = "unseen"
"""Name of the phase that stands for iron no method has named."""

OXIDES = (
    "SiO2", "TiO2", "Al2O3", "Fe2O3", "MnO", "MgO", "CaO", "Na2O", "K2O", "P2O5",
    "Cr2O3", "ZrO2", "LOI", "other",
)  # fmt: skip
"""Columns of every oxide array. Fe2O3 is all iron expressed as Fe2O3; LOI is H2O + CO2 + SO3
+ F less O as far as ignition drives them off; `other` is the rest, so that a row sums to 100."""


@dataclass(frozen=True)
class PhaseModel:
    """One phase, ready for trials: its mixing line of iron and its magnetism."""

    name: str
    """Canonical mineral name, user's phase, `unidentified` or `unseen`."""
    role: str
    """host (pale, stays and is wanted) | removable (a magnet may take it) | stays (dark or
    refractory, out of a magnet's reach)"""
    density_kg_m3: float
    shape: str
    """equant | flake | needle"""
    order: str
    """none | canted | ferrimagnetic: the kind of moment at room temperature."""
    status: str
    """typical | measured | assumed"""
    source: str
    """Key of sources.csv, or `user`."""
    iron_low_wt_pct: float
    """Fe at the low end of the mixing line."""
    iron_high_wt_pct: float
    """Fe at the high end."""
    iron_typical_wt_pct: float
    oxides_low_wt_pct: Array = field(repr=False)
    """Composition at the low end, shape (K,), columns OXIDES, sums to 100."""
    oxides_high_wt_pct: Array = field(repr=False)
    """Composition at the high end, shape (K,)."""
    susceptibility_m3_kg: float = 0.0
    """Linear (para- and diamagnetic, or high-field) mass susceptibility at that iron content."""
    susceptibility_iron_wt_pct: float = 0.0
    susceptibility_per_iron_m3_kg: float = 0.0
    """Curie slope: change with each wt % Fe of the phase."""
    susceptibility_ln_sd: float = 0.0
    """Uncertainty of the phase's mean susceptibility beyond its iron, as ln-sd. [-]"""
    grain_ln_sd: float = 0.3
    """Grain-to-grain ln-sd of susceptibility. [-]"""
    saturation_moment_A_m2_kg: float = 0.0
    """Ordered moment at saturation (canted or ferrimagnetic), 0 for the rest."""
    is_dark: bool = False
    """Seen as a speck: more than 5 % FeO + Fe2O3 + MnO, or marked dark."""


@dataclass(frozen=True)
class Agreement:
    """How the fitted mineralogy agrees with the assay."""

    chi_square: float | None
    degrees_of_freedom: int
    predictive_probability: float | None
    """Posterior predictive chance of a worse misfit; None without trials. [-]"""
    residual_sd: dict[str, float]
    """(measured - fitted) / sd by oxide, at the fitted mean. [-]"""
    settled: bool = True
    """False when the chains had not settled."""
    doubtful: str | None = None
    """The datum to doubt, in words, when the data disagree."""


@dataclass(frozen=True)
class Mineralogy:
    """Trials of a mineralogy. T = trials + 1 rows, row 0 the typical case; M phases; K oxides.

    Phases are in canonical order (sorted by name), `unseen` last and always present
    (zero where it does not apply).
    """

    phases: tuple[PhaseModel, ...]
    mass_fraction: Array
    """(T, M) of the dry bag; each row sums to 1."""
    size_share: Array
    """(T or 1, M, S): how each phase is spread over the size classes; sums to 1 over S."""
    iron_wt_pct: Array
    """(T, M) Fe of each phase."""
    oxides_wt_pct: Array
    """(T, M, K) composition of each phase in each trial."""
    susceptibility_m3_kg: Array
    """(T, M) linear mass susceptibility, drawn together with the iron."""
    predicted_wt_pct: Array
    """(T, K) bulk from minerals alone, unseen iron included, before the assay."""
    reconciled_wt_pct: Array
    """(T, K) bulk after the assay; equals predicted when there is none."""
    unseen_form_share: Array
    """(T, 3) of the unseen iron: stain, inclusion in pale grains, fine free oxide."""
    agreement: Agreement
    has_assay: bool
    assay_needed: bool
    """Iron too low and too unseen to answer without an assay (`ASSAY_NEEDED_BELOW`)."""
    data_disagree: bool
    """A sanity rule or the fit is beyond 4 sd."""
    mass_range_pct: dict[str, tuple[float, float]] = field(default_factory=dict)
    """Least and greatest wt % of each phase by linear programming, where phases outnumber data."""
    stain_phase_share: dict[str, float] = field(default_factory=dict)
    """Share of a listed phase that sits as stain by textures or diagnostics."""
    notes: tuple[Note, ...] = ()
