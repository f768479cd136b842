"""The feed against itself: the agreement table, what it is made of, what would settle a doubt."""

from __future__ import annotations

from feedchar.report.answer_blocks import WORTH_TELLING
from feedchar.report.blocks import Block, Column, Part, Row, Table, Words
from feedchar.report.carriers import UNSEEN
from feedchar.report.feed_blocks import agreement_words
from feedchar.report.numbers import DASH, number, share, spread, weight
from feedchar.report.readings import likely, nine_in_ten
from feedchar.report.words import NO_BREAK, name, prose
from feedchar.results import Characterisation, MineralResult

WARN_SD, STOP_SD = 2.0, 4.0
"""Misfit from which a datum is looked at again, and from which nothing is concluded. [sd]"""


NEXT_TO_NOTHING = 5e-6
"""A least amount below this is none at all. [wt %]"""


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
    residuals = {line.oxide: line.residual_sd for line in assay.agreement.worst}
    least = min((abs(value) for value in residuals.values()), default=None)
    rows = []
    for oxide, fitted in assay.reconciled_wt_pct.items():
        measured = assay.measured_wt_pct.get(oxide)
        if measured is None and (likely(fitted) or 0.0) < WORTH_TELLING:
            continue
        residual = residuals.get(oxide)
        rows.append(
            Row(
                (
                    oxide,
                    _measured(measured.value, measured.below_detection) if measured else DASH,
                    weight(measured.sd) if measured else DASH,
                    weight(likely(fitted)),
                    nine_in_ten(fitted, weight),
                    *_misfit(residual, least if measured else None),
                ),
                _role(residual),
            )
        )
    rows += [
        Row(
            (name(line.oxide), DASH, DASH, DASH, DASH, *_misfit(line.residual_sd)),
            _role(line.residual_sd),
        )
        for line in assay.agreement.worst
        if line.oxide not in assay.reconciled_wt_pct
    ]
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
        result.minerals, key=lambda phase: (-(likely(phase.mass_pct) or 0.0), phase.mineral)
    )
    ranged = any(phase.mass_range_pct is not None for phase in phases)
    columns = (
        Column("phase"),
        Column("wt %", "number"),
        Column("9 in 10 cases", "number"),
        *([Column("by assay alone", "number")] if ranged else []),
        Column("Fe2O3 in it", "number"),
        Column("% of iron", "number"),
        Column("rests on", optional=True),
    )
    rows = [
        Row(
            (
                "unseen iron" if phase.mineral == UNSEEN else name(phase.mineral),
                weight(likely(phase.mass_pct)),
                nine_in_ten(phase.mass_pct, weight),
                *([_range(phase)] if ranged else []),
                weight(likely(phase.Fe2O3_wt_pct)),
                share(likely(phase.share_of_iron_pct)),
                f"{phase.status}, {phase.source}",
            ),
            phase.role or "plain",
        )
        for phase in phases
    ]
    parts: list[Part] = [Table(columns, tuple(rows))]
    if ranged:
        text = "By assay alone: least and greatest amount with which the assay can be met at all."
        parts.append(Words(text, "quiet"))
    return Block("made of", "WHAT IT IS MADE OF", tuple(parts), "wt %")


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


def _misfit(residual: float | None, least: float | None = None) -> tuple[str, str]:
    """Residual and verdict; what is not among the worst is smaller than the least of them."""
    if residual is not None:
        return f"{residual:+.1f}", _verdict(residual)
    if least is not None:
        return f"<{max(least, 0.1):.1f}", _verdict(least)
    return DASH, ""


def _verdict(residual: float | None) -> str:
    if residual is None:
        return ""
    if abs(residual) < WARN_SD:
        return "agrees"
    return "look again" if abs(residual) < STOP_SD else "disagrees"


def _role(residual: float | None) -> str:
    return {"": "quiet", "agrees": "plain", "look again": "doubtful"}.get(_verdict(residual), "bad")


def _range(phase: MineralResult) -> str:
    if phase.mass_range_pct is None:
        return DASH
    low, high = phase.mass_range_pct
    return spread("0" if low < NEXT_TO_NOTHING else weight(low), weight(high))
