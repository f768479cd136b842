"""Nodes of grain character: what is permanent in a grain, and how classes are spread over it.

A node is a kind (sphere of some density, or flat flake of some thickness) at a size. A class is a
weighted sum of nodes: sizes by Gauss points within the class, densities by interpolation, flakes
by quantiles of thickness, and a share of books that do not lie flat and count as spheres.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from math import log, pi

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtri

from feedchar.errors import SettingError
from feedchar.separation.records import Grains

Array = NDArray[np.float64]

SPHERE_DENSITIES_KG_M3 = (2650.0, 3500.0, 5000.0)
FLAKE_DENSITY_KG_M3 = 2940.0
"""Between muscovite and biotite; a flake's flight hardly depends on it."""
FLAKE_RATIOS = (0.025, 0.05, 0.1, 0.2, 0.4, 0.8)
FLAKE_DRAG_FACTOR = 2.5
"""Drag of a flake over that of the sphere of equal volume (guess)."""
THICKNESS_QUANTILES = 4
SIZE_STEP_LN = 0.35
"""A class wider than this in ln size takes a node more per step; one of root 2 has two."""
FINEST_M = 20e-6
"""Dust below this flies as dust of this size."""


@dataclass(frozen=True)
class Kind:
    """Shape and density of a node."""

    is_flake: bool
    density_kg_m3: float
    thickness_ratio: float = 1.0


@dataclass(frozen=True)
class FlakeSpread:
    """How flakes of one class differ from each other."""

    thickness_ln_sd: float = 0.5
    """Grain-to-grain ln-sd of thickness over size (guess). [-]"""
    book_share: float = 0.1
    """Books and crumpled flakes that do not lie flat (guess). [-]"""


@dataclass(frozen=True)
class GrainNodes:
    """P nodes, kind by kind, each over all sizes."""

    is_flake: NDArray[np.bool_]
    diameter_m: Array
    half_height_m: Array
    """Height of the centre above the belt."""
    mass_kg: Array
    density_kg_m3: Array
    sphere_diameter_m: Array
    """Diameter of the sphere of equal volume."""
    drag_factor: Array

    def __len__(self) -> int:
        return len(self.diameter_m)


@dataclass(frozen=True)
class ClassSpread:
    """How C classes are spread over nodes: kinds, sizes and the weight of each node."""

    kinds: tuple[Kind, ...]
    diameters_m: tuple[float, ...]
    weight: Array
    """(C, P), each row sums to 1."""


def grain_nodes(kinds: tuple[Kind, ...], diameters_m: tuple[float, ...]) -> GrainNodes:
    """Geometry and mass of every kind at every size.

    Parameters
    ----------
    kinds : tuple of Kind
        Shapes and densities. [-]
    diameters_m : tuple of float
        Sieve sizes. [m]

    Returns
    -------
    GrainNodes
        P = kinds times sizes nodes. [SI]

    References
    ----------
    Geometry of spheres and discs, closed form; the drag of a flake is a guess.
    """
    flake = np.repeat([kind.is_flake for kind in kinds], len(diameters_m))
    density = np.repeat([kind.density_kg_m3 for kind in kinds], len(diameters_m))
    ratio = np.repeat([kind.thickness_ratio for kind in kinds], len(diameters_m))
    size = np.tile(np.asarray(diameters_m, dtype=float), len(kinds))
    volume = np.where(flake, pi / 4.0 * size**3 * ratio, pi / 6.0 * size**3)
    return GrainNodes(
        is_flake=flake,
        diameter_m=size,
        half_height_m=0.5 * size * ratio,
        mass_kg=density * volume,
        density_kg_m3=density,
        sphere_diameter_m=np.cbrt(6.0 / pi * volume),
        drag_factor=np.where(flake, FLAKE_DRAG_FACTOR, 1.0),
    )


def spread_over_nodes(grains: Grains, flakes: FlakeSpread) -> ClassSpread:
    """Nodes that the classes of a sample need, and how each class is spread over them.

    Parameters
    ----------
    grains : Grains
        Classes. [SI]
    flakes : FlakeSpread
        How flakes of a class differ. [-]

    Returns
    -------
    ClassSpread
        Only nodes of kinds that carry weight. [-]

    Raises
    ------
    SettingError
        A size class that cannot be.

    References
    ----------
    Derived here: Gauss points within a class, mass uniform in ln size; quantiles of thickness.
    """
    told = [
        np.ascontiguousarray(each, dtype=float).tobytes()
        for each in (
            grains.passing_m,
            grains.retained_m,
            grains.density_kg_m3,
            grains.thickness_ratio,
        )
    ]
    return _spread(*told, np.ascontiguousarray(grains.is_flake, dtype=bool).tobytes(), flakes)


