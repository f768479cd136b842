"""The fit behind a balance of bags: damped Gauss-Newton in the masses and contents of the leaves.

Every bag is a sum of leaves, so each step closes every balance; the measured masses and assays are
what is fitted.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from feedchar.errors import InputError
from feedchar.testwork.bags import Bags

Array = NDArray[np.float64]

STEPS = 200
HOPE = 4
"""Steps before a fit may be given up as not worth ending. [-]"""
LARGEST_DAMPING = 1e8
STANDS_STILL = 1e-10
"""Largest change of the whitened residuals in the last step. [-]"""
PATIENCE = 8
STAGNATION = 1e-12
"""After so many steps a smaller relative fall of chi-square ends the search: data that ask for a
bag of no mass draw it to zero for ever. [-]"""
RANK_TOLERANCE = 1e-9


@dataclass(frozen=True)
class Fit:
    """Where a fit of n bags and K oxides came to rest; D data in all."""

    mass: Array
    """(n,) [g]"""
    content: Array
    """(n, K) mass times assay. [g wt %]"""
    residual: Array
    """(D,) (fitted - measured)/sd. [-]"""
    jacobian: Array
    """(D, leaves (1 + K)) of the residuals by the leaves' masses, then contents by oxide. [g⁻¹]"""
    chi_square: float
    """Sum of the squared residuals. [-]"""
    at_rest: bool
    """False when it was given up."""


def fit_bags(bags: Bags, basis: Array, worth: float = np.inf) -> Fit:
    """Fit of the leaves to all that was weighed and assayed.

    Parameters
    ----------
    bags : Bags
        The tree with what was weighed and assayed. [g, wt %]
    basis : array, shape (n, leaves)
        Which leaf is part of which bag. [-]
    worth : float
        The fit is given up when the linearised problem promises a larger chi-square. [-]

    Returns
    -------
    Fit
        Masses and contents of all bags, residuals and Jacobian. [g, g wt %]

    Raises
    ------
    InputError
        No bag was weighed.

    References
    ----------
    narasimhan_2000, bilinear reconciliation; Levenberg 1944 and Marquardt 1963, from memory.
    """
    weighed = ~np.isnan(bags.mass)
    if not weighed.any():
        problem = "no bag was weighed"
        raise InputError(problem, remedy="Give one mass; the assays share it out.")
    leaf_mass = _start_masses(bags, basis, weighed)
    leaf_content = _contents_given_masses(bags, basis, leaf_mass)
    leaves = leaf_mass.size
    mass, content = basis @ leaf_mass, basis @ leaf_content
    residual, jacobian = _linearised(bags, basis, mass, content)
    cost = float(residual @ residual)
    rounding = 64.0 * np.finfo(float).eps * _largest_ratio(bags)
    damping = 0.0
    for steps in range(STEPS):
        step, change = _damped_step(jacobian, residual, damping)
        promised = cost - float(((residual + change) ** 2).sum())
        size = _largest_step(basis, mass, step[:leaves])
        new_mass = leaf_mass + size * step[:leaves]
        new_content = leaf_content + size * step[leaves:].reshape(-1, leaves).T
        trial_mass, trial_content = basis @ new_mass, basis @ new_content
        trial, trial_jacobian = _linearised(bags, basis, trial_mass, trial_content)
        fall = cost - float(trial @ trial)
        still = float(np.abs(change).max(initial=0.0)) < max(
            STANDS_STILL * max(1.0, np.sqrt(cost)), rounding
        )
        if fall > 0.0 or still:
            leaf_mass, leaf_content = new_mass, new_content
            mass, content = trial_mass, trial_content
            residual, jacobian = trial, trial_jacobian
            cost -= fall
        at_rest = still and size == 1.0
        stagnates = steps >= PATIENCE and 0.0 <= fall < STAGNATION * (1.0 + cost)
        hopeless = steps >= HOPE and cost - promised > worth
        if at_rest or stagnates or hopeless or damping > LARGEST_DAMPING:
            return Fit(mass, content, residual, jacobian, cost, not hopeless)
        if fall < 0.25 * promised:
            damping = max(4.0 * damping, 1e-2)
        elif fall > 0.75 * promised:
            damping = damping / 4.0 if damping > 1e-4 else 0.0
    return Fit(mass, content, residual, jacobian, cost, False)


