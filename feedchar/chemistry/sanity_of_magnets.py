"""Sanity rules 9 and 10 of the trade: strong magnetism that nobody listed."""

from __future__ import annotations

from math import sqrt

from feedchar.chemistry.severity import note_of, severity_of
from feedchar.sample.records import Note

MAGNETITE_CHI = 5.8e-4
"""Low-field mass susceptibility of an equant grain of magnetite. [m³ kg⁻¹]"""


def unlisted_magnetite(bulk: float, bulk_sd: float, listed: float, listed_sd: float) -> Note | None:
    """Rule 9: susceptibility that no listed mineral carries.

    Parameters
    ----------
    bulk, bulk_sd : float
        Low-field susceptibility of the bag and its standard deviation. [m³ kg⁻¹]
    listed, listed_sd : float
        What the listed minerals give, and its standard deviation. [m³ kg⁻¹]

    Returns
    -------
    Note or None
        Rule 9, as ppm of magnetite; below zero beyond 4 sd the data disagree. [-]

    References
    ----------
    field_rule for magnetite; common practice, no source.
    """
    sd = sqrt(bulk_sd**2 + listed_sd**2)
    ppm = 1e6 * (bulk - listed) / MAGNETITE_CHI
    if severity_of(bulk - listed, sd):
        text = f"about {ppm:.3g} ppm of magnetite or tool steel is in no listed mineral"
        return note_of(9, "warning", text)
    severity = severity_of(listed - bulk, sd)
    text = f"the bag is less magnetic ({bulk:.3g} m3/kg) than its listed minerals ({listed:.3g})"
    return note_of(9, severity, text)


def hand_magnet(taken: float, strong_listed: bool) -> Note | None:
    """Rule 10: what a hand magnet took.

    Parameters
    ----------
    taken : float
        Mass taken. [wt %]
    strong_listed : bool
        True when a strongly magnetic mineral is listed. [-]

    Returns
    -------
    Note or None
        Rule 10. [-]

    References
    ----------
    Common practice, no source.
    """
    if taken <= 0.01 or strong_listed:
        return None
    text = (
        f"a hand magnet took {taken:.3g} % and no strongly magnetic mineral is listed: magnetite "
        "or steel; look at it before crushing"
    )
    return note_of(10, "warning", text)
