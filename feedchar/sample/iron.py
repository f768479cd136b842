"""One figure for all iron, as Fe2O3, from whatever way a laboratory stated it.

A single `Fe`, `FeO` or `Fe2O3` is all iron in that form. Two of them may be the same iron twice or
two parts of it, so they are refused unless named: `Fe2O3_total` (or `FeO_total`, `Fe_total`) is all
iron; `Fe2O3_ferric` with `FeO_ferrous` are the parts that add up.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import hypot

from feedchar.errors import InputError
from feedchar.sample.oxides import (
    ATOMIC_MASS_G_MOL,
    IRON,
    IRON_PLAIN,
    IRON_TOTAL,
    OxideReading,
    element_as_oxide,
)

_FE, _O = ATOMIC_MASS_G_MOL["Fe"], ATOMIC_MASS_G_MOL["O"]

FE2O3_PER_FE = (2 * _FE + 3 * _O) / (2 * _FE)
"""Fe2O3 that holds one gram of Fe: 1.4297. [-]"""

FE2O3_PER_FEO = (2 * _FE + 3 * _O) / (2 * (_FE + _O))
"""Fe2O3 with the iron of one gram of FeO: 1.1113. [-]"""

TOTALS_AGREE = 0.02
"""Relative difference up to which two statements of all iron count as the same. [-]"""


def as_fe2o3(reading: OxideReading) -> OxideReading:
    """One statement of iron expressed as Fe2O3.

    Parameters
    ----------
    reading : OxideReading
        Named Fe..., FeO... or Fe2O3.... [wt %]

    Returns
    -------
    OxideReading
        Named Fe2O3. [wt %]

    References
    ----------
    Stoichiometry; atomic weights of `ATOMIC_MASS_G_MOL`.

    Examples
    --------
    >>> round(as_fe2o3(OxideReading("Fe", 1.0)).value, 4)
    1.4297
    >>> round(as_fe2o3(OxideReading("FeO", 1.0)).value, 4)
    1.1113
    """
    stem = reading.name.split("_")[0]
    factor = {"Fe": FE2O3_PER_FE, "FeO": FE2O3_PER_FEO, "Fe2O3": 1.0}[stem]
    sd = None if reading.sd is None else reading.sd * factor
    return OxideReading("Fe2O3", reading.value * factor, reading.below, sd, reading.place)


def all_iron(readings: Sequence[OxideReading]) -> OxideReading | None:
    """All iron as Fe2O3 from the statements of one material.

    Parameters
    ----------
    readings : sequence of OxideReading
        Statements of iron only. [wt %]

    Returns
    -------
    OxideReading or None
        Named Fe2O3, None when nothing is stated. [wt %]

    Raises
    ------
    InputError
        When several stand side by side and none is named a total, when only one of two parts
        is given, or when totals disagree.
    """
    if not readings:
        return None
    totals = [r for r in readings if r.name in IRON_TOTAL]
    if totals:
        first, *others = [as_fe2o3(reading) for reading in totals]
        for other, named in zip(others, totals[1:], strict=True):
            if abs(other.value - first.value) > TOTALS_AGREE * max(first.value, other.value):
                raise _error(
                    named,
                    f"{named.name} is {other.value:.4g} % as Fe2O3, {totals[0].name} is "
                    f"{first.value:.4g} %: they should be the same iron",
                )
        return first
    if len(readings) == 1 and readings[0].name in IRON_PLAIN:
        return as_fe2o3(readings[0])
    parts = {reading.name: reading for reading in readings}
    if set(parts) == {"FeO_ferrous", "Fe2O3_ferric"}:
        ferrous, ferric = as_fe2o3(parts["FeO_ferrous"]), parts["Fe2O3_ferric"]
        sd = None
        if ferrous.sd is not None and ferric.sd is not None:
            sd = hypot(ferrous.sd, ferric.sd)
        below = ferrous.below and ferric.below
        return OxideReading("Fe2O3", ferrous.value + ferric.value, below, sd, ferric.place)
    last = readings[-1]
    names = " and ".join(reading.name for reading in readings)
    if len(readings) == 1:
        raise _error(last, f"{names} is only a part of the iron")
    summed = sum(as_fe2o3(r).value for r in readings)
    apart = ", ".join(f"{as_fe2o3(r).value:.4g}" for r in readings)
    raise _error(
        last,
        f"{names} are all given: the same iron stated {len(readings)} times ({apart} % as Fe2O3), "
        f"or parts that add up ({summed:.4g} %)",
    )


def _error(reading: OxideReading, problem: str) -> InputError:
    place = reading.place
    return InputError(
        problem,
        file=place.file,
        row=place.row,
        column=place.column,
        remedy="Name the one that is all iron Fe2O3_total, FeO_total or Fe_total; name parts that "
        "add up Fe2O3_ferric and FeO_ferrous",
    )


def as_oxides(readings: Sequence[OxideReading]) -> dict[str, OxideReading]:
    """Readings of one material as oxides, iron once as Fe2O3.

    Parameters
    ----------
    readings : sequence of OxideReading
        Figures of one assay. [wt %]

    Returns
    -------
    dict
        Oxide to reading, in reading order. [wt %]

    Raises
    ------
    InputError
        When an oxide is given twice (as itself and as its element, say), or iron is ambiguous.
    """
    oxides: dict[str, OxideReading] = {}
    iron: list[OxideReading] = []
    for raw in readings:
        if raw.name in IRON:
            if any(raw.name == other.name for other in iron):
                raise _twice(raw, raw.name)
            iron.append(raw)
            oxides.setdefault("Fe2O3", raw)  # keeps its place in the order
            continue
        reading = element_as_oxide(raw)
        if reading.name in oxides:
            raise _twice(raw, reading.name)
        oxides[reading.name] = reading
    total = all_iron(iron)
    if total is not None:
        oxides["Fe2O3"] = total
    return oxides


def _twice(reading: OxideReading, name: str) -> InputError:
    place = reading.place
    return InputError(f"{name} is given twice", file=place.file, row=place.row, column=place.column)
