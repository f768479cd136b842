"""Sanity rules 11 to 15, which need weights, classes, tests or a product."""

from __future__ import annotations

from math import sqrt

from feedchar.chemistry.severity import WARN_SD, note_of, severity_of
from feedchar.sample.records import Note

LOSS_NOTE_PCT, LOSS_REPEAT_PCT, LARGEST_GAIN_PCT = 1.0, 2.0, 0.3
"""Loss worth a note, loss worth repeating, and gain that cannot be, all of the mass. [%]"""


def magnetics_pulled(pulled: float, expected: float, sand_carried: float) -> Note | None:
    """Rule 11: mass of magnetics against what was counted.

    Parameters
    ----------
    pulled : float
        Mass of magnetics. [wt %]
    expected : float
        Sum of listed minerals times their free share above the cut. [wt %]
    sand_carried : float
        Sand that goes with them. [wt %]

    Returns
    -------
    Note or None
        Rule 11. [-]

    References
    ----------
    Common practice, no source.
    """
    if pulled < 0.7 * expected:
        text = f"{pulled:.3g} % magnetics, less than counted ({expected:.3g} %)"
        return note_of(11, "warning", text)
    if pulled > expected + 3.0 * sand_carried:
        text = (
            f"{pulled:.3g} % magnetics where {expected:.3g} % was counted: mostly sand (fines, "
            "damp, static, or magnetite dust in the pale grains)"
        )
        return note_of(11, "warning", text)
    return None


def mass_lost(mass_in: float, mass_out: float, what: str) -> Note | None:
    """Rule 12: mass that a sieving or a separation lost.

    Parameters
    ----------
    mass_in, mass_out : float
        Mass before, and the sum of all products. [any]
    what : str
        What was done, for the message. [-]

    Returns
    -------
    Note or None
        Rule 12. [-]

    References
    ----------
    Common practice, no source.
    """
    loss = 100.0 * (1.0 - mass_out / mass_in)
    figures = f"({mass_in:.6g} in, {mass_out:.6g} out)"
    if loss < -LARGEST_GAIN_PCT:
        text = f"{what} gained {-loss:.2f} % of mass {figures}: balance, damp or mixed bags"
        return note_of(12, "warning", text)
    text = f"{what} lost {loss:.2f} % of mass {figures}"
    if loss > LOSS_REPEAT_PCT:
        return note_of(12, "warning", f"{text}: look for a bag, else repeat it")
    return note_of(12, "note" if loss > LOSS_NOTE_PCT else None, text)


def adds_back(total: float, total_sd: float, head: float, head_sd: float, what: str) -> Note | None:
    """Rule 13: classes or products that should add back to the head.

    Parameters
    ----------
    total, total_sd : float
        Weighted sum of the parts and its standard deviation. [any]
    head, head_sd : float
        The whole and its standard deviation. [as total]
    what : str
        What is added, for the message. [-]

    Returns
    -------
    Note or None
        Rule 13. [-]

    References
    ----------
    Common practice, no source.
    """
    text = f"{what} add up to {total:.4g}, the head is {head:.4g}: they do not add back"
    severity = severity_of(abs(total - head), sqrt(total_sd**2 + head_sd**2))
    return note_of(13, severity, text)


def faster_pulls_more(slow: float, slow_sd: float, fast: float, fast_sd: float) -> Note | None:
    """Rule 14, first part: more magnetics at the faster belt.

    Parameters
    ----------
    slow, slow_sd : float
        Magnetics at the slower belt and their standard deviation. [wt %]
    fast, fast_sd : float
        Magnetics at the faster belt and their standard deviation. [wt %]

    Returns
    -------
    Note or None
        Rule 14. [-]

    References
    ----------
    Common practice, no source.
    """
    text = (
        f"{fast:.3g} % magnetics at the faster belt, {slow:.3g} % at the slower: swapped labels "
        "or overfed"
    )
    return note_of(14, severity_of(fast - slow, sqrt(slow_sd**2 + fast_sd**2)), text)


def below_the_floor(
    product: float, product_sd: float, floor: float, floor_sd: float
) -> Note | None:
    """Rule 15, first part: a product cleaner than its own clear grains.

    Parameters
    ----------
    product, product_sd : float
        Fe2O3 of the product and its standard deviation. [wt %]
    floor, floor_sd : float
        Fe2O3 of hand-picked clear grains and its standard deviation. [wt %]

    Returns
    -------
    Note or None
        Rule 15. [-]

    References
    ----------
    Common practice, no source.
    """
    text = f"product {product:.3g} % Fe2O3 lies below its own clear grains, {floor:.3g} %"
    return note_of(15, severity_of(floor - product, sqrt(product_sd**2 + floor_sd**2)), text)


def laboratory_decides(
    limit: float, product: float, laboratory_sd: float, detection_limit: float | None
) -> Note | None:
    """Rule 15, second part: whether the laboratory can tell product from limit.

    Parameters
    ----------
    limit, product : float
        Fe2O3 asked and found. [wt %]
    laboratory_sd : float
        Standard deviation between laboratories. [wt %]
    detection_limit : float or None
        Detection limit of the method. [wt %]

    Returns
    -------
    Note or None
        Rule 15: no pass is claimed. [-]

    References
    ----------
    Common practice, no source.
    """
    if detection_limit is not None and limit <= detection_limit:
        text = f"the limit {limit:.3g} % is at or below detection ({detection_limit:.3g} %)"
        return note_of(15, "warning", text + ": the laboratory cannot decide")
    if abs(limit - product) < WARN_SD * laboratory_sd:
        text = f"limit {limit:.3g} % and product {product:.3g} % are closer than 2 sd"
        return note_of(15, "warning", text + " of the laboratory: it cannot decide")
    return None
