"""Three products from the assays of two components: magnetics, middlings, non-magnetics.

The formula stands or falls with two components that do not ride on one mineral; the condition
number of the balance says whether they do.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from feedchar.errors import InputError

Array = NDArray[np.float64]

LARGEST_CONDITION = 1e3
"""Above this, rounding of the assays alone decides the answer; a guess, no source. [-]"""


def three_product(
    feed: ArrayLike, product_1: ArrayLike, product_2: ArrayLike, tailing: ArrayLike
) -> Array:
    """Mass fractions of three products, from two components assayed in all four streams.

    Solves w1 + w2 + wt = 1 and, for each component, w1 a1 + w2 a2 + wt at = af.

    Parameters
    ----------
    feed, product_1, product_2, tailing : array_like, shape (..., 2)
        Assays of the two components; each component may have its own unit. [any]

    Returns
    -------
    array, shape (..., 3)
        Mass fractions of product 1, product 2 and tailing, summing to 1; not clipped. [-]

    Raises
    ------
    InputError
        A single case (four pairs) that is singular, has a negative or missing assay, or needs a
        negative mass. In arrays of cases the singular ones are NaN and no value is refused.
        Anything but pairs is always refused.

    References
    ----------
    wills_2006, metallurgical accounting.

    Examples
    --------
    >>> w = three_product([3.0, 6.0], [50, 8], [2, 55], [0.2, 0.5])
    >>> [round(float(share), 6) for share in w]
    [0.05284, 0.093646, 0.853514]
    """
    streams = _pairs(feed, product_1, product_2, tailing)
    single = streams[0].ndim == 1
    if single:
        _refuse_impossible_assays(streams)
    condition = three_product_condition(product_1, product_2, tailing)
    if single and condition > LARGEST_CONDITION:
        problem = (
            "the three products do not differ in two independent components "
            f"(condition number {float(condition):.3g}, at most {LARGEST_CONDITION:g})"
        )
        raise InputError(
            problem, remedy="Choose a second component that rides on another mineral, or weigh."
        )
    f, a1, a2, at = streams
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        d1, d2, df = a1 - at, a2 - at, f - at
        determinant = d1[..., 0] * d2[..., 1] - d1[..., 1] * d2[..., 0]
        w1 = (df[..., 0] * d2[..., 1] - df[..., 1] * d2[..., 0]) / determinant
        w2 = (d1[..., 0] * df[..., 1] - d1[..., 1] * df[..., 0]) / determinant
        shares = np.stack([w1, w2, 1.0 - w1 - w2], axis=-1)
        shares = np.where((condition > LARGEST_CONDITION)[..., None], np.nan, shares)
    if single and shares.min() < -1e-12:
        problem = (
            "these assays need a negative mass: the shares would be "
            f"{shares[0]:.4g}, {shares[1]:.4g} and {shares[2]:.4g}"
        )
        raise InputError(problem, remedy="One assay or label is wrong, or a product is missing.")
    return shares


def three_product_condition(
    product_1: ArrayLike, product_2: ArrayLike, tailing: ArrayLike
) -> Array:
    """Condition number of the three-product balance, free of the units of the components.

    Each component is scaled by its own largest difference between a product and the tailing.
    Relative errors of the assays come back in the masses multiplied by up to this number.

    Parameters
    ----------
    product_1, product_2, tailing : array_like, shape (..., 2)
        Assays of the two components. [any]

    Returns
    -------
    array, shape (...)
        Condition number, 1 at best, infinite for components that ride on one mineral. [-]

    Raises
    ------
    InputError
        Anything but pairs.

    References
    ----------
    wills_2006, metallurgical accounting; condition number in the spectral norm, derived here.
    """
    a1, a2, at = _pairs(product_1, product_2, tailing)
    difference = np.stack([a1 - at, a2 - at], axis=-1)  # (..., component, product)
    largest = np.abs(difference).max(axis=-1, keepdims=True)
    scaled = difference / np.where(largest > 0.0, largest, 1.0)
    finite = np.asarray(np.isfinite(scaled).all(axis=(-2, -1)))
    singular = np.asarray(np.linalg.svdvals(np.where(finite[..., None, None], scaled, 0.0)))
    smallest = np.where(singular[..., 1] > 0.0, singular[..., 1], np.nan)
    return np.nan_to_num(singular[..., 0] / smallest, nan=np.inf)


def three_product_sd(
    feed: ArrayLike,
    product_1: ArrayLike,
    product_2: ArrayLike,
    tailing: ArrayLike,
    feed_sd: ArrayLike,
    product_1_sd: ArrayLike,
    product_2_sd: ArrayLike,
    tailing_sd: ArrayLike,
) -> Array:
    """Standard deviations of the three mass fractions, to first order.

    Parameters
    ----------
    feed, product_1, product_2, tailing : array_like, shape (..., 2)
        Assays of the two components. [any]
    feed_sd, product_1_sd, product_2_sd, tailing_sd : array_like, shape (..., 2)
        Standard deviation of each assay, independent of each other. [as the assays]

    Returns
    -------
    array, shape (..., 3)
        Of the mass fractions of product 1, product 2 and tailing. [-]

    Raises
    ------
    InputError
        As `three_product`, for a single case.

    References
    ----------
    Derived here: M w = f gives dw = M^-1 (df - dM w).
    """
    shares = three_product(feed, product_1, product_2, tailing)
    f_sd, *product_sds = _pairs(feed_sd, product_1_sd, product_2_sd, tailing_sd)
    _, a1, a2, at = _pairs(feed, product_1, product_2, tailing)
    variance = f_sd**2 + sum(
        shares[..., j, None] ** 2 * sd**2 for j, sd in enumerate(product_sds)
    )  # of each component's imbalance, (..., 2)
    d1, d2 = a1 - at, a2 - at
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        determinant = d1[..., 0] * d2[..., 1] - d1[..., 1] * d2[..., 0]
        by_1 = np.stack([d2[..., 1], -d2[..., 0]], axis=-1) / determinant[..., None]
        by_2 = np.stack([-d1[..., 1], d1[..., 0]], axis=-1) / determinant[..., None]
        by = np.stack([by_1, by_2, -by_1 - by_2], axis=-2)  # (..., product, component)
        sd = np.sqrt((by**2 * variance[..., None, :]).sum(axis=-1))
    return np.where(np.isnan(shares), np.nan, sd)


def _pairs(*streams: ArrayLike) -> list[Array]:
    arrays = [np.asarray(stream, dtype=float) for stream in streams]
    for array in arrays:
        if array.ndim == 0 or array.shape[-1] != 2:
            problem = f"the three-product formula takes pairs of assays, found shape {array.shape}"
            raise InputError(problem, remedy="Give two components for each stream.")
    return list(np.broadcast_arrays(*arrays))


def _refuse_impossible_assays(streams: list[Array]) -> None:
    for name, pair in zip(("feed", "product 1", "product 2", "tailing"), streams, strict=True):
        bad = ~(np.isfinite(pair) & (pair >= 0.0))
        if bad.any():
            problem = f"the {name} assays must be numbers of 0 or more, found {pair[bad][0]:g}"
            raise InputError(problem, remedy="Give both components for all four streams.")
