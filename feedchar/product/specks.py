"""Dark and refractory grains of a product, counted by size per 100 g."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from feedchar.chemistry.mineralogy import Mineralogy
from feedchar.particles.classes import FORMS, ParticleClasses, SizeClasses
from feedchar.particles.reduction import host_part
from feedchar.product.outlets import BLOCK, treated_share
from feedchar.separation.records import Shares
from feedchar.uncertainty.streams import stream

Array = NDArray[np.float64]

SPECK_UM = 250.0
"""Dark grains above this size are seen as specks. [um]"""
SAMPLE_KG = 0.1
"""Counts are for 100 g of product. [kg]"""
REFRACTORY = (
    "andalusite", "baddeleyite", "chromite", "corundum", "kyanite", "sillimanite", "spinel",
    "zircon",
)  # fmt: skip
"""Minerals that melt too slowly in glass, common practice, no source."""


def grains_per_kg(
    passing_um: Array, retained_um: Array, density_kg_m3: Array, thickness_ratio: Array
) -> Array:
    """Number of grains in a kilogram of one size class.

    Mass is spread evenly over the logarithm of size inside the class, so the mean of d^-3 is
    (low^-3 - high^-3) / (3 ln(high/low)). Equant grains are spheres, flakes discs.

    Parameters
    ----------
    passing_um, retained_um : array
        Ends of the class, both above 0. [um]
    density_kg_m3 : array
        Density. [kg m⁻³]
    thickness_ratio : array
        Thickness over size; below 1 the grain is a disc. [-]

    Returns
    -------
    array
        Grains, arguments broadcast. [kg⁻¹]

    References
    ----------
    computed_here
    """
    low, high = np.asarray(retained_um) * 1e-6, np.asarray(passing_um) * 1e-6
    inverse_cube = (low**-3.0 - high**-3.0) / (3.0 * np.log(high / low))
    ratio = np.asarray(thickness_ratio)
    volume_factor = np.where(ratio < 1.0, np.pi / 4.0 * ratio, np.pi / 6.0)
    return np.asarray(inverse_cube / (volume_factor * density_kg_m3))


@dataclass(frozen=True)
class Specks:
    """Grains per 100 g of one outlet, over T trials."""

    sizes: SizeClasses
    dark_expected: Array
    """(T, S) dark grains above 250 um, expectation of each trial."""
    refractory_expected: Array
    """(T, S) refractory grains of any size, expectation of each trial."""
    dark: Array
    """(T,) dark grains counted in 100 g: drawn around the expectation, row 0 is the expectation."""
    refractory: Array
    """(T,) the same of refractory grains."""


def specks(
    classes: ParticleClasses,
    shares: Shares,
    mineralogy: Mineralogy,
    seed: int = 1,
    outlet: str = "non_magnetics",
    treated_passing_um: float | None = None,
    treated_retained_um: float | None = None,
) -> Specks:
    """Dark grains above 250 um and refractory grains in 100 g of an outlet.

    A joined grain counts once, when the dark part of it, taken as one lump, is above 250 um.
    Composite and pure grains of one class are spread evenly over the logarithm of size.

    Parameters
    ----------
    classes : ParticleClasses
        C classes over T trials. [-]
    shares : Shares
        Where each class goes. [-]
    mineralogy : Mineralogy
        Phases, marked dark or not. [-]
    seed : int
        The run's seed, for the Poisson spread of a count. [-]
    outlet : str
        non_magnetics, middlings, magnetics or untreated. [-]
    treated_passing_um, treated_retained_um : float or None
        Size window that goes to the machine. [um]

    Returns
    -------
    Specks
        Grains per 100 g; NaN where the outlet is empty. [-]

    References
    ----------
    common practice, no source (the 250 um); Poisson statistics
    """
    trials = len(classes.mass)
    window = treated_share(classes.sizes, treated_passing_um, treated_retained_um)[classes.size]
    dark_number, refractory_number = _numbers(classes, mineralogy)
    useful = np.flatnonzero((dark_number > 0.0) | (refractory_number > 0.0))
    count = len(classes.sizes)
    by_size = np.zeros((len(useful), 2 * count))
    row = np.arange(len(useful))
    by_size[row, classes.size[useful]] = dark_number[useful] * SAMPLE_KG
    by_size[row, count + classes.size[useful]] = refractory_number[useful] * SAMPLE_KG
    both = np.empty((trials, 2 * count))
    for start in range(0, trials, BLOCK):
        rows = slice(start, start + BLOCK)
        mass = classes.mass[rows]
        if outlet == "untreated":
            mass = mass * (1.0 - window)
        else:
            share = getattr(shares, outlet)
            mass = mass * window * (share if len(share) == 1 else share[rows])
        whole = mass.sum(axis=1, keepdims=True)
        made = mass[:, useful] @ by_size
        empty = np.full_like(made, np.nan)
        both[rows] = np.divide(made, np.broadcast_to(whole, made.shape), out=empty, where=whole > 0)
    dark, refractory = both[:, :count], both[:, count:]
    return Specks(
        classes.sizes,
        dark,
        refractory,
        _counted(dark.sum(axis=1), seed, f"specks/{outlet}/dark"),
        _counted(refractory.sum(axis=1), seed, f"specks/{outlet}/refractory"),
    )


def _numbers(classes: ParticleClasses, mineralogy: Mineralogy) -> tuple[Array, Array]:
    """Dark specks and refractory grains in a kilogram of each class. (C,) each [kg-1]"""
    phases = mineralogy.phases
    density = np.array([phase.density_kg_m3 for phase in phases])
    is_dark = np.array([phase.is_dark for phase in phases])
    refractory = np.array([phase.name in REFRACTORY for phase in phases])
    form = np.array(FORMS)[classes.form]
    whole = np.isin(form, ["free", "joined"])
    hosts = host_part(classes)
    own = density[classes.mineral]
    other = density[np.where(classes.host >= 0, classes.host, 0)]
    grain_density = 1.0 / ((1.0 - hosts) / own + hosts / other)
    lump = ((1.0 - hosts) * grain_density / own) ** (1.0 / 3.0)
    high = classes.sizes.passing_um[classes.size]
    low = classes.sizes.retained_um[classes.size]
    low = np.where(low > 0, low, high / 4.0)
    least = SPECK_UM / lump
    bottom = np.clip(least, low, high)
    above = np.log(high / bottom) / np.log(high / low)
    safe = np.where(bottom < high, bottom, low)
    ratio = classes.thickness_ratio
    dark = (
        above * grains_per_kg(high, safe, grain_density, ratio) * (whole & is_dark[classes.mineral])
    )
    each = grains_per_kg(high, low, grain_density, ratio) * (whole & refractory[classes.mineral])
    return dark, each


def _counted(expected: Array, seed: int, name: str) -> Array:
    """A Poisson count in each trial; the typical row keeps its expectation."""
    known = np.nan_to_num(expected, nan=0.0)
    counted = stream(seed, name).poisson(np.minimum(known[1:], 1e15)).astype(float)
    out = np.concatenate([known[:1], counted])
    return np.where(np.isnan(expected), np.nan, out)
