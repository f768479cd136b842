"""Random numbers that every row of a table shares, so that no row depends on its neighbours."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from feedchar.chemistry.mineralogy import Array
from feedchar.uncertainty.streams import stream


class Tiled:
    """A stream that gives every row the same draws."""

    def __init__(self, generator: np.random.Generator, trials: int) -> None:
        self.generator, self.trials = generator, trials

    def _tiled(self, draws: Array, size: int) -> Array:
        return np.tile(draws, size // self.trials)

    def random(self, size: int | tuple[int, int]) -> Array:
        """Uniform draws, `trials` of them for each row."""
        if isinstance(size, tuple):
            return np.stack([self.random(size[1]) for _ in range(size[0])])
        return self._tiled(self.generator.random(self.trials), size)

    def standard_normal(self, size: int) -> Array:
        """Standard normal draws, `trials` of them for each row."""
        return self._tiled(self.generator.standard_normal(self.trials), size)


@dataclass(frozen=True)
class Streams:
    """Random numbers of one pattern of rows."""

    draw: dict[str, Tiled]
    """Of exchanges and iron, by phase."""
    factors: dict[str, Tiled]
    """Of factors, by phase: apart, since not every row takes them."""
    choose: np.random.Generator
    wander: np.random.Generator

    @classmethod
    def of(cls, names: tuple[str, ...], seed: int, trials: int) -> Streams:
        """Streams named as for a single bag."""
        return cls(
            {name: Tiled(stream(seed, f"{name}/fit"), trials) for name in names},
            {name: Tiled(stream(seed, f"{name}/factor"), trials) for name in names},
            stream(seed, "fit/partners"),
            stream(seed, "fit/lines"),
        )
