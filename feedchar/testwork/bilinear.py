"""Reconciliation of masses and assays together over a tree of bags.

Mass times assay makes the balance bilinear. Written in the masses and the oxide contents of the
leaves every balance closes by itself, at each step and at the end; what is left is a weighted
least-squares fit of the measured masses and assays, linearised again until it stands still.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import chdtrc

from feedchar.errors import InputError
from feedchar.testwork.bags import Bags, leaf_basis
from feedchar.testwork.bilinear_fit import fit_bags, gradient, seen
from feedchar.testwork.flows import chance_of_largest

Array = NDArray[np.float64]

RANK_TOLERANCE = 1e-9
FIXED = 1e-6
"""A quantity whose direction leaves the measured space by more than this is not fixed. [-]"""

TIE = 1e-4
"""Adjustments whose sizes differ relatively by less than this cannot be told apart. [-]"""


@dataclass(frozen=True)
class BagBalance:
    """Masses and assays that close, and how far the measured ones had to move."""

    mass: Array
    """(n,) closing masses; NaN where nothing measured fixes them. [g]"""
    mass_sd: Array
    """(n,) their sds, to first order. [g]"""
    assay: Array
    """(n, K) closing assays; NaN where nothing measured fixes them. [wt %]"""
    assay_sd: Array
    """(n, K) their sds, to first order. [wt %]"""
    mass_adjustment: Array
    """(n,) (measured - closing)/its own sd; NaN where no balance tests it. [-]"""
    assay_adjustment: Array
    """(n, K) the same for the assays. [-]"""
    chi_square: float
    """Weighted sum of squared adjustments. [-]"""
    degrees_of_freedom: int
    """Measured data less what they fix. [-]"""
    p_value: float
    """Chance of so large a chi-square when every sd is right; 1 when nothing can be tested. [-]"""
    to_doubt: tuple[str, ...]
    """Measurements with the largest adjustment, in words; several when no balance tells them
    apart, none when nothing is tested."""
    doubt_p_value: float
    """Chance that the largest of so many adjustments is so large when nothing is wrong. [-]"""


def reconcile_bags(bags: Bags) -> BagBalance:
    """Masses and assays nearest to the measured ones that close at every split.

    Parameters
    ----------
    bags : Bags
        The tree with what was weighed and assayed. [g, wt %]

    Returns
    -------
    BagBalance
        Closing masses and assays, their sds, and the tests. [g, wt %]

    Raises
    ------
    InputError
        No bag was weighed, or the fit does not come to rest.

    References
    ----------
    narasimhan_2000, bilinear reconciliation and measurement test; Wiegel 1972 as quoted in
    wills_2006; the form in leaves is derived here.
    """
    basis = leaf_basis(bags.parent)
    fit = fit_bags(bags, basis)
    if not fit.at_rest:
        problem = "the balance of masses and assays does not come to rest"
        raise InputError(problem, remedy="Look for a bag whose mass or assay is far out.")
    scale = np.linalg.norm(fit.jacobian, axis=0)
    scale = np.where(scale > 0.0, scale, 1.0)  # a column of zeros: a leaf nothing speaks of
    left, singular, right = np.linalg.svd(fit.jacobian / scale, full_matrices=False)
    rank = int((singular > RANK_TOLERANCE * singular[0]).sum())
    left, singular, right = left[:, :rank], singular[:rank], right[:rank]
    by_leaf = gradient(basis, fit.mass, fit.content) / scale
    sd = _sd_where_fixed(by_leaf, right, singular)
    count, oxides = bags.assay.shape
    value = np.concatenate([fit.mass, (fit.content / fit.mass[:, None]).T.ravel()])
    value = np.where(np.isnan(sd), np.nan, value)
    leverage = 1.0 - (left**2).sum(axis=1)
    z = np.full(count * (1 + oxides), np.nan)
    tested = leverage > FIXED
    standard = np.full(leverage.size, np.nan)
    standard[tested] = -fit.residual[tested] / np.sqrt(leverage[tested])
    z[seen(bags)] = standard
    degrees = fit.residual.size - rank
    doubt, doubt_p = _doubt(bags, z)
    return BagBalance(
        value[:count],
        sd[:count],
        value[count:].reshape(oxides, count).T,
        sd[count:].reshape(oxides, count).T,
        z[:count],
        z[count:].reshape(oxides, count).T,
        fit.chi_square,
        degrees,
        float(chdtrc(degrees, fit.chi_square)) if degrees > 0 else 1.0,
        doubt,
        doubt_p,
    )


def chi_square_of(bags: Bags, worth: float = np.inf) -> float:
    """Chi-square of the closest fit alone, for comparing one set of bags with another.

    Parameters
    ----------
    bags : Bags
        The tree with what was weighed and assayed. [g, wt %]
    worth : float
        A chi-square above which the exact figure does not matter; the fit may then stop early,
        with a figure that is too large. [-]

    Returns
    -------
    float
        Weighted sum of squared adjustments. [-]

    Raises
    ------
    InputError
        No bag was weighed.

    References
    ----------
    narasimhan_2000.
    """
    return fit_bags(bags, leaf_basis(bags.parent), worth).chi_square


def _sd_where_fixed(by_leaf: Array, right: Array, singular: Array) -> Array:
    """First-order sd of each bag's mass and assay, NaN where the data leave it open."""
    scale = np.linalg.norm(by_leaf, axis=1)
    projected = by_leaf @ right.T
    outside = np.linalg.norm(by_leaf - projected @ right, axis=1)
    sd = np.linalg.norm(projected / singular, axis=1)
    return np.where(outside > FIXED * np.where(scale > 0.0, scale, 1.0), np.nan, sd)


def _doubt(bags: Bags, z: Array) -> tuple[tuple[str, ...], float]:
    tested = int((~np.isnan(z)).sum())
    if tested == 0:
        return (), 1.0
    largest = float(np.nanmax(np.abs(z)))
    words = []
    for worst in np.flatnonzero(np.abs(z) > largest * (1.0 - TIE)).tolist():
        kind, row = divmod(worst, len(bags.bag))
        words.append(f"{'mass' if kind == 0 else bags.oxide[kind - 1]} of {bags.bag[row]}")
    return tuple(words), chance_of_largest(tested, largest)
