"""What the reader must know of how a mineralogy came about."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from feedchar.chemistry.agreement import WARN_SD
from feedchar.chemistry.draws import Draws
from feedchar.chemistry.ingredients import Feed
from feedchar.chemistry.mineralogy import OXIDES
from feedchar.sample.records import Note, OxideValue, Sample

if TYPE_CHECKING:
    from feedchar.chemistry.build import Conditioned


def remarks(
    sample: Sample, feed: Feed, drawn: Draws, conditioned: Conditioned,
    assay: dict[str, OxideValue], assay_needed: bool,
) -> tuple[Note, ...]:  # fmt: skip
    """Notes on assumptions, on the fit, and on what was not used.

    Parameters
    ----------
    sample : Sample
        What was measured. [-]
    feed : Feed
        Phases and amounts. [-]
    drawn : Draws
        Trials before the assay. [-]
    conditioned : Conditioned
        Trials after it, and their agreement. [-]
    assay : dict of str to OxideValue
        Head assay that the fit used. [wt %]
    assay_needed : bool
        No answer is given without an assay. [-]

    Returns
    -------
    tuple of Note
        In a fixed order. [-]

    References
    ----------
    By definition of the records of this room.
    """
    notes = [Note("unseen-iron", _unseen_text(drawn, "Fe2O3" in assay))]
    if len(drawn.hidden) > 1:
        others = [feed.names[j] for j in drawn.hidden if j != len(feed.names) - 1]
        text = (
            f"iron of {', '.join(others)} is part of the unseen total and comes first; "
            "`unseen` is what is left, so that no iron is counted twice"
        )
        notes.append(Note("unseen-precedence", text))
    fitted = conditioned.agreement
    if fitted.chi_square is not None and fitted.predictive_probability is None:
        text = "without trials no chance of a worse misfit of minerals and assay is told"
        notes.append(Note("no-predictive-probability", text))
    if assay_needed:
        text = (
            "too much of the iron is unseen, or there is too little of it, to answer without an "
            "assay of Fe2O3"
        )
        notes.append(Note("assay-needed", text, "warning"))
    agreement = conditioned.agreement
    if not agreement.settled:
        text = "the chains of the fit had not settled: take its intervals as rough"
        notes.append(Note("not-settled", text, "warning"))
    what, score = conditioned.misfit.worst
    if abs(score) > WARN_SD or agreement.doubtful is not None:
        severity = "stop" if conditioned.disagree else "warning"
        parts = []
        if abs(score) > WARN_SD:
            parts.append(f"{what} is {abs(score):.1f} sd from what all else says")
        doubtful = agreement.doubtful
        if doubtful is not None and parts and doubtful.startswith(f"{what} ("):
            parts.append(f"doubt this one: {doubtful.removeprefix(what).strip(' ()')}")
        elif doubtful is not None:
            parts.append(f"the datum to doubt: {doubtful}")
        text = "; ".join(parts)
        notes.append(Note("disagreement", text, severity))
    if conditioned.ranges:
        text = (
            "there are more phases than assays: beside the trials, the least and greatest amount "
            "that the assay alone allows is given for each phase"
        )
        notes.append(Note("ranges", text))
    unused = sorted(set(sample.assay) - set(OXIDES[:-1]))
    if unused:
        notes.append(Note("assay-unused", f"assayed and not used by the fit: {', '.join(unused)}"))
    by_rock = sorted(i.model.name for i in feed.ingredients if i.iron.source)
    if by_rock:
        text = f"iron of {', '.join(by_rock)} as in published analyses from {sample.rock}"
        notes.append(Note("iron-by-rock", text))
    return tuple(notes)


def _unseen_text(drawn: Draws, assayed: bool) -> str:
    text = drawn.unseen.text
    if assayed:
        return f"{text}; with the assay, only its sum with undetected iron oxides is well known"
    middle = float(drawn.unseen.quantile(np.array([0.5]))[0])
    return f"{text}: median {middle:.2g} % Fe2O3 before an assay"
