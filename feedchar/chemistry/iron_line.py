"""The mixing line of iron of a mineral: how its oxides and ions change with its iron."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from feedchar.chemistry.formula import atoms_of, element_wt_pct
from feedchar.chemistry.mineralogy import OXIDES, Array
from feedchar.chemistry.oxides import COLUMN, oxide_row

_PARTNERS: dict[str, tuple[str, float]] = {
    # The composition moves along the line through the natural formula and this one, whose iron
    # is Fe2+ by the share given. Where no partner stands, Fe2+ changes places with Mg and Fe3+
    # with Al, atom for atom.
    "ilmenite": ("Fe2Ti3O9", 0.0),  # weathering takes iron out: to pseudorutile
    "pseudorutile": ("TiO2", 0.0),
    "leucoxene": ("TiO2", 0.0),
    "rutile": ("TiO2", 0.0),
    "anatase": ("TiO2", 0.0),
    "titanite": ("CaTiSiO5", 0.0),
    "titanomagnetite": ("Fe3O4", 1 / 3),
    "spessartine": ("Mn3Al2Si3O12", 0.0),
    "columbite": ("MnNb1.8Ta0.2O6", 0.0),
    "wolframite": ("MnWO4", 0.0),
    "rhodochrosite": ("FeCO3", 1.0),
    "cassiterite": ("SnO2", 0.0),
    "wollastonite": ("CaSiO3", 0.0),
    "apatite": ("Ca5P3O12F", 0.0),
    "gahnite": ("ZnAl2O4", 0.0),
    "elbaite": ("NaLi1.5Al7.5Si6O18(BO3)3(OH)4", 0.0),
    "aegirine": ("NaFeSi2O6", 0.0),
    "riebeckite": ("Na2Fe5Si8O22(OH)2", 0.6),
    "allanite": ("CaCeAlFe2Si3O12(OH)", 0.5),
    "limonite": ("Fe2O3", 0.0),
    "pyrrhotite": ("FeS", 1.0),
    "forsterite": ("Fe2SiO4", 1.0),
    "magnesite": ("FeCO3", 1.0),
    "calcite": ("FeCO3", 1.0),
    "corundum": ("Fe2O3", 0.0),
    "gibbsite": ("FeO(OH)", 0.0),
}


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
    iron = elements.get("Fe", 0.0)
    atoms = atoms_of(formula)
    fe_atoms = atoms.get("Fe", 0.0)
    per_atom = iron / fe_atoms if fe_atoms > 0 else 0.0
    fe2, fe3 = ions.get("Fe2+", 0.0), ions.get("Fe3+", 0.0)
    mn = ions.get("Mn2+", 0.0) * (elements.get("Mn", 0.0) / atoms["Mn"] if "Mn" in atoms else 0.0)
    fe2_share = fe2 / (fe2 + fe3) if fe2 + fe3 > 0 else 0.0
    return IronState(
        iron, oxide_row(formula, fe2_share), np.array([fe2 * per_atom, fe3 * per_atom, mn])
    )


def _partner(mineral: str, formula: str, ions: dict[str, float]) -> IronState:
    if mineral in _PARTNERS:
        partner, fe2_share = _PARTNERS[mineral]
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