@lru_cache(maxsize=8)
def _spread(
    passing: bytes, retained: bytes, density: bytes, ratio: bytes, flake: bytes, flakes: FlakeSpread
) -> ClassSpread:
    """The spread of classes that are told by the bytes of their arrays; kept for the run."""
    passing_m, retained_m = np.frombuffer(passing), np.frombuffer(retained)
    is_flake = np.frombuffer(flake, dtype=bool)
    sizes, size_weight = _sizes_of(passing_m, retained_m)
    spheres = _hat(np.log(SPHERE_DENSITIES_KG_M3), np.log(np.frombuffer(density)))
    flats = _thickness_weights(np.frombuffer(ratio), flakes.thickness_ln_sd)
    book = np.where(is_flake, flakes.book_share, 1.0)[:, None]
    kind_weight = np.concatenate([book * spheres, (1.0 - book) * flats], axis=1)
    every = [Kind(False, density) for density in SPHERE_DENSITIES_KG_M3]
    every += [Kind(True, FLAKE_DENSITY_KG_M3, ratio) for ratio in FLAKE_RATIOS]
    used = np.flatnonzero(kind_weight.max(axis=0) > 1e-6)
    weight = kind_weight[:, used, None] * size_weight[:, None, :]
    weight = weight.reshape(len(weight), -1)
    return ClassSpread(
        tuple(every[i] for i in used), sizes, weight / weight.sum(axis=1, keepdims=True)
    )


def kinds_of(spread: ClassSpread, some: NDArray[np.bool_]) -> tuple[Kind, ...]:
    """Kinds on which some of the classes carry weight.

    Parameters
    ----------
    spread : ClassSpread
        Spread of C classes over the nodes. [-]
    some : array of bool, shape (C,)
        The classes asked about. [-]

    Returns
    -------
    tuple of Kind
        In the order of `spread.kinds`; empty when no class is asked about. [-]

    References
    ----------
    Definition.
    """
    by_kind = spread.weight[some].reshape(-1, len(spread.kinds), len(spread.diameters_m))
    carried = by_kind.sum(axis=2).max(axis=0, initial=0.0) > 0.0
    return tuple(kind for kind, used in zip(spread.kinds, carried, strict=True) if used)


def _sizes_of(passing_m: Array, retained_m: Array) -> tuple[tuple[float, ...], Array]:
    """Size nodes of all distinct classes, and each class's weights on them."""
    if not np.all((retained_m >= 0.0) & (passing_m > retained_m)):
        message = "A size class must have a lower bound of 0 or more below its upper bound"
        raise SettingError(message)
    bounds = np.stack([passing_m, np.where(retained_m > 0.0, retained_m, passing_m / 2.0)])
    distinct, place = np.unique(bounds, axis=1, return_inverse=True)
    sizes: list[float] = []
    rows: list[tuple[int, Array]] = []
    for upper, lower in distinct.T:
        width = log(upper / lower)
        points, weights = np.polynomial.legendre.leggauss(max(2, round(width / SIZE_STEP_LN) + 1))
        nodes = lower * np.exp(0.5 * (points + 1.0) * width)
        rows.append((len(sizes), weights / 2.0))
        sizes += [float(max(node, FINEST_M)) for node in nodes]
    weight = np.zeros((distinct.shape[1], len(sizes)))
    for row, (start, weights) in enumerate(rows):
        weight[row, start : start + len(weights)] = weights
    return tuple(sizes), weight[np.ravel(place)]


def _thickness_weights(median_ratio: Array, ln_sd: float) -> Array:
    """Weights of equal quantiles of thickness on the ladder of ratios."""
    middle = (np.arange(THICKNESS_QUANTILES) + 0.5) / THICKNESS_QUANTILES
    shifts = ln_sd * ndtri(middle)
    ladder = np.log(FLAKE_RATIOS)
    return np.mean([_hat(ladder, np.log(median_ratio) + shift) for shift in shifts], axis=0)


def _hat(ladder: Array, value: Array) -> Array:
    """Weights of linear interpolation on a ladder, clipped at its ends: (C, rungs)."""
    position = np.interp(value, ladder, np.arange(len(ladder)))
    return np.maximum(1.0 - np.abs(position[:, None] - np.arange(len(ladder))), 0.0)
