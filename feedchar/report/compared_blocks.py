"""Measured beside predicted, bag by bag, and the likely cause of a difference."""

from __future__ import annotations

from feedchar.report.blocks import Block, Column, Part, Row, Table, Words
from feedchar.report.calibration_blocks import calibrated
from feedchar.report.numbers import DASH, share, spread, weight
from feedchar.report.words import name, prose
from feedchar.results.comparison import ComparedFigure, Comparison, StepAgreement

FAR, WORTH_A_LOOK = 3.0, 2.0
"""A difference of so many sd is marked. [-]"""
TOO_CLOSE = 0.99
"""Chance of a greater difference above which the stated errors are too wide (guess). [-]"""


_TOO_CLOSE_WORDS = (
    "Together they lie closer than their errors let one expect: the errors of the model (a guess), "
    "of the machine or of the laboratory are stated too wide for this test, or the prediction has "
    "already learned from it."
)


def compared_block(result: Comparison) -> Block:
    """Measured and predicted figures, step by step.

    Parameters
    ----------
    result : Comparison
        The result. [-]

    Returns
    -------
    Block
        A table of steps and one of bags; no part where nothing is predicted. [-]
    """
    if not result.compared:
        return Block("compared", "MEASURED AND PREDICTED", ())
    steps = tuple(
        Row(
            (
                "all steps" if place == 0 else _step(one),
                f"{one.figures}",
                f"{one.chi_square:.1f}",
                f"{one.p_value:.3f}" if one.p_value >= 0.001 else "<0.001",
            ),
            "bad" if one.p_value < 0.01 else "plain",
        )
        for place, one in enumerate(result.agreement)
    )
    columns = (
        Column("step"),
        Column("figures", "number"),
        Column("chi-square", "number"),
        Column("chance", "number"),
    )
    shown = [one for one in result.compared if one.quantity in ("share_pct", "Fe2O3")]
    hidden = [one for one in result.compared if one not in shown]
    shown += [one for one in hidden if abs(one.z or 0.0) > WORTH_A_LOOK]
    rows = tuple(_row(one) for one in result.compared if one in shown)
    figures = (
        Column("step", optional=True),
        Column("bag"),
        Column("product"),
        Column("figure"),
        Column("measured", "number"),
        Column("predicted", "number"),
        Column("5 to 95 %", "number"),
        Column("z", "number"),
    )
    text = (
        "Share: % of what the step made; oxides: wt %. z: measured less predicted, over the "
        f"errors of both and of the model; ? beyond {WORTH_A_LOOK:g}, ! beyond {FAR:g}."
    )
    left = len(result.compared) - len(rows)
    if left:
        text += f" {left} more figures, all within {WORTH_A_LOOK:g}, stand in the document."
    parts: list[Part] = [Table(columns, steps)] if steps else []
    parts += [Table(figures, rows), Words(prose(text), "quiet")]
    if result.agreement and result.agreement[0].p_value > TOO_CLOSE:
        parts.append(Words(_TOO_CLOSE_WORDS))
    subtitle = f"{result.trials} trials"
    if result.calibration is not None:
        subtitle += f", {calibrated(result.calibration)}"
    return Block("compared", "MEASURED AND PREDICTED", tuple(parts), subtitle)


def causes_block(result: Comparison) -> Block:
    """Changes that would explain the difference.

    Parameters
    ----------
    result : Comparison
        The result. [-]

    Returns
    -------
    Block
        Best first; no part where measured and predicted agree. [-]
    """
    if not result.causes:
        return Block("causes", "LIKELY CAUSE", ())
    rows = tuple(
        Row(
            (
                one.cause + (" *" if one.named else ""),
                prose(one.detail),
                f"{one.ln_likelihood_gain:.1f}",
                f"{one.score:.1f}",
                f"{one.p_value_left:.3f}" if one.p_value_left >= 0.001 else "<0.001",
                prose(one.look_at),
            ),
            "strong" if one.named else "plain",
        )
        for one in result.causes
    )
    columns = (
        Column("cause"),
        Column("what"),
        Column("gain", "number"),
        Column("log odds", "number"),
        Column("chance left", "number", optional=True),
        Column("look at", optional=True),
    )
    named = [one for one in result.causes if one.named]
    if not named:
        first = "No single change explains the difference beyond chance; the best are:"
    elif len(named) == 1:
        first = f"{named[0].cause}: {named[0].detail}. To settle it: {named[0].look_at}."
    else:
        first = f"{len(named)} changes explain it about as well; the test cannot tell them apart."
    text = (
        "* beyond chance. Gain: rise of the log-likelihood when that one thing is changed, all "
        "else as predicted; log odds: less the cost of its freedom and of its rivals. Chance left: "
        "of so large a difference as it leaves."
    )
    parts = (Words(prose(first), "strong"), Table(columns, rows), Words(text, "quiet"))
    return Block("causes", "LIKELY CAUSE", parts)


def _step(one: StepAgreement | ComparedFigure) -> str:
    words = [name(word) for word in (one.test, one.step, one.repeat) if word]
    return ", ".join(words)


def _row(one: ComparedFigure) -> Row:
    shown = share if one.quantity == "share_pct" else weight
    z = one.z or 0.0
    mark = " !" if abs(z) > FAR else (" ?" if abs(z) > WORTH_A_LOOK else "")
    middle = one.predicted.p50 if one.predicted.p50 is not None else one.predicted.typical
    ends = (shown(one.predicted.p05), shown(one.predicted.p95))
    return Row(
        (
            _step(one),
            name(one.bag),
            one.product,
            "share" if one.quantity == "share_pct" else one.quantity,
            shown(one.measured),
            shown(middle),
            spread(*ends) if one.predicted.p05 is not None else DASH,
            DASH if one.z is None else f"{round(z, 1) + 0.0:+.1f}{mark}",
        ),
        "bad" if abs(z) > FAR else "plain",
    )
