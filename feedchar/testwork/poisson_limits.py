"""How many grains there may be where some, or none, were counted.

A handful of dark grains follows Poisson, not the normal law: a sample with none found still allows
three.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import gammaincinv

from feedchar.errors import InputError
from feedchar.field.checked import number

Array = NDArray[np.float64]


def poisson_upper_limit(found: ArrayLike, confidence: float = 0.95) -> float | Array:
    """Largest expected number of grains that a count still allows.

    Parameters
    ----------
    found : float or array
        Grains found, 0 or more. [-]
    confidence : float
        One-sided confidence. [-]

    Returns
    -------
    float or array
        Upper limit of the expectation; 3.0 when none was found, at 95 %. [-]

    Raises
    ------
    InputError
        A negative count, or a confidence that is not between 0 and 1.

    References
    ----------
    Exact Poisson limit through the gamma distribution, from memory.

    Examples
    --------
    >>> round(poisson_upper_limit(0), 2)
    3.0
    """
    count = _count(found, confidence)
    return number(gammaincinv(count + 1.0, confidence))


def poisson_lower_limit(found: ArrayLike, confidence: float = 0.95) -> float | Array:
    """Smallest expected number of grains that a count still allows.

    Parameters
    ----------
    found : float or array
        Grains found, 0 or more. [-]
    confidence : float
        One-sided confidence. [-]

    Returns
    -------
    float or array
        Lower limit of the expectation, 0 when none was found. [-]

    Raises
    ------
    InputError
        A negative count, or a confidence that is not between 0 and 1.

    References
    ----------
    Exact Poisson limit through the gamma distribution, from memory.
    """
    count = _count(found, confidence)
    limit = gammaincinv(np.where(count > 0.0, count, 1.0), 1.0 - confidence)
    return number(np.where(count > 0.0, limit, 0.0))


def _count(found: ArrayLike, confidence: float) -> Array:
    count = np.asarray(found, dtype=float)
    if not np.all(np.isfinite(count) & (count >= 0.0)):
        msg = "a count of grains must be 0 or more"
        raise InputError(msg)
    if not 0.0 < confidence < 1.0:
        msg = f"a confidence lies between 0 and 1, found {confidence:g}"
        raise InputError(msg)
    return count
