"""Comparing words that people type.

Names from files are data: kept as written, compared after NFKC and casefold, and shown by `shown`.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable

NAME_MAX_CHARACTERS = 200
"""Longest name of a mineral, phase, bag or laboratory. [-]"""

TEXT_MAX_CHARACTERS = 2000
"""Longest note or description. [-]"""


def fold(text: str) -> str:
    """Form of a word in which spelling variants meet.

    Parameters
    ----------
    text : str
        Word as typed, with any case, accents composed or not, any spaces. [-]

    Returns
    -------
    str
        NFKC, casefolded, inner runs of white space as one space. [-]

    References
    ----------
    Unicode Standard, section 3.13 (caseless matching) and annex 15 (normalisation).
    """
    folded = unicodedata.normalize("NFKC", unicodedata.normalize("NFKC", text).casefold())
    return " ".join(folded.split())


def heading_key(text: str) -> str:
    """Form of a heading in which case, spaces and hyphens do not count.

    Parameters
    ----------
    text : str
        Heading as typed. [-]

    Returns
    -------
    str
        Folded, with underscores between words. [-]
    """
    return re.sub(r"[ \-]+", "_", fold(text))


def letters_apart(first: str, second: str) -> int:
    """Letters to change, add, drop or swap with a neighbour to turn one word into the other.

    Parameters
    ----------
    first, second : str
        Words to compare. [-]

    Returns
    -------
    int
        Optimal string alignment distance. [-]

    References
    ----------
    Damerau 1964, Communications of the ACM 7, 171-176, from memory.

    Examples
    --------
    >>> letters_apart("Fe203", "Fe2O3"), letters_apart("mienral", "mineral")
    (1, 1)
    """
    before: list[int] = []
    row = list(range(len(second) + 1))
    for i, a in enumerate(first, start=1):
        before, previous, row = row, before, [i]
        for j, b in enumerate(second, start=1):
            best = min(before[j] + 1, row[j - 1] + 1, before[j - 1] + (a != b))
            if i > 1 and j > 1 and a == second[j - 2] and first[i - 2] == b:
                best = min(best, previous[j - 2] + 1)
            row.append(best)
    return row[-1]


def _unconfused(key: str) -> str:
    return key.replace("0", "o").replace("1", "l").replace("i", "l")


def nearest(word: str, known: Iterable[str]) -> str | None:
    """The known name that this word was probably meant to be.

    Parameters
    ----------
    word : str
        Heading or key as typed. [-]
    known : iterable of str
        Names that are understood. [-]

    Returns
    -------
    str or None
        A name at most two letters away (one below six letters, none below four, a zero for
        an O always), else None. [-]
    """
    key = heading_key(word)[:NAME_MAX_CHARACTERS]
    found: list[tuple[int, str]] = []
    for name in known:
        other = heading_key(name)
        length = max(len(key), len(other))
        allowed = 0 if length <= 3 else 1 if length <= 5 else 2
        if _unconfused(key) == _unconfused(other):
            found.append((0, name))
        elif abs(len(key) - len(other)) <= allowed and letters_apart(key, other) <= allowed:
            found.append((letters_apart(key, other), name))
    return min(found)[1] if found else None


def closest(word: str, known: Iterable[str]) -> str:
    """Sentence that names the nearest of a short list, or the whole list.

    Parameters
    ----------
    word : str
        Word as typed. [-]
    known : iterable of str
        What is allowed. [-]

    Returns
    -------
    str
        Remedy for a message. [-]
    """
    names = list(known)
    near = nearest(word, names)
    if near is not None:
        return f'Did you mean "{near}"?'
    return "Allowed: " + ", ".join(names)
