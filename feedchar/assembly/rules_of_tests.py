"""Rules of the trade on the weighed bags of tests.csv: 1, 11, 14 and 15."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from feedchar.chemistry.diagnosis import diagnosis_of
from feedchar.chemistry.mineralogy import UNSEEN, Mineralogy
from feedchar.chemistry.sanity import reject_grade
from feedchar.chemistry.sanity_of_tests import (
    below_the_floor,
    faster_pulls_more,
    magnetics_pulled,
)
from feedchar.particles.classes import FORMS, ParticleClasses
from feedchar.particles.iron import FE2O3
from feedchar.product.candidates import WEIGHED_RELATIVE_SD, WEIGHED_SD_PCT
from feedchar.sample.assay_error import default_assay_sd
from feedchar.sample.records import Note, Sample, TestBag

SAND_CARRIED_PCT = 1.0
"""Sand that goes with the magnetics of one pass, typically. [% of what was fed]"""
YIELD_RELATIVE_SD, YIELD_SD = 0.02, 5e-5
"""Weighing of what was taken, of itself and of the feed (guess). [-]"""


@dataclass(frozen=True)
class Run:
    """One run of the feed over one machine, all of its bags weighed."""

    words: str
    machine: str
    speed_m_s: float | None
    magnetics_pct: float
    """Of what was weighed."""
    product_bags: tuple[str, ...]
    yield_fraction: float


def runs_of(tests: tuple[TestBag, ...]) -> tuple[Run, ...]:
    """The runs that took the feed itself and whose bags were all weighed.

    Parameters
    ----------
    tests : tuple of TestBag
        Rows of tests.csv. [-]

    Returns
    -------
    tuple of Run
        In the order of the rows. [-]
    """
    groups: dict[tuple[str | None, ...], list[TestBag]] = {}
    made = {bag.bag for bag in tests}
    for bag in tests:
        if bag.from_bag not in made:
            groups.setdefault((bag.test, bag.step, bag.repeat), []).append(bag)
    found = []
    for (test, _, repeat), bags in groups.items():
        masses = {bag.bag: bag.mass_g for bag in bags}
        product = tuple(bag.bag for bag in bags if bag.product == "non-magnetics")
        taken = [bag.bag for bag in bags if bag.product == "magnetics"]
        if any(mass is None for mass in masses.values()) or not product or not taken:
            continue
        whole = sum(masses.values())
        if whole <= 0.0:
            continue
        found.append(
            Run(
                words=f"test {test}" + (f", repeat {repeat}" if repeat else ""),
                machine=bags[0].machine or "",
                speed_m_s=bags[0].belt_speed_m_s,
                magnetics_pct=100.0 * sum(masses[bag] for bag in taken) / whole,
                product_bags=product,
                yield_fraction=sum(masses[bag] for bag in product) / whole,
            )
        )
    return tuple(found)


def rules_of_tests(
    sample: Sample, mineralogy: Mineralogy, classes: ParticleClasses
) -> tuple[Note, ...]:
    """What the rules of the trade say of the tests of a bag.

    Parameters
    ----------
    sample : Sample
        Its tests, assays of their bags, hand-picked clear grains. [-]
    mineralogy : Mineralogy
        What the bag is made of. [-]
    classes : ParticleClasses
        How its grains are joined. [-]

    Returns
    -------
    tuple of Note
        Those that tripped. [-]
    """
    runs = runs_of(sample.tests)
    floor = diagnosis_of(sample).floor
    notes: list[Note | None] = [*_by_speed(runs)]
    counted = _counted_pct(mineralogy, classes)
    head = sample.assay.get("Fe2O3")
    for run in runs:
        notes.append(_of(run, magnetics_pulled(run.magnetics_pct, counted, SAND_CARRIED_PCT)))
        product = _iron_of(sample, run.product_bags)
        if product is None:
            continue
        if head is not None and not head.below_detection and run.yield_fraction < 1.0:
            feed_sd = head.sd or default_assay_sd("Fe2O3", head.value)
            balance = reject_grade(
                head.value, product, run.yield_fraction, _richest_pct(mineralogy),
                feed_sd, default_assay_sd("Fe2O3", product),
                YIELD_RELATIVE_SD * (1.0 - run.yield_fraction) + YIELD_SD,
            )  # fmt: skip
            notes.append(_of(run, balance))
        if floor is not None:
            notes.append(
                _of(
                    run,
                    below_the_floor(
                        product, default_assay_sd("Fe2O3", product), floor.value, floor.sd
                    ),
                )
            )
    return tuple(note for note in notes if note is not None)


def _of(run: Run, note: Note | None) -> Note | None:
    return None if note is None else Note(note.code, f"{run.words}: {note.text}", note.severity)


def _by_speed(runs: tuple[Run, ...]) -> Iterator[Note | None]:
    """Rule 14, each run against the next faster one of the same machine."""

    def sd(percent: float) -> float:
        return WEIGHED_RELATIVE_SD * percent + WEIGHED_SD_PCT

    for machine in sorted({run.machine for run in runs}):
        timed = [(run.speed_m_s, run) for run in runs if run.machine == machine and run.speed_m_s]
        timed.sort(key=lambda entry: entry[0] or 0.0)
        for (slow_speed, slow), (fast_speed, fast) in pairwise(timed):
            if fast_speed == slow_speed:
                continue
            note = faster_pulls_more(
                slow.magnetics_pct,
                sd(slow.magnetics_pct),
                fast.magnetics_pct,
                sd(fast.magnetics_pct),
            )
            yield _of(fast, note)


def _iron_of(sample: Sample, bags: tuple[str, ...]) -> float | None:
    """Mean Fe2O3 of the determinations of a bag; a `<` tells no figure. [wt %]"""
    values = [
        one.value
        for one in sample.determinations
        if one.bag in bags and one.oxide == "Fe2O3" and one.passing_um is None
    ]
    below = any(one.below_detection for one in sample.determinations if one.bag in bags)
    return None if below or not values else sum(values) / len(values)


def _counted_pct(mineralogy: Mineralogy, classes: ParticleClasses) -> float:
    """Free grains that a magnet may take, typical case. [% of the dry bag]"""
    takes = np.array([p.role == "removable" and p.name != UNSEEN for p in mineralogy.phases])
    free = takes[classes.mineral] & (classes.form == FORMS.index("free"))
    return 100.0 * float(classes.mass[0, free].sum())


def _richest_pct(mineralogy: Mineralogy) -> float:
    """Greatest Fe2O3 of a listed magnetic phase, unseen iron left out. [wt %]"""
    named = [k for k, p in enumerate(mineralogy.phases) if p.role != "host" and p.name != UNSEEN]
    if not named:
        return 100.0
    return float(np.max(np.quantile(mineralogy.oxides_wt_pct[:, named, FE2O3], 0.95, axis=0)))
