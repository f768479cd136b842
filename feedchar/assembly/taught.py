"""The tests of a sample let into its finished trials: feed and machine as the tests leave them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from feedchar.assembly.feed import iron_of_phases
from feedchar.assembly.narrowed import (
    far_off,
    feed_narrowed,
    figures_told,
    machine_narrowed,
    narrowed,
)
from feedchar.assembly.subset import Index, Trials, chosen_rows
from feedchar.assembly.tested_figures import TestedFeed, feed_with_tests, observed_of
from feedchar.field.setting import Setting
from feedchar.product.outlets import Outlets, outlets
from feedchar.results.taught import LeftOut, TestsTaught
from feedchar.sample.records import Note, Sample
from feedchar.separation.load import under_load
from feedchar.separation.parameters import Calibration
from feedchar.separation.passes import separate
from feedchar.separation.records import Parameters
from feedchar.testwork.calibrate import Learned, learn
from feedchar.testwork.counted import CountedTest, counted_tests
from feedchar.testwork.likelihood import DISCREPANCY_LN
from feedchar.testwork.scores import draw_scores, parameters_of, prior_of

Array = NDArray[np.float64]

LEAST_TRIALS = 100
"""Fewer trials cannot be weighed. [-]"""


@dataclass(frozen=True)
class Taught:
    """Trials after the tests, and what is told of them."""

    trials: Trials
    result: TestsTaught | None
    """None where nothing was counted."""
    notes: tuple[Note, ...]


def taught_by_tests(
    sample: Sample,
    trials: Trials,
    base: Setting,
    calibration: Calibration | None,
    seed: int,
) -> Taught:
    """Feed and machine after the sample's own tests; without tests, the trials as they came.

    Parameters
    ----------
    sample : Sample
        Perhaps with tests. [-]
    trials : Trials
        Finished trials, T rows. [-]
    base : Setting
        The machine on which tests on a roll were run. [SI]
    calibration : Calibration or None
        What other tests taught of the machine; a test counted there is left out here. [-]
    seed : int
        The run's seed. [-]

    Returns
    -------
    Taught
        The same number of trials. [-]

    Raises
    ------
    FeedcharError
        Tests that do not hang together.
    """
    if not sample.tests:
        return Taught(trials, None, ())
    count = len(trials.classes.mass) - 1
    if count < LEAST_TRIALS:
        text = f"tests are not counted with fewer than {LEAST_TRIALS} trials"
        return Taught(trials, None, (Note("tests-not-counted", text),))
    fresh, notes = _not_counted_yet(sample, calibration)
    feed = feed_with_tests(sample, trials, base, [test.test for test in fresh])
    left_out = tuple(LeftOut(what, why) for what, why in feed.left_out)
    notes += tuple(
        Note("test-left-out", f"bag {one.what} of the tests is not counted: {one.why}")
        for one in left_out
    )
    if not feed.figures:
        return Taught(trials, None, notes)
    learned = learned_of([feed], calibration, count, seed)
    after = after_tests(feed, learned, 0)
    figures = figures_told([feed], learned)
    result = TestsTaught(
        tests=feed.tests,
        method=learned.method,
        effective_trials=learned.effective,
        discrepancy_ln=DISCREPANCY_LN,
        figures=figures,
        machine=machine_narrowed(draw_scores(count, seed, calibration), learned.scores),
        feed=feed_narrowed(trials.mineralogy, after.mineralogy),
        product=(),
        left_out=left_out,
    )
    return Taught(after, result, (*notes, *far_off(figures)))


def learned_of(
    feeds: Sequence[TestedFeed], calibration: Calibration | None, count: int, seed: int
) -> Learned:
    """Machine and feeds after the tests of all samples together.

    Parameters
    ----------
    feeds : sequence of TestedFeed
        Each with count + 1 trials. [-]
    calibration : Calibration or None
        What earlier tests taught. [-]
    count : int
        Number of trials N. [-]
    seed : int
        The run's seed. [-]

    Returns
    -------
    Learned
        N equally likely trials. [-]
    """

    def predict(rows: Index, scores: Array) -> Array:
        parameters = parameters_of(scores)
        return np.concatenate(
            [feed.predicted(own + 1, parameters) for feed, own in zip(feeds, rows, strict=True)]
        )

    scores = draw_scores(count, seed, calibration)
    prior = prior_of(calibration)
    return learn(observed_of(feeds), predict, scores, len(feeds), seed, prior)


def after_tests(feed: TestedFeed, learned: Learned, place: int) -> Trials:
    """Trials of one feed after the tests, a typical case in front.

    The typical case is the trial in the middle of those that the tests left, by the iron of each
    phase and of all, met by the machine in the middle: a case that exists and keeps its balances.

    Parameters
    ----------
    feed : TestedFeed
        The feed. [-]
    learned : Learned
        N trials. [-]
    place : int
        Place of this feed among those learned from. [-]

    Returns
    -------
    Trials
        N + 1 rows. [-]
    """
    rows = learned.rows[place] + 1
    iron = iron_of_phases(feed.trials.mineralogy)[rows]
    first = int(rows[_middle(iron)])
    drawn = parameters_of(learned.scores)
    parameters = Parameters(
        bypass=np.append(drawn.bypass.mean(), drawn.bypass),
        entrainment=np.append(np.median(drawn.entrainment), drawn.entrainment),
        pull_factor=np.append(np.median(drawn.pull_factor), drawn.pull_factor),
        adhesion_N=np.append(np.median(drawn.adhesion_N), drawn.adhesion_N),
    )
    damp = under_load(parameters, moisture_pct=feed.sample.roll_feed_moisture_pct or 0.0)[0]
    chosen = np.append(first, rows).astype(np.intp)
    return chosen_rows(feed.trials, chosen, damp)


def product_narrowed(
    taught: Taught, before: Trials, setting: Setting, split: Outlets
) -> TestsTaught | None:
    """What the tests taught, with the product at the setting assessed.

    Parameters
    ----------
    taught : Taught
        After the tests. [-]
    before : Trials
        As they were. [-]
    setting : Setting
        As assessed. [SI]
    split : Outlets
        What it does after the tests. [-]

    Returns
    -------
    TestsTaught or None
        None where nothing was counted. [-]
    """
    if taught.result is None:
        return None
    window = (setting.treated_passing_um, setting.treated_retained_um)
    shares = separate(setting, before.grains, before.parameters)
    was = outlets(before.classes, shares, before.mineralogy, *window)
    iron = [one.non_magnetics.oxide("Fe2O3")[1:] for one in (was, split)]
    rows = (
        narrowed("Fe2O3 of the product", "wt %", *iron),
        narrowed(
            "yield of the product", "% of the dry bag", was.yield_pct()[1:], split.yield_pct()[1:]
        ),
    )
    return replace(taught.result, product=rows)


def _not_counted_yet(
    sample: Sample, calibration: Calibration | None
) -> tuple[tuple[CountedTest, ...], tuple[Note, ...]]:
    tests = counted_tests(sample.name, sample.tests, sample.determinations)
    counted = set(() if calibration is None else calibration.tests)
    fresh = tuple(test for test in tests if test.sha256 not in counted)
    if len(fresh) == len(tests):
        return fresh, ()
    names = ", ".join(test.test for test in tests if test.sha256 in counted)
    text = (
        f"already counted in the calibration, so not again here: {names}; without the "
        "calibration these tests would narrow the feed too"
    )
    return fresh, (Note("tests-in-calibration", text),)


def _middle(iron: Array) -> int:
    """Place of the trial nearest to the middle: by all its iron, and by that of each phase.

    Each is measured in its own spread; a phase counts by its share of the iron, all of it as one.
    """
    points = np.column_stack([iron.sum(axis=1), iron])
    spread = points.std(axis=0)
    away = (points - np.median(points, axis=0)) / np.where(spread > 0.0, spread, np.inf)
    weight = points.mean(axis=0) / points.mean(axis=0)[0]
    return int(np.argmin(away**2 @ weight))
