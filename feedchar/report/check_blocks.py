"""The feed against itself: the agreement table, what it is made of, what would settle a doubt."""

from __future__ import annotations

from feedchar.report.answer_blocks import WORTH_TELLING
from feedchar.report.blocks import Block, Column, Part, Row, Table, Words
from feedchar.report.iron_blocks import agreement_words
from feedchar.report.readings import UNSEEN, likely, nine_in_ten, typical
from feedchar.report.words import DASH, NO_BREAK, name, number, prose, share, spread, weight
from feedchar.results import Characterisation, MineralResult

WARN_SD, STOP_SD = 2.0, 4.0
"""Misfit from which a datum is looked at again, and from which nothing is concluded. [sd]"""


def agreement_block(result: Characterisation) -> Block:
    """Every oxide: measured, fitted, and the residual in standard deviations.

    Parameters
    ----------
    result : Characterisation
        The result. [-]

    Returns
    -------
    Block
        A table where there is an assay, and the fit in words. [-]
    """
    assay = result.assay
    rows = []
    for oxide, fitted in assay.reconciled_wt_pct.items():
        measured = assay.measured_wt_pct.get(oxide)
        if measured is None and (likely(fitted) or 0.0) < WORTH_TELLING:
            continue
        residual = _residual(result, oxide)
        rows.append(
            Row(
                (
                    oxide,
                    _measured(measured.value, measured.below_detection) if measured else DASH,
                    weight(measured.sd) if measured else DASH,
                    weight(likely(fitted)),
                    nine_in_ten(fitted, weight),
                    DASH if residual is None else f"{residual:+.1f}",
                    _verdict(residual),
                ),
                _role(residual),
            )
        )
    columns = (
        Column("oxide, wt %"),
        Column("measured", "number"),
        Column("sd", "number"),
        Column("fitted", "number"),
        Column("9 in 10 cases", "number", optional=True),
        Column("off by, sd", "number"),
        Column(""),
    )
    parts: list[Part] = [_standing(result), Table(columns, tuple(rows))]
    if assay.measured_wt_pct:
        parts.append(Words(agreement_words(assay.agreement)))
    return Block("agreement", "DO THE DATA AGREE", tuple(parts))


def made_of_block(result: Characterisation) -> Block:
    """What the bag is made of, with the status of what each phase rests on.

    Parameters
    ----------
    result : Characterisation
        The result. [-]

    Returns
    -------
    Block
        One table. [-]
    """
    phases = sorted(
        result.minerals, key=lambda phase: (-(typical(phase.mass_pct) or 0.0), phase.mineral)
    )
    columns = (
        Column("phase"),
        Column("wt %", "number"),
        Column("9 in 10 cases", "number"),
        Column("Fe2O3 in it, wt %", "number"),
        Column("% of iron", "number"),
        Column("rests on", optional=True),
    )
    rows = [
        Row(
            (
                "unseen iron" if phase.mineral == UNSEEN else name(phase.mineral),
                weight(likely(phase.mass_pct)),
                nine_in_ten(phase.mass_pct, weight),
                weight(likely(phase.Fe2O3_wt_pct)),
                share(likely(phase.share_of_iron_pct)),
                f"{phase.status}, {phase.source}",
            ),
            phase.role or "plain",
        )
        for phase in phases
    ]
    parts: list[Part] = [Table(columns, tuple(rows))]
    ranges = [phase for phase in phases if phase.mass_range_pct is not None]
    if ranges:
        text = "; ".join(_range(phase) for phase in ranges)
        parts.append(Words(f"{text}.", mark="More phases than data, so by the data alone"))
    return Block("made of", "WHAT IT IS MADE OF", tuple(parts))


def settle_block(result: Characterisation) -> Block:
    """What would settle the doubt: the suspect datum first, then what to measure.

    Parameters
    ----------
    result : Characterisation
        The result. [-]

    Returns
    -------
    Block
        Words only. [-]
    """
    parts: list[Part] = []
    doubtful = result.assay.agreement.doubtful
    if doubtful:
        parts.append(Words(f"repeat {prose(doubtful)}.", mark="First"))
    if not result.assay.measured_wt_pct:
        text = "a head assay with Fe2O3, TiO2, Al2O3, K2O, Na2O, CaO, MgO and loss on ignition."
        parts.append(Words(text, mark="First"))
    for place, step in enumerate(result.measure_next[:3], start=1):
        removed = number(100 * step.variance_removed_share)
        text = f"{prose(step.measurement)}: removes {removed}{NO_BREAK}% of the variance "
        parts.append(Words(f"{text}of product iron.", mark=f"{place}"))
    if not parts:
        parts.append(Words("Nothing is in doubt that one more measurement would settle."))
    return Block("settle", "WHAT WOULD SETTLE IT", tuple(parts))


def _residual(result: Characterisation, oxide: str) -> float | None:
    """Misfit of one oxide; None where it was not measured, or only bounded."""
    for line in result.assay.agreement.worst:
        if line.oxide == oxide:
            return line.residual_sd
    measured = result.assay.measured_wt_pct.get(oxide)
    fitted = result.assay.reconciled_wt_pct[oxide]
    middle = fitted.typical if fitted.mean is None else fitted.mean
    if measured is None or measured.below_detection or middle is None or measured.sd <= 0:
        return None
    return (measured.value - middle) / measured.sd


def _standing(result: Characterisation) -> Words:
    """One word for the whole, and why."""
    residuals = [abs(line.residual_sd) for line in result.assay.agreement.worst]
    stops = [note for note in result.notes if note.severity == "stop"]
    warnings = [note for note in result.notes if note.severity == "warning"]
    if stops or result.answer.status == "data disagree" or max(residuals, default=0.0) >= STOP_SD:
        return Words("DISAGREE. Settle what is marked STOP or disagrees before going on.", "bad")
    if not result.assay.measured_wt_pct:
        return Words("UNCHECKED. Nothing was assayed to hold the minerals against.", "doubtful")
    if warnings or max(residuals, default=0.0) >= WARN_SD:
        return Words("LOOK AGAIN. Nothing forbids going on, but see what is marked.", "doubtful")
    return Words("AGREE. Minerals and assay tell one story.", "good")


def _measured(value: float, below: bool) -> str:
    return f"<{weight(value)}" if below else weight(value)


def _verdict(residual: float | None) -> str:
    if residual is None:
        return ""
    if abs(residual) < WARN_SD:
        return "agrees"
    return "look again" if abs(residual) < STOP_SD else "disagrees"


def _role(residual: float | None) -> str:
    return {"": "quiet", "agrees": "plain", "look again": "doubtful"}.get(_verdict(residual), "bad")


def _range(phase: MineralResult) -> str:
    low, high = phase.mass_range_pct or (0.0, 0.0)
    return f"{name(phase.mineral)}{NO_BREAK}{spread(weight(low), weight(high))}{NO_BREAK}%"
