"""Reconciliation of masses and assays together over a tree of bags.

Mass times assay makes the balance bilinear. Written in the masses and the oxide contents of the
leaves every balance closes by itself, at each step and at the end; what is left is a weighted
least-squares fit of the measured masses and assays, linearised again until it stands still.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import chdtrc, ndtr

from feedchar.errors import InputError
from feedchar.testwork.bags import Bags, leaf_basis

Array = NDArray[np.float64]

STEPS = 60
STANDS_STILL = 1e-10
"""Largest change of the whitened residuals in the last step. [-]"""
RANK_TOLERANCE = 1e-9
FIXED = 1e-6
"""A quantity whose direction leaves the measured space by more than this is not fixed. [-]"""


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
    to_doubt: str
    """The measurement with the largest adjustment, in words; empty when nothing is tested."""
    doubt_p_value: float
    """Chance that the largest of so many adjustments is so large when nothing is wrong. [-]"""


@dataclass(frozen=True)
class _Fit:
    mass: Array
    content: Array
    residual: Array
    jacobian: Array
    chi_square: float


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
    fit = _fit(bags, basis)
    scale = np.linalg.norm(fit.jacobian, axis=0)
    scale = np.where(scale > 0.0, scale, 1.0)  # a column of zeros: a leaf nothing speaks of
    left, singular, right = np.linalg.svd(fit.jacobian / scale, full_matrices=False)
    rank = int((singular > RANK_TOLERANCE * singular[0]).sum())
    left, singular, right = left[:, :rank], singular[:rank], right[:rank]
    gradient = _gradient(basis, fit.mass, fit.content) / scale
    sd = _sd_where_fixed(gradient, right, singular)
    count, oxides = bags.assay.shape
    value = np.concatenate([fit.mass, (fit.content / fit.mass[:, None]).T.ravel()])
    value = np.where(np.isnan(sd), np.nan, value)
    leverage = 1.0 - (left**2).sum(axis=1)
    z = np.full(count * (1 + oxides), np.nan)
    tested = leverage > FIXED
    standard = np.full(leverage.size, np.nan)
    standard[tested] = -fit.residual[tested] / np.sqrt(leverage[tested])
    z[_seen(bags)] = standard
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


def chi_square_of(bags: Bags) -> float:
    """Chi-square of the closest fit alone, for comparing one set of bags with another.

    Parameters
    ----------
    bags : Bags
        The tree with what was weighed and assayed. [g, wt %]

    Returns
    -------
    float
        Weighted sum of squared adjustments. [-]

    Raises
    ------
    InputError
        As `reconcile_bags`.

    References
    ----------
    narasimhan_2000.
    """
    return _fit(bags, leaf_basis(bags.parent)).chi_square


def _fit(bags: Bags, basis: Array) -> _Fit:
    """Gauss-Newton from a start that takes the masses first and the contents given them."""
    weighed = ~np.isnan(bags.mass)
    if not weighed.any():
        msg = "no bag was weighed"
        raise InputError(msg, remedy="Give one mass; the assays share it out.")
    leaf_mass = _start_masses(bags, basis, weighed)
    leaf_content = _contents_given_masses(bags, basis, leaf_mass)
    mass, content = basis @ leaf_mass, basis @ leaf_content
    residual, jacobian = _linearised(bags, basis, mass, content)
    cost = float(residual @ residual)
    rounding = 64.0 * np.finfo(float).eps * _largest_ratio(bags)
    for _ in range(STEPS):
        scale = np.linalg.norm(jacobian, axis=0)
        scale = np.where(scale > 0.0, scale, 1.0)
        step = -np.linalg.lstsq(jacobian / scale, residual, rcond=RANK_TOLERANCE)[0] / scale
        expected = float(np.abs(jacobian @ step).max(initial=0.0))
        size = _largest_step(basis, mass, step[: leaf_mass.size])
        while True:
            new_mass = leaf_mass + size * step[: leaf_mass.size]
            new_content = (
                leaf_content + size * step[leaf_mass.size :].reshape(leaf_content.shape[1], -1).T
            )
            trial_mass, trial_content = basis @ new_mass, basis @ new_content
            trial, trial_jacobian = _linearised(bags, basis, trial_mass, trial_content)
            trial_cost = float(trial @ trial)
            if trial_cost <= cost * (1.0 + 1e-12) + 1e-18 or size < 1e-6:
                break
            size *= 0.5
        if trial_cost > cost * (1.0 + 1e-12) + 1e-18:
            return _Fit(mass, content, residual, jacobian, cost)  # no descent left: at rest
        leaf_mass, leaf_content = new_mass, new_content
        mass, content, residual, jacobian = trial_mass, trial_content, trial, trial_jacobian
        cost = trial_cost
        if size == 1.0 and expected < max(STANDS_STILL * max(1.0, np.sqrt(cost)), rounding):
            return _Fit(mass, content, residual, jacobian, cost)
    problem = "the balance of masses and assays does not come to rest"
    raise InputError(problem, remedy="Look for a bag whose mass or assay is far out.")


def _start_masses(bags: Bags, basis: Array, weighed: NDArray[np.bool_]) -> Array:
    """Leaf masses from the weights alone, none of them at or below zero."""
    weighted = basis[weighed] / bags.mass_sd[weighed, None]
    leaf_mass = np.linalg.lstsq(weighted, bags.mass[weighed] / bags.mass_sd[weighed], rcond=None)[0]
    floor = 1e-6 * float(bags.mass[weighed].max())
    return np.maximum(leaf_mass, max(floor, np.finfo(float).tiny))


def _contents_given_masses(bags: Bags, basis: Array, leaf_mass: Array) -> Array:
    """Oxide contents of the leaves: a linear problem once the masses are held."""
    mass = basis @ leaf_mass
    contents = np.zeros((leaf_mass.size, len(bags.oxide)))
    for k in range(len(bags.oxide)):
        seen = ~np.isnan(bags.assay[:, k])
        sd = bags.assay_sd[seen, k]
        # columns in assays (content over leaf mass), so that small bags are as well scaled as large
        design = basis[seen] * leaf_mass / (mass[seen] * sd)[:, None]
        solution = np.linalg.lstsq(design, bags.assay[seen, k] / sd, rcond=None)[0]
        contents[:, k] = solution * leaf_mass
    return contents


def _seen(bags: Bags) -> NDArray[np.bool_]:
    """Measured among the n masses followed by the n assays of each oxide."""
    return ~np.isnan(np.concatenate([bags.mass, bags.assay.T.ravel()]))


def _gradient(basis: Array, mass: Array, content: Array) -> Array:
    """Of the masses and assays of all bags by the masses and contents of the leaves."""
    count, leaves = basis.shape
    oxides = content.shape[1]
    gradient = np.zeros((count * (1 + oxides), leaves * (1 + oxides)))
    gradient[:count, :leaves] = basis
    by_content = basis / mass[:, None]
    for k in range(oxides):
        rows = slice(count * (1 + k), count * (2 + k))
        gradient[rows, :leaves] = -(content[:, k] / mass)[:, None] * by_content
        gradient[rows, leaves * (1 + k) : leaves * (2 + k)] = by_content
    return gradient


def _linearised(bags: Bags, basis: Array, mass: Array, content: Array) -> tuple[Array, Array]:
    """Whitened residuals (fitted less measured) of all that was measured, and their Jacobian."""
    seen = _seen(bags)
    fitted = np.concatenate([mass, (content / mass[:, None]).T.ravel()])
    measured = np.concatenate([bags.mass, bags.assay.T.ravel()])
    sd = np.concatenate([bags.mass_sd, bags.assay_sd.T.ravel()])[seen]
    residual = (fitted[seen] - measured[seen]) / sd
    return residual, _gradient(basis, mass, content)[seen] / sd[:, None]


def _largest_ratio(bags: Bags) -> float:
    """Largest measured value over its sd: residuals are known no better than eps times it."""
    ratios = (bags.mass / bags.mass_sd, bags.assay / bags.assay_sd)
    return max(float(np.nanmax(ratio, initial=1.0)) for ratio in ratios)


def _largest_step(basis: Array, mass: Array, leaf_step: Array) -> float:
    """Share of a step that leaves every bag at least a tenth of its mass."""
    change = basis @ leaf_step
    falling = change < -0.9 * mass
    return float(np.min(-0.9 * mass[falling] / change[falling])) if falling.any() else 1.0


def _sd_where_fixed(gradient: Array, right: Array, singular: Array) -> Array:
    """First-order sd of each bag's mass and assay, NaN where the data leave it open."""
    scale = np.linalg.norm(gradient, axis=1)
    projected = gradient @ right.T
    outside = np.linalg.norm(gradient - projected @ right, axis=1)
    sd = np.linalg.norm(projected / singular, axis=1)
    return np.where(outside > FIXED * np.where(scale > 0.0, scale, 1.0), np.nan, sd)


def _doubt(bags: Bags, z: Array) -> tuple[str, float]:
    tested = int((~np.isnan(z)).sum())
    if tested == 0:
        return "", 1.0
    worst = int(np.nanargmax(np.abs(z)))
    kind, row = divmod(worst, len(bags.bag))
    what = "mass" if kind == 0 else bags.oxide[kind - 1]
    largest = float(abs(z[worst]))
    chance = -float(np.expm1(tested * np.log1p(-min(2.0 * float(ndtr(-largest)), 1.0 - 1e-16))))
    return f"{what} of {bags.bag[row]}", chance
