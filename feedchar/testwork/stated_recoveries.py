"""Recoveries that a report states, held against its own weights and assays."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from feedchar.errors import InputError
from feedchar.testwork.recoveries import implied_yield


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
