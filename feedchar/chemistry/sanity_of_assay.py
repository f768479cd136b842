"""Sanity rules 6 to 8 of the trade: the assay against itself."""

from __future__ import annotations

from feedchar.chemistry.severity import note_of, severity_of
from feedchar.sample.records import Note

FE_OR_FE2O3 = (1.40, 1.46)
"""Ratio of two laboratories' iron that says one gives Fe, the other Fe2O3. [-]"""


def alumina_balance(
    alumina: float, potash: float, soda: float, lime: float, sd: float
) -> Note | None:
    """Rule 6: alumina left when all alkalis and lime are feldspar.

    Parameters
    ----------
    alumina, potash, soda, lime : float
        Assayed oxides. [wt %]
    sd : float
        Standard deviation of the balance. [wt %]

    Returns
    -------
    Note or None
        Rule 6; it points and never stops. [-]

    References
    ----------
    Common practice, no source.
    """
    spare = alumina - 1.082 * potash - 1.645 * soda - 1.818 * lime
    if severity_of(-spare, sd):
        text = (
            f"alumina falls {-spare:.3g} % short of the alkalis and lime: peralkaline rock, lime "
            "outside feldspar, or alkalis high"
        )
        return note_of(6, "note", text)
    if severity_of(spare - 1.0, sd):
        text = f"{spare:.3g} % alumina is not in feldspar: mica, clay or an alumina error"
        return note_of(6, "note", text)
    return None


def oxide_total(without_loi: float, loi: float | None) -> Note | None:
    """Rule 7: the sum of the oxides.

    Parameters
    ----------
    without_loi : float
        Sum of all oxides but LOI. [wt %]
    loi : float or None
        Loss on ignition. [wt %]

    Returns
    -------
    Note or None
        Rule 7. [-]

    References
    ----------
    Common practice, no source.
    """
    if loi is not None and loi > 0.5 and 99.5 <= without_loi <= 100.5:
        text = (
            f"the oxides sum to {without_loi:.4g} % without {loi:.3g} % LOI: an ignited basis? "
            f"Then multiply them by {1.0 - loi / 100.0:.4g}"
        )
        return note_of(7, "warning", text)
    total = without_loi + (loi or 0.0)
    short = total < 99.0
    if short or total > 101.0:
        text = (
            f"the analysis sums to {total:.4g} %: something not assayed or wrong (fused beads "
            "miss B, Li, F and water)"
        )
        return note_of(7, "note" if short and loi is None else "warning", text)
    return None


def laboratory_ratio(
    higher: float, lower: float, who_higher: str = "", who_lower: str = ""
) -> Note | None:
    """Rule 8: two laboratories of which one gives Fe and the other Fe2O3.

    Parameters
    ----------
    higher, lower : float
        Their figures for iron. [wt %]
    who_higher, who_lower : str
        Names of the laboratories, where they are known. [-]

    Returns
    -------
    Note or None
        Rule 8. [-]

    References
    ----------
    Fe2O3/Fe = 1.4297; the window is common practice, no source.
    """
    ratio = higher / lower if lower > 0 else 0.0
    least, most = FE_OR_FE2O3
    if not least <= ratio <= most:
        return None
    text = f"two laboratories differ by a factor of {ratio:.3g}: does one give Fe, one Fe2O3?"
    if who_higher and who_lower:
        text = (
            f"{who_higher} finds {ratio:.3f} times the iron of {who_lower}: {who_lower} may give "
            f"Fe, {who_higher} Fe2O3"
        )
    return note_of(8, "warning", text)
