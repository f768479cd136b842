"""What could be, how sure it is, what to do next, and the checks that tripped."""

from __future__ import annotations

from feedchar.report.answer_blocks import WEIGHTIEST
from feedchar.report.blocks import Block, Column, Part, Row, Table, Words
from feedchar.report.curve_readings import iron_at, yield_at
from feedchar.report.readings import likely, nine_in_ten, typical
from feedchar.report.words import DASH, NO_BREAK, name, prose, share, weight
from feedchar.results import BestPossible, Characterisation

CURVES = (
    ("every_grain_sorted", "every grain sorted by hand"),
    ("ideal_magnet", "an ideal magnet"),
    ("this_roll", "this machine"),
)

_GAPS = {
    "ideal_magnet": "what no magnet sorts: stain, locked and pale iron",
    "this_roll": "what this machine misplaces",
}

APART = 0.1
"""Relative distance of typical and likely product iron from which a reader is told. [-]"""

ALL_OF_IT = 0.995
"""Share of the doubt from which one reason is all that is told. [-]"""

MOST_STEPS, LEAST_TOLD = 4, 0.02
"""Measurements told at most, and the share of variance from which a thing is told. [-]"""

_SEVERITY = {"stop": ("STOP", "bad"), "warning": ("!", "doubtful"), "note": ("-", "quiet")}


def could_be_block(
    result: Characterisation, at_grade: float | None = None, at_yield: float | None = None
) -> Block:
    """What could be: the three curves at this yield, other treatments, and what was asked of them.

    Parameters
    ----------
    result : Characterisation
        The result. [-]
    at_grade : float or None
        Product Fe2O3 whose yield is asked for. [wt %]
    at_yield : float or None
        Yield whose product Fe2O3 is asked for. [% of dry bag]

    Returns
    -------
    Block
        A table and the best point that meets the limit. [-]
    """
    best = result.best_possible
    kept = typical(result.product.non_magnetics.yield_pct)
    rows, gaps = [], []
    before: float | None = None
    for key, label in CURVES:
        iron = best.at_product_yield.get(key)
        if iron is None and kept is not None:
            iron = iron_at(getattr(best, key), kept)
        if iron is None:
            continue
        if before is not None and key in _GAPS:
            words = _GAPS[key] if iron >= before else "iron-rich fines go with the sand lost"
            gaps.append(f"{label} {1e4 * (iron - before):+.0f}{NO_BREAK}ppm, {words}")
        rows.append(Row((label, weight(iron), share(kept))))
        before = iron
    rows += [
        Row((prose(treatment), weight(iron), share(part)))
        for treatment, iron, part in best.other_treatments
    ]
    columns = (Column(""), Column("Fe2O3, wt %", "number"), Column("yield, %", "number"))
    parts: list[Part] = [Table(columns, tuple(rows))] if rows else []
    if gaps:
        parts.append(Words(f"{'; '.join(gaps)}.", mark="From line to line"))
    if at_grade is not None:
        parts.append(_at_grade(best, at_grade))
    if at_yield is not None:
        parts.append(_at_yield(best, at_yield))
    dirtiest = _dirtiest(result)
    if dirtiest:
        parts.append(dirtiest)
    meeting = _meeting_limit(result)
    if meeting:
        parts.append(meeting)
    if not parts:
        parts.append(Words("No curve was computed."))
    apart = _typical_apart(result)
    if apart:
        parts.append(apart)
    return Block("could be", "BEST POSSIBLE", tuple(parts), "typical case, of the dry bag")


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
    rank = list(_SEVERITY)
    notes = sorted(result.notes, key=lambda note: rank.index(note.severity))
    parts: list[Part] = []
    for note in notes:
        mark, role = _SEVERITY[note.severity]
        parts.append(Words(prose(note.text), role, mark))
    if not any(note.severity != "note" for note in notes):
        parts.insert(0, Words("No rule of the trade tripped."))
    return Block("checks", "CHECKS", tuple(parts), "STOP settle first, ! look again, - note")


def _typical_apart(result: Characterisation) -> Words | None:
    """A warning where the typical case is not what is likely."""
    iron = result.product.non_magnetics.assay_wt_pct.get("Fe2O3")
    if iron is None or iron.p50 is None or not iron.typical:
        return None
    if abs(iron.typical - iron.p50) <= APART * iron.p50:
        return None
    text = (
        f"The typical case holds {weight(iron.typical)}{NO_BREAK}% where {weight(iron.p50)} is "
        "likely: read the steps between the lines, not their level."
    )
    return Words(text, "doubtful")


def _dirtiest(result: Characterisation) -> Words | None:
    """How dirty the feed may get before this setting fails."""
    found = result.dirtiest_feed
    if found is None or found.typical_wt_pct is None:
        return None
    text = f"{weight(found.typical_wt_pct)}{NO_BREAK}% {found.oxide} in the typical case"
    if found.nine_in_ten_wt_pct is not None:
        text += f", {weight(found.nine_in_ten_wt_pct)}{NO_BREAK}% in 9 of 10 trials"
    else:
        text += ", none in 9 of 10 trials"
    return Words(f"{text}, its minerals growing alike.", mark="Dirtiest feed that passes")


def _at_grade(best: BestPossible, grade: float) -> Words:
    found = []
    for key, label in CURVES:
        part = yield_at(getattr(best, key), grade)
        found.append(
            f"{label} {'never so clean' if part is None else share(part) + NO_BREAK + '%'}"
        )
    text = f"yield at {weight(grade)}{NO_BREAK}% Fe2O3: {'; '.join(found)}."
    return Words(text, "strong", mark="Asked")


def _at_yield(best: BestPossible, asked: float) -> Words:
    found = []
    for key, label in CURVES:
        iron = iron_at(getattr(best, key), asked)
        found.append(f"{label} {'not reached' if iron is None else weight(iron) + NO_BREAK + '%'}")
    text = f"Fe2O3 at {share(asked)}{NO_BREAK}% yield: {'; '.join(found)}."
    return Words(text, "strong", mark="Asked")


def _meeting_limit(result: Characterisation) -> Words | None:
    best = result.best_possible.best_meeting_limit
    if best is not None:
        label = dict(CURVES).get(best.curve, best.curve.replace("_", " "))
        text = f"{label}, {weight(best.Fe2O3_wt_pct)}{NO_BREAK}% Fe2O3 at a yield of "
        return Words(f"{text}{share(best.yield_pct)}{NO_BREAK}%.", mark="Best that meets the limit")
    if result.answer.limit and result.best_possible.this_roll:
        return Words("No point of these curves meets what is asked.", "bad")
    return None
