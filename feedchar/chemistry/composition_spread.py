"""How far the composition of a phase may be from its formula, iron apart.

Iron moves along its line and is fitted. All else is held at the formula, and what that leaves out
(more or less lime in a plagioclase, titanium in a mica) is added to the sd of the assay rows.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from feedchar.chemistry.mineralogy import OXIDES, Array
from feedchar.chemistry.oxides import COLUMN

_STRICT = 0.01
_SERIES = 0.08
_OWN = 0.05
_VAGUE = 0.3
_SERIES_GROUPS = (
    "amphibole", "chlorite", "clay", "garnet", "mica", "olivine", "pyroxene", "sheet silicate",
    "sorosilicate", "tourmaline", "feldspathoid", "cyclosilicate",
)  # fmt: skip
_EXTRA: dict[str, dict[str, float]] = {
    "k-feldspar": {"K2O": 0.8, "Na2O": 0.6, "CaO": 0.1, "Al2O3": 0.15},
    "albite": {"CaO": 0.4, "Na2O": 0.25, "K2O": 0.2, "Al2O3": 0.3, "SiO2": 0.5},
    "oligoclase": {"CaO": 1.2, "Na2O": 0.7, "K2O": 0.4, "Al2O3": 0.8, "SiO2": 1.2},
    "anorthite": {"CaO": 1.2, "Na2O": 0.7, "Al2O3": 0.8, "SiO2": 1.2},
    "nepheline": {"K2O": 1.5, "Na2O": 1.0, "CaO": 0.3},
    "biotite": {"TiO2": 2.0, "MnO": 0.2, "Na2O": 0.2},
    "annite": {"TiO2": 2.0, "MnO": 0.3},
    "phlogopite": {"TiO2": 1.0},
    "muscovite": {"TiO2": 0.4, "Na2O": 0.4, "MgO": 0.4},
    "phengite": {"TiO2": 0.3, "Na2O": 0.3},
    "hornblende": {"TiO2": 0.9, "Na2O": 1.0, "K2O": 0.7, "MnO": 0.3},
    "aegirine": {"TiO2": 1.0, "MnO": 0.3},
    "almandine": {"MnO": 1.0, "CaO": 1.5, "MgO": 1.5},
    "mixed garnet": {"MnO": 2.0, "CaO": 5.0, "MgO": 3.0},
    "ilmenite": {"MnO": 1.2, "MgO": 0.6, "TiO2": 0.8},
    "magnetite": {"TiO2": 1.0, "Cr2O3": 0.2},
    "hematite": {"TiO2": 0.5},
    "leucoxene": {"SiO2": 2.0, "Al2O3": 2.0, "TiO2": 4.0},
    "goethite": {"SiO2": 1.5, "Al2O3": 1.0},
    "limonite": {"SiO2": 3.0, "Al2O3": 2.0},
    "calcite": {"MgO": 0.4},
    "kaolinite": {"TiO2": 0.4, "K2O": 0.2},
}
"""Standard deviations beyond the relative one, in wt % of the phase (guesses)."""


def mineral_spread(name: str, group: str, row: Array) -> Array:
    """Standard deviation of the composition of a tabulated mineral, iron apart.

    Parameters
    ----------
    name, group : str
        Mineral and its group. [-]
    row : array, shape (K,)
        Its composition. [wt %]

    Returns
    -------
    array, shape (K,)
        Columns OXIDES, zero for Fe2O3. [wt %]

    References
    ----------
    Guesses, about the spread of published analyses: 1 % relative for simple compounds, 8 % for
    series, and what a formula leaves out.
    """
    relative = _SERIES if group in _SERIES_GROUPS else _STRICT
    spread = relative * np.abs(row)
    if group == "silica":
        spread[:] = 0.0
    for oxide, extra in _EXTRA.get(name, {}).items():
        spread[COLUMN[oxide]] = max(spread[COLUMN[oxide]], extra)
    return _iron_apart(spread)


def own_spread(row: Array, given: Mapping[str, float], vague: bool = False) -> Array:
    """Standard deviation of the composition of a phase of the user's own, iron apart.

    Parameters
    ----------
    row : array, shape (K,)
        Its composition. [wt %]
    given : mapping of str to float
        Standard deviations that the user gave. [wt %]
    vague : bool
        True for `unidentified`. [-]

    Returns
    -------
    array, shape (K,)
        Columns OXIDES, zero for Fe2O3. [wt %]

    References
    ----------
    A guess: 5 % relative, 30 % for what nobody identified.
    """
    spread = (_VAGUE if vague else _OWN) * np.abs(row)
    for oxide, sd in given.items():
        if oxide in COLUMN:
            spread[COLUMN[oxide]] = sd
    return _iron_apart(spread)


def _iron_apart(spread: Array) -> Array:
    spread[COLUMN["Fe2O3"]] = 0.0
    spread[len(OXIDES) - 1] = 0.0
    return spread
