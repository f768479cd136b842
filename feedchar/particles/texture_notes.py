"""What of the textures could not be taken as written."""

from __future__ import annotations

from feedchar.chemistry.mineralogy import Mineralogy
from feedchar.sample.records import Note, Sample, Texture

SUM_SLACK_PCT = 2.0
"""Shares of a mineral that sum so near to 100 need no word. [%]"""


def texture_notes(sample: Sample, mineralogy: Mineralogy) -> list[Note]:
    """Rows of the textures that were left out or read with an assumption.

    Parameters
    ----------
    sample : Sample
        Its textures. [-]
    mineralogy : Mineralogy
        Phases of the bag. [-]

    Returns
    -------
    list of Note
        In the order of the minerals. [-]

    References
    ----------
    common practice, no source
    """
    role = {phase.name: phase.role for phase in mineralogy.phases}
    notes = []
    for row in sorted(sample.textures, key=lambda row: (row.mineral, row.form, row.host or "")):
        found = _row_note(row, role)
        if found is not None:
            notes.append(found)
    for name in sorted({row.mineral for row in sample.textures}):
        rows = [row for row in sample.textures if row.mineral == name]
        whole = [row for row in rows if row.passing_um is None and row.retained_um is None]
        stated = [row.share_pct for row in whole if row.share_pct is not None]
        if role.get(name, "host") == "host" or not stated:
            continue
        total = sum(sorted(stated))
        if total > 100.0 + SUM_SLACK_PCT:
            text = f"textures: the shares of {name} sum to {total:g} %; scaled to 100"
            notes.append(Note("texture_sum", text, "warning"))
        elif {"free", "joined"} <= {row.form for row in whole} and total < 100.0 - SUM_SLACK_PCT:
            text = f"textures: {100.0 - total:g} % of {name} is in no form; taken as free"
            notes.append(Note("texture_sum", text))
    return notes


def _row_note(row: Texture, role: dict[str, str]) -> Note | None:
    if row.mineral not in role:
        text = f"textures: {row.mineral} is not among the minerals of this bag; row left out"
        return Note("texture_mineral", text, "warning")
    if role[row.mineral] == "host" and row.form != "free" and row.share_pct is not None:
        text = f"textures: {row.mineral} is pale, so how it is joined moves no iron; row left out"
        return Note("texture_pale", text)
    if row.host is not None and row.host not in role:
        text = (
            f"textures: {row.mineral} sits on {row.host}, which is not listed; the pale minerals "
            "were taken instead"
        )
        return Note("texture_host", text, "warning")
    return None
