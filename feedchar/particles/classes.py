"""Particle classes: index vectors plus one mass array over the trials."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Index = NDArray[np.intp]

FORMS = ("free", "joined", "inclusion", "stain", "inside", "not found")
"""How iron sits. `inside`: in the crystal of a pale grain. `not found`: the phase `unseen`."""


@dataclass(frozen=True)
class SizeClasses:
    """Size classes from coarse to fine, S of them."""

    passing_um: Array
    retained_um: Array

    def __len__(self) -> int:
        return len(self.passing_um)

    @property
    def middle_um(self) -> Array:
        """Geometric mean of the bounds; a pan is taken from half its upper bound. (S,) [um]"""
        low = np.where(self.retained_um > 0, self.retained_um, self.passing_um / 2)
        return np.sqrt(self.passing_um * low)


@dataclass(frozen=True)
class ParticleClasses:
    """C classes of grains. A class is (mineral, host, form, size, grade bin).

    A joined or inclusion class is the whole grain: `grade` of it is `mineral`, the rest `host`.
    A stain (and unseen iron as stain or inclusion) is its own mass and moves with `carrier`.
    """

    phase_names: tuple[str, ...]
    sizes: SizeClasses
    mineral: Index
    """(C,) index into phase_names."""
    host: Index
    """(C,) index into phase_names, -1 where there is none."""
    form: Index
    """(C,) index into FORMS."""
    size: Index
    """(C,) index into sizes."""
    grade: Array
    """(C,) mass fraction of `mineral` in the grain, 1 for a pure grain. [-]"""
    carrier: Index
    """(C,) class whose response this class follows (itself, unless it rides on a grain)."""
    mass: Array
    """(T, C) mass fraction of the dry bag. [-]"""
    thickness_ratio: Array
    """(C,) thickness over sieve size of a flake, 1 for other shapes. [-]"""
    acts_as: Index | None = None
    """(C,) index into FORMS of how a `not found` class is taken to sit (stain, inclusion or
    free); equal to `form` elsewhere, as far as it is given."""
