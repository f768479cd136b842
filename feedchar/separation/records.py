"""What the separation room takes and gives, per particle class."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Index = NDArray[np.intp]


@dataclass(frozen=True)
class Grains:
    """Magnetic and mechanical character of C grain classes over T trials."""

    passing_m: Array
    """(C,) [m]"""
    retained_m: Array
    """(C,) [m]"""
    is_flake: NDArray[np.bool_]
    """(C,)"""
    thickness_ratio: Array
    """(C,) median thickness over sieve size for flakes, else 1. [-]"""
    density_kg_m3: Array
    """(C,)"""
    susceptibility_m3_kg: Array
    """(T, C) linear mass susceptibility."""
    moment_A_m2_kg: Array
    """(T, C) ordered moment of the grain at saturation."""
    order: Index
    """(C,) 0 none, 1 canted (moment constant with field), 2 ferrimagnetic."""
    grain_ln_sd: Array
    """(C,) grain-to-grain ln-sd of the response. [-]"""
    saturation_field_tesla: Array | None = None
    """(C,) field that saturates ferrimagnetic grains as spheres; 0 or None: magnetite's curve."""


@dataclass(frozen=True)
class BenchMagnet:
    """A small magnet of the laboratory that no calibration speaks of, (T,) each."""

    bypass: Array
    """Missed: share that never comes near it. [-]"""
    entrainment: Array
    """Sand carried: share of the rest that is kept among what it takes. [-]"""
    pull_factor: Array
    """Multiplies every pull. [-]"""


@dataclass(frozen=True)
class Parameters:
    """Machine parameters, one value a trial (T,)."""

    bypass: Array
    """Missed by the machine: share of a pass that never meets the field. [-]"""
    entrainment: Array
    """Sand carried: share of the rest carried into the magnetics. [-]"""
    pull_factor: Array
    """Multiplies every pull; 1 until a calibration says otherwise. [-]"""
    adhesion_N: Array
    """Median adhesion of a grain to the belt."""
    air_layer_m: Array | None = None
    """Height over which air dragged by the belt falls to 1/e of its speed; None: still air."""
    by_hand: BenchMagnet | None = None
    """Of the hand magnet that ran a test; None: the typical one."""
    isodynamic: BenchMagnet | None = None
    """Of the isodynamic separator that ran a test; None: the typical one."""


@dataclass(frozen=True)
class Shares:
    """Where each class goes, (T, C) each; magnetics + middlings + non_magnetics = 1."""

    magnetics: Array
    middlings: Array
    non_magnetics: Array
    missed: Array
    """Part of non_magnetics that is there only because the machine missed it."""
