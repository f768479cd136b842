"""From a formula to the row of oxides that every bulk composition is made of."""

from __future__ import annotations

import numpy as np

from feedchar.chemistry.formula import element_wt_pct, oxide_wt_pct
from feedchar.chemistry.mineralogy import OXIDES, Array
from feedchar.constants import FE2O3_PER_FEO

COLUMN = {name: column for column, name in enumerate(OXIDES)}
"""Place of each oxide in an oxide row."""

_VOLATILE = ("H2O", "CO2", "S", "C")


def oxide_row(formula: str, fe2_share: float = 0.0) -> Array:
    """Oxides of one composition as they would be assayed after ignition.

    Parameters
    ----------
    formula : str
        Chemical formula. [-]
    fe2_share : float
        Share of its iron that is Fe2+. [-]

    Returns
    -------
    array, shape (K,)
        Columns OXIDES, all iron as Fe2O3, summing to 100. LOI is what ignition at about
        1000 °C takes off less the oxygen that Fe2+ takes up, so it is negative for magnetite;
        SO3 of sulphates and F of calcium and sodium minerals stay (in `other`). [wt %]

    References
    ----------
    Oxygen taken up by FeO on ignition: ceramic practice, FeO x 0.111 (methods of loss on
    ignition); which anions stay is from memory.
    """
    oxides = oxide_wt_pct(formula)
    row = np.zeros(len(OXIDES))
    for name in OXIDES[:-2]:
        row[COLUMN[name]] = oxides.get(name, 0.0)
    volatile = sum(oxides.get(name, 0.0) for name in _VOLATILE)
    stays = sum(
        wt for name, wt in oxides.items()
        if name not in OXIDES and name not in (*_VOLATILE, "F", "less O")
    )  # fmt: skip
    fluorine = oxides.get("F", 0.0) + oxides.get("less O", 0.0)
    if oxides.get("CaO", 0.0) + oxides.get("Na2O", 0.0) > 20.0 or "Cl" in oxides:
        stays += fluorine
    else:
        volatile += fluorine
    if "S" in oxides or (len(element_wt_pct(formula)) == 1 and "C" not in oxides):
        # A sulphide or a metal burns: what is left of 100 is lost or gained on ignition.
        volatile = 100.0 - row.sum() - stays
    else:
        volatile -= fe2_share * row[COLUMN["Fe2O3"]] * (1.0 - 1.0 / FE2O3_PER_FEO)
    row[COLUMN["LOI"]] = volatile
    row[COLUMN["other"]] = 100.0 - row.sum()
    if abs(row[COLUMN["other"]]) < 1e-9:
        row[COLUMN["other"]] = 0.0
    return row


def row_of(oxides_wt_pct: dict[str, float]) -> Array:
    """Oxide row of a composition given as a dictionary; the rest to 100 is `other`.

    Parameters
    ----------
    oxides_wt_pct : dict of str to float
        Oxides, iron as Fe2O3. [wt %]

    Returns
    -------
    array, shape (K,)
        Columns OXIDES, summing to 100. [wt %]

    References
    ----------
    By definition of the records of this room.
    """
    row = np.zeros(len(OXIDES))
    for name, value in sorted(oxides_wt_pct.items()):
        row[COLUMN.get(name, COLUMN["other"])] += value
    row[COLUMN["other"]] += 100.0 - row.sum()
    return row
