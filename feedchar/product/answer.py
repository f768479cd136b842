"""Does the product meet the limit: per oxide and jointly, over the trials."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from feedchar.chemistry.mineralogy import Mineralogy
from feedchar.product.answer_words import sentence_of, standing
from feedchar.product.limit_rows import UNKNOWN, LimitRow, chance_of, figures_asked
from feedchar.product.outlets import Outlets
from feedchar.sample.records import Limit
from feedchar.uncertainty.summary import LIKELY_FROM, UNLIKELY_TO, summarise

Array = NDArray[np.float64]

STATUSES = ("meets", "fails", "uncertain", "assay needed", "data disagree", "no limit given")


@dataclass(frozen=True)
class Answer:
    """The answer for the mean of this bag, laboratory error left out."""

    status: str
    chance_of_meeting_limit: float | None
    """Joint over all rows. [-]"""
    rows: tuple[LimitRow, ...]
    sentence: str


def _words(chance: float | None) -> str:
    if chance is None:
        return "not known"
    if chance >= LIKELY_FROM:
        return "likely"
    return "unlikely" if chance <= UNLIKELY_TO else "uncertain"


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
    asked = [] if limit is None else figures_asked(outlets, limit, specks_per_100_g)
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
        status = standing(chance)
        if status == "meets" and any(row.value is UNKNOWN for row in rows):
            status = "uncertain"  # What nobody knows is not met.
    return Answer(status, chance, tuple(rows), sentence_of(status, chance, tuple(rows), mineralogy))
