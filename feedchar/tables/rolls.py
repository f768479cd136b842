"""Generic rolls, named by their construction."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from types import MappingProxyType

from feedchar.errors import UnknownNameError
from feedchar.tables.names import shown_word
from feedchar.tables.read import read_table
from feedchar.tables.sources import status_of


@dataclass(frozen=True)
class RollRow:
    """One row of rolls.csv, in the units of the trade; `field` makes a `Roll` of it."""

    roll: str
    roll_radius_mm: float
    bore_radius_mm: float
    magnet_mm: float
    steel_mm: float
    remanence_tesla: float
    """At 20 degrees Celsius."""
    steel_saturation_tesla: float
    belt_mm: float
    source: str
    how_seen: str
    note: str

    @property
    def status(self) -> str:
        """read | recalled | computed | guess"""
        return status_of(self.how_seen)


@lru_cache(maxsize=1)
def roll_rows() -> MappingProxyType[str, RollRow]:
    """All rolls by name.

    Returns
    -------
    mapping of str to RollRow
        In the order of the table. [-]

    References
    ----------
    reference_tables/rolls.csv, a source or the status of a guess in every row.
    """
    rows = (
        RollRow(
            roll=row.text("roll"),
            roll_radius_mm=row.number("roll_radius_mm"),
            bore_radius_mm=row.number("bore_radius_mm"),
            magnet_mm=row.number("magnet_mm"),
            steel_mm=row.number("steel_mm"),
            remanence_tesla=row.number("remanence_tesla"),
            steel_saturation_tesla=row.number("steel_saturation_tesla"),
            belt_mm=row.number("belt_mm"),
            source=row.text("source"),
            how_seen=row.text("how_seen"),
            note=row.text("note"),
        )
        for row in read_table("rolls.csv")
    )
    return MappingProxyType({row.roll: row for row in rows})


def roll_row(name: str) -> RollRow:
    """One roll.

    Parameters
    ----------
    name : str
        Name of the roll. [-]

    Returns
    -------
    RollRow
        Its row. [-]

    Raises
    ------
    UnknownNameError
        When no roll has this name.

    References
    ----------
    reference_tables/rolls.csv.
    """
    known = roll_rows()
    if name.strip() not in known:
        message = f"{shown_word(name)} is no known roll; choose from: {', '.join(known)}"
        raise UnknownNameError(message, tuple(known))
    return known[name.strip()]
