"""Product balances of two products from assays, and how well they are known.

Assays may be in any one unit (wt %, ppm, fractions); yields and recoveries are fractions.
A single case that cannot be is refused. Arrays are draws or tables: their impossible elements come
back as they are (a yield of 1.2 stays 1.2, an undefined one is NaN), for nothing must be hidden.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from feedchar.errors import InputError

Array = NDArray[np.float64]


def two_product(
    feed: ArrayLike, concentrate: ArrayLike, tailing: ArrayLike
) -> tuple[float | Array, float | Array]:
    r"""Yield and recovery of a separation into two products, from three assays.

    .. math:: Y = \frac{f - t}{c - t}, \qquad R = \frac{c}{f} Y

    For a cleaning duty give the non-magnetic as `concentrate` and the magnetic as `tailing`.

    Parameters
    ----------
    feed : float or array
        Assay of the feed. [any one unit]
    concentrate : float or array
        Assay of the product whose yield is wanted. [as feed]
    tailing : float or array
        Assay of the other product. [as feed]

    Returns
    -------
    yield_fraction : float or array
        Mass of the product over mass of the feed; not clipped. [-]
    recovery : float or array
        Share of the assayed component that is in the product; not clipped. [-]

    Raises
    ------
    InputError
        A single case (three numbers) with a negative or missing assay, a feed of zero, equal
        products, or a feed that lies outside its products. Arrays are never refused for their
        values: an undefined element is NaN.

    References
    ----------
    wills_2006, metallurgical accounting.

    Examples
    --------
    >>> yield_fraction, recovery = two_product(1.0, 10.0, 0.2)
    >>> round(yield_fraction, 5), round(recovery, 4)
    (0.08163, 0.8163)
    """
    f, c, t = (np.asarray(assay, dtype=float) for assay in (feed, concentrate, tailing))
    single = f.ndim == c.ndim == t.ndim == 0
    if single:
        _refuse_impossible_pair(float(f), float(c), float(t))
    with np.errstate(divide="ignore", invalid="ignore"):
        span = c - t
        yield_fraction = np.where(span == 0.0, np.nan, (f - t) / span)
        recovery = np.where(f == 0.0, np.nan, yield_fraction * c / f)
    if single:
        return float(yield_fraction), float(recovery)
    return yield_fraction, recovery


def two_product_sd(
    feed: ArrayLike,
    concentrate: ArrayLike,
    tailing: ArrayLike,
    feed_sd: ArrayLike,
    concentrate_sd: ArrayLike,
    tailing_sd: ArrayLike,
) -> tuple[float | Array, float | Array]:
    """Standard deviations of the two-product yield and recovery, to first order.

    Parameters
    ----------
    feed, concentrate, tailing : float or array
        Assays, as in `two_product`. [any one unit]
    feed_sd, concentrate_sd, tailing_sd : float or array
        Standard deviation of each assay, independent of each other. [as feed]

    Returns
    -------
    yield_sd : float or array
        Of the yield fraction. [-]
    recovery_sd : float or array
        Of the recovery fraction. [-]

    Raises
    ------
    InputError
        As `two_product`, for a single case.

    References
    ----------
    wills_2006, metallurgical accounting (the partial derivatives of the recovery).
    """
    yield_fraction, _ = two_product(feed, concentrate, tailing)
    f, c, t = (np.asarray(assay, dtype=float) for assay in (feed, concentrate, tailing))
    sds = [np.asarray(sd, dtype=float) for sd in (feed_sd, concentrate_sd, tailing_sd)]
    with np.errstate(divide="ignore", invalid="ignore"):
        span = np.where(c == t, np.nan, c - t)
        by_yield = (1.0 / span, -yield_fraction / span, -(1.0 - yield_fraction) / span)
        by_recovery = (
            c * t / (f**2 * span),
            -t * (f - t) / (f * span**2),
            -c * (c - f) / (f * span**2),
        )
        yield_sd = np.sqrt(sum((d * s) ** 2 for d, s in zip(by_yield, sds, strict=True)))
        recovery_sd = np.sqrt(sum((d * s) ** 2 for d, s in zip(by_recovery, sds, strict=True)))
    if np.ndim(yield_sd) == 0:
        return float(yield_sd), float(recovery_sd)
    return yield_sd, recovery_sd


def _refuse_impossible_pair(f: float, c: float, t: float) -> None:
    for name, assay in (("feed", f), ("concentrate", c), ("tailing", t)):
        if not np.isfinite(assay) or assay < 0.0:
            problem = f"the {name} assay must be a number of 0 or more, found {assay:g}"
            raise InputError(problem, remedy="Give the three assays of one component in one unit.")
    if f == 0.0:
        problem = "the feed assay is 0, so a recovery has no meaning"
        raise InputError(problem, remedy="Use a component that the feed contains.")
    if c == t:
        problem = f"both products assay {c:g}, so the assays say nothing about the yield"
        raise InputError(problem, remedy="Weigh the products, or use another component.")
    if not min(c, t) <= f <= max(c, t):
        problem = (
            f"the feed ({f:g}) lies outside its two products ({c:g} and {t:g}): "
            f"the yield would be {(f - t) / (c - t):.4g}"
        )
        raise InputError(
            problem, remedy="One assay or one label is wrong, or a product is missing."
        )
