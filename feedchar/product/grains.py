"""Grains as they can be sorted, and the running means of what is sorted out."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from feedchar.chemistry.mineralogy import Mineralogy
from feedchar.particles.classes import ParticleClasses
from feedchar.particles.iron import FE2O3
from feedchar.particles.reduction import host_part
from feedchar.product.outlets import treated_share

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Grains:
    """Grains as they can be sorted: a rider belongs to its carrier. Typical case or one trial."""

    mass: Array
    """(G,) of the dry bag, inside the treated window. [-]"""
    iron: Array
    """(G,) mass of Fe2O3, wt % of the dry bag. [wt %]"""
    cls: NDArray[np.intp]
    """(G,) class whose response the grains have."""


def sortable_grains(
    classes: ParticleClasses,
    mineralogy: Mineralogy,
    treated_passing_um: float | None = None,
    treated_retained_um: float | None = None,
    trial: int = 0,
) -> Grains:
    """Mass and iron of every kind of grain, riders added to their carriers.

    Parameters
    ----------
    classes : ParticleClasses
        C classes. [-]
    mineralogy : Mineralogy
        Composition of each phase. [wt %]
    treated_passing_um, treated_retained_um : float or None
        Size window that goes to the machine. [um]
    trial : int
        Row; 0 is the typical case. [-]

    Returns
    -------
    Grains
        One entry for each class that carries itself. [-]

    References
    ----------
    computed_here (mass balance)
    """
    window = treated_share(classes.sizes, treated_passing_um, treated_retained_um)[classes.size]
    fe2o3 = mineralogy.oxides_wt_pct[trial, :, FE2O3]
    hosts = host_part(classes)
    content = (1.0 - hosts) * fe2o3[classes.mineral]
    content = content + hosts * fe2o3[np.where(classes.host >= 0, classes.host, 0)]
    mass = classes.mass[trial] * window
    together = _summed(classes.carrier, mass)
    iron = _summed(classes.carrier, mass * content)
    own = np.flatnonzero(together > 0.0)
    return Grains(together[own], iron[own], own)


def _summed(carrier: NDArray[np.intp], values: Array) -> Array:
    """Values of all classes added to their carriers. (C,)"""
    return np.bincount(carrier, weights=values, minlength=len(values)).astype(np.float64)


def cumulate(mass: Array, content: Array, order: Array) -> tuple[Array, Array]:
    """Running mass and mean content of classes taken in an order (washability).

    Parameters
    ----------
    mass : array, shape (N,)
        Mass of each class. [any]
    content : array, shape (N,)
        Content of each class, such as ash or Fe2O3. [any]
    order : array, shape (N,)
        Sort key; the lowest comes first, ties in the order given. [any]

    Returns
    -------
    tuple of array, shape (N,)
        Cumulative mass and mean content of what was taken so far. [as given]

    References
    ----------
    wills_2006 (washability of a coal, from memory)
    """
    ranked = np.argsort(np.asarray(order), kind="stable")
    running = np.cumsum(np.asarray(mass, dtype=float)[ranked])
    carried = np.cumsum((np.asarray(mass) * np.asarray(content))[ranked])
    return running, np.divide(carried, running, out=np.zeros_like(carried), where=running > 0.0)


def sorted_curve(grains: Grains, order: Array, yields_pct: Array) -> Array:
    """Fe2O3 of a product made of the grains that come first in an order.

    The grains at the cut are divided.

    Parameters
    ----------
    grains : Grains
        Grains with mass and iron, G of them. [-]
    order : array, shape (G,)
        Sort key; the lowest goes to the product first. [any]
    yields_pct : array, shape (N,)
        Yields of the dry bag. [%]

    Returns
    -------
    array, shape (N,)
        Fe2O3 of the product; NaN above the yield that the window allows. [wt %]

    References
    ----------
    common practice, no source (cumulative curves)
    """
    content = grains.iron / grains.mass
    mass, grade = cumulate(grains.mass, content, order)
    wanted = np.asarray(yields_pct) / 100.0
    iron = np.interp(wanted, np.concatenate([[0.0], mass]), np.concatenate([[0.0], mass * grade]))
    reachable = wanted <= mass[-1] * (1.0 + 1e-12)
    return np.asarray(np.where(reachable, iron / wanted, np.nan))


def every_grain_sorted(grains: Grains, yields_pct: Array) -> Array:
    """Best product when every grain could be sorted by hand, poorest in iron first.

    Parameters
    ----------
    grains : Grains
        Grains with mass and iron. [-]
    yields_pct : array, shape (N,)
        Yields of the dry bag. [%]

    Returns
    -------
    array, shape (N,)
        Fe2O3 of the product, NaN where out of reach. [wt %]

    References
    ----------
    common practice, no source (cumulative curves)
    """
    return sorted_curve(grains, grains.iron / grains.mass, yields_pct)


def ideal_magnet(grains: Grains, response: Array, yields_pct: Array) -> Array:
    """Product of a magnet that parts grains by their response alone and misses none.

    Parameters
    ----------
    grains : Grains
        Grains with mass and iron. [-]
    response : array, shape (C,)
        Pull for its mass of each class of the ParticleClasses, the strongest rejected first. [any]
    yields_pct : array, shape (N,)
        Yields of the dry bag. [%]

    Returns
    -------
    array, shape (N,)
        Fe2O3 of the product, NaN where out of reach. [wt %]

    References
    ----------
    common practice, no source (cumulative curves)
    """
    return sorted_curve(grains, np.asarray(response)[grains.cls], yields_pct)
