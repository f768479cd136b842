"""How far magnetite grains are magnetised at a given field, as measured."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from feedchar.tables.read import read_table


@dataclass(frozen=True)
class MagnetiteCurve:
    """Moment over saturation moment against flux density, quantiles over the specimens."""

    flux_density_tesla: tuple[float, ...]
    low: tuple[float, ...]
    """5 % of the specimens. [-]"""
    typical: tuple[float, ...]
    """Median. [-]"""
    high: tuple[float, ...]
    """95 %. [-]"""
    source: str
    how_seen: str


@lru_cache(maxsize=1)
def magnetite_curve() -> MagnetiteCurve:
    """The measured saturation curve of magnetite-bearing chips.

    Returns
    -------
    MagnetiteCurve
        Quantiles at the flux densities measured, 0.01 to 1.2 T. [-]

    References
    ----------
    santa_catalina_serpentinite, by way of reference_tables/magnetite_curve.csv.
    """
    rows = read_table("magnetite_curve.csv")
    return MagnetiteCurve(
        flux_density_tesla=tuple(row.number("flux_density_tesla") for row in rows),
        low=tuple(row.number("low") for row in rows),
        typical=tuple(row.number("moment_over_saturation") for row in rows),
        high=tuple(row.number("high") for row in rows),
        source=rows[0].text("source"),
        how_seen=rows[0].text("how_seen"),
    )
