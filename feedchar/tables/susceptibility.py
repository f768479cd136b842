"""Published and computed magnetic values, side by side, one of each kind preferred."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from feedchar.tables.read import read_table
from feedchar.tables.sources import status_of

MASS = "mass_susceptibility_m3_kg"
HIGH_FIELD = "high_field_susceptibility_m3_kg"
SATURATION = "saturation_magnetisation_A_m2_kg"
QUANTITIES = (MASS, HIGH_FIELD, SATURATION)


@dataclass(frozen=True)
class MagneticValue:
    """One row of susceptibility.csv."""

    mineral: str
    quantity: str
    """One of QUANTITIES; its last part is the unit of the three values."""
    low: float | None
    """5 %, or the lower end as printed."""
    typical: float | None
    high: float | None
    """95 %, or the upper end as printed."""
    iron_wt_pct: float | None
    """Iron of the material the value belongs to; None: that of the mineral's formula."""
    conditions: str
    source: str
    how_seen: str
    preferred: bool
    reason: str
    """Why it is preferred, or why it is not."""

    @property
    def status(self) -> str:
        """read | recalled | computed | guess"""
        return status_of(self.how_seen)


@lru_cache(maxsize=1)
def magnetic_values() -> tuple[MagneticValue, ...]:
    """All rows of susceptibility.csv.

    Returns
    -------
    tuple of MagneticValue
        In the order of the table. [-]

    References
    ----------
    reference_tables/susceptibility.csv, a source key in every row.
    """
    return tuple(
        MagneticValue(
            mineral=row.text("mineral"),
            quantity=row.word("quantity", *QUANTITIES),
            low=row.optional("low"),
            typical=row.optional("typical"),
            high=row.optional("high"),
            iron_wt_pct=row.optional("iron_wt_pct"),
            conditions=row.text("conditions"),
            source=row.text("source"),
            how_seen=row.text("how_seen"),
            preferred=row.word("preferred", "yes", "no") == "yes",
            reason=row.text("reason"),
        )
        for row in read_table("susceptibility.csv")
    )


@lru_cache(maxsize=1)
def preferred_values() -> dict[tuple[str, str], MagneticValue]:
    """The preferred row of every mineral and quantity.

    Returns
    -------
    dict of (mineral, quantity) to MagneticValue
        Only what the table has. [-]

    References
    ----------
    reference_tables/susceptibility.csv, column `reason`.
    """
    return {(row.mineral, row.quantity): row for row in magnetic_values() if row.preferred}
