"""Percentages that should make 100, and what to do when they do not.

The edge is `CLOSURE_EDGE_PCT`, stated here once. Up to it, what is missing becomes the phase
`unidentified` and what is too much is noted; beyond it the input is refused with the likely cause.
Diffraction always sums to 100, so its sum proves nothing. Nothing is rescaled in silence.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import fsum

from feedchar.errors import InputError
from feedchar.sample.records import Note, Place

CLOSURE_EDGE_PCT = 2.0
"""Percentages may miss or exceed 100 by this much, ends included (common practice, no source)."""

ROUNDING_MAX_PCT = 0.5
"""Most that is put down to the rounding of the entries. [%]"""

_EPSILON = 1e-9


@dataclass(frozen=True)
class Closure:
    """What a sum of percentages says."""

    unidentified_pct: float
    """What is missing from 100, as the phase `unidentified`; 0 when nothing is."""
    note: Note | None


def rounding_pct(texts: Sequence[float]) -> float:
    """How far a sum may be from 100 by rounding alone.

    Parameters
    ----------
    texts : sequence of float
        The percentages as given. [%]

    Returns
    -------
    float
        Half a unit of the last decimal of the finest entry for each one, at least 1e-9. [%]

    References
    ----------
    Derived: each entry is off by at most half its last place.
    """
    decimals = max((_decimals(value) for value in texts), default=0)
    return max(0.5 * 10.0**-decimals * len(texts), _EPSILON) if decimals else _EPSILON


def _decimals(value: float) -> int:
    text = f"{value:.6f}".rstrip("0")
    return len(text.partition(".")[2])


def close(
    amounts: Sequence[float],
    limits: Sequence[float],
    what: str,
    place: Place,
) -> Closure:
    """What to make of percentages that should sum to 100.

    Parameters
    ----------
    amounts : sequence of float
        Amounts found. [%]
    limits : sequence of float
        Upper ends of amounts below detection; the truth of each lies from 0 to it. [%]
    what : str
        What is summed, for messages. [-]
    place : Place
        Where the last of them stands. [-]

    Returns
    -------
    Closure
        The missing share as `unidentified`, and a note where the sum is not 100. [%]

    Raises
    ------
    InputError
        When the sum misses 100 by more than the edge, with the likely cause.
    """
    total, room = fsum(amounts), fsum(limits)
    slack = min(rounding_pct(amounts), ROUNDING_MAX_PCT)
    missing, excess = 100.0 - total - room, total - 100.0
    if max(missing, excess) > CLOSURE_EDGE_PCT + _EPSILON:
        problem = f"{what} sums to {total:.6g} %, and 100 within {CLOSURE_EDGE_PCT:g} % is wanted"
        raise InputError(
            problem,
            file=place.file,
            row=place.row,
            column=place.column,
            remedy=_likely(total),
        )
    if missing > slack:
        text = f"{what} sums to {total:.6g} %: the missing {missing:.3g} % is unidentified"
        return Closure(missing, Note("sum-below-100", f"{place.file}: {text}"))
    if excess > slack:
        text = f"{what} sums to {total:.6g} %: read as shares of that sum"
        return Closure(0.0, Note("sum-above-100", f"{place.file}: {text}"))
    return Closure(0.0, None)


def _likely(total: float) -> str:
    if abs(total - 1.0) <= 0.05:
        return "Fractions for percent? Multiply by 100"
    if 9e5 <= total <= 1.1e6:
        return "ppm for percent? Divide by 10 000"
    if total > 100:
        return "A row twice, or two lists in one table?"
    return "A row left out? Add it, or a row `unidentified` with what is missing"
