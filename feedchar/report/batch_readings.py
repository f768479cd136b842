"""Words for rows of a table, its setting and what is asked of it."""

from __future__ import annotations

from collections.abc import Mapping

from feedchar.report.numbers import DASH, chance_number, share, spread, weight
from feedchar.report.readings import MICROMETRE
from feedchar.report.words import NO_BREAK, name
from feedchar.results.batch import BatchRow, BatchSummary

SAYS = {
    "meets": "likely",
    "uncertain": "open",
    "fails": "unlikely",
    "assay needed": "assay first",
    "data disagree": "data disagree",
    "no limit given": "nothing asked",
    "not usable": "row not usable",
}

SHORT_NAME = 24
"""Names up to this length are never broken over lines."""


def label(row: BatchRow) -> str:
    """Name of a sample.

    Parameters
    ----------
    row : BatchRow
        A row. [-]

    Returns
    -------
    str
        Its place in the table where it has no name. [-]
    """
    if not row.sample.strip():
        return f"row{NO_BREAK}{row.row}"
    shown = name(row.sample)
    return shown.replace(" ", NO_BREAK) if len(shown) <= SHORT_NAME else shown


def row_cells(row: BatchRow) -> tuple[str, ...]:
    """A row of the table of samples.

    Parameters
    ----------
    row : BatchRow
        A row. [-]

    Returns
    -------
    tuple of str
        Name, place, chance, product iron and its range, yield, iron removed, what it says. [-]
    """
    chance = row.chance_of_meeting_limit
    return (
        label(row),
        str(row.row),
        DASH if chance is None else chance_number(chance),
        weight(row.product_Fe2O3_wt_pct),
        spread(weight(row.product_Fe2O3_p05_wt_pct), weight(row.product_Fe2O3_p95_wt_pct)),
        share(row.yield_pct),
        share(row.iron_removal_pct),
        SAYS[row.status],
    )


def no_chance(summary: BatchSummary) -> bool:
    """True when no row has a chance.

    Parameters
    ----------
    summary : BatchSummary
        The table. [-]

    Returns
    -------
    bool
        Nothing was asked, or nothing can be said. [-]
    """
    return not {"meets", "uncertain", "fails"} & {word for word, _ in summary.counts}


def wanted_words(limit: Mapping[str, float]) -> str:
    """What is asked.

    Parameters
    ----------
    limit : mapping of str to float
        Such as `Fe2O3_max_pct`. [%]

    Returns
    -------
    str
        Text such as "asked: Fe2O3 at most 0.05 %". [-]
    """
    said = []
    for key, value in limit.items():
        what, bound, _ = key.rsplit("_", 2)
        most = "at most" if bound == "max" else "at least"
        said.append(f"{what} {most} {value:g}{NO_BREAK}%")
    return f"asked: {', '.join(said)}" if said else "nothing asked"


def setting_words(summary: BatchSummary) -> str:
    """The machine in a sentence.

    Parameters
    ----------
    summary : BatchSummary
        The table. [-]

    Returns
    -------
    str
        Roll, speed, edge, passes, window. [-]
    """
    machine = "Roll" if summary.machine == "permanent-roll" else "Induced roll, in place of roll"
    passes = "one pass" if summary.passes == 1 else f"{summary.passes} passes"
    text = f"{machine} {name(summary.roll)} at {summary.belt_speed_m_s:g}{NO_BREAK}m/s, edge "
    text += f"{1000.0 * summary.splitter_m:g}{NO_BREAK}mm, {passes}"
    text += f", behind a {summary.drum_first} drum; " if summary.drum_first else "; "
    low, high = summary.treated_retained_um, summary.treated_passing_um
    if low is None and high is None:
        return f"{text}the whole bag treated."
    ends = (f"from {low:g}" if low is not None else "", f"to {high:g}" if high is not None else "")
    return f"{text}{' '.join(end for end in ends if end)}{NO_BREAK}{MICROMETRE} treated."
