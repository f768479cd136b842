"""How well trials agree with what was measured.

Shares of weight are compared as logarithms of their odds, assays as logarithms; for a small share
the two are the same. Beside its own error every figure carries a stated discrepancy: no model of a
machine is exact, and without it a few tests would be believed too much.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]
Index = NDArray[np.intp]

DISCREPANCY_LN = 0.15
"""Difference between the model and a machine that no parameter explains, as ln-sd (guess). [-]"""
TAILS = 4.0
"""Degrees of freedom of the errors of tests: a swapped label must not outweigh the rest (guess)."""
LEAST_SHARE = 1e-6
"""Shares and assays below this count as this, so that a logarithm exists. [-]"""
SHARE, ASSAY = "share", "assay"


@dataclass(frozen=True)
class Observed:
    """Measured figures on the scale on which they are compared, Q of them."""

    name: tuple[str, ...]
    """Each once, such as `speed 1/1M/share`."""
    value: Array
    """(Q,) logarithm of the odds, or of the assay. [-]"""
    sd: Array
    """(Q,) error of measuring, on that scale. [-]"""
    discrepancy: Array
    """(Q,) stated discrepancy of the model, as ln-sd. [-]"""
    tails: float | None = None
    """Degrees of freedom of Student's distribution, None for normal errors. [-]"""

    @property
    def total_sd(self) -> Array:
        """Both errors together. (Q,) [-]"""
        return np.sqrt(self.sd**2 + self.discrepancy**2)


def compared(value: ArrayLike, kind: str) -> Array:
    """A share or an assay on the scale on which it is compared.

    Parameters
    ----------
    value : array_like
        Share of the mass fed, 0 to 1, or an assay. [-]
    kind : str
        share | assay. [-]

    Returns
    -------
    array
        Logarithm of the odds, or of the assay. [-]

    References
    ----------
    Definition of the odds.
    """
    given = np.maximum(np.asarray(value, dtype=float), LEAST_SHARE)
    if kind == ASSAY:
        return np.log(given)
    kept = np.minimum(given, 1.0 - LEAST_SHARE)
    return np.log(kept) - np.log1p(-kept)


def compared_sd(value: ArrayLike, sd: ArrayLike, kind: str) -> Array:
    """Error of a share or an assay on the scale on which it is compared.

    Parameters
    ----------
    value : array_like
        Share of the mass fed, 0 to 1, or an assay. [-]
    sd : array_like
        Its standard deviation. [as value]
    kind : str
        share | assay. [-]

    Returns
    -------
    array
        Standard deviation. [-]

    References
    ----------
    First-order propagation (derived).
    """
    given = np.maximum(np.asarray(value, dtype=float), LEAST_SHARE)
    error = np.asarray(sd, dtype=float)
    if kind == ASSAY:
        return error / given
    return error / (given * np.maximum(1.0 - given, LEAST_SHARE))


def ln_likelihood(observed: Observed, predicted: Array) -> Array:
    """Logarithm of the likelihood of every trial, less a constant.

    Parameters
    ----------
    observed : Observed
        Q figures. [-]
    predicted : array, shape (Q, N)
        What each trial says of them, on the same scale; NaN is impossible. [-]

    Returns
    -------
    array, shape (N,)
        Logarithm of the likelihood. [-]

    References
    ----------
    Normal or Student's distribution, closed form; the discrepancy is a guess.
    """
    away = (predicted - observed.value[:, None]) / observed.total_sd[:, None]
    if observed.tails is None:
        found = -0.5 * np.sum(away**2, axis=0)
    else:
        each = np.log1p(away**2 / observed.tails)
        found = -0.5 * (observed.tails + 1.0) * np.sum(each, axis=0)
    return np.where(np.isfinite(found), found, -np.inf)


def sorted_observed(
    rows: Sequence[tuple[str, float, float, float]], tails: float | None = None
) -> Observed:
    """Figures in an order that does not depend on that of the rows.

    Parameters
    ----------
    rows : sequence of (str, float, float, float)
        Name, value, error and stated discrepancy, on the scale on which they are compared. [-]
    tails : float or None
        Degrees of freedom of Student's distribution; None: normal errors. [-]

    Returns
    -------
    Observed
        Sorted by name. [-]

    References
    ----------
    common practice, no source
    """
    ordered = sorted(rows)
    value, sd, discrepancy = np.array([row[1:] for row in ordered], dtype=float).reshape(-1, 3).T
    return Observed(tuple(row[0] for row in ordered), value, sd, discrepancy, tails)
