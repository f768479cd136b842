"""The whole road of this room: from a sample to trials of its mineralogy."""

from __future__ import annotations

import numpy as np

from feedchar.chemistry.assay import assay_rows
from feedchar.chemistry.draws import Draws, draw, line_ends, places, prior_of
from feedchar.chemistry.fit import fit_mineralogy
from feedchar.chemistry.ingredients import Feed, feed_of
from feedchar.chemistry.mineralogy import Agreement, Array, Mineralogy
from feedchar.chemistry.oxides import COLUMN
from feedchar.chemistry.phases import susceptibility_at
from feedchar.chemistry.sizes import size_classes
from feedchar.chemistry.unseen import form_shares
from feedchar.sample.records import Sample

ASSAY_NEEDED_BELOW = 0.10
"""Median predicted Fe2O3 below which no answer is given without an assay. [wt %]"""


def mineralogy_of(sample: Sample, trials: int, seed: int) -> Mineralogy:
    """Trials of the mineralogy of a bag that honour all that was measured.

    Parameters
    ----------
    sample : Sample
        What was measured: minerals, an assay, or both. [-]
    trials : int
        Number of draws, 0 or more; row 0 is the typical case. [-]
    seed : int
        The run's seed. [-]

    Returns
    -------
    Mineralogy
        T = trials + 1 rows. [wt %, mass fractions]

    Raises
    ------
    InputError
        Nothing was given to start from.
    UnknownNameError
        A phase is not known.

    References
    ----------
    Named in the modules that each step calls.
    """
    feed = feed_of(sample)
    iron_assay = sample.assay.get("Fe2O3")
    drawn = draw(feed, sample.origin, iron_assay.value if iron_assay else None, trials, seed)
    place = places(feed, drawn.scores)
    predicted = _bulk(feed, drawn.amounts, place)
    agreement = Agreement(None, 0, None, {})
    amounts = drawn.amounts
    rows = assay_rows(feed, sample.assay)
    if len(rows.names) > 0:
        fit = fit_mineralogy(
            prior_of(feed, drawn), rows, feed.names, drawn.amounts, drawn.scores, seed
        )
        amounts, place = fit.amounts, fit.place
    named_stain = any(t.form == "stain" for t in sample.textures)
    _, _, share = size_classes(sample)
    spread = np.broadcast_to(share, (1, len(feed.names), len(share))).copy()
    iron, oxides, chi = _phases(feed, drawn, place)
    median = float(np.median(predicted[1 if trials else 0 :, COLUMN["Fe2O3"]]))
    return Mineralogy(
        phases=tuple(i.model for i in feed.ingredients),
        mass_fraction=amounts / amounts.sum(axis=1, keepdims=True),
        size_share=spread,
        iron_wt_pct=iron,
        oxides_wt_pct=oxides,
        susceptibility_m3_kg=chi,
        predicted_wt_pct=predicted,
        reconciled_wt_pct=_bulk(feed, amounts, place),
        unseen_form_share=form_shares(sample.origin, named_stain, trials, seed),
        agreement=agreement,
        has_assay=bool(sample.assay),
        assay_needed=iron_assay is None
        and (drawn.unseen.assay_needed or median < ASSAY_NEEDED_BELOW),
        data_disagree=False,
    )


def _bulk(feed: Feed, amounts: Array, place: Array) -> Array:
    low, change = line_ends(feed)
    return (amounts @ low + (amounts * place) @ change) / 100.0


def _phases(feed: Feed, drawn: Draws, place: Array) -> tuple[Array, Array, Array]:
    """Iron, oxides and susceptibility of every phase in every trial."""
    low, change = line_ends(feed)
    floor = np.array([i.iron.floor_wt_pct for i in feed.ingredients])
    span = np.array([i.iron.ceiling_wt_pct for i in feed.ingredients]) - floor
    fixed = np.array([i.iron.typical_wt_pct for i in feed.ingredients])
    certain = np.array([i.iron.certain for i in feed.ingredients])
    iron = np.where(certain, fixed, floor + place * span)
    oxides = low[None, :, :] + place[:, :, None] * change[None, :, :]
    chi = np.stack(
        [
            susceptibility_at(i.model, iron[:, column], drawn.magnetic_scores[:, column])
            for column, i in enumerate(feed.ingredients)
        ],
        axis=1,
    )
    return iron, oxides, chi
