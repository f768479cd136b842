"""Where the bag goes: mass of every phase and size to each outlet, and the oxides with it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from feedchar.chemistry.mineralogy import OXIDES, Mineralogy
from feedchar.particles.classes import ParticleClasses, SizeClasses
from feedchar.particles.iron import FE2O3
from feedchar.particles.reduction import phase_size_matrix, summed
from feedchar.separation.records import Shares

Array = NDArray[np.float64]

OUTLETS = ("non_magnetics", "middlings", "magnetics", "untreated")
BLOCK = 256
"""Trials that are reduced at once, so that a block stays in cache."""


def treated_share(sizes: SizeClasses, passing_um: float | None, retained_um: float | None) -> Array:
    """Share of each size class that lies inside the window that goes to the machine.

    A class that the window cuts is split evenly in the logarithm of size.

    Parameters
    ----------
    sizes : SizeClasses
        Size classes, S of them. [um]
    passing_um, retained_um : float or None
        Ends of the window; None leaves that end open. [um]

    Returns
    -------
    array, shape (S,)
        Share, 0 to 1. [-]

    References
    ----------
    common practice, no source
    """
    low = np.where(sizes.retained_um > 0, sizes.retained_um, sizes.passing_um / 4.0)
    high = sizes.passing_um
    top = high if passing_um is None else np.minimum(high, passing_um)
    bottom = low if not retained_um else np.clip(retained_um, low, high)
    inside = np.log(np.maximum(top, bottom) / bottom)
    return np.asarray(np.clip(inside / np.log(high / low), 0.0, 1.0))


@dataclass(frozen=True)
class Outlet:
    """One outlet, as fractions of the dry bag."""

    phase_size: Array
    """(T, M, S) mass of each phase in each size. [-]"""
    oxide_mass: Array
    """(T, K) wt % of the dry bag that each oxide makes here. [wt %]"""

    @property
    def mass(self) -> Array:
        """Mass, fraction of the dry bag. (T,) [-]"""
        return np.asarray(self.phase_size.sum(axis=(1, 2)))

    @property
    def phase_mass(self) -> Array:
        """Mass of each phase. (T, M) [-]"""
        return np.asarray(self.phase_size.sum(axis=2))

    @property
    def assay_wt_pct(self) -> Array:
        """Composition, NaN where the outlet is empty. (T, K) [wt %]"""
        mass = self.mass[:, None]
        empty = np.full_like(self.oxide_mass, np.nan)
        return np.divide(self.oxide_mass, mass, out=empty, where=mass > 0.0)

    def oxide(self, name: str) -> Array:
        """One oxide of the outlet, by its name in OXIDES. (T,) [wt %]"""
        return self.assay_wt_pct[:, OXIDES.index(name)]


@dataclass(frozen=True)
class Outlets:
    """The four outlets; together they are the dry bag."""

    phase_names: tuple[str, ...]
    sizes: SizeClasses
    is_pale: NDArray[np.bool_]
    """(M,) phases that are wanted in the product."""
    non_magnetics: Outlet
    middlings: Outlet
    magnetics: Outlet
    untreated: Outlet

    @property
    def roll_feed_mass(self) -> Array:
        """What goes to the machine, fraction of the dry bag. (T,) [-]"""
        return self.non_magnetics.mass + self.middlings.mass + self.magnetics.mass

    def yield_pct(self, outlet: str = "non_magnetics") -> Array:
        """Yield of an outlet, of the dry bag. (T,) [%]"""
        return 100.0 * np.asarray(getattr(self, outlet).mass)

    def yield_of_roll_feed_pct(self, outlet: str = "non_magnetics") -> Array:
        """Yield of an outlet, of what went to the machine; NaN when nothing did. (T,) [%]"""
        feed = self.roll_feed_mass
        nothing = np.full_like(feed, np.nan)
        mass = np.asarray(getattr(self, outlet).mass)
        return 100.0 * np.divide(mass, feed, out=nothing, where=feed > 0.0)

    @property
    def iron_removal_pct(self) -> Array:
        """Iron of the roll feed that is not in the non-magnetics. (T,) [%]"""
        kept = self.non_magnetics.oxide_mass[:, FE2O3]
        lost = self.middlings.oxide_mass[:, FE2O3] + self.magnetics.oxide_mass[:, FE2O3]
        whole = kept + lost
        return 100.0 * np.divide(lost, whole, out=np.full_like(whole, np.nan), where=whole > 0.0)

    def iron_split_pct(self) -> dict[str, Array]:
        """Of 100 iron in the bag, how much leaves by each outlet. (T,) each [%]"""
        part = {name: getattr(self, name).oxide_mass[:, FE2O3] for name in OUTLETS}
        whole = sum(part.values(), np.zeros_like(part["magnetics"]))
        none = np.full_like(whole, np.nan)
        return {
            name: 100.0 * np.divide(value, whole, out=none.copy(), where=whole > 0.0)
            for name, value in part.items()
        }

    @property
    def sand_lost_pct(self) -> Array:
        """Pale mass in magnetics and middlings by size, of the pale roll feed. (T, S) [%]"""
        kept = self.non_magnetics.phase_size[:, self.is_pale].sum(axis=1)
        lost = (self.magnetics.phase_size + self.middlings.phase_size)[:, self.is_pale].sum(axis=1)
        whole = (kept + lost).sum(axis=1, keepdims=True)
        none = np.full_like(lost, np.nan)
        return 100.0 * np.divide(lost, whole, out=none, where=whole > 0.0)


def outlets(
    classes: ParticleClasses,
    shares: Shares,
    mineralogy: Mineralogy,
    treated_passing_um: float | None = None,
    treated_retained_um: float | None = None,
) -> Outlets:
    """Mass and oxides of every outlet in every trial.

    Parameters
    ----------
    classes : ParticleClasses
        C classes over T trials. [-]
    shares : Shares
        Where each class goes, (T, C) or (1, C); riders already follow their carriers. [-]
    mineralogy : Mineralogy
        Composition of each phase in each trial. [wt %]
    treated_passing_um, treated_retained_um : float or None
        Size window that goes to the machine. [um]

    Returns
    -------
    Outlets
        Fractions of the dry bag; mass and every oxide are conserved to rounding. [-]

    References
    ----------
    computed_here (mass balance)
    """
    trials, sizes = len(classes.mass), classes.sizes
    phases = len(classes.phase_names)
    shape = (trials, phases, len(sizes))
    matrix = phase_size_matrix(classes)
    window = treated_share(sizes, treated_passing_um, treated_retained_um)
    inside = window[classes.size]
    masses = {name: np.zeros((trials, phases * len(sizes))) for name in OUTLETS}
    for start in range(0, trials, BLOCK):
        rows = slice(start, start + BLOCK)
        mass = classes.mass[rows]
        fed = mass * inside
        if inside.min() < 1.0:
            masses["untreated"][rows] = summed(matrix, mass - fed)
        for name in OUTLETS[:3]:
            share = getattr(shares, name)
            part = fed * (share if len(share) == 1 else share[rows])
            if part.any():
                masses[name][rows] = summed(matrix, part)
    oxides = mineralogy.oxides_wt_pct
    made = {}
    for name, mass in masses.items():
        by_phase = mass.reshape(shape)
        oxide = (by_phase.sum(axis=2)[:, None, :] @ oxides)[:, 0, :]
        made[name] = Outlet(by_phase, oxide)
    return Outlets(
        phase_names=classes.phase_names,
        sizes=sizes,
        is_pale=np.array([phase.role == "host" for phase in mineralogy.phases]),
        **made,
    )
