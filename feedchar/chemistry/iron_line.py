"""The mixing line of iron of a mineral: how its oxides and ions change with its iron."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from feedchar.chemistry.formula import atoms_of, element_wt_pct
from feedchar.chemistry.mineralogy import OXIDES, Array
from feedchar.chemistry.oxides import COLUMN, oxide_row

_PARTNERS = {
    # The composition moves along the line through the natural formula and this one. Where no
    # partner stands, Fe2+ changes places with Mg and Fe3+ with Al, atom for atom.
    "ilmenite": "Fe2Ti3O9",  # weathering takes iron out: to pseudorutile
    "pseudorutile": "TiO2",
    "leucoxene": "TiO2",
    "rutile": "TiO2",
    "anatase": "TiO2",
    "titanite": "CaTiSiO5",
    "titanomagnetite": "Fe3O4",
    "spessartine": "Mn3Al2Si3O12",
    "columbite": "MnNb1.8Ta0.2O6",
    "wolframite": "MnWO4",
    "rhodochrosite": "FeCO3",
    "cassiterite": "SnO2",
    "wollastonite": "CaSiO3",
    "apatite": "Ca5P3O12F",
    "gahnite": "ZnAl2O4",
    "elbaite": "NaLi1.5Al7.5Si6O18(BO3)3(OH)4",
    "aegirine": "NaFeSi2O6",
    "riebeckite": "Na2Fe5Si8O22(OH)2",
    "allanite": "CaCeAlFe2Si3O12(OH)",
    "limonite": "Fe2O3",
    "pyrrhotite": "FeS",
    "forsterite": "Fe2SiO4",
    "magnesite": "FeCO3",
    "calcite": "FeCO3",
    "corundum": "Fe2O3",
    "gibbsite": "FeO(OH)",
}
_FERROUS = {
    "titanomagnetite": 1 / 3,
    "rhodochrosite": 1.0,
    "riebeckite": 0.6,
    "allanite": 0.5,
    "pyrrhotite": 1.0,
    "forsterite": 1.0,
    "magnesite": 1.0,
    "calcite": 1.0,
}
"""Share of the iron of a partner that is Fe2+; of the others it is Fe3+. [-]"""


_ION_OF = {"Fe2+": "Fe", "Fe3+": "Fe", "Mn2+": "Mn"}
"""Magnetic ions and their elements."""


@dataclass(frozen=True)
class IronState:
    """A composition and its magnetic ions; mixes linearly by mass."""

    iron_wt_pct: float
    oxides_wt_pct: Array
    """(K,) columns OXIDES."""
    ions_wt_pct: Array
    """(3,) Fe2+, Fe3+, Mn2+ in wt % of the ion."""


def mixed(a: IronState, b: IronState, share_b: float) -> IronState:
    """Composition of a mixture by mass (or its extrapolation along the same line).

    Parameters
    ----------
    a, b : IronState
        Two compositions. [wt %]
    share_b : float
        Mass share of b; outside 0 to 1 the line is prolonged. [-]

    Returns
    -------
    IronState
        The mixture. [wt %]

    References
    ----------
    By definition of the records of this room.
    """
    return IronState(
        a.iron_wt_pct + share_b * (b.iron_wt_pct - a.iron_wt_pct),
        a.oxides_wt_pct + share_b * (b.oxides_wt_pct - a.oxides_wt_pct),
        a.ions_wt_pct + share_b * (b.ions_wt_pct - a.ions_wt_pct),
    )


def state_of(formula: str, ions: dict[str, float]) -> IronState:
    """Composition and magnetic ions of a formula.

    Parameters
    ----------
    formula : str
        Chemical formula. [-]
    ions : dict of str to float
        Atoms of "Fe2+", "Fe3+", "Mn2+" a formula; iron not listed carries no Curie moment. [-]

    Returns
    -------
    IronState
        Oxides and ions. [wt %]

    References
    ----------
    By definition of the records of this room.
    """
    elements = element_wt_pct(formula)
    atoms = atoms_of(formula)
    held = np.zeros(len(_ION_OF))
    for place, (ion, symbol) in enumerate(_ION_OF.items()):
        if symbol in atoms:
            held[place] = ions.get(ion, 0.0) * (elements[symbol] / atoms[symbol])
    fe2, fe3 = ions.get("Fe2+", 0.0), ions.get("Fe3+", 0.0)
    fe2_share = fe2 / (fe2 + fe3) if fe2 + fe3 > 0 else 0.0
    return IronState(elements.get("Fe", 0.0), oxide_row(formula, fe2_share), held)


def _partner(mineral: str, formula: str, ions: dict[str, float]) -> IronState:
    if mineral in _PARTNERS:
        partner, fe2_share = _PARTNERS[mineral], _FERROUS.get(mineral, 0.0)
        atoms = atoms_of(partner)
        iron = atoms.get("Fe", 0.0)
        return state_of(
            partner,
            {
                "Fe2+": iron * fe2_share,
                "Fe3+": iron * (1 - fe2_share),
                "Mn2+": atoms.get("Mn", 0.0),
            },
        )
    atoms = dict(atoms_of(formula))
    fe2, fe3 = ions.get("Fe2+", 0.0), ions.get("Fe3+", 0.0)
    if "O" not in atoms:  # a sulphide or a metal is diluted
        row = np.zeros(len(OXIDES))
        row[COLUMN["other"]] = 100.0
        return IronState(0.0, row, np.zeros(3))
    if atoms.get("Fe", 0.0) == 0.0:  # iron that the crystal does not hold: specks of oxide
        return state_of("Fe2O3", {"Fe3+": 2.0})
    atoms.pop("Fe")
    atoms["Mg"] = atoms.get("Mg", 0.0) + fe2
    atoms["Al"] = atoms.get("Al", 0.0) + fe3
    text = "".join(f"{element}{amount:.8f}" for element, amount in atoms.items() if amount > 0)
    return state_of(text, {"Mn2+": ions.get("Mn2+", 0.0)})


def iron_line(
    mineral: str, formula: str, ions: dict[str, float], low_wt_pct: float, high_wt_pct: float
) -> tuple[IronState, IronState]:
    """Two ends of the mixing line of iron, with every oxide at or above zero.

    Parameters
    ----------
    mineral : str
        Canonical name; some minerals have a line of their own. [-]
    formula : str
        Natural composition; the line passes through it. [-]
    ions : dict of str to float
        Atoms of "Fe2+", "Fe3+", "Mn2+" a formula. [-]
    low_wt_pct, high_wt_pct : float
        Iron wanted at the two ends. [wt %]

    Returns
    -------
    tuple of IronState
        Low and high end; nearer than asked where an oxide would become negative. [wt %]

    References
    ----------
    Exchange of Fe2+ with Mg and Fe3+ with Al: common practice, no source. Ilmenite to
    pseudorutile: bailey_1956.
    """
    here = state_of(formula, ions)
    there = _partner(mineral, formula, ions)
    span = there.iron_wt_pct - here.iron_wt_pct
    if abs(span) < 1e-9:
        return here, here
    change = there.oxides_wt_pct - here.oxides_wt_pct
    solid = [COLUMN[name] for name in OXIDES if name not in ("LOI", "other")]
    least, most = -np.inf, np.inf
    for column in solid:
        if change[column] > 1e-9:
            least = max(least, -here.oxides_wt_pct[column] / change[column])
        elif change[column] < -1e-9:
            most = min(most, -here.oxides_wt_pct[column] / change[column])
    shares = [
        float(min(max((iron - here.iron_wt_pct) / span, least), most))
        for iron in (low_wt_pct, high_wt_pct)
    ]
    low, high = sorted(
        (mixed(here, there, share) for share in shares), key=lambda state: state.iron_wt_pct
    )
    return low, high
