"""Checks one can do with a pencil: mass lost in a split, yields that disagree, laboratories too.

Each check gives a note with the figure that tripped it, or nothing.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from feedchar.chemistry.sanity_of_assay import laboratory_ratio
from feedchar.chemistry.sanity_of_tests import mass_lost
from feedchar.chemistry.severity import severity_of
from feedchar.errors import InputError
from feedchar.sample.records import Note

Array = NDArray[np.float64]


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
