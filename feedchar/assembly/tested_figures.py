"""What a test measured, figure by figure, beside what trials predict of it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from feedchar.assembly.subset import Index, Trials, chosen_rows
from feedchar.assembly.tested import PredictedBag, predict_tests
from feedchar.assembly.tested_steps import OUTLETS
from feedchar.field.setting import Setting
from feedchar.sample.names import fold
from feedchar.sample.records import Sample
from feedchar.sample.repeats import combine
from feedchar.separation.load import under_load
from feedchar.separation.records import Parameters
from feedchar.testwork.bag_assays import results_of
from feedchar.testwork.likelihood import (
    ASSAY,
    DISCREPANCY_LN,
    SHARE,
    TAILS,
    Observed,
    compared,
    compared_sd,
    sorted_observed,
)

Array = NDArray[np.float64]

OXIDES_COMPARED = ("Fe2O3", "TiO2")
"""Oxides that magnets move in every sand; others follow the pale minerals."""
WEIGHING_RELATIVE = 0.01
WEIGHING_OF_FEED = 0.0002
"""Error of a weight: of itself, and of the mass fed for what clings and is swept up (guess). [-]"""
HAND_DISCREPANCY_LN = 0.4
"""A hand magnet is no machine of a known field (guess). [-]"""


@dataclass(frozen=True)
class Figure:
    """One measured figure of a test."""

    name: str
    """Once in a sample."""
    test: str
    bag: str
    product: str
    quantity: str
    """weight, or an oxide."""
    value: float
    """Weight as a share of the outlets of its step, 0 to 1; an oxide in wt %."""
    sd: float
    discrepancy_ln: float

    @property
    def kind(self) -> str:
        """share | assay"""
        return SHARE if self.quantity == "weight" else ASSAY


@dataclass(frozen=True)
class TestedFeed:
    """A sample with its finished trials and the figures of its tests."""

    __test__ = False  # not a pytest class

    sample: Sample
    trials: Trials
    """T rows, row 0 the typical case; its machine parameters are not used."""
    base: Setting
    figures: tuple[Figure, ...]
    """Sorted by name."""
    tests: tuple[str, ...]
    """Tests that give a figure."""
    left_out: tuple[tuple[str, str], ...]
    """Bags of which nothing is computed, and why."""

    def predicted(self, rows: Index, parameters: Parameters) -> Array:
        """What each trial says of every figure, on the scale on which they are compared.

        Parameters
        ----------
        rows : array of int, shape (N,)
            Rows of the trials. [-]
        parameters : Parameters
            N machines in dry sand; the moisture of the sample is counted in. [SI]

        Returns
        -------
        array, shape (Q, N)
            NaN where a bag is empty. [-]
        """
        met = under_load(parameters, moisture_pct=self.sample.roll_feed_moisture_pct or 0.0)[0]
        chosen = chosen_rows(self.trials, rows, met)
        bags = predict_tests(self.sample, chosen, self.base, self.tests)
        found = {fold(bag.bag): bag for bag in bags}
        return np.stack([figure_of(found[fold(one.bag)], one, len(rows)) for one in self.figures])


def figure_of(bag: PredictedBag, figure: Figure, count: int) -> Array:
    """One predicted figure on the scale on which it is compared.

    Parameters
    ----------
    bag : PredictedBag
        The bag. [-]
    figure : Figure
        What is asked of it. [-]
    count : int
        Number of trials N. [-]

    Returns
    -------
    array, shape (N,)
        Logarithm of the odds of a share, or of an assay. [-]
    """
    if figure.quantity != "weight":
        value = bag.oxide(figure.quantity)
    else:
        value = np.full(1, np.nan) if bag.share is None else bag.share
    known = np.isfinite(value)
    scaled = compared(np.where(known, value, 1.0), figure.kind)
    return np.broadcast_to(np.where(known, scaled, np.nan), (count,))


def feed_with_tests(
    sample: Sample, trials: Trials, base: Setting, tests: Iterable[str] | None
) -> TestedFeed:
    """The tests of a sample, ready to be learned from.

    Parameters
    ----------
    sample : Sample
        With weights and assays of its tests. [-]
    trials : Trials
        T rows. [-]
    base : Setting
        The machine on which tests on a roll were run. [SI]
    tests : iterable of str or None
        Names of the tests wanted; None: all. [-]

    Returns
    -------
    TestedFeed
        Without figures when nothing of the tests is computed. [-]

    Raises
    ------
    FeedcharError
        Rows that do not hang together, or a setting that cannot be.
    """
    wanted = None if tests is None else tuple(tests)
    typical = chosen_rows(trials, np.zeros(1, dtype=np.intp), _first(trials.parameters))
    bags = predict_tests(sample, typical, base, wanted)
    figures: list[Figure] = []
    left_out = []
    for bag in bags:
        if bag.product not in OUTLETS:
            continue
        if bag.share is None or bag.assay_wt_pct is None:
            left_out.append((bag.bag, bag.reason))
            continue
        figures += _figures_of(sample, bag, bags)
    figures = [one for one in figures if _computed(bags, one)]
    return TestedFeed(
        sample=sample,
        trials=trials,
        base=base,
        figures=tuple(sorted(figures, key=lambda one: one.name)),
        tests=tuple(sorted({one.test for one in figures})),
        left_out=tuple(sorted(left_out)),
    )


def observed_of(feeds: Iterable[TestedFeed]) -> Observed:
    """All figures of several samples, sample by sample.

    Parameters
    ----------
    feeds : iterable of TestedFeed
        In any fixed order. [-]

    Returns
    -------
    Observed
        In the order of the predictions of each. [-]
    """
    rows = []
    for place, feed in enumerate(feeds):
        for one in feed.figures:
            value = float(compared(one.value, one.kind))
            sd = float(compared_sd(one.value, one.sd, one.kind))
            rows.append((f"{place:06d} {one.name}", value, sd, one.discrepancy_ln))
    return sorted_observed(rows, TAILS)


def _first(parameters: Parameters) -> Parameters:
    return Parameters(
        parameters.bypass[:1],
        parameters.entrainment[:1],
        parameters.pull_factor[:1],
        parameters.adhesion_N[:1],
    )


def _computed(bags: tuple[PredictedBag, ...], figure: Figure) -> bool:
    bag = next(one for one in bags if fold(one.bag) == fold(figure.bag))
    return bool(np.isfinite(figure_of(bag, figure, 1)).all())


def _figures_of(sample: Sample, bag: PredictedBag, bags: tuple[PredictedBag, ...]) -> list[Figure]:
    weighed = {fold(row.bag): row.mass_g for row in sample.tests}
    by_hand = "hand" in fold(bag.machine)
    discrepancy = HAND_DISCREPANCY_LN if by_hand else DISCREPANCY_LN
    found = []
    fed = _mass_fed(bag, bags, weighed)
    mass = weighed[fold(bag.bag)]
    # Of outlets that add up to the feed one says nothing new: the refused sand.
    if bag.product != "non-magnetics" and fed is not None and 0.0 < mass < fed:
        share = mass / fed
        sd = np.hypot(WEIGHING_RELATIVE * share, WEIGHING_OF_FEED)
        found.append(_figure(bag, "weight", share, float(sd), discrepancy))
    for oxide in OXIDES_COMPARED:
        rows = results_of(sample, bag.bag, oxide)
        if rows:
            mean = combine(rows)
            if mean.value > 0.0:
                found.append(_figure(bag, oxide, mean.value, mean.sd, discrepancy))
    return found


def _mass_fed(
    bag: PredictedBag, bags: tuple[PredictedBag, ...], weighed: dict[str, float]
) -> float | None:
    """Mass of the outlets of a step; of its feed, where an outlet was not weighed."""
    step = (bag.test, bag.step, bag.repeat, bag.from_bag)
    beside = [
        one
        for one in bags
        if (one.test, one.step, one.repeat, one.from_bag) == step and one.product in OUTLETS
    ]
    products = {one.product for one in beside}
    if {"magnetics", "non-magnetics"} <= products:
        return sum(weighed[fold(one.bag)] for one in beside)
    return weighed.get(fold(bag.from_bag))


def _figure(bag: PredictedBag, quantity: str, value: float, sd: float, ln: float) -> Figure:
    name = f"{fold(bag.test)}/{fold(bag.bag)}/{quantity}"
    return Figure(name, bag.test, bag.bag, bag.product, quantity, value, sd, ln)
