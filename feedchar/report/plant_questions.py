"""The chosen circuit asked backwards, and if something changes."""

from __future__ import annotations

from feedchar.report.blocks import Block, Column, Row, Table, Words
from feedchar.report.numbers import DASH, chance_number, share, spread, weight
from feedchar.report.words import prose
from feedchar.results.plant import PlantInverse, ScaleUp
from feedchar.uncertainty.summary import Uncertain


def tonnes(value: float) -> str:
    """Tonnes an hour, or metres, as a plant says them.

    Parameters
    ----------
    value : float
        Not negative. [t h⁻¹]

    Returns
    -------
    str
        About three figures. [-]
    """
    return f"{value:.1f}" if value >= 100.0 else f"{value:.2f}" if value >= 1.0 else f"{value:.3f}"


def likely(value: Uncertain) -> float | None:
    """The figure to show first.

    Parameters
    ----------
    value : Uncertain
        Over the trials. [any]

    Returns
    -------
    float or None
        The median, or the typical case without trials. [any]
    """
    return value.typical if value.p50 is None else value.p50


def nine_in_ten(value: Uncertain, iron: bool = False) -> str:
    """Where 9 in 10 trials fall.

    Parameters
    ----------
    value : Uncertain
        Over the trials. [any]
    iron : bool
        Whether it is a content, shown finer than a share. [-]

    Returns
    -------
    str
        A dash without trials. [-]
    """
    told = weight if iron else share
    if value.p05 is None or value.p95 is None:
        return DASH
    return spread(told(value.p05), told(value.p95))


def questions_block(inverse: PlantInverse) -> Block:
    """The questions asked backwards with their answers.

    Parameters
    ----------
    inverse : PlantInverse
        Of the chosen circuit. [-]

    Returns
    -------
    Block
        Words only. [-]
    """
    parts: list[Words] = []

    def told(mark: str, text: str) -> None:
        parts.append(Words(text, mark=mark))

    if inverse.grade_wanted_wt_pct is not None:
        mark = f"Yield at {weight(inverse.grade_wanted_wt_pct)} % Fe2O3"
        value = inverse.yield_at_grade_pct
        if value is None:
            told(mark, "no edge or belt speed brings the typical case there.")
        else:
            told(
                mark,
                f"{share(value.typical)} of 100 dry bag in the typical case "
                f"({nine_in_ten(value)} in 9 of 10), {inverse.set_for_grade}.",
            )
    if inverse.yield_wanted_pct is not None:
        mark = f"Fe2O3 at a yield of {share(inverse.yield_wanted_pct)} %"
        value = inverse.grade_at_yield_wt_pct
        if value is None:
            told(mark, "no edge or belt speed brings the typical case there.")
        else:
            told(
                mark,
                f"{weight(value.typical)} % in the typical case "
                f"({nine_in_ten(value, iron=True)} in 9 of 10), {inverse.set_for_yield}.",
            )
    if inverse.highest_feed_tried_t_h is not None:
        dirty = (inverse.dirtiest_feed_typical_wt_pct, inverse.dirtiest_feed_nine_in_ten_wt_pct)
        told(
            "Dirtiest feed that passes",
            f"{_iron(dirty[0])} in the typical case, {_iron(dirty[1])} in 9 of 10 trials.",
        )
        fast = (inverse.highest_feed_typical_t_h, inverse.highest_feed_nine_in_ten_t_h)
        most = inverse.highest_feed_tried_t_h
        told(
            "Highest feed rate that passes",
            f"{_rate(fast[0], most)} in the typical case, {_rate(fast[1], most)} in 9 of 10 "
            "trials, on these belts; what a deep bed does is a guess.",
        )
    if not parts:
        told("No limit", "no grade and no yield was asked for.")
    return Block("questions", "ASKED BACKWARDS", tuple(parts))


def _iron(value: float | None) -> str:
    return "none" if value is None else f"{weight(value)} % Fe2O3"


def _rate(value: float | None, most: float) -> str:
    if value is None:
        return "none"
    return f"more than {tonnes(most)} t/h" if value >= most else f"{tonnes(value)} t/h"


def sensitivity_block(result: ScaleUp) -> Block:
    """What one change at a time does.

    Parameters
    ----------
    result : ScaleUp
        The result. [-]

    Returns
    -------
    Block
        One table. [-]
    """
    rows = []
    for line in result.sensitivity:
        change = line.Fe2O3_change_ppm
        chance = line.chance_of_meeting_limit
        rows.append(
            Row(
                (
                    prose(line.change),
                    weight(line.Fe2O3_wt_pct),
                    DASH if change is None else f"{change:+.0f}",
                    share(line.per_100_dry_bag),
                    f"{line.per_100_change:+.1f}",
                    DASH if chance is None else chance_number(chance),
                )
            )
        )
    table = Table(
        (
            Column("change"),
            Column("Fe2O3, wt %", "number"),
            Column("ppm", "number"),
            Column("per 100 dry", "number"),
            Column("points", "number"),
            Column("chance", "number"),
        ),
        tuple(rows),
    )
    words = Words("One at a time, the same random numbers, on the belts above.", "quiet")
    return Block("sensitivity", "IF SOMETHING CHANGES", (table, words), "typical case")
