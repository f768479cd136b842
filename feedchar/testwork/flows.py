"""Least-squares reconciliation of flows over a network, with the tests that go with it.

Measured flows never close. The answer is the nearest set of flows that does, each adjustment
weighed by how well its flow is known; how far they had to move says whether to believe them.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import chdtrc, ndtr

from feedchar.errors import InputError

Array = NDArray[np.float64]

RANK_TOLERANCE = 1e-12
"""Singular values below this share of the largest count as zero. [-]"""


@dataclass(frozen=True)
class FlowCheck:
    """What the imbalance of a network says about its measurements."""

    chi_square: float
    """Weighted sum of squared adjustments. [-]"""
    degrees_of_freedom: int
    """Independent balances among measured flows. [-]"""
    p_value: float
    """Chance of so large an imbalance when every sd is right. [-]"""
    standardised_adjustment: Array
    """(n,) (measured - reconciled)/its own sd; NaN where no balance tests the flow. [-]"""
    to_doubt: tuple[int, ...]
    """Flows with the largest |adjustment|; more than one when no balance tells them apart."""
    doubt_p_value: float
    """Chance that the largest of so many adjustments is so large when nothing is wrong. [-]"""


def reconcile_flows(measured: ArrayLike, sd: ArrayLike, incidence: ArrayLike) -> Array:
    """Flows nearest to the measured ones that close at every node.

    Parameters
    ----------
    measured : array_like, shape (..., n)
        Measured flows; leading axes are independent data sets. Any number where sd is infinite,
        NaN included. [any flow unit]
    sd : array_like, shape (n,)
        Standard deviations; 0 keeps a flow as measured, infinity marks an unmeasured flow. [same]
    incidence : array_like, shape (nodes, n)
        +1 where a flow enters a node, -1 where it leaves it, 0 elsewhere. [-]

    Returns
    -------
    array, shape (..., n)
        Reconciled flows; the incidence times them is zero to rounding. [as measured]

    Raises
    ------
    InputError
        Shapes that do not agree, an incidence of other numbers, a negative sd, a measured flow
        that is no number, unmeasured flows that no balance fixes, or flows of sd 0 that do not
        close among themselves.

    References
    ----------
    narasimhan_2000, linear steady-state reconciliation; unmeasured flows by projection.

    Examples
    --------
    >>> reconcile_flows([10.0, 6.0, 5.0], [1.0, 1.0, 1.0], [[1, -1, -1]]).round(6).tolist()
    [10.333333, 5.666667, 4.666667]
    """
    x, s, a = _checked(measured, sd, incidence)
    known = np.isfinite(s)
    free_of_unknown = _projection(a, known)
    balance = free_of_unknown @ a[:, known]
    flows = x[..., known]
    scale = max(float(np.abs(flows).max(initial=0.0)), np.finfo(float).tiny)
    weighted = balance * s[known]
    inverse = _pseudo_inverse(weighted)
    for _ in range(3):  # the second and third pass only remove the rounding of the first
        flows = flows - s[known] * ((flows @ balance.T) @ inverse.T)
    if np.abs(flows @ balance.T).max(initial=0.0) > 1e-9 * scale:
        problem = "the flows given with an sd of 0 do not close among themselves"
        raise InputError(problem, remedy="Give at least one flow of each balance an sd above 0.")
    result = np.empty(x.shape)
    result[..., known] = flows
    if not known.all():
        result[..., ~known] = -(flows @ a[:, known].T) @ np.linalg.pinv(a[:, ~known]).T
    return result


def check_flows(measured: ArrayLike, sd: ArrayLike, incidence: ArrayLike) -> FlowCheck:
    """Global chi-square test of a network, and the measurement to doubt.

    Parameters
    ----------
    measured : array_like, shape (n,)
        Measured flows. [any flow unit]
    sd : array_like, shape (n,)
        Standard deviations; 0 and infinity as in `reconcile_flows`. [same]
    incidence : array_like, shape (nodes, n)
        +1 in, -1 out, a row a node. [-]

    Returns
    -------
    FlowCheck
        The global test, the adjustments in sd, and the flow to doubt. [-]

    Raises
    ------
    InputError
        As `reconcile_flows`; or a network without any balance of measured flows.

    References
    ----------
    narasimhan_2000, global test and measurement test; the level of the largest of many by Sidak.
    """
    reconciled = reconcile_flows(measured, sd, incidence)
    x, s, a = _checked(measured, sd, incidence)
    if x.ndim != 1:
        msg = f"a check takes one set of flows, found shape {x.shape}"
        raise InputError(msg)
    known = np.isfinite(s)
    weighted = (_projection(a, known) @ a[:, known]) * s[known]
    hat = _pseudo_inverse(weighted) @ weighted  # whitened covariance of the adjustments
    degrees = round(float(np.trace(hat)))
    if degrees == 0:
        problem = "no balance connects measured flows, so there is nothing to check"
        raise InputError(problem, remedy="Measure one flow more, or give it an sd above 0.")
    tested = np.zeros(x.size, dtype=bool)
    tested[known] = np.diag(hat) > 1e-9
    own_sd = np.full(x.size, np.nan)
    own_sd[known] = s[known] * np.sqrt(np.clip(np.diag(hat), 0.0, None))
    z = np.full(x.size, np.nan)
    z[tested] = (x - reconciled)[tested] / own_sd[tested]
    whitened = (x - reconciled)[tested] / s[tested]
    chi_square = float(whitened @ whitened)
    largest = float(np.nanmax(np.abs(z)))
    to_doubt = tuple(int(i) for i in np.flatnonzero(np.abs(z) > largest * (1.0 - 1e-6)))
    return FlowCheck(
        chi_square,
        degrees,
        float(chdtrc(degrees, chi_square)),
        z,
        to_doubt,
        chance_of_largest(int(tested.sum()), largest),
    )


def chance_of_largest(count: int, largest: float) -> float:
    """Chance that the largest of several adjustments is so large when nothing is wrong.

    Parameters
    ----------
    count : int
        Adjustments that are tested. [-]
    largest : float
        Largest of them without its sign, in its own sd. [-]

    Returns
    -------
    float
        1 - (1 - p)^count with p the two-sided normal tail; on the safe side, since adjustments of
        one network depend on each other. [-]

    References
    ----------
    narasimhan_2000, measurement test; Sidak 1967, from memory.
    """
    tail = 2.0 * float(ndtr(-largest))
    return 1.0 if tail >= 1.0 else -float(np.expm1(count * np.log1p(-tail)))


def _projection(a: Array, known: NDArray[np.bool_]) -> Array:
    """Combinations of the balances in which no unmeasured flow is left."""
    unknown = a[:, ~known]
    if unknown.shape[1] == 0:
        return np.eye(a.shape[0])
    left, singular, _ = np.linalg.svd(unknown, full_matrices=True)
    rank = int((singular > RANK_TOLERANCE * max(singular[0], 1.0)).sum())
    if rank < unknown.shape[1]:
        problem = "the unmeasured flows are not fixed by the balances"
        raise InputError(problem, remedy="Measure at least one of them.")
    return left[:, rank:].T


def _pseudo_inverse(weighted: Array) -> Array:
    """Pseudo-inverse after scaling the rows, so that poorly known nodes do not hide the others."""
    size = np.linalg.norm(weighted, axis=1)
    row_scale = np.where(size > 0.0, size, 1.0)
    return np.linalg.pinv(weighted / row_scale[:, None], rcond=RANK_TOLERANCE) / row_scale


def _checked(
    measured: ArrayLike, sd: ArrayLike, incidence: ArrayLike
) -> tuple[Array, Array, Array]:
    x = np.asarray(measured, dtype=float)
    s = np.asarray(sd, dtype=float)
    a = np.asarray(incidence, dtype=float)
    if a.ndim != 2 or x.ndim == 0 or x.shape[-1] != a.shape[1]:
        problem = f"{x.shape[-1:]} flows do not match an incidence of shape {a.shape}"
        raise InputError(problem, remedy="Give a row a node and a column a flow.")
    s = np.broadcast_to(s, (a.shape[1],)) if s.ndim == 0 else s
    if s.shape != (a.shape[1],) or np.isnan(s).any() or (s < 0.0).any():
        problem = "each flow needs one standard deviation of 0 or more"
        raise InputError(problem, remedy="Infinity marks a flow that was not measured.")
    if not np.isin(a, (-1.0, 0.0, 1.0)).all():
        msg = "an incidence holds +1 (in), -1 (out) and 0 only"
        raise InputError(msg)
    if not np.isfinite(x[..., np.isfinite(s)]).all():
        problem = "a flow with a finite sd is not a number"
        raise InputError(problem, remedy="Give it an infinite sd if it was not measured.")
    return x, s, a
