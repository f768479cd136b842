"""[susceptibility] of the bulk, from any usual unit to m3/kg."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Mapping

from feedchar.errors import InputError
from feedchar.sample.records import BulkSusceptibility, Note, Place
from feedchar.sample.shown import shown
from feedchar.units import M3_KG_PER_CM3_G, SI_PER_CGS_VOLUME

MASS_UNITS_M3_KG = {
    "m3/kg": 1.0,
    "cm3/g": M3_KG_PER_CM3_G,
    "emu/g/oe": M3_KG_PER_CM3_G,
    "emu/goe": M3_KG_PER_CM3_G,
    "emu/(goe)": M3_KG_PER_CM3_G,
    "emu/(g.oe)": M3_KG_PER_CM3_G,
    "emu/g.oe": M3_KG_PER_CM3_G,
    "cgs/g": M3_KG_PER_CM3_G,
}
"""Mass units; cm3/g is read as the cgs unit emu/(g Oe)."""

VOLUME_UNITS_SI = {
    "si": 1.0,
    "sivolume": 1.0,
    "volumesi": 1.0,
    "cgs": SI_PER_CGS_VOLUME,
    "cgsvolume": SI_PER_CGS_VOLUME,
    "volumecgs": SI_PER_CGS_VOLUME,
    "emu/cm3/oe": SI_PER_CGS_VOLUME,
    "emu/cm3oe": SI_PER_CGS_VOLUME,
    "emu/(cm3oe)": SI_PER_CGS_VOLUME,
    "emu/(cm3.oe)": SI_PER_CGS_VOLUME,
    "emu/cm3": SI_PER_CGS_VOLUME,
}
"""Volume units, which need the density of what was measured."""

LEAST_M3_KG, MOST_M3_KG = -5e-8, 2e-3
"""Range of a bulk; magnetite itself is below 6e-4."""

SD_FLOOR = 0.01
"""Least relative standard deviation that is believed (a guess). [-]"""

_POWER = re.compile(r"^(?:(?:1|1\.0)?(?:x|\*)?10\^?\(?|1(?:\.0)?e)([+-]?[0-9]{1,2})\)?")


def unit_factor(unit: str) -> tuple[float, bool] | None:
    """How many SI units one of a unit is.

    Parameters
    ----------
    unit : str
        Such as `m3/kg`, `1e-8 m3/kg`, `10^-6 cm3/g`, `emu/g/Oe`, `1e-5 SI`. [-]

    Returns
    -------
    tuple or None
        Factor to SI and whether it is a volume susceptibility; None when unknown. [-]

    References
    ----------
    Definition: cgs mass susceptibility times 4 pi 1e-3, volume times 4 pi (iupac green book,
    from memory).

    Examples
    --------
    >>> unit_factor("1e-8 m3/kg"), unit_factor("10⁻⁵ SI")
    ((1e-08, False), (1e-05, True))
    """
    text = unicodedata.normalize("NFKC", unit).casefold().replace("−", "-")
    text = re.sub(r"[\s·⋅]", lambda m: "." if m[0] in "·⋅" else "", text)
    text = text.replace("m^3", "m3").replace("kg-1", "/kg").replace("g-1", "/g")
    text = text.replace("./", "/").replace("m3.kg", "m3/kg")
    power = _POWER.match(text)
    scale = 10.0 ** int(power[1]) if power else 1.0
    base = text[power.end() :].lstrip(".*x") if power else text
    if base in MASS_UNITS_M3_KG:
        return scale * MASS_UNITS_M3_KG[base], False
    if base in VOLUME_UNITS_SI:
        return scale * VOLUME_UNITS_SI[base], True
    return None


def bulk_susceptibility(
    values: Mapping[str, float | str], places: Mapping[str, Place], notes: list[Note]
) -> BulkSusceptibility:
    """The bulk susceptibility in SI mass units.

    Parameters
    ----------
    values : mapping of str to float or str
        Keys of the section: value, sd, unit, flux_density_tesla, density_kg_m3. [-]
    places : mapping of str to Place
        Where each key stands. [-]
    notes : list of Note
        Extended by what was assumed. [-]

    Returns
    -------
    BulkSusceptibility
        Value and standard deviation. [m³ kg⁻¹]

    Raises
    ------
    InputError
        For a value without unit, an unknown unit, a volume unit without density, or a value no
        sand can have.
    """
    place = next(iter(places.values()))

    def error(problem: str, key: str, remedy: str = "") -> InputError:
        at = places.get(key, place)
        column = at.column if key in places else f"susceptibility.{key}"
        return InputError(problem, file=at.file, row=at.row, column=column, remedy=remedy)

    for key in ("value", "unit"):
        if key not in values:
            problem = f'the section needs "{key}"'
            raise error(problem, key, "value, and a unit such as 1e-8 m3/kg")
    unit = str(values["unit"])
    found = unit_factor(unit)
    if found is None:
        problem = f"{shown(unit)} is not a unit that is known"
        raise error(
            problem,
            "unit",
            "m3/kg, 1e-8 m3/kg, cm3/g, emu/g/Oe, SI (with density_kg_m3) or cgs (with it)",
        )
    factor, by_volume = found
    if by_volume:
        if "density_kg_m3" not in values:
            problem = "a volume susceptibility needs the density of what was measured"
            raise error(
                problem,
                "density_kg_m3",
                "For a filled pot that is its mass over its volume",
            )
        factor /= float(values["density_kg_m3"])
    chi = float(values["value"]) * factor
    if not LEAST_M3_KG <= chi <= MOST_M3_KG:
        problem = (
            f"{chi:.3g} m3/kg is outside what a sand can have, {LEAST_M3_KG:g} to {MOST_M3_KG:g}"
        )
        raise error(
            problem,
            "value",
            "Is the power of ten in the unit?",
        )
    sd = None
    if "sd" in values:
        sd = float(values["sd"]) * factor
        least = SD_FLOOR * abs(chi) + 1e-11
        if sd < least:
            text = f"sd of the bulk susceptibility raised to {least:.2g} m3/kg, none is that sure"
            notes.append(Note("sd-floor", f"{place.file}: {text}"))
            sd = least
    flux = values.get("flux_density_tesla")
    return BulkSusceptibility(
        chi, sd, None if flux is None else float(flux), places.get("value", place)
    )
