"""Which figure of an uncertain number is told, and how sizes and fields are written."""

from __future__ import annotations

from collections.abc import Callable

from feedchar.report.numbers import DASH, spread
from feedchar.report.words import NO_BREAK
from feedchar.results import Characterisation
from feedchar.uncertainty.summary import Uncertain
from feedchar.units import KILOGAUSS_PER_TESLA

MICROMETRE = "\u00b5m"
SQUARED = "T\u00b2/m"


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
    """Typical case: every input at its typical value.

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


def adding(value: Uncertain | None) -> float | None:
    """Mean of the trials, which adds up over the parts of a whole and stays near the likely.

    Parameters
    ----------
    value : Uncertain or None
        The quantity. [any]

    Returns
    -------
    float or None
        The typical case where there are no trials; it adds up too. [as given]
    """
    if value is None:
        return None
    return value.typical if value.mean is None else value.mean


def adds_up(result: Characterisation) -> str:
    """What a table that adds up holds.

    Parameters
    ----------
    result : Characterisation
        The result. [-]

    Returns
    -------
    str
        Words for its subtitle. [-]
    """
    return "mean of the trials, adds up" if result.trials else "typical case, adds up"


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
    return f"{value:.2f}{NO_BREAK}({KILOGAUSS_PER_TESLA * value:.1f})"
