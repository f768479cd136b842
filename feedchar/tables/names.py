"""From the word a person wrote to the one name of a mineral."""

from __future__ import annotations

import re
import unicodedata
from difflib import get_close_matches
from functools import lru_cache

from feedchar.errors import UnknownNameError
from feedchar.tables.read import read_table

LONGEST_SHOWN = 60
"""A word longer than this is cut in messages, and is no mineral name. [characters]"""


def plain_word(word: str) -> str:
    """A word as names are compared: one case, one accent form, one kind of space and hyphen.

    Parameters
    ----------
    word : str
        As written by a person or by a column heading. [-]

    Returns
    -------
    str
        NFKC, case folded, spaces, hyphens and underscores as single spaces. [-]
    """
    folded = unicodedata.normalize("NFKC", unicodedata.normalize("NFKC", word).casefold())
    return re.sub(r"[\s_\-\u2010-\u2015\u2212]+", " ", folded).strip()


def shown_word(word: str) -> str:
    """A word fit to stand in a message, whatever was in it.

    Parameters
    ----------
    word : str
        As written by a person. [-]

    Returns
    -------
    str
        In quotes, unprintable characters replaced, cut at LONGEST_SHOWN. [-]
    """
    safe = "".join(letter if letter.isprintable() else "?" for letter in word[:LONGEST_SHOWN])
    return f'"{safe}..."' if len(word) > LONGEST_SHOWN else f'"{safe}"'


@lru_cache(maxsize=1)
def mineral_names() -> tuple[str, ...]:
    """Canonical names of all minerals.

    Returns
    -------
    tuple of str
        In the order of the table. [-]

    References
    ----------
    reference_tables/minerals.csv.
    """
    return tuple(row.text("mineral") for row in read_table("minerals.csv"))


@lru_cache(maxsize=1)
def _words() -> tuple[dict[str, str], dict[str, tuple[str, ...]]]:
    """Exact words to their mineral, and group words to the minerals to choose from."""
    exact = {plain_word(name): name for name in mineral_names()}
    groups = {}
    for row in read_table("aliases.csv"):
        word = plain_word(row.text("alias"))
        if row.word("kind", "exact", "group") == "exact":
            exact.setdefault(word, row.text("mineral"))
        else:
            groups[word] = tuple(row.text("candidates").split(";"))
    return exact, groups


def resolve_mineral(word: str) -> str:
    """The canonical name of a mineral from any of its names.

    Parameters
    ----------
    word : str
        Name or alias in any case, with any kind of space or hyphen. [-]

    Returns
    -------
    str
        Name as minerals.csv has it. [-]

    Raises
    ------
    UnknownNameError
        For a group word, with its members; for an unknown name, with the nearest ones.

    References
    ----------
    reference_tables/aliases.csv.
    """
    exact, groups = _words()
    plain = plain_word(word)
    if plain in exact:
        return exact[plain]
    if plain in groups:
        members = groups[plain]
        message = f"{shown_word(word)} is a group of minerals: choose from {', '.join(members)}"
        raise UnknownNameError(message, members)
    nearest = _nearest(plain)
    hint = f"; nearest: {', '.join(nearest)}" if nearest else ""
    message = f"{shown_word(word)} is not a known mineral{hint}"
    raise UnknownNameError(message, nearest)


def _nearest(plain: str) -> tuple[str, ...]:
    """Up to three minerals whose names or aliases look like the word."""
    if not plain or len(plain) > LONGEST_SHOWN:
        return ()
    exact, groups = _words()
    found: dict[str, None] = {}
    for match in get_close_matches(plain, [*exact, *groups], n=6, cutoff=0.7):
        for name in (exact[match],) if match in exact else groups[match]:
            found[name] = None
    return tuple(found)[:3]
