"""What the tests narrowed: before and after, side by side, and every figure they measured."""

from __future__ import annotations

from collections.abc import Iterable

from feedchar.report.blocks import Block, Column, Part, Row, Table, Words
from feedchar.report.words import DASH, listing, name, number, spread, weight
from feedchar.results import Characterisation
from feedchar.results.taught import Narrowed, TestedFigure
from feedchar.uncertainty.summary import Uncertain

FAR_OFF_SD = 2.0
"""Figures farther off than this are marked. [-]"""


def taught_blocks(result: Characterisation) -> tuple[Block, ...]:
    """What the tests of the sample narrowed; nothing where there were none.

    Parameters
    ----------
    result : Characterisation
        The result. [-]

    Returns
    -------
    tuple of Block
        None, or one. [-]
    """
    taught = result.tests_taught
    if taught is None:
        return ()
    how = (
        f"{listing([name(test) for test in taught.tests])}; the model and a machine taken to "
        f"agree within {100.0 * taught.discrepancy_ln:.0f} % (guess). "
    )
    how += (
        f"Trials weighed by how well they agree, {taught.effective_trials:.0f} effective."
        if taught.method == "weights"
        else "Too few trials agreed, so they were moved until they do (Metropolis' rule)."
    )
    parts: list[Part] = [
        Words(how, "quiet"),
        before_and_after((*taught.product, *taught.machine, *taught.feed)),
    ]
    far = [one for one in taught.figures if _far(one)]
    count = f"{len(far)} of {len(taught.figures)} figures of the tests"
    if far:
        words = f"{count} lie far from what any feed and machine of the trials gives:"
        parts += [Words(words, "doubtful"), figures_table(far)]
    else:
        parts.append(Words(f"{count} lie far from what is said of them now.", "quiet"))
    return (Block("taught", "WHAT THE TESTS NARROWED", tuple(parts), "5 to 95 %"),)


def before_and_after(rows: Iterable[Narrowed]) -> Table:
    """Quantities before and after the tests.

    Parameters
    ----------
    rows : iterable of Narrowed
        In the order told. [-]

    Returns
    -------
    Table
        Likely values and ranges. [as each row says]
    """
    return Table(
        (
            Column(""),
            Column("before", "number"),
            Column("5 to 95 %", "number"),
            Column("after", "number"),
            Column("5 to 95 %", "number"),
        ),
        tuple(
            Row(
                (
                    name(row.quantity) + ("" if row.unit == "-" else f", {row.unit}"),
                    _likely(row.before),
                    _range(row.before),
                    _likely(row.after),
                    _range(row.after),
                )
            )
            for row in rows
        ),
    )


def figures_table(figures: Iterable[TestedFigure]) -> Table:
    """Every figure of the tests beside what was said of it.

    Parameters
    ----------
    figures : iterable of TestedFigure
        In the order told. [-]

    Returns
    -------
    Table
        Measured, before, after, and how far off. [as each row says]
    """
    return Table(
        (
            Column("bag"),
            Column("figure"),
            Column("measured", "number"),
            Column("before", "number"),
            Column("after", "number"),
            Column("5 to 95 %", "number", optional=True),
            Column("off, sd", "number"),
        ),
        tuple(
            Row(
                (
                    name(one.bag),
                    f"{name(one.quantity)}, {one.unit}",
                    _digits(one.measured),
                    _likely(one.before),
                    _likely(one.after),
                    _range(one.after),
                    DASH if one.off_sd is None else f"{'! ' if _far(one) else ''}{one.off_sd:+.1f}",
                ),
                "doubtful" if _far(one) else "plain",
            )
            for one in figures
        ),
    )


def _far(one: TestedFigure) -> bool:
    return one.off_sd is not None and abs(one.off_sd) > FAR_OFF_SD


def _likely(value: Uncertain) -> str:
    return DASH if value.p50 is None else _digits(value.p50)


def _range(value: Uncertain) -> str:
    if value.p05 is None or value.p95 is None:
        return DASH
    return spread(_digits(value.p05), _digits(value.p95))


def _digits(value: float) -> str:
    """Three digits, as weights and assays of a laboratory have them."""
    return weight(value) if value < 99.95 else number(value)
