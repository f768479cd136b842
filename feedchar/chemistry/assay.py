"""The head assay as rows of the fit."""

from __future__ import annotations

import numpy as np

from feedchar.chemistry.draws import line_ends
from feedchar.chemistry.ingredients import Feed
from feedchar.chemistry.mineralogy import OXIDES
from feedchar.chemistry.oxides import COLUMN
from feedchar.chemistry.system import Rows
from feedchar.sample.records import OxideValue

_DEFAULT_SD = {"Fe2O3": (0.03, 0.002), "TiO2": (0.03, 0.002), "Cr2O3": (0.05, 0.0005)}
_LOI_SD = 0.05


def default_assay_sd(oxide: str, value_wt_pct: float) -> float:
    """sd of an assay when none is given.

    Parameters
    ----------
    oxide : str
        Oxide or LOI. [-]
    value_wt_pct : float
        Assay. [wt %]

    Returns
    -------
    float
        2 % of it plus 0.01; Fe2O3 and TiO2 3 % plus 0.002; Cr2O3 5 % plus 0.0005; LOI 0.05.
        [wt %]

    References
    ----------
    From memory of trade practice.
    """
    if oxide == "LOI":
        return _LOI_SD
    relative, least = _DEFAULT_SD.get(oxide, (0.02, 0.01))
    return relative * abs(value_wt_pct) + least


def assay_rows(feed: Feed, assay: dict[str, OxideValue]) -> Rows:
    """Rows of the fit from the head assay.

    Parameters
    ----------
    feed : Feed
        M phases. [-]
    assay : dict of str to OxideValue
        Head assay of the dry bag; oxides that no column stands for are left out. [wt %]

    Returns
    -------
    Rows
        One row an oxide, in the order of OXIDES. [wt %]
    """
    names = tuple(name for name in OXIDES[:-1] if name in assay)
    low, change = line_ends(feed)
    columns = [COLUMN[name] for name in names]
    value = np.array([assay[name].value for name in names])
    sd = np.array([assay_sd(name, assay[name]) for name in names])
    return Rows(
        names,
        value,
        sd,
        low[:, columns, None] / 100.0,
        change[:, columns, None] / 100.0,
        np.array([assay[name].below_detection for name in names], dtype=bool),
    )


def assay_sd(oxide: str, value: OxideValue) -> float:
    """sd of one assay, floored so that no datum weighs without bound.

    Parameters
    ----------
    oxide : str
        Oxide or LOI. [-]
    value : OxideValue
        As given. [wt %]

    Returns
    -------
    float
        The given sd, or the default; of an interval a tenth of its length. [wt %]

    References
    ----------
    From memory of trade practice.
    """
    if value.below_detection:
        return max(0.1 * value.value, 1e-6)
    if value.sd is not None and value.sd > 0:
        return max(value.sd, 1e-4 * abs(value.value), 1e-6)
    return default_assay_sd(oxide, value.value)
