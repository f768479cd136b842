"""Size classes of the bag, and how each phase is spread over them."""

from __future__ import annotations

from math import log

import numpy as np
from scipy.special import ndtr

from feedchar.chemistry.mineralogy import Array
from feedchar.sample.records import Sample

DEFAULT_D50_UM, DEFAULT_LN_SD = 200.0, 0.5
"""Log-normal taken when no sieves are given (guess)."""
DEFAULT_SIEVES_UM = (500.0, 355.0, 250.0, 180.0, 125.0, 90.0, 63.0, 45.0)
"""R20/3 sieves, 45 to 500 um."""


def log_normal_classes(d50_um: float, ln_sd: float, sieves_um: Array) -> Array:
    """Share of mass between sieves of a log-normal size distribution.

    Parameters
    ----------
    d50_um : float
        Size that half the mass passes. [um]
    ln_sd : float
        Standard deviation of ln size. [-]
    sieves_um : array, shape (S + 1,)
        Apertures from coarse to fine. [um]

    Returns
    -------
    array, shape (S,)
        Shares, the tails left out, summing to 1. [-]

    References
    ----------
    Log-normal passing, Phi(ln(d/d50)/ln-sd): textbook.
    """
    passing = ndtr(np.log(np.asarray(sieves_um) / d50_um) / ln_sd)
    share = passing[:-1] - passing[1:]
    return np.asarray(share / share.sum())


def size_classes(sample: Sample) -> tuple[Array, Array, Array]:
    """Size classes of the bag from coarse to fine.

    Parameters
    ----------
    sample : Sample
        What was measured. [-]

    Returns
    -------
    tuple of array
        Passing and retained size, each shape (S,) [um], and share of the mass, shape (S,),
        summing to 1 [-]. Without sieves, or with a single class, a log-normal of d50 200 um and
        ln-sd 0.5 on R20/3 sieves, held inside the class.

    References
    ----------
    The default is a guess; R20/3 from iso_565.
    """
    rows = sorted(sample.sieves, key=lambda row: (-row.passing_um, -row.retained_um))
    rows = [row for row in rows if row.mass_pct > 0]
    if rows:
        passing = np.array([row.passing_um for row in rows])
        retained = np.array([row.retained_um for row in rows])
        share = np.array([row.mass_pct for row in rows])
        return passing, retained, share / share.sum()
    sieves = np.array(DEFAULT_SIEVES_UM)
    share = log_normal_classes(DEFAULT_D50_UM, DEFAULT_LN_SD, sieves)
    return sieves[:-1], sieves[1:], share


def class_index(passing_um: Array, retained_um: Array, passing: float, retained: float) -> Array:
    """Which classes lie inside a coarser class.

    Parameters
    ----------
    passing_um, retained_um : array, shape (S,)
        Classes of the bag. [um]
    passing, retained : float
        The coarser class. [um]

    Returns
    -------
    array, shape (S,)
        True for classes inside it. [-]
    """
    slack = 1e-4
    return (passing_um <= passing * (1 + slack)) & (retained_um >= retained * (1 - slack))


def ln_distance(a_um: float, b_um: float) -> float:
    """Distance of two sizes in ln.

    Parameters
    ----------
    a_um, b_um : float
        Sizes above zero. [um]

    Returns
    -------
    float
        Absolute difference of their logarithms. [-]
    """
    return abs(log(a_um / b_um))