def seen(bags: Bags) -> NDArray[np.bool_]:
    """Which of the n masses, followed by the n assays of each oxide, were measured.

    Parameters
    ----------
    bags : Bags
        The tree. [g, wt %]

    Returns
    -------
    array of bool, shape (n (1 + K),)
        True where there is a datum. [-]

    References
    ----------
    Derived here.
    """
    return ~np.isnan(np.concatenate([bags.mass, bags.assay.T.ravel()]))


def gradient(basis: Array, mass: Array, content: Array) -> Array:
    """Derivatives of the masses and assays of all bags by the masses and contents of the leaves.

    Parameters
    ----------
    basis : array, shape (n, leaves)
        Which leaf is part of which bag. [-]
    mass : array, shape (n,)
        Masses of the bags. [g]
    content : array, shape (n, K)
        Mass times assay of the bags. [g wt %]

    Returns
    -------
    array, shape (n (1 + K), leaves (1 + K))
        Masses first, then the assays oxide by oxide. [-, wt % g⁻¹, g⁻¹]

    References
    ----------
    Derived here from assay = content/mass.
    """
    count, leaves = basis.shape
    oxides = content.shape[1]
    rows_of = np.zeros((count * (1 + oxides), leaves * (1 + oxides)))
    rows_of[:count, :leaves] = basis
    by_content = basis / mass[:, None]
    for k in range(oxides):
        rows = slice(count * (1 + k), count * (2 + k))
        rows_of[rows, :leaves] = -(content[:, k] / mass)[:, None] * by_content
        rows_of[rows, leaves * (1 + k) : leaves * (2 + k)] = by_content
    return rows_of


def _damped_step(jacobian: Array, residual: Array, damping: float) -> tuple[Array, Array]:
    """Step of the leaves (Levenberg-Marquardt), and the change of the residuals it promises."""
    scale = np.linalg.norm(jacobian, axis=0)
    scale = np.where(scale > 0.0, scale, 1.0)
    design, target = jacobian / scale, -residual
    if damping > 0.0:
        columns = design.shape[1]
        design = np.vstack([design, np.sqrt(damping) * np.eye(columns)])
        target = np.concatenate([target, np.zeros(columns)])
    step = np.linalg.lstsq(design, target, rcond=RANK_TOLERANCE)[0] / scale
    return step, jacobian @ step


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
        known = ~np.isnan(bags.assay[:, k])
        sd = bags.assay_sd[known, k]
        # columns in assays (content over leaf mass), so that small bags are as well scaled as large
        design = basis[known] * leaf_mass / (mass[known] * sd)[:, None]
        solution = np.linalg.lstsq(design, bags.assay[known, k] / sd, rcond=None)[0]
        contents[:, k] = solution * leaf_mass
    return contents


def _linearised(bags: Bags, basis: Array, mass: Array, content: Array) -> tuple[Array, Array]:
    """Whitened residuals (fitted less measured) of all that was measured, and their Jacobian."""
    known = seen(bags)
    fitted = np.concatenate([mass, (content / mass[:, None]).T.ravel()])
    measured = np.concatenate([bags.mass, bags.assay.T.ravel()])
    sd = np.concatenate([bags.mass_sd, bags.assay_sd.T.ravel()])[known]
    residual = (fitted[known] - measured[known]) / sd
    return residual, gradient(basis, mass, content)[known] / sd[:, None]


def _largest_ratio(bags: Bags) -> float:
    """Largest measured value over its sd: residuals are known no better than eps times it."""
    ratios = (bags.mass / bags.mass_sd, bags.assay / bags.assay_sd)
    return max(float(np.nanmax(ratio, initial=1.0)) for ratio in ratios)


def _largest_step(basis: Array, mass: Array, leaf_step: Array) -> float:
    """Share of a step that leaves every bag at least a tenth of its mass."""
    change = basis @ leaf_step
    falling = change < -0.9 * mass
    return float(np.min(-0.9 * mass[falling] / change[falling])) if falling.any() else 1.0
