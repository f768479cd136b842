"""Does the product meet the limit: per oxide and jointly, over the trials."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from feedchar.chemistry.mineralogy import OXIDES, Mineralogy
from feedchar.errors import UnknownNameError
from feedchar.product.outlets import Outlets
from feedchar.sample.records import Limit
from feedchar.uncertainty.summary import LIKELY_FROM, UNLIKELY_TO, Uncertain, summarise

Array = NDArray[np.float64]

AGREEMENT = "disagreement"
"""Code of the note on the fit; any other that stops is a rule of the trade."""
UNKNOWN = Uncertain(None, None, None, None, None, None)
STATUSES = ("meets", "fails", "uncertain", "assay needed", "data disagree", "no limit given")
_BEGUN = {
    "meets": "Likely to meet", "fails": "Unlikely to meet", "uncertain": "Open whether it meets",
}  # fmt: skip


@dataclass(frozen=True)
class LimitRow:
    """One thing that is asked of the product."""

    quantity: str
    """An oxide (or a sum such as K2O+Na2O), `yield` or `specks`."""
    unit: str
    """wt_pct | pct_of_dry_bag | per_100_g"""
    bound: str
    """max | min"""
    asked: float
    value: Uncertain
    """All None where no phase of the list carries the oxide."""
    chance: float | None
    """Share of the trials that meet it; None where no chance may be given."""
    typical_meets: bool
    """As far as anything is known."""
    words: str
    """likely | unlikely | uncertain | not known"""


@dataclass(frozen=True)
class Answer:
    """The answer for the mean of this bag, laboratory error left out."""

    status: str
    chance_of_meeting_limit: float | None
    """Joint over all rows. [-]"""
    rows: tuple[LimitRow, ...]
    sentence: str


def oxide_values(outlets: Outlets, name: str) -> Array:
    """An oxide of the product, or a sum of oxides joined by `+`.

    Parameters
    ----------
    outlets : Outlets
        Where the bag goes. [-]
    name : str
        Such as `Fe2O3` or `K2O+Na2O`. [-]

    Returns
    -------
    array, shape (T,)
        Content of the non-magnetics. [wt %]

    Raises
    ------
    UnknownNameError
        When an oxide is not one of OXIDES.

    References
    ----------
    computed_here
    """
    parts = [part.strip() for part in name.split("+")]
    for part in parts:
        if part not in OXIDES:
            msg = f"the limit names {part}, which is not computed"
            raise UnknownNameError(msg, OXIDES)
    return np.asarray(sum(outlets.non_magnetics.oxide(part) for part in parts))


def chance_of(meets: NDArray[np.bool_]) -> float | None:
    """Share of the trials that meet something, the typical row left out.

    Parameters
    ----------
    meets : array of bool, shape (T,)
        Row 0 is the typical case. [-]

    Returns
    -------
    float or None
        None when there are no trials. [-]

    References
    ----------
    computed_here
    """
    return float(meets[1:].mean()) if len(meets) > 1 else None


def _words(chance: float | None) -> str:
    if chance is None:
        return "not known"
    if chance >= LIKELY_FROM:
        return "likely"
    return "unlikely" if chance <= UNLIKELY_TO else "uncertain"


def _asked(
    outlets: Outlets, limit: Limit, specks_per_100_g: Array | None
) -> list[tuple[str, str, str, float, Array]]:
    """Quantity, unit, bound, figure asked and its trials, of all that is asked."""
    asked: list[tuple[str, str, str, float, Array]] = []
    for bound, figures in (("max", limit.max_wt_pct), ("min", limit.min_wt_pct)):
        for name in sorted(figures, key=lambda key: (key != "Fe2O3", key)):
            asked.append((name, "wt_pct", bound, figures[name], oxide_values(outlets, name)))
    if limit.yield_min_pct is not None:
        asked.append(("yield", "pct_of_dry_bag", "min", limit.yield_min_pct, outlets.yield_pct()))
    if limit.specks_per_100_g_max is not None and specks_per_100_g is not None:
        asked.append(("specks", "per_100_g", "max", limit.specks_per_100_g_max, specks_per_100_g))
    return asked


def answer(
    outlets: Outlets,
    limit: Limit | None,
    mineralogy: Mineralogy,
    specks_per_100_g: Array | None = None,
) -> Answer:
    """Status, chance and a plain sentence.

    An oxide that no phase of the list carries is zero in every trial, which nobody has measured:
    its row has no chance, the joint chance leaves it out, and the sentence says so.

    Parameters
    ----------
    outlets : Outlets
        Where the bag goes. [-]
    limit : Limit or None
        What is asked of the product. [-]
    mineralogy : Mineralogy
        For `assay_needed` and `data_disagree`. [-]
    specks_per_100_g : array, shape (T,) or None
        Dark grains counted in 100 g of product. [-]

    Returns
    -------
    Answer
        Chance None when the status is assay needed, data disagree or no limit given. [-]

    References
    ----------
    common practice, no source (0.90 and 0.10)
    """
    asked = [] if limit is None else _asked(outlets, limit, specks_per_100_g)
    withheld = mineralogy.data_disagree or mineralogy.assay_needed
    rows, some = [], False
    joint = np.ones(len(outlets.non_magnetics.mass), dtype=bool)
    for quantity, unit, bound, figure, values in asked:
        # An empty product (NaN) meets nothing.
        met = values <= figure if bound == "max" else values >= figure
        met = met & np.isfinite(values)
        known = unit != "wt_pct" or bool(np.any(values != 0.0))
        if known:
            joint &= met
            some = True
        chance = None if withheld or not known else chance_of(met)
        value = summarise(values) if known else UNKNOWN
        typical = bool(met[0]) or not known
        rows.append(LimitRow(quantity, unit, bound, figure, value, chance, typical, _words(chance)))
    chance = chance_of(joint) if some and not withheld else None
    if mineralogy.data_disagree:
        status = "data disagree"
    elif mineralogy.assay_needed:
        status = "assay needed"
    elif not asked:
        status = "no limit given"
    elif chance is None:
        status = "uncertain"
    else:
        status = _standing(chance)
        if status == "meets" and any(row.value is UNKNOWN for row in rows):
            status = "uncertain"  # What nobody knows is not met.
    return Answer(status, chance, tuple(rows), sentence_of(status, chance, tuple(rows), mineralogy))


def in_100(chance: float) -> str:
    """A chance in plain words, never 0 or 100 in 100.

    Parameters
    ----------
    chance : float
        0 to 1. [-]

    Returns
    -------
    str
        Such as `about 44 in 100`, with decimals where rounding would contradict the status. [-]

    References
    ----------
    common practice, no source
    """
    if not 0.005 < chance < 0.995:
        return f"{'more than 99' if chance > 0.5 else 'fewer than 1'} in 100"
    for decimals in range(5):
        told = f"{100.0 * chance:.{decimals}f}"
        if _standing(float(told) / 100.0) == _standing(chance):
            break
    return f"about {told} in 100"


def _standing(chance: float) -> str:
    return "meets" if chance >= LIKELY_FROM else "fails" if chance <= UNLIKELY_TO else "uncertain"


def _what(row: LimitRow) -> str:
    bound = "at most" if row.bound == "max" else "at least"
    if row.quantity == "yield":
        return f"a yield of {bound} {row.asked:g} % of the dry bag"
    if row.quantity == "specks":
        return f"{bound} {row.asked:g} dark grains above 250 um in 100 g"
    return f"{bound} {row.asked:g} % {row.quantity}"


def sentence_of(
    status: str, chance: float | None, rows: tuple[LimitRow, ...], mineralogy: Mineralogy
) -> str:
    """The answer as one or two plain sentences.

    Parameters
    ----------
    status : str
        One of STATUSES. [-]
    chance : float or None
        Joint chance. [-]
    rows : tuple of LimitRow
        What is asked. [-]
    mineralogy : Mineralogy
        For the datum to doubt. [-]

    Returns
    -------
    str
        Text for the reader. [-]

    References
    ----------
    common practice, no source
    """
    if status == "data disagree":
        doubt = mineralogy.agreement.doubtful
        broken = [n.text for n in mineralogy.notes if n.severity == "stop" and n.code != AGREEMENT]
        if broken:
            tail = f" Settle first: {broken[0]}."
        else:
            tail = f" Doubt first: {doubt}." if doubt else ""
        return f"The data of the feed disagree beyond 4 sd, so no chance is given.{tail}"
    if status == "assay needed":
        return (
            "Too much of the iron of this feed is unseen, or there is too little of it, to answer "
            "without an assay: have Fe2O3 of the dry bag determined."
        )
    if status == "no limit given":
        return "No limit was given; what the product is likely to be is shown below."
    known = [row for row in rows if row.value is not UNKNOWN]
    unknown = [row.quantity for row in rows if row.value is UNKNOWN]
    wish = ", ".join(_what(row) for row in (known or rows))
    caveat = (
        f" Left out: {', '.join(unknown)}, which nothing listed carries: only an assay of the "
        "product can tell."
        if unknown
        else ""
    )
    if chance is None and not known:
        return f"Nothing that is asked is known of this feed.{caveat}"
    if chance is None:
        met = "meets" if all(row.typical_meets for row in known) else "does not meet"
        return f"The typical case {met} {wish}; no trials were run, so no chance is given.{caveat}"
    partly = status == "uncertain" and chance >= LIKELY_FROM
    begun = "What is known is likely to meet" if partly else _BEGUN[status]
    text = f"{begun} {wish}: {in_100(chance)}, for the mean of this bag."
    worst = min(rows, key=lambda row: 1.0 if row.chance is None else row.chance)
    if chance < LIKELY_FROM and len(known) > 1 and worst.chance is not None:
        text += f" What decides is {_what(worst)} ({in_100(worst.chance)} by itself)."
    return text + caveat
