"""Which phases carry the iron, and which of their lines of response a report tells of."""

from __future__ import annotations

from collections.abc import Iterable

from feedchar.report.numbers import DASH
from feedchar.report.readings import adding
from feedchar.results import Characterisation, MineralResult, ResponseLine

UNSEEN = "unseen"
"""Phase of the results that stands for iron no method has named."""


TRACE_WT_PCT, TRACE_OF_IRON_PCT = 0.01, 0.05
"""Below both a phase is not told of. [wt %, % of the iron]"""


MOSTLY = 0.8
"""Share of a phase's iron from which one machine is named for all of it."""


def by_iron(characterisation: Characterisation) -> list[MineralResult]:
    """Phases of the feed, the largest share of the iron first.

    Parameters
    ----------
    characterisation : Characterisation
        The result. [-]

    Returns
    -------
    list of MineralResult
        Ties by name. [-]
    """
    return sorted(
        characterisation.minerals,
        key=lambda phase: (-(adding(phase.share_of_iron_pct) or 0.0), phase.mineral),
    )


def iron_weights(characterisation: Characterisation) -> dict[tuple[str, str, float, float], float]:
    """Share of the iron by mineral, form and size class.

    Parameters
    ----------
    characterisation : Characterisation
        The result. [-]

    Returns
    -------
    dict
        (mineral, form, passing µm, retained µm) to the share. [%]
    """
    return {
        (line.mineral, line.form, line.passing_um, line.retained_um): line.share_of_iron_pct
        for line in characterisation.iron
    }


def is_trace(phase: MineralResult) -> bool:
    """Whether a phase is too little to be told of.

    Parameters
    ----------
    phase : MineralResult
        A phase of the feed. [-]

    Returns
    -------
    bool
        True when it holds next to no mass and next to no iron; the document has it. [-]
    """
    mass, iron = adding(phase.mass_pct) or 0.0, adding(phase.share_of_iron_pct) or 0.0
    return mass < TRACE_WT_PCT and iron < TRACE_OF_IRON_PCT


def lines_of(characterisation: Characterisation, mineral: str) -> list[tuple[ResponseLine, float]]:
    """Response lines of one phase with the share of the iron each stands for.

    Parameters
    ----------
    characterisation : Characterisation
        The result. [-]
    mineral : str
        The phase. [-]

    Returns
    -------
    list of (ResponseLine, float)
        Shares sum to 1; where the phase holds no iron, those of all iron by size. [-]
    """
    weights = iron_weights(characterisation)
    found = [line for line in characterisation.response if line.mineral == mineral]
    parts = [
        max(0.0, weights.get((line.mineral, line.form, line.passing_um, line.retained_um), 0.0))
        for line in found
    ]
    total = sum(parts)
    if total <= 0:
        parts = _of_all_iron(found, weights)
        total = sum(parts)
    return [(line, part / total) for line, part in zip(found, parts, strict=True)]


def _of_all_iron(
    found: list[ResponseLine], weights: dict[tuple[str, str, float, float], float]
) -> list[float]:
    """Iron of the whole bag in the size of each line; all alike where none is there."""
    by_size: dict[tuple[float, float], float] = {}
    for (_, _, passing, retained), part in weights.items():
        by_size[passing, retained] = by_size.get((passing, retained), 0.0) + part
    parts = [by_size.get((line.passing_um, line.retained_um), 0.0) for line in found]
    return parts if sum(parts) > 0 else [1.0] * len(found)


def machine_for(reports_to: str, pulled: bool, belt: str) -> str:
    """The machine a phase reports to; what a magnet does pull is none's at this speed only.

    Parameters
    ----------
    reports_to : str
        The machine, or "no magnet". [-]
    pulled : bool
        Whether a magnet pulls it at all. [-]
    belt : str
        Belt speed in words, such as "2 m/s". [-]

    Returns
    -------
    str
        Such as "permanent roll", "none at 2 m/s", "no magnet". [-]
    """
    return f"none at {belt}" if pulled and reports_to == "no magnet" else reports_to


def taken_by(lines: Iterable[tuple[ResponseLine, float]], belt: str) -> str:
    """The machine that takes most of a phase, and whether it takes a part only.

    Parameters
    ----------
    lines : iterable of (ResponseLine, float)
        What `lines_of` returns. [-]
    belt : str
        Belt speed in words, such as "2 m/s". [-]

    Returns
    -------
    str
        Such as "permanent roll", "permanent roll, part no magnet", "-" without lines. [-]
    """
    shares: dict[str, float] = {}
    for line, part in lines:
        machine = machine_for(line.reports_to, line.belt_speed_max_m_s is not None, belt)
        shares[machine] = shares.get(machine, 0.0) + part
    if not shares:
        return DASH
    ranked = sorted(shares, key=lambda machine: (-shares[machine], machine))
    if shares[ranked[0]] >= MOSTLY or len(ranked) == 1:
        return ranked[0]
    return f"{ranked[0]}, part {ranked[1]}"


def main_line(lines: list[tuple[ResponseLine, float]]) -> ResponseLine | None:
    """The free grains of a phase in the class that holds most of its iron.

    Parameters
    ----------
    lines : list of (ResponseLine, float)
        What `lines_of` returns. [-]

    Returns
    -------
    ResponseLine or None
        Another form where no grain is free; None without lines. [-]
    """
    if not lines:
        return None
    return max(lines, key=lambda entry: (entry[0].form == "free", entry[1], entry[0].passing_um))[0]
