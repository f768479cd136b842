"""Pull at thousands of places at once, from a map in single precision."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from feedchar.separation.pull_map import AXIAL_CELLS, HEIGHTS, PullMap

Array = NDArray[np.float64]
Index = NDArray[np.intp]

PER_LEVEL = AXIAL_CELLS + 1
"""The first cell stands again after the last."""
PER_NODE = HEIGHTS * PER_LEVEL


class PullLookup:
    """Values of a map between its points: linear in its levels and along the axis.

    In both directions the error is a few parts in ten thousand of the pull.
    """

    def __init__(self, pulls: PullMap) -> None:
        self.table = pulls.single
        self.decay_per_m, self.cells_per_m = pulls.decay_per_m, pulls.cells_per_m

    def place_of(self, node: Index) -> Index:
        """Where the map of a node begins."""
        return node * PER_NODE

    def __call__(self, base: Index, height: Array, axial: Array) -> NDArray[np.complex64]:
        """Pull at a height above the contact; `base` is the place of the node. `height` is lost."""
        height *= -self.decay_per_m
        np.exp(height, out=height)
        up = 1.0 - height
        up *= HEIGHTS - 1.0
        np.maximum(up, 0.0, out=up)
        np.minimum(up, HEIGHTS - 1.001, out=up)
        floor = np.floor(up)
        up -= floor
        place = floor.astype(np.intp)
        place *= PER_LEVEL
        place += base
        along = axial * self.cells_per_m
        np.floor(along, out=floor)
        along -= floor
        cell = floor.astype(np.intp)
        cell &= AXIAL_CELLS - 1
        place += cell
        low, high = self._between(place, along.astype(np.float32))
        high -= low
        high *= up.astype(np.float32)
        low += high
        return low

    def _between(
        self, place: Index, share: NDArray[np.float32]
    ) -> tuple[NDArray[np.complex64], NDArray[np.complex64]]:
        """Values between two cells, at a level and at the one above; `place` is lost."""
        found = []
        for to_next in (PER_LEVEL - 1, 0):
            value = self.table.take(place, mode="clip")
            place += 1
            beside = self.table.take(place, mode="clip")
            place += to_next
            beside -= value
            beside *= share
            value += beside
            found.append(value)
        return found[0], found[1]
