"""How firmly an assay holds the fit."""

from __future__ import annotations

from feedchar.sample.assay_error import default_assay_sd, least_assay_sd
from feedchar.sample.records import OxideValue


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
        return max(value.sd, least_assay_sd(value.value))
    return default_assay_sd(oxide, value.value)
