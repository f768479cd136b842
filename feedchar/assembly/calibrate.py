"""From tests of one or several samples to what is known of their machine: the recipe."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass, replace

from feedchar.assembly.finished import finished_trials
from feedchar.assembly.narrowed import far_off, figures_told, machine_narrowed
from feedchar.assembly.subset import first_rows
from feedchar.assembly.taught import LEAST_TRIALS, learned_of
from feedchar.assembly.tested import predict_tests
from feedchar.assembly.tested_figures import TestedFeed, feed_with_tests
from feedchar.errors import InputError, SettingError
from feedchar.field.rolls import DEFAULT_ROLL, read_roll
from feedchar.field.setting import InducedRoll, Setting
from feedchar.results.calibration import CalibrationResult, TestCounted
from feedchar.results.characterisation import InputFiles
from feedchar.results.taught import LeftOut
from feedchar.sample.names import fold
from feedchar.sample.records import Note, Sample
from feedchar.sample.shown import shown
from feedchar.testwork.calibration_file import CalibrationFile, calibration_text, source_words
from feedchar.testwork.counted import CountedTest, counted_tests, refuse_twice
from feedchar.testwork.likelihood import DISCREPANCY_LN
from feedchar.testwork.scores import calibration_of, draw_scores

PERMANENT, INDUCED = "permanent-roll", "induced-roll"


@dataclass(frozen=True)
class Calibrated:
    """What was found, and the file that holds it."""

    result: CalibrationResult
    file: CalibrationFile

    @property
    def text(self) -> str:
        """Text of the calibration file."""
        return calibration_text(self.file)


def calibrate(
    samples: Sequence[Sample],
    base: Setting | None = None,
    before: CalibrationFile | None = None,
    trials: int = 2000,
    seed: int = 1,
    *,
    before_name: str = "the calibration",
) -> Calibrated:
    """A machine after its tests.

    Parameters
    ----------
    samples : sequence of Sample
        Each with tests of the same machine. [-]
    base : Setting or None
        The machine; None: the default roll. Its passes are not used. [SI]
    before : CalibrationFile or None
        Calibration to go on from; its tests are not counted again. [-]
    trials : int
        Number of draws. [-]
    seed : int
        Seed of every random stream. [-]
    before_name : str
        What holds that calibration, for messages. [-]

    Returns
    -------
    Calibrated
        The same in any order of the samples. [-]

    Raises
    ------
    InputError
        No test that can be counted, one counted already, or tests of two kinds of machine.
    SettingError
        Too few trials, or a calibration of another machine.
    """
    if trials < LEAST_TRIALS:
        message = f"A calibration needs at least {LEAST_TRIALS} trials, found {trials}"
        raise SettingError(message)
    known = () if before is None else before.tests
    new = [(one, counted_tests(one.name, one.tests, one.determinations)) for one in samples]
    refuse_twice([test for _, tests in new for test in tests], known, before_name)
    new.sort(key=lambda pair: (pair[0].name, [test.sha256 for test in pair[1]]))
    machine = base or Setting(read_roll(DEFAULT_ROLL))
    feeds, counted = [], []
    left_out = []
    for sample, tests in new:
        feed = _feed(sample, tests, machine, trials, seed)
        left_out += [LeftOut(f"bag {bag} of {sample.name}", why) for bag, why in feed.left_out]
        if feed.figures:
            feeds.append(feed)
            counted += [test for test in tests if test.test in feed.tests]
        else:
            left_out.append(LeftOut(sample.name, "no figure of its tests can be counted"))
    if not feeds:
        raise _nothing(left_out, samples)
    kind, roll = _machine(feeds, machine)
    if before is not None and (before.calibration.machine, before.calibration.roll) != (kind, roll):
        old = before.calibration
        message = (
            f"{before_name} is of the {old.machine} {shown(old.roll)}, these tests of the {kind} "
            f"{shown(roll)}: one calibration, one machine"
        )
        raise SettingError(message)
    prior = None if before is None else before.calibration
    learned = learned_of(feeds, prior, trials, seed)
    earlier = draw_scores(trials, seed, prior)
    every = (*known, *counted)
    file = CalibrationFile(
        tests=every,
        calibration=replace(
            calibration_of(learned.scores, source_words(every)),
            machine=kind,
            roll=roll,
            tests=tuple(test.sha256 for test in every),
        ),
        prior=calibration_of(earlier),
        method=learned.method,
        effective=learned.effective,
        discrepancy_ln=DISCREPANCY_LN,
    )
    figures = figures_told(feeds, learned)
    result = CalibrationResult(
        command="calibrate",
        seed=seed,
        trials=trials,
        input=tuple(InputFiles(sample.name, sample.files) for sample, _ in new),
        machine=kind,
        roll=roll,
        tests=_told(counted),
        counted_before=_told(known),
        method=learned.method,
        effective_trials=learned.effective,
        discrepancy_ln=DISCREPANCY_LN,
        parameters=machine_narrowed(earlier, learned.scores),
        figures=figures,
        left_out=tuple(left_out),
        notes=(*_assumed(feeds), *far_off(figures)),
    )
    return Calibrated(result, file)


def _feed(
    sample: Sample, tests: tuple[CountedTest, ...], machine: Setting, trials: int, seed: int
) -> TestedFeed:
    # Feeds of two samples are drawn apart, also where they hold the same minerals.
    words = "\x1f".join([str(seed), *(test.sha256 for test in tests)])
    own = int.from_bytes(hashlib.sha256(words.encode()).digest()[:4], "big")
    here = replace(
        machine,
        roll_temperature_c=sample.roll_temperature_c,
        feed_temperature_c=sample.feed_temperature_c,
    )
    return feed_with_tests(sample, finished_trials(sample, trials, own), here, None)


def _machine(feeds: Sequence[TestedFeed], base: Setting) -> tuple[str, str]:
    """Kind and name of the machine that the tests on a roll were run on."""
    kinds: dict[str, str] = {}
    for feed in feeds:
        bags = {fold(figure.bag) for figure in feed.figures}
        for row in feed.sample.tests:
            word = fold(row.machine or "")
            if fold(row.bag) in bags and not ("hand" in word or "drum" in word):
                kind = INDUCED if "induced" in word else PERMANENT
                kinds.setdefault(kind if word else base.machine, feed.sample.name)
    if len(kinds) > 1:
        where = " and ".join(f"{kind} in {shown(name)}" for kind, name in sorted(kinds.items()))
        problem = f"tests of two kinds of machine: {where}"
        raise InputError(problem, file="tests.csv", column="machine", remedy="Calibrate each apart")
    kind = next(iter(kinds), base.machine)
    if kind == PERMANENT:
        return kind, base.roll.roll
    return kind, (base.induced or InducedRoll()).roll


def _nothing(left_out: Sequence[LeftOut], samples: Sequence[Sample]) -> InputError:
    names = ", ".join(shown(sample.name) for sample in samples)
    if not any(sample.tests for sample in samples):
        problem = f"no tests in {names}"
        return InputError(problem, remedy="Weights go into tests.csv, assays into assays.csv")
    why = next((one for one in left_out if one.what.startswith("bag ")), None)
    problem = f"no test of {names} can be counted"
    if why is not None:
        problem += f": {shown(why.what)}, {why.why}"
    remedy = "A step needs its belt speed, and the weights of magnetics and non-magnetics"
    return InputError(problem, file="tests.csv", remedy=remedy)


def _assumed(feeds: Sequence[TestedFeed]) -> tuple[Note, ...]:
    """What was assumed of the steps, each once."""
    told: set[str] = set()
    for feed in feeds:
        for bag in predict_tests(feed.sample, first_rows(feed.trials, 1), feed.base, feed.tests):
            told.update(bag.notes)
    return tuple(Note("test-assumed", text) for text in sorted(told))


def _told(tests: Sequence[CountedTest]) -> tuple[TestCounted, ...]:
    return tuple(TestCounted(test.sample, test.test, test.sha256) for test in tests)
