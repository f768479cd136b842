"""What a reader takes from the records at a glance: likely values, ranges, a phase's main class."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from itertools import pairwise

from feedchar.report.words import DASH, NO_BREAK, spread
from feedchar.results import Characterisation, CurvePoint, MineralResult, ResponseLine
from feedchar.uncertainty.summary import Uncertain

UNSEEN = "unseen"
"""Phase of the results that stands for iron no method has named."""

MICROMETRE = "\u00b5m"
SQUARED = "T\u00b2/m"

MOSTLY = 0.8
"""Share of a phase's iron from which one machine is named for all of it."""


def likely(value: Uncertain | None) -> float | None:
    """Median of the trials, the typical case where there are none.

    Parameters
    ----------
    value : Uncertain or None
        The quantity. [any]

    Returns
    -------
    float or None
        One number for a reader. [as given]
    """
    if value is None:
        return None
    return value.typical if value.p50 is None else value.p50


def typical(value: Uncertain | None) -> float | None:
    """Typical case, which adds up over the parts of a whole.

    Parameters
    ----------
    value : Uncertain or None
        The quantity. [any]

    Returns
    -------
    float or None
        Row 0 of the trials. [as given]
    """
    return None if value is None else value.typical


def nine_in_ten(value: Uncertain | None, show: Callable[[float | None], str]) -> str:
    """Range from 5 to 95 % of the trials as text.

    Parameters
    ----------
    value : Uncertain or None
        The quantity. [any]
    show : callable
        How one end is written. [-]

    Returns
    -------
    str
        "low to high", "-" without trials. [-]
    """
    if value is None or value.p05 is None or value.p95 is None:
        return DASH
    return spread(show(value.p05), show(value.p95))


def size_class(passing_um: float | None, retained_um: float | None) -> str:
    """A size class as the laboratory writes it, with the coarse end first.

    Parameters
    ----------
    passing_um, retained_um : float or None
        Ends of the class; None for open, 0 below for the pan. [µm]

    Returns
    -------
    str
        Such as "500-250", "<75", ">500", "all". [-]
    """
    coarse = None if passing_um is None else f"{passing_um:.0f}"
    fine = None if not retained_um else f"{retained_um:.0f}"
    if coarse and fine:
        return f"{coarse}-{fine}"
    if coarse:
        return f"<{coarse}"
    return f">{fine}" if fine else "all"


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
        key=lambda phase: (-(typical(phase.share_of_iron_pct) or 0.0), phase.mineral),
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
        Shares sum to 1; all alike where the phase holds no iron. [-]
    """
    weights = iron_weights(characterisation)
    found = [line for line in characterisation.response if line.mineral == mineral]
    parts = [
        max(0.0, weights.get((line.mineral, line.form, line.passing_um, line.retained_um), 0.0))
        for line in found
    ]
    total = sum(parts)
    if total <= 0:
        return [(line, 1.0 / len(found)) for line in found]
    return [(line, part / total) for line, part in zip(found, parts, strict=True)]


def taken_by(lines: Iterable[tuple[ResponseLine, float]]) -> str:
    """The machine that takes most of a phase, and whether it takes a part only.

    Parameters
    ----------
    lines : iterable of (ResponseLine, float)
        What `lines_of` returns. [-]

    Returns
    -------
    str
        Such as "permanent roll", "permanent roll, part no magnet", "-" without lines. [-]
    """
    shares: dict[str, float] = {}
    for line, part in lines:
        shares[line.reports_to] = shares.get(line.reports_to, 0.0) + part
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


def iron_at(curve: tuple[CurvePoint, ...], yield_pct: float) -> float | None:
    """Product iron of a curve at a yield, between its points in a straight line.

    Parameters
    ----------
    curve : tuple of CurvePoint
        Product iron against yield. [wt %, % of dry bag]
    yield_pct : float
        Yield asked for. [%]

    Returns
    -------
    float or None
        Product Fe2O3, None outside the curve. [wt %]
    """
    points = sorted((p.yield_pct, p.Fe2O3_wt_pct) for p in curve if p.Fe2O3_wt_pct is not None)
    for (low, iron_low), (high, iron_high) in pairwise(points):
        if low <= yield_pct <= high:
            part = 0.0 if high == low else (yield_pct - low) / (high - low)
            return iron_low + part * (iron_high - iron_low)
    return None


def yield_at(curve: tuple[CurvePoint, ...], iron_wt_pct: float) -> float | None:
    """Largest yield of a curve at which the product holds no more than so much iron.

    Parameters
    ----------
    curve : tuple of CurvePoint
        Product iron against yield. [wt %, % of dry bag]
    iron_wt_pct : float
        Product Fe2O3 asked for. [wt %]

    Returns
    -------
    float or None
        Yield, None where no point of the curve is so clean. [% of dry bag]
    """
    points = sorted(
        ((p.yield_pct, p.Fe2O3_wt_pct) for p in curve if p.Fe2O3_wt_pct is not None), reverse=True
    )
    for place, (share, iron) in enumerate(points):
        if iron <= iron_wt_pct:
            if place == 0:
                return share
            above, iron_above = points[place - 1]
            return share + (iron_wt_pct - iron) / (iron_above - iron) * (above - share)
    return None


def tesla(value: float | None, units: str) -> str:
    """Flux density as text, with kilogauss behind it in trade units.

    Parameters
    ----------
    value : float or None
        Flux density. [T]
    units : str
        trade or si. [-]

    Returns
    -------
    str
        Such as "0.31 (3.1)", "-" when undefined. [T, and kG in brackets]
    """
    if value is None:
        return DASH
    if units == "si":
        return f"{value:.2f}"
    return f"{value:.2f}{NO_BREAK}({10 * value:.1f})"
