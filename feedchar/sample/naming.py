"""From the word in a row to a phase: a mineral of the tables, or a phase of the user's own."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

from feedchar.errors import UnknownNameError
from feedchar.sample.rows import Row
from feedchar.sample.shown import shown
from feedchar.tables.names import plain_word, resolve_mineral

PHASES_MAX = 200
"""Most phases of the user's own. [-]"""

UNIDENTIFIED = "unidentified"
RESERVED = {"unseen": "the name of iron that no method has named"}

SUMS = frozenset(("total", "totals", "sum", "summe", "gesamt", "somme", "suma", "totale", "soma"))
"""How laboratories call the last row of a table. [-]"""


@dataclass(frozen=True)
class PhaseNames:
    """The phases of the user's own, by plain word."""

    own: dict[str, str] = field(default_factory=dict)

    def resolve(self, row: Row, column: str) -> str:
        """Canonical name of the phase in a cell.

        Parameters
        ----------
        row : Row
            Row of a table. [-]
        column : str
            Column that holds the name, not blank. [-]

        Returns
        -------
        str
            Name of the tables, of the user's phase, or `unidentified`. [-]

        Raises
        ------
        InputError
            For an unknown name or a group word, with the candidates.
        """
        word = row.text(column) or ""
        plain = plain_word(word)
        if plain in self.own:
            return self.own[plain]
        if plain == UNIDENTIFIED:
            return UNIDENTIFIED
        if plain in RESERVED:
            problem = f"{shown(word)} is {RESERVED[plain]}"
            raise row.error(problem, column, "Use another name")
        try:
            return resolve_mineral(word)
        except UnknownNameError as error:
            remedy = ""
            if not error.candidates:
                remedy = "A phase of your own goes into phases.csv"
            elif "is a group" not in str(error):
                remedy = "If it is none of these, it is a phase of your own, for phases.csv"
            if plain in SUMS:
                remedy = "A row with the sum is no mineral: leave it out"
            raise row.error(str(error), column, remedy) from None


def own_phases(rows: Iterable[Row]) -> PhaseNames:
    """Names of the user's phases.

    Parameters
    ----------
    rows : iterable of Row
        Rows of phases.csv. [-]

    Returns
    -------
    PhaseNames
        Names as written, by plain word. [-]

    Raises
    ------
    InputError
        For a name twice, reserved, or already that of a mineral of the tables.
    """
    own: dict[str, str] = {}
    first: dict[str, int] = {}
    for row in rows:
        if len(own) == PHASES_MAX:
            problem = f"more than {PHASES_MAX} phases"
            raise row.error(problem)
        word = row.text("phase") or ""
        plain = plain_word(word)
        if plain in own:
            problem = f"{shown(word)} already stands in row {first[plain]}"
            raise row.error(problem, "phase", "One row a phase")
        if plain in RESERVED:
            problem = f"{shown(word)} is {RESERVED[plain]}"
            raise row.error(problem, "phase", "Use another name")
        _refuse_mineral(row, word)
        own[plain], first[plain] = word, row.number
    return PhaseNames(own)


def _refuse_mineral(row: Row, word: str) -> None:
    try:
        mineral = resolve_mineral(word)
    except UnknownNameError as error:
        if "is a group" not in str(error):
            return
        known = f"{shown(word)} is a group word of the tables"
    else:
        known = f"{shown(word)} is a name of {mineral} in the tables"
    raise row.error(known, "phase", 'Give your phase a name of its own, such as "our biotite"')
