"""Assays of the bags of a test: repeats in one mean, one laboratory a bag, limits told apart."""

from __future__ import annotations

from collections.abc import Container, Sequence
from dataclasses import dataclass

import numpy as np

from feedchar.chemistry.mineralogy import OXIDES
from feedchar.errors import InputError
from feedchar.sample.assay_error import default_assay_sd
from feedchar.sample.assays import head_determinations
from feedchar.sample.names import fold, nearest
from feedchar.sample.records import Determination, Note, Sample
from feedchar.sample.repeats import combine, duplicate_sd
from feedchar.sample.shown import shown

ASIDE = ("blank", "reference", "standard")
"""Words in the name of what a laboratory assays beside the bags: no bag is looked for."""


@dataclass(frozen=True)
class BagAssays:
    """What is known of the composition of the bags."""

    value: dict[str, dict[str, tuple[float, float]]]
    """Oxide to bag to assay and its sd. [wt %]"""
    laboratory: dict[str, str]
    """Bag to who assayed it; of several the one that assayed most."""
    below: tuple[tuple[str, str, float], ...]
    """Bag, oxide and limit of what was below detection. [wt %]"""
    pairs: tuple[tuple[str, str, float, int], ...]
    """Two laboratories, the ratio of their iron on the bags both have, and how many. [-]"""


def bag_assays(sample: Sample, bags: Sequence[str], feeds: Sequence[str]) -> BagAssays:
    """Assays of the bags of all tests.

    Parameters
    ----------
    sample : Sample
        With assays.csv and the head assay. [-]
    bags : sequence of str
        Names of the bags, feeds that were not weighed among them. [-]
    feeds : sequence of str
        Those that came from the bag as received: where not assayed they have its head assay. [-]

    Returns
    -------
    BagAssays
        Values and sds. [wt %]

    Raises
    ------
    InputError
        An assay of a bag that is not among them.

    References
    ----------
    common practice, no source
    """
    own, heads = _by_bag(sample, bags)
    often: dict[str, int] = {}
    for one in sample.determinations:
        often[one.laboratory or ""] = often.get(one.laboratory or "", 0) + 1
    value: dict[str, dict[str, tuple[float, float]]] = {}
    laboratory: dict[str, str] = {}
    below: list[tuple[str, str, float]] = []
    for name, results in own.items():
        for oxide in sorted({one.oxide for one in results} & set(OXIDES)):
            of_it = [one for one in results if one.oxide == oxide]
            found = [one for one in of_it if not one.below_detection]
            if not found:
                below.append((name, oxide, min(one.value for one in of_it)))
                continue
            who = max({one.laboratory or "" for one in found}, key=lambda lab: (often[lab], lab))
            mean = combine([one for one in found if (one.laboratory or "") == who])
            value.setdefault(oxide, {})[name] = (mean.value, mean.sd)
            laboratory.setdefault(name, who)
    head_laboratories = {one.laboratory or "" for one in heads}
    for name in (feed for feed in feeds if feed not in own):
        for oxide, by_bag in value.items():
            head = sample.assay.get(oxide)
            if head is not None and not head.below_detection:
                sd = head.sd if head.sd is not None else default_assay_sd(oxide, head.value)
                by_bag[name] = (head.value, sd)
                if len(head_laboratories) == 1:
                    laboratory[name] = next(iter(head_laboratories))
    return BagAssays(value, laboratory, tuple(below), tuple(_laboratories(own)))


def results_of(sample: Sample, bag: str, oxide: str) -> list[Determination]:
    """Results of one oxide of a whole weighed bag, its repeats included.

    Parameters
    ----------
    sample : Sample
        With assays.csv. [-]
    bag : str
        Name of the bag. [-]
    oxide : str
        As in OXIDES. [-]

    Returns
    -------
    list of Determination
        In reading order, none below detection. [wt %]

    References
    ----------
    common practice, no source
    """
    weighed, name = {fold(row.bag) for row in sample.tests}, fold(bag)
    return [
        row
        for row in sample.determinations
        if row.oxide == oxide
        and name == _counts_for(row, weighed)
        and row.passing_um is None
        and row.retained_um is None
        and not row.below_detection
    ]


def _counts_for(one: Determination, weighed: Container[str]) -> str:
    """Folded name of the bag that a result is of: a weighed bag's own, even where it repeats the
    bag of another run; that of the bag repeated, where only a split of it was assayed."""
    own = fold(one.bag)
    return own if own in weighed or not one.repeat_of else fold(one.repeat_of)


def run_repeats(sample: Sample) -> tuple[Note, ...]:
    """What repeated runs show of the error of a run, where assays.csv says which repeats which.

    Parameters
    ----------
    sample : Sample
        With tests.csv and assays.csv. [-]

    Returns
    -------
    tuple of Note
        One a pair of bags, of Fe2O3. [-]

    References
    ----------
    As `repeats.duplicate_sd`.
    """
    named = {fold(row.bag): row.bag for row in sample.tests}
    notes = {}
    for one in sample.determinations:
        first, second = fold(one.repeat_of or ""), fold(one.bag)
        if one.repeat_kind != "new bag" or one.oxide != "Fe2O3" or first == second:
            continue
        if not {first, second} <= set(named):
            continue
        pair = [results_of(sample, name, "Fe2O3") for name in (first, second)]
        if all(pair):
            before, after = (combine(rows).value for rows in pair)
            text = (
                f"runs repeated: Fe2O3 {before:.3g} % in {named[first]} and {after:.3g} % in "
                f"{named[second]}; one run is known to sd {duplicate_sd([after - before]):.2g}"
            )
            notes[first, second] = Note("run-repeated", text)
    return tuple(notes[pair] for pair in sorted(notes))


def _by_bag(
    sample: Sample, order: Sequence[str]
) -> tuple[dict[str, list[Determination]], list[Determination]]:
    """Determinations of each bag, those of its repeats among them, and those of the feed."""
    heads = head_determinations(sample.determinations, sample.name)
    named = {fold(name): name for name in order}
    own: dict[str, list[Determination]] = {}
    for one in sample.determinations:
        if one.passing_um is not None or any(one is head for head in heads):
            continue
        name = named.get(_counts_for(one, named))
        if name is not None:
            own.setdefault(name, []).append(one)
        elif not any(word in fold(one.bag) for word in ASIDE):
            problem = f"{shown(one.bag)} was assayed, but no row of tests.csv has weighed it"
            near = nearest(fold(one.bag), named)
            remedy = "give it a row with its mass, or correct the name"
            remedy = f"Is it {shown(named[near])}? Else {remedy}" if near else remedy.capitalize()
            place = one.place
            raise InputError(problem, file=place.file, row=place.row, column="bag", remedy=remedy)
    return own, heads


def _laboratories(
    own: dict[str, list[Determination]],
) -> list[tuple[str, str, float, int]]:
    """Ratio of the iron of two laboratories over the bags that both have assayed."""
    found: dict[tuple[str, str], list[float]] = {}
    for results in own.values():
        iron: dict[str, list[float]] = {}
        for one in results:
            if one.oxide == "Fe2O3" and one.laboratory and not one.below_detection and one.value:
                iron.setdefault(one.laboratory, []).append(one.value)
        names: Sequence[str] = sorted(iron)
        for i, first in enumerate(names):
            for second in names[i + 1 :]:
                ratio = np.log(np.mean(iron[first]) / np.mean(iron[second]))
                found.setdefault((first, second), []).append(float(ratio))
    return [(*pair, float(np.exp(np.median(r))), len(r)) for pair, r in sorted(found.items())]
