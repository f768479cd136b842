"""How grave a broken rule of the trade is: how far it is broken against its error."""

from __future__ import annotations

from math import sqrt

from scipy.special import gammainc, ndtri

from feedchar.sample.records import Note

WARN_SD, STOP_SD = 2.0, 4.0


def severity_of(excess: float, sd: float) -> str | None:
    """How bad an excess is.

    Parameters
    ----------
    excess : float
        Amount by which a bound is passed, negative when it is not. [any]
    sd : float
        Its standard deviation. [as excess]

    Returns
    -------
    str or None
        "stop" beyond 4 sd, "warning" beyond 2, else None. [-]

    References
    ----------
    Common practice, no source.
    """
    if excess <= 0:
        return None
    score = excess / sd if sd > 0 else float("inf")
    if score > STOP_SD:
        return "stop"
    return "warning" if score > WARN_SD else None


def severity_of_amount(listed: float, listed_sd: float, most: float, most_sd: float) -> str | None:
    """How bad it is that minerals were found which the assay does not allow.

    An amount cannot be negative: twelve grains counted with an sd of three and a half are not
    3.4 sd from none at all. So the misfit is that of a gamma distribution where this is larger.

    Parameters
    ----------
    listed, listed_sd : float
        What the listed minerals need, and its standard deviation. [wt %]
    most, most_sd : float
        What the assay allows, and its standard deviation. [wt %]

    Returns
    -------
    str or None
        "stop" beyond 4 sd, "warning" beyond 2, else None. [-]

    References
    ----------
    Derived here; the sd are those of a normal distribution with the same tail.
    """
    sd = sqrt(listed_sd**2 + most_sd**2)
    excess = listed - most
    if excess <= 0.0 or sd <= 0.0:
        return severity_of(excess, sd)
    shape = (listed / sd) ** 2
    reached = (max(most, 0.0) + most_sd) / listed
    tail = float(gammainc(shape, shape * min(reached, 1.0)))
    score = max(excess / sd, -float(ndtri(max(tail, 1e-300))))
    return severity_of(score, 1.0)


def note_of(rule: int, severity: str | None, text: str) -> Note | None:
    """Note of a rule that tripped.

    Parameters
    ----------
    rule : int
        Number of the rule. [-]
    severity : str or None
        None when it did not trip. [-]
    text : str
        The message. [-]

    Returns
    -------
    Note or None
        The note. [-]

    References
    ----------
    Common practice, no source.
    """
    return None if severity is None else Note(f"sanity-{rule}", text, severity)
