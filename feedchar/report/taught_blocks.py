"""What the tests narrowed: before and after, side by side, and every figure they measured."""

from __future__ import annotations

from collections.abc import Iterable

from feedchar.report.blocks import Block, Column, Part, Row, Table, Words
from feedchar.report.numbers import DASH, chance_number, number, spread, weight
from feedchar.report.words import listing, name
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


def past_blocks(result: Characterisation) -> tuple[Block, ...]:
    """What a library of past tests says; nothing where none was named.

    Parameters
    ----------
    result : Characterisation
        The result. [-]

    Returns
    -------
    tuple of Block
        None, or one. [-]
    """
    past = result.past_tests
    if past is None:
        return ()
    rows, parts = [], []
    for one in past.corrections:
        rows.append(
            Row(
                (
                    f"{one.quantity}, {one.unit}",
                    _likely(one.plain),
                    DASH if one.corrected is None else _likely(one.corrected),
                    DASH if one.corrected is None else _range(one.corrected),
                    DASH if one.coverage is None else f"{100.0 * one.coverage:.0f}",
                    DASH if one.skill is None else f"{100.0 * one.skill:+.0f}",
                )
            )
        )
        words = "used" if one.used else "not used"
        counted = f"{one.tests} tests, {one.samples} samples, {one.settings} settings"
        parts.append(Words(f"{words}: {one.why}. {counted}; {one.method}.", mark=one.quantity))
    if past.chance_of_iron_limit is not None:
        chance = chance_number(past.chance_of_iron_limit)
        parts.append(
            Words(f"a next test meets the limit for Fe2O3 in {chance}.", mark="By past tests")
        )
    parts.append(
        Words(f"{past.note}. Answer and chance above are those of the model alone.", "quiet")
    )
    table = Table(
        (
            Column("next test here"),
            Column("plain", "number"),
            Column("corrected", "number"),
            Column("5 to 95 %", "number"),
            Column("covered, %", "number"),
            Column("skill, %", "number"),
        ),
        tuple(rows),
    )
    told: tuple[Part, ...] = (table, *parts) if rows else tuple(parts)
    return (Block("past", "WHAT PAST TESTS SAY", told, "each sample left out in turn"),)


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
