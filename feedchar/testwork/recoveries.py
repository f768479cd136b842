"""Figures of one separation from its assays: efficiency, iron removed, yield and reject implied."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from feedchar.errors import InputError

Array = NDArray[np.float64]


def separation_efficiency(
    feed: ArrayLike, concentrate: ArrayLike, mineral: ArrayLike, recovery: ArrayLike
) -> float | Array:
    """Recovery of the mineral less recovery of everything else, in one product.

    For a cleaning duty the product is the magnetics: iron minerals caught less pale grains lost.

    Parameters
    ----------
    feed, concentrate : float or array
        Assay of feed and of the product. [any one unit]
    mineral : float or array
        Assay of the pure mineral that carries the component. [as feed]
    recovery : float or array
        Share of the component in the product. [-]

    Returns
    -------
    float or array
        Separation efficiency, 1 for a perfect split, 0 for a mere splitting of mass. [-]

    Raises
    ------
    InputError
        A feed or product as rich as the pure mineral or richer, or a product of zero assay.

    References
    ----------
    schulz_1970.

    Examples
    --------
    >>> round(separation_efficiency(1.0, 21.0, 78.6, 0.78), 3)
    0.752
    """
    f, c, m, share = (np.asarray(v, dtype=float) for v in (feed, concentrate, mineral, recovery))
    if np.any(f >= m) or np.any(c > m) or np.any(c <= 0.0):
        message = "separation efficiency needs a feed poorer than the pure mineral, and a product"
        msg = f"{message} above zero and not richer than it"
        raise InputError(
            msg,
            remedy="Check that all assays are of the same component in the same unit.",
        )
    gangue_recovery = share * f * (m - c) / (c * (m - f))
    efficiency = share - gangue_recovery
    return float(efficiency) if np.ndim(efficiency) == 0 else efficiency


def iron_removal(feed: ArrayLike, product: ArrayLike, product_yield: ArrayLike) -> float | Array:
    """Share of the feed's iron (or any other component) that is not in the product.

    Parameters
    ----------
    feed, product : float or array
        Assay of feed and product. [any one unit]
    product_yield : float or array
        Mass of product over mass of feed. [-]

    Returns
    -------
    float or array
        1 - Y p / f. [-]

    References
    ----------
    wills_2006, metallurgical accounting; the algebra of the two-product formula.
    """
    removed = 1.0 - np.asarray(product_yield, dtype=float) * np.divide(product, feed)
    return float(removed) if np.ndim(removed) == 0 else removed


def implied_yield(feed: ArrayLike, product: ArrayLike, recovery: ArrayLike) -> float | Array:
    """Yield that a stated recovery implies, R f / p.

    Parameters
    ----------
    feed, product : float or array
        Assay of feed and product. [any one unit]
    recovery : float or array
        Share of the component in the product. [-]

    Returns
    -------
    float or array
        Mass of product over mass of feed. [-]

    References
    ----------
    wills_2006, metallurgical accounting; the algebra of the two-product formula.
    """
    result = np.asarray(recovery, dtype=float) * np.divide(feed, product)
    return float(result) if np.ndim(result) == 0 else result


def reject_assay(feed: ArrayLike, product: ArrayLike, product_yield: ArrayLike) -> float | Array:
    """Assay that the reject must have for the balance to close, (f - Y p) / (1 - Y).

    Parameters
    ----------
    feed, product : float or array
        Assay of feed and product. [any one unit]
    product_yield : float or array
        Mass of product over mass of feed; NaN comes back where it is 1. [-]

    Returns
    -------
    float or array
        Assay of the rest. [as feed]

    References
    ----------
    wills_2006, metallurgical accounting; the algebra of the two-product formula.
    """
    y = np.asarray(product_yield, dtype=float)
    rest = np.where(y == 1.0, np.nan, 1.0 - y)
    result = (np.asarray(feed, dtype=float) - y * np.asarray(product, dtype=float)) / rest
    return float(result) if np.ndim(result) == 0 else result
