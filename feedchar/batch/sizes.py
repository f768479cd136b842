"""Sizes of a table: one set of sieves for all rows, a log-normal for each row."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from feedchar.batch.rows import D90_SCORE
from feedchar.chemistry.sizes import (
    DEFAULT_D50_UM,
    DEFAULT_LN_SD,
    DEFAULT_SIEVES_UM,
    log_normal_classes,
)
from feedchar.particles.classes import SizeClasses

Array = NDArray[np.float64]

COARSER_SIEVES_UM = (4000.0, 2800.0, 2000.0, 1400.0, 1000.0, 710.0)
LN_D50_STEP, LN_SD_STEP = 0.02, 0.02
"""Medians and spreads are rounded to these, so that rows of like size share their work."""

SizeKey = tuple[int, int] | None
"""Rounded ln d50 and ln-sd; None for a row that gives no size."""


def table_sizes(has_sizes: bool) -> SizeClasses:
    """Size classes that all rows of a table share.

    Parameters
    ----------
    has_sizes : bool
        True when the table has a column of sizes. [-]

    Returns
    -------
    SizeClasses
        R20/3 sieves. [um]

    References
    ----------
    iso_565.
    """
    sieves = np.array((*(COARSER_SIEVES_UM if has_sizes else ()), *DEFAULT_SIEVES_UM))
    return SizeClasses(sieves[:-1], sieves[1:])


def size_key(d50_um: float, d90_um: float) -> SizeKey:
    """Rounded size of a row.

    Parameters
    ----------
    d50_um, d90_um : float
        Sizes that half and nine tenths of the mass pass, NaN where not given. [um]

    Returns
    -------
    tuple of int or None
        None without a median. [-]
    """
    if not np.isfinite(d50_um):
        return None
    ln_sd = np.log(d90_um / d50_um) / D90_SCORE if np.isfinite(d90_um) else DEFAULT_LN_SD
    return round(float(np.log(d50_um)) / LN_D50_STEP), max(round(float(ln_sd) / LN_SD_STEP), 1)


def size_shares(key: SizeKey, sizes: SizeClasses) -> Array:
    """Share of the mass in every class.

    Parameters
    ----------
    key : tuple of int or None
        From `size_key`. [-]
    sizes : SizeClasses
        Classes of the table, S of them. [um]

    Returns
    -------
    array, shape (S,)
        Sums to 1; the default of a bag without sieves where nothing was given. [-]

    References
    ----------
    Log-normal, the tails beyond the sieves left out; the default is a guess.
    """
    sieves = np.append(sizes.passing_um, sizes.retained_um[-1])
    if key is not None:
        d50, ln_sd = np.exp(key[0] * LN_D50_STEP), key[1] * LN_SD_STEP
        return log_normal_classes(float(d50), float(ln_sd), sieves)
    default = np.array(DEFAULT_SIEVES_UM)
    out = np.zeros(len(sizes))
    share = log_normal_classes(DEFAULT_D50_UM, DEFAULT_LN_SD, default)
    out[len(out) - len(share) :] = share
    return out
