"""All tests of a bag as one forest of bags: what was weighed, what was assayed, what was fed.

Every feed that went to a first machine is a root, weighed or not; its assay is its own, or else the
head assay of the bag as received.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from feedchar.chemistry.mineralogy import OXIDES
from feedchar.errors import InputError
from feedchar.sample.assays import HEAD_NAMES
from feedchar.sample.names import fold
from feedchar.sample.records import Note, Sample, TestBag
from feedchar.sample.shown import shown
from feedchar.testwork.bag_assays import bag_assays, run_repeats
from feedchar.testwork.bags import Bags, bags_of, split_bags
from feedchar.testwork.gross_error import weighing_sd_g

Array = NDArray[np.float64]

LITTLE_DUST = 0.01
"""Share of what a step made below which dust that nobody assayed is left out (a guess). [-]"""


@dataclass(frozen=True)
class Campaign:
    """The forest of bags of all tests, n bags and K oxides."""

    bags: Bags
    row: tuple[TestBag | None, ...]
    """(n,) the row of tests.csv, None for a feed that was not weighed."""
    below: tuple[tuple[str, str, float], ...]
    """Bag, oxide and limit of what was below detection: told, never fitted. [wt %]"""
    pairs: tuple[tuple[str, str, float, int], ...]
    """Two laboratories, the ratio of their iron on the bags both have, and how many. [-]"""
    dust_g: tuple[float, ...]
    """(n,) dust from each bag that was weighed, not assayed and so little that it is left out of
    the forest: taken off the weight of a feed, as if it were of its composition. [g]"""
    notes: tuple[Note, ...]

    def children(self, node: int) -> NDArray[np.intp]:
        """Bags that were split from one."""
        return np.flatnonzero(self.bags.parent == node)

    def root(self, bag: int) -> int:
        """The feed that a bag descends from."""
        at = bag
        while self.bags.parent[at] >= 0:
            at = int(self.bags.parent[at])
        return at

    @property
    def splits(self) -> tuple[int, ...]:
        """Bags that were split."""
        return tuple(int(node) for node in split_bags(self.bags.parent))


def fed_from(sample: Sample) -> dict[str, str]:
    """The bag that each weighed bag was fed from, by folded name; empty for the bag as received.

    Where one row of a test is the feed weighed in, the rows that name no other bag came from it.

    Parameters
    ----------
    sample : Sample
        With its weighed bags. [-]

    Returns
    -------
    dict of str to str
        Folded name to folded name. [-]

    Raises
    ------
    InputError
        A bag fed from one that is not there, or from itself by a detour.

    References
    ----------
    common practice, no source
    """
    rows = {fold(bag.bag): bag for bag in sample.tests}
    heads = HEAD_NAMES | {fold(sample.name)}
    sources = {name: _source(bag, rows, heads) for name, bag in rows.items()}
    charges: dict[tuple[str, ...], list[str]] = {}
    for name, bag in rows.items():
        if bag.product == "feed" and not sources[name]:
            charges.setdefault(_run(bag), []).append(name)
    for name, bag in rows.items():
        charge = charges.get(_run(bag), [])
        if bag.product != "feed" and not sources[name] and len(charge) == 1:
            sources[name] = charge[0]
    for name in sorted(rows):
        at, steps = name, 0
        while at:
            at, steps = sources[at], steps + 1
            if steps > len(rows):
                problem = f"bag {shown(rows[name].bag)} is fed from itself by a detour"
                raise _error(rows[name], problem, "from_bag", "Follow each bag back to the feed")
    return sources


def campaign_of(sample: Sample) -> Campaign:
    """The forest of bags that the tables of a sample describe.

    Parameters
    ----------
    sample : Sample
        With tests.csv, assays.csv and the head assay. [-]

    Returns
    -------
    Campaign
        Weights and assays with their sds, an order that does not depend on that of the rows.
        [g, wt %]

    Raises
    ------
    InputError
        No weighed bag, bags that do not hang together, a bag of no mass, or an assay of a bag that
        no row has weighed.

    References
    ----------
    common practice, no source
    """
    if not sample.tests:
        problem = "no bag of a test is weighed, so there is nothing to compare"
        remedy = "Give a row a bag in tests.csv: test, bag, from_bag, product, mass_g and setting"
        raise InputError(problem, file="tests.csv", remedy=remedy)
    sources = fed_from(sample)
    rows = {fold(bag.bag): bag for bag in sample.tests}
    for bag in rows.values():
        if not bag.mass_g > 0.0:
            problem = f"bag {shown(bag.bag)} weighs {bag.mass_g:g} g"
            raise _error(bag, problem, "mass_g", "Weigh it, or leave out the row of an empty bag")
    parents: dict[str, str | None] = {}
    named = {name: bag.bag for name, bag in rows.items()}
    for name in sorted(rows):
        bag, source = rows[name], sources[name]
        if source:
            parents[named[name]] = named[source]
        elif bag.product == "feed":
            parents[named[name]] = None
        else:
            feed = _feed_name(bag, rows, sources)
            parents.setdefault(feed, None)
            parents[named[name]] = feed
    order = sorted(parents, key=lambda name: (fold(name) in rows, fold(name)))
    dust = _dust(sample, rows, parents)
    order = [name for name in order if not any(name in own for own in dust.values())]
    dust_g = [sum(dust.get(name, {}).values()) for name in order]
    known = bag_assays(sample, order, [name for name in order if parents[name] is None])
    assays = known.value
    oxides = [name for name in OXIDES if name in assays]
    table = np.full((len(order), len(oxides), 2), np.nan)
    for k, oxide in enumerate(oxides):
        for name, pair in assays[oxide].items():
            table[order.index(name), k] = pair
    weighed = [fold(name) in rows for name in order]
    mass = np.array(
        [
            rows[fold(name)].mass_g - (gone if parents[name] is None else 0.0) if known else np.nan
            for name, known, gone in zip(order, weighed, dust_g, strict=True)
        ]
    )
    bags = bags_of(
        order,
        [parents[name] for name in order],
        mass,
        np.where(np.isnan(mass), np.nan, weighing_sd_g(mass)),
        oxides,
        table[:, :, 0],
        table[:, :, 1],
        [known.laboratory.get(name, "") for name in order],
    )
    notes = tuple(
        Note("below-detection", f"{oxide} of {bag} is below {limit:g} %: not part of the balance")
        for bag, oxide, limit in known.below
    )
    return Campaign(
        bags,
        tuple(rows.get(fold(name)) for name in order),
        known.below,
        known.pairs,
        tuple(dust_g),
        (*notes, *run_repeats(sample)),
    )


def _dust(
    sample: Sample, rows: dict[str, TestBag], parents: dict[str, str | None]
) -> dict[str, dict[str, float]]:
    """Dust that nobody assayed, by the bag it came from; a large part of it stays in the forest."""
    assayed = {fold(one.bag) for one in sample.determinations}
    fed = {fold(parent) for parent in parents.values() if parent}
    found: dict[str, dict[str, float]] = {}
    for name, bag in rows.items():
        parent = parents[bag.bag]
        if bag.product != "dust" or name in assayed or name in fed or parent is None:
            continue
        beside = sum(rows[fold(other)].mass_g for other, its in parents.items() if its == parent)
        if bag.mass_g < LITTLE_DUST * beside:
            found.setdefault(parent, {})[bag.bag] = bag.mass_g
    return found


def _run(bag: TestBag) -> tuple[str, ...]:
    return tuple(fold(word or "") for word in (bag.test, bag.repeat))


def _source(bag: TestBag, rows: dict[str, TestBag], heads: set[str]) -> str:
    source = fold(bag.from_bag or "")
    if source in rows:
        return source
    if source in heads:
        return ""
    problem = f"bag {shown(bag.bag)} is fed from {shown(bag.from_bag)}, which no row has weighed"
    remedy = 'Give that bag a row, or "feed" for the bag as received'
    raise _error(bag, problem, "from_bag", remedy)


def _feed_name(bag: TestBag, rows: dict[str, TestBag], sources: dict[str, str]) -> str:
    """Name of a feed that was not weighed: one for each test, told apart by step and repeat."""
    same = [b for name, b in rows.items() if not sources[name] and fold(b.test) == fold(bag.test)]
    words = [f"feed of {bag.test}"]
    for field in ("step", "repeat"):
        if len({fold(getattr(b, field) or "") for b in same}) > 1:
            words.append(str(getattr(bag, field) or ""))
    text = ", ".join(word for word in words if word)
    while fold(text) in rows:
        text += " (not weighed)"
    return text


def _error(bag: TestBag, problem: str, column: str, remedy: str) -> InputError:
    place = bag.place
    return InputError(problem, file=place.file, row=place.row, column=column, remedy=remedy)
