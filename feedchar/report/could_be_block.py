"""What could be: the best that hand, magnet and this machine could make of the bag."""

from __future__ import annotations

from feedchar.report.blocks import Block, Column, Part, Row, Table, Words
from feedchar.report.curve_readings import iron_at, yield_at
from feedchar.report.numbers import share, weight
from feedchar.report.outlook_blocks import APART
from feedchar.report.readings import typical
from feedchar.report.words import NO_BREAK, prose
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
