"""What was read, what the feed is made of and how well it agrees, as records."""

from __future__ import annotations

from dataclasses import dataclass

from feedchar.sample.records import SourceFile
from feedchar.uncertainty.summary import Uncertain


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
class InputFiles:
    """What was read, by base name."""

    name: str
    files: tuple[SourceFile, ...]
