"""Limits a product may be asked to meet, by use."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from types import MappingProxyType

from feedchar.errors import UnknownNameError
from feedchar.tables.names import plain_word, shown_word
from feedchar.tables.read import read_table
from feedchar.tables.sources import status_of

_MAXIMA = ("Fe2O3", "Al2O3", "TiO2", "Cr2O3")
_MINIMA = ("SiO2",)


@dataclass(frozen=True)
class ProductLimit:
    """One row of product_limits.csv. The customer's own contract always goes before it."""

    key: str
    applies_to: str
    """sand | feldspar | nepheline syenite | glass (never a limit of the sand)"""
    use: str
    source: str
    max_wt_pct: MappingProxyType[str, float]
    min_wt_pct: MappingProxyType[str, float]
    how_seen: str
    note: str

    @property
    def status(self) -> str:
        """read | recalled | computed | guess"""
        return status_of(self.how_seen)


@lru_cache(maxsize=1)
def product_limits() -> MappingProxyType[str, ProductLimit]:
    """All product limits by key.

    Returns
    -------
    mapping of str to ProductLimit
        In the order of the table, limits of the glass itself included. [-]

    References
    ----------
    reference_tables/product_limits.csv, a source key in every row; most are recalled.
    """
    limits = {}
    for row in read_table("product_limits.csv"):
        most = {oxide: row.optional(f"{oxide}_max_pct") for oxide in _MAXIMA}
        least = {oxide: row.optional(f"{oxide}_min_pct") for oxide in _MINIMA}
        limits[row.text("key")] = ProductLimit(
            key=row.text("key"),
            applies_to=row.word("applies_to", "sand", "feldspar", "nepheline syenite", "glass"),
            use=row.text("use"),
            source=row.text("standard_or_source"),
            max_wt_pct=MappingProxyType({k: v for k, v in most.items() if v is not None}),
            min_wt_pct=MappingProxyType({k: v for k, v in least.items() if v is not None}),
            how_seen=row.text("how_seen"),
            note=row.text("note"),
        )
    return MappingProxyType(limits)


def product_limit(key: str) -> ProductLimit:
    """One limit of a product.

    Parameters
    ----------
    key : str
        Key of product_limits.csv, in any case, with any kind of space or hyphen. [-]

    Returns
    -------
    ProductLimit
        Its row. [-]

    Raises
    ------
    UnknownNameError
        For an unknown key, and for a limit of the glass, which is no limit of its sand.

    References
    ----------
    reference_tables/product_limits.csv.
    """
    known = product_limits()
    usable = tuple(name for name, limit in known.items() if limit.applies_to != "glass")
    found = {plain_word(name): limit for name, limit in known.items()}.get(plain_word(key))
    if found is None:
        message = f"{shown_word(key)} is no known use; choose from: {', '.join(usable)}"
        raise UnknownNameError(message, usable)
    if found.applies_to == "glass":
        message = (
            f"{shown_word(key)} limits the finished glass, not the sand; "
            f"choose from: {', '.join(usable)}"
        )
        raise UnknownNameError(message, usable)
    return found
