"""Pull at thousands of places at once, from a map in single precision."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from feedchar.separation.pull_map import AXIAL_CELLS, HEIGHTS, PullMap

Array = NDArray[np.float64]
Index = NDArray[np.intp]

PER_NODE = HEIGHTS * AXIAL_CELLS


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
        level = up.astype(np.intp)
        up -= level
        level *= AXIAL_CELLS
        level += base
        along = axial * self.cells_per_m
        floor = np.floor(along)
        along -= floor
        cell = floor.astype(np.intp)
        left = level + (cell & (AXIAL_CELLS - 1))
        cell += 1
        cell &= AXIAL_CELLS - 1
        cell += level
        low, high = self._between(left, cell, along.astype(np.float32))
        high -= low
        high *= up.astype(np.float32)
        low += high
        return low

    def _between(
        self, left: Index, right: Index, share: NDArray[np.float32]
    ) -> tuple[NDArray[np.complex64], NDArray[np.complex64]]:
        """Values between two cells, at a level and at the one above."""
        found = []
        for _ in range(2):
            value, beside = self.table.take(left), self.table.take(right)
            beside -= value
            beside *= share
            value += beside
            found.append(value)
            left += AXIAL_CELLS
            right += AXIAL_CELLS
        return found[0], found[1]
