"""The whole road of this room: from a sample to trials of its mineralogy."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from feedchar.chemistry.agreement import Misfit, agreement_of, contradict
from feedchar.chemistry.assay import assay_rows, fraction_rows, joined
from feedchar.chemistry.bulk_magnetism import bulk_row
from feedchar.chemistry.diagnosis import Diagnosis, diagnosis_of, forms_by_treatment
from feedchar.chemistry.draws import Draws, draw, line_ends, places, prior_of
from feedchar.chemistry.fit import Fit, fit_mineralogy
from feedchar.chemistry.head import head_assay
from feedchar.chemistry.ingredients import Feed, feed_of
from feedchar.chemistry.mineralogy import Agreement, Array, Mineralogy
from feedchar.chemistry.oxides import COLUMN
from feedchar.chemistry.phases import susceptibility_at
from feedchar.chemistry.ranges import amount_ranges
from feedchar.chemistry.remarks import remarks
from feedchar.chemistry.sanity_of_feed import feed_notes
from feedchar.chemistry.size_split import size_shares
from feedchar.chemistry.start import typical_fit
from feedchar.chemistry.system import Rows
from feedchar.chemistry.unseen import form_shares
from feedchar.sample.records import Sample

ASSAY_NEEDED_BELOW = 0.10
"""Median predicted Fe2O3 below which no answer is given without an assay. [wt %]"""
_SOLUBLE = ("goethite", "hematite", "lepidocrocite", "limonite", "magnetite", "siderite")


def mineralogy_of(sample: Sample, trials: int, seed: int, *, thorough: bool = True) -> Mineralogy:
    """Trials of the mineralogy of a bag that honour all that was measured.

    Parameters
    ----------
    sample : Sample
        What was measured: minerals, an assay, or both. [-]
    trials : int
        Number of draws, 0 or more; row 0 is the typical case. [-]
    seed : int
        The run's seed. [-]
    thorough : bool
        False leaves out the ranges by linear programming and the search for the datum to doubt,
        which many samples at once do not need. [-]

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
    As the modules that each step calls; put together here by definition.
    """
    diagnosis = diagnosis_of(sample)
    assay, head_notes = head_assay(sample, diagnosis)
    feed, feed_remarks = feed_of(sample, assay, diagnosis.hand_magnet_wt_pct)
    iron_assay = assay.get("Fe2O3")
    drawn = draw(feed, sample.origin, iron_assay.value if iron_assay else None, trials, seed)
    place = places(feed, drawn.scores)
    predicted = _bulk(feed, drawn.amounts, place)
    rows = _rows(sample, feed, assay_rows(feed, assay), drawn, seed)
    conditioned = _condition(feed, drawn, rows, place, seed, thorough)
    amounts, place = conditioned.fit.amounts, conditioned.fit.place
    mass = amounts / amounts.sum(axis=1, keepdims=True)
    iron, oxides, chi = _phases(feed, drawn, place)
    median = float(np.median(predicted[1 if trials else 0 :, COLUMN["Fe2O3"]]))
    low_iron = median < ASSAY_NEEDED_BELOW
    needed = iron_assay is None and (drawn.unseen.assay_needed or low_iron)
    rules = feed_notes(sample, feed, assay, diagnosis)
    disagree = conditioned.disagree or any(note.severity == "stop" for note in rules)
    return Mineralogy(
        phases=tuple(i.model for i in feed.ingredients),
        mass_fraction=mass,
        size_share=size_shares(sample, feed, mass, oxides, seed),
        iron_wt_pct=iron,
        oxides_wt_pct=oxides,
        susceptibility_m3_kg=chi,
        predicted_wt_pct=predicted,
        reconciled_wt_pct=_bulk(feed, amounts, place),
        unseen_form_share=_forms(sample, feed, diagnosis, mass, oxides, seed),
        agreement=conditioned.agreement,
        has_assay=bool(assay),
        assay_needed=needed,
        data_disagree=disagree,
        mass_range_pct=conditioned.ranges,
        stain_phase_share=_stains(sample),
        notes=(
            *feed_remarks,
            *head_notes,
            *rules,
            *remarks(sample, feed, drawn, conditioned, assay, needed),
        ),
    )


@dataclass(frozen=True)
class Conditioned:
    """Trials after the assay (or as drawn, where there is none) and how they agree."""

    fit: Fit
    agreement: Agreement
    misfit: Misfit
    disagree: bool
    ranges: dict[str, tuple[float, float]]


def _rows(sample: Sample, feed: Feed, head: Rows, drawn: Draws, seed: int) -> Rows:
    parts = [head] if head.names else []
    fractions = fraction_rows(feed, sample, drawn.amounts[0])
    if fractions is not None:
        parts.append(fractions)
    if sample.susceptibility is not None:
        parts.append(bulk_row(feed, sample.susceptibility, drawn.magnetic_scores, seed))
    return joined(parts) if parts else head


def _condition(
    feed: Feed, drawn: Draws, rows: Rows, place: Array, seed: int, thorough: bool
) -> Conditioned:
    if not rows.names:
        as_drawn = Fit(drawn.amounts, place, True, np.zeros(len(feed.names)))
        return Conditioned(as_drawn, Agreement(None, 0, None, {}), Misfit({}, {}), False, {})
    prior = prior_of(feed, drawn)
    rows = rows.widened(typical_fit(prior, rows.widened(drawn.amounts[0]), drawn.amounts[0])[0])
    fit = fit_mineralogy(prior, rows, feed.names, drawn.amounts, drawn.scores, seed)
    agreement, misfit = agreement_of(
        prior, rows, feed.names, fit, drawn.amounts[0] if thorough else None
    )
    firm = int(np.sum(~rows.capped))
    ranges = amount_ranges(rows, feed.names) if thorough and len(feed.names) - 1 > firm else {}
    return Conditioned(
        fit, agreement, misfit, contradict(prior, rows, drawn.amounts[0], feed.counted), ranges
    )


def _bulk(feed: Feed, amounts: Array, place: Array) -> Array:
    low, change = line_ends(feed)
    return (amounts @ low + (amounts * place) @ change) / 100.0


def _stains(sample: Sample) -> dict[str, float]:
    """Share of each listed mineral that sits as stain, by textures."""
    shares: dict[str, list[float]] = {}
    for row in sample.textures:
        if row.form == "stain" and row.share_pct is not None:
            shares.setdefault(row.mineral, []).append(row.share_pct / 100.0)
    return {n: min(sum(sorted(v)) / len(v), 1.0) for n, v in sorted(shares.items())}


def _forms(
    sample: Sample, feed: Feed, diagnosis: Diagnosis, mass: Array, oxides: Array, seed: int
) -> Array:
    """How the unseen iron sits: assumed, then corrected by the treatments that were made."""
    stains = _stains(sample)
    named_stain = any(t.form == "stain" for t in sample.textures)
    shares = form_shares(sample.origin, named_stain, mass.shape[0] - 1, seed)
    iron = mass * oxides[:, :, COLUMN["Fe2O3"]]
    stain = np.array([stains.get(name, 0.0) for name in feed.names])
    soluble = np.array([name in _SOLUBLE for name in feed.names], dtype=float)
    pale = np.array([i.model.role == "host" for i in feed.ingredients], dtype=float)
    named = {
        "stain": iron @ stain, "soluble": iron @ soluble, "lattice": iron @ pale,
        "pale": mass @ pale,
    }  # fmt: skip
    return forms_by_treatment(shares, iron[:, -1], diagnosis, named, seed)


def _phases(feed: Feed, drawn: Draws, place: Array) -> tuple[Array, Array, Array]:
    """Iron, oxides and susceptibility of every phase in every trial."""
    low, change = line_ends(feed)
    floor = np.array([i.iron.floor_wt_pct for i in feed.ingredients])
    span = np.array([i.iron.ceiling_wt_pct for i in feed.ingredients]) - floor
    fixed = np.array([i.iron.typical_wt_pct for i in feed.ingredients])
    certain = np.array([i.iron.certain for i in feed.ingredients])
    iron = np.where(certain, fixed, floor + place * span)
    oxides = low[None, :, :] + place[:, :, None] * change[None, :, :]
    chi = [
        susceptibility_at(i.model, iron[:, column], drawn.magnetic_scores[:, column])
        for column, i in enumerate(feed.ingredients)
    ]
    return iron, oxides, np.stack(chi, axis=1)
