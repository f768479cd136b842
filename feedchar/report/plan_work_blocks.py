"""The programme of a plan: which work, for how much sand and time, and what it removes."""

from __future__ import annotations

from feedchar.report.blocks import Block, Column, Row, Table, Words
from feedchar.report.numbers import DASH
from feedchar.report.words import name
from feedchar.results.plan import Plan, PlanWork

LEFT_OUT_TOLD = 6

_WHY = {
    "practice": "always",
    "gain": "gain",
    "little gain": "little",
    "enough": "enough",
    "no sand": "no sand",
    "needs other work": "waits",
}


def chosen(result: Plan) -> tuple[PlanWork, ...]:
    """The work that is to be done.

    Parameters
    ----------
    result : Plan
        The plan. [-]

    Returns
    -------
    tuple of PlanWork
        In the order of its choice. [-]
    """
    return tuple(one for one in result.work if one.chosen)


def programme_block(result: Plan) -> Block:
    """What is done and what is left out, with what each removes of the doubt.

    Parameters
    ----------
    result : Plan
        The plan. [-]

    Returns
    -------
    Block
        A table. [-]
    """

    def row(one: PlanWork, place: str, role: str = "plain") -> Row:
        return Row(
            (
                place,
                name(one.work, 60),
                f"{one.kg:.1f}",
                f"{one.hours:.2g}",
                percent(one.removes_alone),
                percent(one.removes_more),
                percent(one.removed_together) if one.chosen else DASH,
                _WHY.get(one.why, one.why),
            ),
            role,
        )

    done = chosen(result)
    rest = [one for one in result.work if not one.chosen][:LEFT_OUT_TOLD]
    rows = [row(one, str(place)) for place, one in enumerate(done, start=1)]
    rows += [row(one, DASH) for one in rest]
    table = Table(
        (
            Column("no."),
            Column("work"),
            Column("kg", "number"),
            Column("h", "number"),
            Column("alone, %", "number", optional=True),
            Column("adds, %", "number"),
            Column("sum, %", "number"),
            Column("why"),
        ),
        tuple(rows),
    )
    more = len(result.work) - len(done) - len(rest)
    tail = f" {more} more are left out." if more else ""
    parts = (
        table,
        Words(
            "Share of the variance of product iron that the work removes, alone and beyond what "
            "stands above it; work without a number is left out. Always: good practice, whatever "
            f"it adds.{tail}",
            "quiet",
        ),
        Words(
            "Hours are common practice, the laboratory's own left out; a kilogram counts as 0.1 "
            "h, run to run as 5 %, what the model does not know of a setting as 15 % (guesses).",
            "quiet",
        ),
    )
    return Block("programme", "THE PROGRAMME", parts)


def percent(value: float) -> str:
    """A share as whole per cent.

    Parameters
    ----------
    value : float
        0 to 1. [-]

    Returns
    -------
    str
        Such as 12, or <1. [%]
    """
    shown = 100.0 * value
    return "<1" if 0.0 < shown < 0.95 else f"{shown:.0f}"
