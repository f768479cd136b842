"""Names of oxides as laboratories write them, and elements turned into oxides.

Iron has a module of its own (`iron`), because three ways to state it are confused in the trade.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field

from feedchar.sample.names import fold, heading_key, nearest
from feedchar.sample.records import Place
from feedchar.units import PPM_PER_WT_PCT

IRON_PLAIN = ("Fe", "FeO", "Fe2O3")
IRON_TOTAL = ("Fe_total", "FeO_total", "Fe2O3_total")
IRON_PARTS = ("FeO_ferrous", "Fe2O3_ferric")
IRON = IRON_PLAIN + IRON_TOTAL + IRON_PARTS

OXIDE_NAMES = (
    "SiO2", "TiO2", "Al2O3", "Fe2O3", "MnO", "MgO", "CaO", "Na2O", "K2O", "P2O5", "Cr2O3", "ZrO2",
    "LOI", "BaO", "SrO", "Li2O", "B2O3", "SO3", "CO2", "H2O", "F", "Cl", "S", "C", "V2O5", "ZnO",
    "SnO2", "Rb2O", "PbO", "NiO", "CoO", "CuO", "HfO2", "Nb2O5", "Ta2O5", "WO3", "Y2O3", "La2O3",
    "CeO2", "Nd2O3", "ThO2", "U3O8",
)  # fmt: skip
"""Everything an assay may list, iron as Fe2O3."""

ATOMIC_MASS_G_MOL = {
    "O": 15.999, "Na": 22.990, "Mg": 24.305, "Al": 26.982, "Si": 28.085, "P": 30.974,
    "K": 39.098, "Ca": 40.078, "Ti": 47.867, "Cr": 51.996, "Mn": 54.938, "Fe": 55.845, "Zr": 91.224,
}  # fmt: skip
"""Abridged standard atomic weights, from memory of the 2021 table of IUPAC. [g mol⁻¹]"""

_OXIDE_OF_ELEMENT = {
    "Si": ("SiO2", 1, 2), "Ti": ("TiO2", 1, 2), "Al": ("Al2O3", 2, 3), "Mn": ("MnO", 1, 1),
    "Mg": ("MgO", 1, 1), "Ca": ("CaO", 1, 1), "Na": ("Na2O", 2, 1), "K": ("K2O", 2, 1),
    "P": ("P2O5", 2, 5), "Cr": ("Cr2O3", 2, 3), "Zr": ("ZrO2", 1, 2),
}  # fmt: skip

_SYNONYMS = {
    "fe2o3t": "Fe2O3_total", "fe2o3(t)": "Fe2O3_total", "tfe2o3": "Fe2O3_total",
    "fe2o3tot": "Fe2O3_total", "fe2o3_tot": "Fe2O3_total", "fe2o3_t": "Fe2O3_total",
    "total_fe2o3": "Fe2O3_total", "feot": "FeO_total", "feo(t)": "FeO_total", "tfeo": "FeO_total",
    "feotot": "FeO_total", "feo_tot": "FeO_total", "feo_t": "FeO_total", "total_feo": "FeO_total",
    "fet": "Fe_total", "fe(t)": "Fe_total", "tfe": "Fe_total", "fe_tot": "Fe_total",
    "fe_t": "Fe_total", "total_fe": "Fe_total", "l.o.i.": "LOI", "loss_on_ignition": "LOI",
}  # fmt: skip

_SUFFIX = re.compile(r"(?i)[ _]*[(\[]?(wt[ _]?pct|wt[ _]?%|pct|%|mass[ _]?pct|ppm)[)\]]?$")
_BY_KEY = {heading_key(name): name for name in OXIDE_NAMES + IRON} | _SYNONYMS


@dataclass(frozen=True)
class OxideReading:
    """One figure of an assay as read, already wt %, iron still as stated."""

    name: str
    value: float
    below: bool = False
    sd: float | None = None
    place: Place = field(default_factory=Place)


@dataclass(frozen=True)
class OxideHeading:
    """A heading or key that names an oxide."""

    name: str
    per_wt_pct: float
    """Figures of this column for one wt %: 1, or 10 000 for ppm. [-]"""
    is_sd: bool = False


def oxide_name(text: str) -> str | None:
    """Canonical name of an oxide, element or iron statement.

    Parameters
    ----------
    text : str
        As written, subscripts and any case allowed; elements only in their own case. [-]

    Returns
    -------
    str or None
        None when it is none of these. [-]

    Examples
    --------
    >>> oxide_name("Fe₂O₃"), oxide_name("tio2"), oxide_name("Cr"), oxide_name("Fe203")
    ('Fe2O3', 'TiO2', 'Cr', None)
    """
    stripped = text.strip()
    if stripped in _OXIDE_OF_ELEMENT:
        return stripped
    name = _BY_KEY.get(heading_key(stripped))
    if name is not None and len(name) <= 2 and name != "Fe" and stripped != name:
        return None
    return name


def oxide_heading(text: str, with_sd: bool = False) -> OxideHeading | None:
    """What an oxide's heading says: which, in what unit, value or standard deviation.

    Parameters
    ----------
    text : str
        Heading such as `Fe2O3`, `Fe2O3_wt_pct`, `Cr2O3_ppm`, `Fe2O3_sd_wt_pct`. [-]
    with_sd : bool
        True where columns of standard deviation may stand. [-]

    Returns
    -------
    OxideHeading or None
        None when the heading is no oxide's. [-]
    """
    suffix = _SUFFIX.search(text.strip())
    base = text.strip()[: suffix.start()] if suffix else text.strip()
    per = PPM_PER_WT_PCT if suffix and "ppm" in suffix[1].lower() else 1.0
    is_sd = with_sd and fold(base).endswith("_sd")
    name = oxide_name(base[:-3] if is_sd else base)
    return OxideHeading(name, per, is_sd) if name else None


def nearest_oxide(text: str) -> str | None:
    """The oxide that a heading was probably meant to be.

    Parameters
    ----------
    text : str
        Heading that is not understood, with or without a unit. [-]

    Returns
    -------
    str or None
        Canonical name, with its unit where that was misspelt. [-]

    Examples
    --------
    >>> nearest_oxide("Fe203_wt_pct"), nearest_oxide("TiO2_pmm"), nearest_oxide("colour")
    ('Fe2O3', 'TiO2_ppm', None)
    """
    suffix = _SUFFIX.search(text.strip())
    base = text.strip()[: suffix.start()] if suffix else text.strip()
    names = (*OXIDE_NAMES, *IRON_TOTAL, "FeO")
    units = ("_wt_pct", "_pct", "_ppm")
    found = nearest(base, names)
    return found or nearest(text, [name + unit for name in names for unit in units])


def element_as_oxide(reading: OxideReading) -> OxideReading:
    """A reading with an element turned into its oxide; anything else as it was.

    Parameters
    ----------
    reading : OxideReading
        As read. [wt %]

    Returns
    -------
    OxideReading
        Value and standard deviation times oxide over element. [wt %]

    References
    ----------
    Stoichiometry; atomic weights of `ATOMIC_MASS_G_MOL`.

    Examples
    --------
    >>> round(element_as_oxide(OxideReading("Cr", 1.0)).value, 4)
    1.4615
    """
    if reading.name not in _OXIDE_OF_ELEMENT:
        return reading
    oxide, metal, oxygen = _OXIDE_OF_ELEMENT[reading.name]
    mass = ATOMIC_MASS_G_MOL[reading.name] * metal
    factor = (mass + ATOMIC_MASS_G_MOL["O"] * oxygen) / mass
    sd = None if reading.sd is None else reading.sd * factor
    return OxideReading(oxide, reading.value * factor, reading.below, sd, reading.place)
