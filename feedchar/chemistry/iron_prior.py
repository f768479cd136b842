"""How uncertain the iron of a mineral is: two half-normals through its 5, 50 and 95 % points."""

from __future__ import annotations

from dataclasses import dataclass
from math import log

import numpy as np

from feedchar.chemistry.mineralogy import Array

Z95 = 1.6448536269514722
"""95 % point of the standard normal. [-]"""
WIDE_RATIO = 3.0
"""Above this ratio of high to low the two halves are taken in ln (guess). [-]"""


@dataclass(frozen=True)
class IronPrior:
    """Iron of a phase before any assay: 5, 50 and 95 % points, held between the line's ends."""

    low_wt_pct: float
    typical_wt_pct: float
    high_wt_pct: float
    floor_wt_pct: float
    """Low end of the mixing line."""
    ceiling_wt_pct: float
    """High end of the mixing line."""
    source: str = ""

    @property
    def logarithmic(self) -> bool:
        """True when the two halves are normal in ln."""
        return self.low_wt_pct > 0 and self.high_wt_pct / self.low_wt_pct > WIDE_RATIO

    @property
    def certain(self) -> bool:
        """True when the iron does not vary."""
        return self.high_wt_pct - self.low_wt_pct < 1e-9

    def quantile(self, z: Array) -> Array:
        """Iron at a standard normal score.

        Parameters
        ----------
        z : array, any shape
            Standard normal score. [-]

        Returns
        -------
        array, same shape
            Fe. [wt %]

        References
        ----------
        Two-piece normal through three quantiles: common practice, no source.
        """
        if self.certain:
            return np.full(np.shape(z), self.typical_wt_pct)
        low, typical, high = self.low_wt_pct, self.typical_wt_pct, self.high_wt_pct
        if self.logarithmic:
            low, typical, high = np.log(low), np.log(typical), np.log(high)
        slope = np.where(z < 0, typical - low, high - typical) / Z95
        value = typical + slope * z
        if self.logarithmic:
            value = np.exp(value)
        return np.clip(value, self.floor_wt_pct, self.ceiling_wt_pct)

    def place(self, z: Array) -> Array:
        """Place on the mixing line at a standard normal score.

        Parameters
        ----------
        z : array, any shape
            Standard normal score. [-]

        Returns
        -------
        array, same shape
            0 at the low-iron end, 1 at the high; 0 where the iron does not vary. [-]

        References
        ----------
        By definition of the records of this room.
        """
        if self.certain:
            return np.zeros(np.shape(z))
        span = self.ceiling_wt_pct - self.floor_wt_pct
        return (self.quantile(z) - self.floor_wt_pct) / span

    def score_at(self, place: Array) -> Array:
        """Standard normal score at a place on the mixing line, the inverse of `place`.

        Parameters
        ----------
        place : array, any shape
            Place on the mixing line. [-]

        Returns
        -------
        array, same shape
            Score; 0 where the iron does not vary. [-]

        References
        ----------
        As `quantile`.
        """
        if self.certain:
            return np.zeros(np.shape(place))
        span = self.ceiling_wt_pct - self.floor_wt_pct
        return self.score(self.floor_wt_pct + place * span)

    def score(self, iron_wt_pct: Array) -> Array:
        """Standard normal score of an iron content, the inverse of `quantile`.

        Parameters
        ----------
        iron_wt_pct : array, any shape
            Fe. [wt %]

        Returns
        -------
        array, same shape
            Score, held between -6 and 6. [-]

        References
        ----------
        As `quantile`.
        """
        low, typical, high = self.low_wt_pct, self.typical_wt_pct, self.high_wt_pct
        value = np.maximum(iron_wt_pct, 1e-12)
        if self.logarithmic:
            low, typical, high, value = log(low), log(typical), log(high), np.log(value)
        half = np.where(value < typical, typical - low, high - typical)
        off = np.where(np.abs(value - typical) < 1e-12, 0.0, value - typical)
        return np.clip(Z95 * off / np.maximum(half, 1e-12), -6.0, 6.0)


def ends_wanted(low: float, typical: float, high: float) -> tuple[float, float]:
    """Iron at which a mixing line should end: far enough that the prior is hardly cut.

    Parameters
    ----------
    low, typical, high : float
        5, 50 and 95 % points. [wt %]

    Returns
    -------
    tuple of float
        Low and high end, about three standard scores out. [wt %]

    References
    ----------
    By definition of the records of this room.
    """
    if high - low < 1e-9:
        return typical, typical
    wide = IronPrior(low, typical, high, 0.0, 100.0)
    ends = wide.quantile(np.array([-3.0, 3.0]))
    return float(ends[0]), float(ends[1])
