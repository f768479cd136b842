"""How sure the answer is, what to do next, and the checks that tripped."""

from __future__ import annotations

from feedchar.report.answer_blocks import WEIGHTIEST
from feedchar.report.blocks import SEVERITIES, Block, Part, Words
from feedchar.report.numbers import DASH, weight
from feedchar.report.readings import likely, nine_in_ten
from feedchar.report.words import NO_BREAK, name, prose
from feedchar.results import Characterisation

APART = 0.1
"""Relative distance of typical and likely product iron from which a reader is told. [-]"""

ALL_OF_IT = 0.995
"""Share of the doubt from which one reason is all that is told. [-]"""

MOST_STEPS, LEAST_TOLD = 4, 0.02
"""Measurements told at most, and the share of variance from which a thing is told. [-]"""


def doubt_block(result: Characterisation) -> Block:
    """How wide the answer is and which measurement would narrow it.

    Parameters
    ----------
    result : Characterisation
        The result. [-]

    Returns
    -------
    Block
        Words only. [-]
    """
    iron = result.product.non_magnetics.assay_wt_pct.get("Fe2O3")
    between = nine_in_ten(iron, weight)
    assumed = result.basis.assumptions_that_decide[WEIGHTIEST:]
    rest = [Words("It also rests on:", "quiet")] if assumed else []
    rest += [Words(prose(text), mark="-") for text in assumed]
    if between == DASH:
        text = "Only the typical case was computed: nothing is said of how sure it is."
        return Block("doubt", "HOW SURE", (Words(text), *rest))
    text = (
        f"Product Fe2O3 {weight(likely(iron))}{NO_BREAK}% is as often too high as too low; 9 in 10 "
        f"of {result.trials} trials fall within {between}. Tables that add up hold the mean of the "
        "trials; what could be is told for the typical case."
    )
    if iron is not None and iron.mean and iron.p50 and abs(iron.mean - iron.p50) > APART * iron.p50:
        moved = "above it, lifted by trials rich in iron" if iron.mean > iron.p50 else "below it"
        text += f" The mean, {weight(iron.mean)}{NO_BREAK}%, lies {moved}."
    where = _doubt_words(result.doubt)
    sits = [Words(f"{where}.", mark="Where the doubt sits")] if where else []
    return Block("doubt", "HOW SURE", (Words(text), *sits, *rest))


def _doubt_words(doubt: dict[str, float]) -> str:
    """Reasons with their shares; one that outweighs the whole, as others lean against it, alone."""
    ranked = sorted(doubt.items(), key=lambda item: (-item[1], item[0]))
    if ranked and ranked[0][1] > ALL_OF_IT:
        return f"{name(ranked[0][0])}, nearly all of it"
    told = [entry for entry in ranked if entry[1] >= LEAST_TOLD]
    return ", ".join(
        f"{name(reason)}{NO_BREAK}{100 * part:.0f}{NO_BREAK}%" for reason, part in told
    )


def next_block(result: Characterisation) -> Block:
    """What to measure next, the most telling first.

    Parameters
    ----------
    result : Characterisation
        The result. [-]

    Returns
    -------
    Block
        One paragraph a measurement. [-]
    """
    told = [step for step in result.measure_next if step.variance_removed_share >= LEAST_TOLD]
    told = told[:MOST_STEPS]
    parts: list[Part] = []
    for place, step in enumerate(told, start=1):
        text = f"{prose(step.measurement)}: removes {100 * step.variance_removed_share:.0f}"
        text += f"{NO_BREAK}% of the doubt"
        if step.hours is not None:
            text += f", about {step.hours:g}{NO_BREAK}h"
        parts.append(Words(f"{text}.", mark=f"{place}"))
    pair = result.best_pair
    if pair is not None and len(told) > 1:
        text = f"{prose(pair.first)}, {prose(pair.second)}: "
        text += f"{100 * pair.variance_removed_share:.0f}{NO_BREAK}%"
        parts.append(Words(f"{text}.", mark="Best two together"))
    if len(told) > 1:
        text = "One tells part of another, so these do not add up. Hours: common practice."
        parts.append(Words(text, "quiet"))
    if not parts:
        parts.append(Words("No measurement was found that would narrow the answer much."))
    return Block("next", "DO NEXT", tuple(parts), "share of the variance of product iron")


def checks_block(result: Characterisation) -> Block:
    """Rules that tripped and what was assumed, the gravest first.

    Parameters
    ----------
    result : Characterisation
        The result. [-]

    Returns
    -------
    Block
        One paragraph a note. [-]
    """
    rank = list(SEVERITIES)
    notes = sorted(result.notes, key=lambda note: rank.index(note.severity))
    parts: list[Part] = []
    for note in notes:
        mark, role = SEVERITIES[note.severity]
        parts.append(Words(prose(note.text), role, mark))
    if not any(note.severity != "note" for note in notes):
        parts.insert(0, Words("No rule of the trade tripped."))
    return Block("checks", "CHECKS", tuple(parts), "STOP settle first, ! look again, - note")
