"""Checks one can do with a pencil: mass lost in a split, yields that disagree, laboratories too.

Each check gives a note with the figure that tripped it, or nothing.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from feedchar.chemistry.sanity import severity_of
from feedchar.chemistry.sanity_of_assay import laboratory_ratio
from feedchar.chemistry.sanity_of_tests import mass_lost
from feedchar.errors import InputError
from feedchar.sample.records import Note
from feedchar.testwork.balance import implied_yield

Array = NDArray[np.float64]


@dataclass(frozen=True)
class StatedRecovery:
    """What one component's stated recovery implies beside those of the others."""

    component: str
    implied_yield: float
    """Product yield that this recovery and these assays imply. [-]"""
    z: float
    """(implied yield - common yield)/sd. [-]"""
    fits: bool
    """Within 2 sd of the common yield."""
    product_needed: float
    """Product assay with which this component would fit. [as given]"""


def mass_loss(mass_in: float, mass_out: ArrayLike) -> float:
    """Share of the mass that did not come back from a split or a sieving.

    Parameters
    ----------
    mass_in : float
        Mass that went in. [g]
    mass_out : array_like
        Masses that came out, every bag. [g]

    Returns
    -------
    float
        1 - sum out/in; negative when it gained weight. [-]

    Raises
    ------
    InputError
        A mass in that is not above 0, or a mass out that is no number of 0 or more.

    References
    ----------
    common practice, no source
    """
    out = np.asarray(mass_out, dtype=float)
    if not (np.isfinite(mass_in) and mass_in > 0.0):
        msg = f"the mass that went in must be above 0, found {mass_in:g}"
        raise InputError(msg)
    if not np.all(np.isfinite(out) & (out >= 0.0)):
        msg = "every mass that came out must be a number of 0 or more"
        raise InputError(msg)
    return 1.0 - float(out.sum()) / mass_in


def loss_note(what: str, mass_in: float, mass_out: ArrayLike) -> Note | None:
    """Note on the mass lost or gained in a split, None when it is as usual: rule 12.

    Parameters
    ----------
    what : str
        Name of the split, for the text. [-]
    mass_in : float
        Mass that went in. [g]
    mass_out : array_like
        Masses that came out, every bag. [g]

    Returns
    -------
    Note or None
        A note above 1 % lost, a warning above 2 %, a warning for a gain above 0.3 %. [-]

    Raises
    ------
    InputError
        Masses that cannot be.

    References
    ----------
    common practice, no source
    """
    mass_loss(mass_in, mass_out)  # refuses masses that cannot be
    return mass_lost(float(mass_in), float(np.sum(mass_out)), what)


def difference_note(code: str, what: str, first: float, second: float, sd: float) -> Note | None:
    """Note when two figures of one thing disagree, such as yields by weighing and by assay.

    Parameters
    ----------
    code : str
        Code of the note. [-]
    what : str
        Names both figures, for the text. [-]
    first, second : float
        The figures. [any]
    sd : float
        Standard deviation of their difference, above 0. [as the figures]

    Returns
    -------
    Note or None
        A warning from 2 sd, a stop from 4 sd. [-]

    Raises
    ------
    InputError
        An sd that is not above 0, or figures that are no numbers.

    References
    ----------
    common practice, no source
    """
    if not (sd > 0.0 and np.isfinite([first, second]).all()):
        msg = "a comparison needs two numbers and an sd above 0"
        raise InputError(msg)
    away = abs(first - second)
    severity = severity_of(away, sd)
    if severity is None:
        return None
    text = f"{what}: {first:.4g} against {second:.4g}, {away / sd:.1f} sd apart"
    return Note(code, text, severity)


def laboratory_note(first: str, second: str, ratio: float) -> Note | None:
    """Note when two laboratories' iron on the same bags differs as Fe does from Fe2O3: rule 8.

    Parameters
    ----------
    first, second : str
        Names of the laboratories. [-]
    ratio : float
        Iron of the first over iron of the second. [-]

    Returns
    -------
    Note or None
        A warning when the ratio, or its inverse, lies in 1.40 to 1.46. [-]

    Raises
    ------
    InputError
        A ratio that is not above 0.

    References
    ----------
    common practice, no source
    """
    if not (np.isfinite(ratio) and ratio > 0.0):
        msg = f"a ratio of two laboratories must be above 0, found {ratio:g}"
        raise InputError(msg)
    high, low = (first, second) if ratio >= 1.0 else (second, first)
    return laboratory_ratio(max(ratio, 1.0 / ratio), 1.0, high, low)


def check_stated_recoveries(
    components: tuple[str, ...],
    feed: ArrayLike,
    product: ArrayLike,
    recovery: ArrayLike,
    feed_sd: ArrayLike,
    product_sd: ArrayLike,
) -> tuple[StatedRecovery, ...]:
    """Do the stated recoveries of several components imply one and the same yield?

    The common yield is their weighted median, so one wrong figure does not drag it along.

    Parameters
    ----------
    components : tuple of str
        Names of K components. [-]
    feed, product, recovery : array_like, shape (K,)
        Assays of feed and product, and recovery fraction in the product. [any, any, -]
    feed_sd, product_sd : array_like, shape (K,)
        Their sds; for printed figures half the last digit. [as the assays]

    Returns
    -------
    tuple of StatedRecovery
        One a component, in the order given. [-]

    Raises
    ------
    InputError
        Fewer than three components (two that differ do not say which is wrong), or an assay or
        sd that is not above 0.

    References
    ----------
    simav_chapter as the case; weighted median from memory.
    """
    f, p, r, f_sd, p_sd = (
        np.asarray(v, dtype=float) for v in (feed, product, recovery, feed_sd, product_sd)
    )
    if len(components) < 3:
        msg = "at least three components are needed to say which one does not fit"
        raise InputError(msg)
    if not all(np.all(v > 0.0) for v in (f, p, f_sd, p_sd)):
        msg = "assays and their sds must be above 0"
        raise InputError(msg)
    yields = np.asarray(implied_yield(f, p, r))
    sd = yields * np.hypot(f_sd / f, p_sd / p)
    order = np.argsort(yields)
    heard = np.cumsum(1.0 / sd[order])
    middle = order[int(np.searchsorted(heard, 0.5 * heard[-1]))]
    common = float(yields[middle])
    z = (yields - common) / np.hypot(sd, np.where(np.arange(sd.size) == middle, 0.0, sd[middle]))
    needed = r * f / common
    return tuple(
        StatedRecovery(name, float(y), float(off), bool(abs(off) <= 2.0), float(n))
        for name, y, off, n in zip(components, yields, z, needed, strict=True)
    )
