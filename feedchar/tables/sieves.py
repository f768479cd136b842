"""From the name of a sieve to its opening in micrometres."""

from __future__ import annotations

import re
import unicodedata
from functools import lru_cache
from types import MappingProxyType

from feedchar.errors import InputError
from feedchar.tables.names import shown_word
from feedchar.tables.read import read_table

ASTM = "ASTM E11"
OLD_MESH = "root-two mesh"
"""The old series in steps of the square root of two from 74 um at 200 mesh."""

_SIZE = re.compile(r"(\d+(?:\.\d+)?)\s*(um|μm|micron|microns|mm)?", re.ASCII)
_ASTM = re.compile(r"(?:astm )?(?:e11 )?(?:no\.?|#) ?(\d+(?: 1/2)?)", re.ASCII)
_BARE_MESH = re.compile(r"(\d+) ?(?:mesh|m)|mesh ?(\d+)", re.ASCII)


@lru_cache(maxsize=1)
def sieve_series() -> MappingProxyType[str, MappingProxyType[str, float]]:
    """Openings by series and designation.

    Returns
    -------
    mapping of series to mapping of designation to float
        Openings. [um]

    References
    ----------
    reference_tables/sieves.csv (iso_565, astm_e11, mccabe_smith_harriott, all recalled).
    """
    series: dict[str, dict[str, float]] = {}
    for row in read_table("sieves.csv"):
        openings = series.setdefault(row.text("series"), {})
        openings[row.text("designation")] = row.number("aperture_um")
    return MappingProxyType({name: MappingProxyType(rows) for name, rows in series.items()})


def sieve_opening_um(designation: str | float) -> float:
    """Opening of a sieve.

    Parameters
    ----------
    designation : str or float
        A number of micrometres, "500 um", "0.5 mm", or an ASTM E11 number as "No. 35" or
        "#35". [um when a number]

    Returns
    -------
    float
        Opening. [um]

    Raises
    ------
    InputError
        For a bare mesh word, which has two readings, and for anything not understood.

    References
    ----------
    astm_e11, iso_565.
    """
    if not isinstance(designation, str):
        return _positive(float(designation), str(designation))
    word = " ".join(unicodedata.normalize("NFKC", designation).casefold().split())
    if size := _SIZE.fullmatch(word):
        scale = 1000.0 if size[2] == "mm" else 1.0
        return _positive(float(size[1]) * scale, designation)
    if number := _ASTM.fullmatch(word):
        opening = sieve_series()[ASTM].get(f"No. {number[1]}")
        if opening is None:
            problem = f"{shown_word(designation)} is no ASTM E11 sieve"
            raise InputError(problem, remedy="Give the opening in micrometres.")
        return opening
    if mesh := _BARE_MESH.fullmatch(word):
        raise _two_readings(designation, mesh[1] or mesh[2])
    problem = f"{shown_word(designation)} is not a sieve opening"
    raise InputError(problem, remedy='Give micrometres, "0.5 mm" or an ASTM E11 "No. 35".')


def _positive(opening: float, designation: str) -> float:
    if not 0 <= opening <= 1e6:
        problem = f"{shown_word(designation)} is outside 0 to 1 000 000 um"
        raise InputError(problem)
    return opening


def _two_readings(designation: str, number: str) -> InputError:
    readings = []
    for series, name in ((ASTM, f"No. {number}"), (OLD_MESH, f"{number} mesh")):
        opening = sieve_series()[series].get(name)
        if opening is not None:
            readings.append(f"{opening:g} um in the {series} series")
    if readings:
        problem = f"{shown_word(designation)} is a bare mesh number: {' or '.join(readings)}"
    else:
        problem = f"{shown_word(designation)} is a bare mesh number of no series known here"
    return InputError(problem, remedy="Give the opening in micrometres.")
