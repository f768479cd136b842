"""The one bibliography that tables, docstrings and reports share, and what a source is worth."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from feedchar.errors import UnknownNameError
from feedchar.tables.read import read_table

STATUSES = ("read", "recalled", "computed", "guess")
"""What stands behind a value, strongest claim first; `guess` is common practice at best."""


@dataclass(frozen=True)
class Source:
    """One entry of sources.csv."""

    key: str
    authors: str
    title: str
    year: str
    publication: str
    volume_pages: str
    doi_or_address: str
    how_seen: str
    note: str

    @property
    def citation(self) -> str:
        """One line for people: authors, year, title, publication, pages, address."""
        parts = (
            self.authors,
            self.year,
            self.title,
            self.publication,
            self.volume_pages,
            self.doi_or_address,
        )
        return ", ".join(part for part in parts if part and part != "-")


def status_of(how_seen: str) -> str:
    """What stands behind a value, in one word.

    Parameters
    ----------
    how_seen : str
        The column `how_seen` of any table. [-]

    Returns
    -------
    str
        read (seen in a text, be it an abstract or second hand) | recalled | computed | guess. [-]
    """
    if "computed" in how_seen or "derived" in how_seen:
        return "computed"
    if how_seen.startswith("read"):
        return "read"
    return "guess" if how_seen == "guess" else "recalled"


@lru_cache(maxsize=1)
def sources() -> dict[str, Source]:
    """All sources by key.

    Returns
    -------
    dict of str to Source
        In the order of the table. [-]

    References
    ----------
    reference_tables/sources.csv.
    """
    return {row.text("key"): Source(**dict(row.cells)) for row in read_table("sources.csv")}


def source(key: str) -> Source:
    """One source.

    Parameters
    ----------
    key : str
        Key of sources.csv. [-]

    Returns
    -------
    Source
        Its entry. [-]

    Raises
    ------
    UnknownNameError
        When no source has this key.

    References
    ----------
    reference_tables/sources.csv.
    """
    known = sources()
    if key not in known:
        message = f'no source has the key "{key}"'
        raise UnknownNameError(message)
    return known[key]
