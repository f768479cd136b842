"""What is drawn of a pull: paths of grains and the field around them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


@dataclass(frozen=True)
class GrainPath:
    """Where one grain goes, seen along the axis of the roll."""

    phase: str
    size_um: float
    belt_speed_m_s: float
    x_m: Array
    """From the roll axis, in the direction of the belt at the top."""
    y_m: Array
    """Above the roll axis."""
    landing_least_m: float | None
    landing_greatest_m: float | None


@dataclass(frozen=True)
class PullPicture:
    """What the picture draws: field lines above the surface, paths of grains beside the roll."""

    axial_m: Array
    """(A,) along the axis, 0 in the middle of a magnet or of a valley."""
    height_m: Array
    """(H,) above the bare roll."""
    axial_tesla: Array
    """(H, A)"""
    radial_tesla: Array
    """(H, A)"""
    paths: tuple[GrainPath, ...]
