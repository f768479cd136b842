"""How sure an assay is when nobody says, and the least that is believed when somebody does."""

from __future__ import annotations

IRON_RELATIVE_SD, IRON_SD_WT_PCT = 0.03, 0.002
"""Laboratory error of Fe2O3: 3 % relative plus 0.002 wt % (from memory of trade practice)."""
_RELATIVE_AND_LEAST = {
    "Fe2O3": (IRON_RELATIVE_SD, IRON_SD_WT_PCT),
    "TiO2": (0.03, 0.002),
    "Cr2O3": (0.05, 0.0005),
}
_OTHER = (0.02, 0.01)
_LOI_SD_WT_PCT = 0.05

FLOOR_RELATIVE = 0.001
FLOOR_WT_PCT = 0.0002
"""No laboratory repeats better than 0.1 % of a figure plus 2 ppm (a guess). [wt %]"""


def default_assay_sd(oxide: str, value_wt_pct: float) -> float:
    """Standard deviation of an assay when none is given.

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
        return _LOI_SD_WT_PCT
    relative, least = _RELATIVE_AND_LEAST.get(oxide, _OTHER)
    return relative * abs(value_wt_pct) + least


def least_assay_sd(value_wt_pct: float) -> float:
    """Least standard deviation that is believed of an assay.

    Parameters
    ----------
    value_wt_pct : float
        Assay. [wt %]

    Returns
    -------
    float
        Floor that keeps every datum's weight finite. [wt %]

    References
    ----------
    A guess, well below the repeatability of fused beads (from memory of trade practice).
    """
    return FLOOR_WT_PCT + FLOOR_RELATIVE * abs(value_wt_pct)
