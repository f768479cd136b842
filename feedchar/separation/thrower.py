"""Belt and roll as the grains meet them, and the grains at the moment they leave."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from feedchar.separation.grain_nodes import GrainNodes

Array = NDArray[np.float64]
Index = NDArray[np.intp]

PLANE_BELOW_ROLL_M = 0.010
"""The splitter edges lie this far below the lowest point of the bare roll."""


@dataclass(frozen=True)
class Thrower:
    """Belt and roll as the grains meet them."""

    roll_radius_m: float
    belt_thickness_m: float
    pitch_m: float
    belt_speed_m_s: float
    air_layer_m: float = 0.0
    """Height over which the air dragged by the belt falls to 1/e of its speed; 0: still air."""

    def path_radius_m(self, nodes: GrainNodes) -> Array:
        """Radius of the path of each node's centre, (P,). [m]"""
        return self.roll_radius_m + self.belt_thickness_m + nodes.half_height_m

    @property
    def turn_rad_s(self) -> float:
        """Angular speed of belt and roll. [rad s⁻¹]"""
        return self.belt_speed_m_s / (self.roll_radius_m + self.belt_thickness_m)


@dataclass(frozen=True)
class Release:
    """N grains at the moment they leave the belt."""

    node: Index
    scale: Array
    """Times the map is the pull. [m s⁻² per unit of the map]"""
    axial_m: Array
    angle_rad: Array
    """From the top of the roll."""
    adhesion_m_s2: Array
    """Adhesion per mass, which acts again when the grain meets the belt again."""
