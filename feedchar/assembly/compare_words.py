"""What a comparison says in sentences."""

from __future__ import annotations

from feedchar.assembly.tested import PredictedBag
from feedchar.results.comparison import Balance, Cause, MistakeFound
from feedchar.sample.records import Note

DEEP_FROM = 1.1
"""Layers from which the depth of the bed is worth a word. [-]"""
DIFFERS_BELOW = 0.01
"""Chance below which what a cause leaves is still a difference. [-]"""
LEAST_TOLD = 0.001
"""Chances below this are told as below it. [-]"""


def mistake_words(mistake: MistakeFound) -> str:
    """A mistake in words.

    Parameters
    ----------
    mistake : MistakeFound
        The mistake. [-]

    Returns
    -------
    str
        Without a full stop. [-]
    """
    names = " and ".join(mistake.bags)
    if mistake.kind == "labels swapped":
        return f"the labels of {names} are swapped ({mistake.detail})"
    return f"{mistake.kind}: {mistake.detail}"


def assumed_notes(predicted: tuple[PredictedBag, ...]) -> list[Note]:
    """What was assumed of the steps that were predicted.

    Parameters
    ----------
    predicted : tuple of PredictedBag
        The prediction. [-]

    Returns
    -------
    list of Note
        One for each thing assumed, in the order of the steps' names. [-]
    """
    notes = {}
    for one in predicted:
        where = ", ".join(word for word in (one.test, one.step, one.repeat) if word)
        for text in one.notes:
            notes[where, text] = Note("step-assumed", f"{where}: {text}")
        if one.layers is not None and one.layers > DEEP_FROM:
            text = f"{where}: the bed was {one.layers:.1f} grains deep, so more is missed"
            notes[where, "deep"] = Note("bed-too-deep", text, "warning")
    return [notes[key] for key in sorted(notes)]


def answer_of(
    balance: Balance,
    mistakes: tuple[MistakeFound, ...],
    mistake: MistakeFound | None,
    verdict: str,
    causes: tuple[Cause, ...],
) -> str:
    """The first sentences of the report.

    Parameters
    ----------
    balance : Balance
        How the tree closes. [-]
    mistakes : tuple of MistakeFound
        What the bags themselves show. [-]
    mistake : MistakeFound or None
        The one that was undone before the comparison. [-]
    verdict : str
        agrees | differs | not predicted. [-]
    causes : tuple of Cause
        What would explain a difference. [-]

    Returns
    -------
    str
        Balance first, prediction second. [-]
    """
    named = [one for one in mistakes if one.named]
    if balance.degrees_of_freedom == 0:
        first = "The balance cannot be tested: nothing was measured twice over"
    elif balance.closes:
        first = "The balance closes"
    else:
        first = f"The balance does not close ({_chance(balance.p_value)})"
    if named:
        first += f"; most likely {mistake_words(named[0])}"
    elif not balance.closes and balance.to_doubt:
        first += f"; doubt first {' or '.join(balance.to_doubt)}"
    tail = " with that put right" if mistake is not None else ""
    if verdict == "not predicted":
        return f"{first}. No bag could be predicted."
    if verdict == "not judged":
        return f"{first}. Without trials nobody can say how far a test may be from its prediction."
    if verdict == "agrees":
        return f"{first}. The test agrees with the prediction{tail}."
    likely = [one for one in causes if one.named]
    if not likely:
        return f"{first}. The test differs from the prediction{tail}, and no one cause explains it."
    words = " or ".join(f"{one.cause} ({one.detail})" for one in likely[:2])
    rest = likely[0].p_value_left
    part = ", which explains only a part of it" if rest < DIFFERS_BELOW else ""
    return f"{first}. The test differs from the prediction{tail}; most likely {words}{part}."


def _chance(p_value: float) -> str:
    return f"chance {p_value:.2g}" if p_value >= LEAST_TOLD else f"chance below {LEAST_TOLD:g}"
