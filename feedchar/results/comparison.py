"""What a test says: its balance, its mistakes, and how it agrees with the prediction."""

from __future__ import annotations

from dataclasses import dataclass

from feedchar.results.calibration import CalibrationUsed
from feedchar.results.characterisation import InputFiles
from feedchar.sample.records import Note
from feedchar.uncertainty.summary import Uncertain


@dataclass(frozen=True)
class ClosedFigure:
    """A mass or an assay as measured and as it closes."""

    quantity: str
    """mass_g, or an oxide in wt %."""
    measured: float | None
    measured_sd: float | None
    closing: float | None
    """None where nothing measured fixes it."""
    closing_sd: float | None
    adjustment_sd: float | None
    """(measured - closing) over its own sd; None where no balance tests it."""


@dataclass(frozen=True)
class ClosedBag:
    """One bag of the tree."""

    bag: str
    test: str | None
    step: str | None
    repeat: str | None
    from_bag: str | None
    product: str
    laboratory: str | None
    figures: tuple[ClosedFigure, ...]


@dataclass(frozen=True)
class Balance:
    """The tree of bags reconciled, and its global test."""

    chi_square: float
    degrees_of_freedom: int
    p_value: float
    closes: bool
    """False when chance alone would give so large a chi-square less than once in a hundred."""
    to_doubt: tuple[str, ...]
    """Measurements with the largest adjustment; several where no balance tells them apart."""
    doubt_p_value: float
    bags: tuple[ClosedBag, ...]


@dataclass(frozen=True)
class MassLoss:
    """Mass before and after one split."""

    from_bag: str
    mass_in_g: float
    mass_out_g: float
    loss_pct: float
    severity: str
    """as usual | note | warning"""


@dataclass(frozen=True)
class AssayYield:
    """A yield that the assays give, beside the weighed one."""

    from_bag: str
    product: str
    method: str
    """two-product | three-product"""
    oxides: tuple[str, ...]
    weighed_pct: float | None
    weighed_sd_pct: float | None
    by_assay_pct: float | None
    by_assay_sd_pct: float | None
    z: float | None
    reason: str = ""
    """Why the assays give none; empty when they do."""


@dataclass(frozen=True)
class Recovery:
    """Where an oxide, or a mineral that carries it, went."""

    bag: str
    test: str | None
    product: str
    of: str
    """An oxide, or a mineral."""
    by: str
    """The oxide that tells it."""
    recovery_pct: float
    """Of what went into the first machine of its test."""
    recovery_sd_pct: float


@dataclass(frozen=True)
class MistakeFound:
    """A mistake that would explain why the balance does not close."""

    kind: str
    bags: tuple[str, ...]
    detail: str
    chi_square_fall: float
    score: float
    found_by: str
    """balance | order of the bags | two laboratories"""
    named: bool
    """Beyond chance."""


@dataclass(frozen=True)
class PutRight:
    """The mistake that was undone before measured and predicted were held together."""

    mistake: str
    """In words."""
    chi_square: float
    """Of the balance with it undone."""
    degrees_of_freedom: int
    p_value: float


@dataclass(frozen=True)
class ComparedFigure:
    """One figure of one bag, predicted and measured."""

    bag: str
    test: str
    step: str | None
    repeat: str | None
    from_bag: str
    product: str
    quantity: str
    """share_pct of what the step made, or an oxide in wt %."""
    measured: float
    measured_sd: float
    predicted: Uncertain
    z: float | None
    """Measured less predicted over both errors, on a scale of ratios; None without trials."""


@dataclass(frozen=True)
class StepAgreement:
    """How far one step, or all, lies from its prediction."""

    test: str
    step: str | None
    repeat: str | None
    from_bag: str
    figures: int
    chi_square: float
    p_value: float


@dataclass(frozen=True)
class Cause:
    """One change that would explain the difference."""

    cause: str
    detail: str
    ln_likelihood_gain: float
    score: float
    named: bool
    look_at: str
    p_value_left: float
    """Chance of the difference that is left when this one thing is changed."""


@dataclass(frozen=True)
class Comparison:
    """All that `compare` says."""

    command: str
    seed: int
    trials: int
    input: InputFiles
    verdict: str
    """agrees | differs | not judged (without trials) | not predicted"""
    answer: str
    """In one sentence."""
    balance: Balance
    mistakes: tuple[MistakeFound, ...]
    losses: tuple[MassLoss, ...]
    yields: tuple[AssayYield, ...]
    recoveries: tuple[Recovery, ...]
    put_right: PutRight | None
    agreement: tuple[StepAgreement, ...]
    """All steps together first."""
    compared: tuple[ComparedFigure, ...]
    causes: tuple[Cause, ...]
    not_predicted: dict[str, str]
    """Bag to reason."""
    notes: tuple[Note, ...]
    sample_note: str = ""
    calibration: CalibrationUsed | None = None
    """What other tests taught of the machine; None: the stated priors."""
    minerals: tuple[str, ...] = ()
    """Handled: they decide the cautions."""
