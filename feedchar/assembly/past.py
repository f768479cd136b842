"""Past tests: what is kept of a test, and what a library of them says of this feed and setting."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from math import log

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr

from feedchar.assembly.finished import finished_trials
from feedchar.assembly.subset import Trials
from feedchar.assembly.tested_figures import OUTLETS
from feedchar.assembly.tested_steps import TestedStep, steps_of_tests
from feedchar.chemistry.mineralogy import OXIDES
from feedchar.field.setting import InducedRoll, Setting
from feedchar.product.outlets import Outlets, outlets
from feedchar.results.taught import PastCorrection, PastTests
from feedchar.sample.names import fold
from feedchar.sample.records import Limit, Sample
from feedchar.sample.repeats import combine
from feedchar.separation.load import under_load
from feedchar.separation.passes import separate
from feedchar.testwork.bag_assays import results_of
from feedchar.testwork.counted import checksum
from feedchar.testwork.library import P95, Correction, correction
from feedchar.testwork.likelihood import ASSAY, SHARE, compared
from feedchar.testwork.past_tests import MAGNETICS, PRODUCT, QUANTITIES, PastTest
from feedchar.uncertainty.summary import Uncertain, summarise

Array = NDArray[np.float64]

FINE_UM = 125.0
KEPT_TRIALS = 400
"""Trials whose median is kept as the prediction of a past test. [-]"""
FE2O3 = OXIDES.index("Fe2O3")
_UNITS = {PRODUCT: ("wt %", ASSAY), MAGNETICS: ("% of the roll feed", SHARE)}


def past_tests_of(sample: Sample, base: Setting, seed: int) -> tuple[PastTest, ...]:
    """What a library keeps of the tests of a sample: single passes of the bag as received.

    Parameters
    ----------
    sample : Sample
        With weights and assays of its tests. [-]
    base : Setting
        The machine on which they were run. [SI]
    seed : int
        Seed of the trials that foretell them. [-]

    Returns
    -------
    tuple of PastTest
        One a step on a roll that was fed with the bag as received, or a charge of it, and that
        was weighed or whose product was assayed. [-]

    Raises
    ------
    FeedcharError
        Tests that do not hang together.
    """
    if not sample.tests:
        return ()
    trials = finished_trials(sample, KEPT_TRIALS, seed)
    met = under_load(trials.parameters, moisture_pct=sample.roll_feed_moisture_pct or 0.0)[0]
    trials = replace(trials, parameters=met)
    found: list[PastTest] = []
    # A charge weighed in is the bag as received; what another machine made is not.
    as_received = {""}
    for step in steps_of_tests(sample, base):
        if step.kind == "charge" and step.from_bag in as_received:
            as_received |= {fold(bag.bag) for bag in step.bags}
        if step.kind != "roll" or step.reason or step.setting is None:
            continue
        if step.from_bag not in as_received:
            continue
        measured = _measured(sample, step)
        if not measured:
            continue
        setting = step.setting
        split = outlets(trials.classes, separate(setting, trials.grains, met), trials.mineralogy)
        said = predicted_of(split)
        electric = setting.machine == "induced-roll"
        roll = (setting.induced or InducedRoll()).roll if electric else setting.roll.roll
        words = [word for word in (step.test, step.step, step.repeat) if word]
        found.append(
            PastTest(
                sample=sample.name,
                test=" / ".join(words),
                sha256=checksum(step.bags, sample.determinations),
                machine=setting.machine,
                roll=roll,
                features=features_of(trials, setting, split),
                measured=measured,
                predicted={
                    name: float(np.median(compared(said[name][1:], _UNITS[name][1])))
                    for name in measured
                },
            )
        )
    return tuple(found)


def predicted_of(split: Outlets) -> dict[str, Array]:
    """The quantities that a library corrects, as a setting gives them.

    Parameters
    ----------
    split : Outlets
        What the setting does. [-]

    Returns
    -------
    dict of str to array, shape (T,)
        Product Fe2O3, and the share of the roll feed taken to the magnetics. [wt %, -]
    """
    return {
        PRODUCT: split.non_magnetics.oxide("Fe2O3"),
        MAGNETICS: split.yield_of_roll_feed_pct("magnetics") / 100.0,
    }


def features_of(trials: Trials, setting: Setting, split: Outlets) -> tuple[float, ...]:
    """Features of a feed and a setting, typical case.

    Parameters
    ----------
    trials : Trials
        The feed. [-]
    setting : Setting
        Of one pass. [SI]
    split : Outlets
        What it does. [-]

    Returns
    -------
    tuple of float
        In the order of FEATURES. [-]
    """
    sizes, mass = trials.classes.sizes, trials.classes.mass[0]
    by_size = np.bincount(trials.classes.size, mass, len(sizes))
    finer = np.append(np.cumsum(by_size[::-1])[::-1], 0.0)
    edges = np.append(sizes.passing_um, max(float(sizes.retained_um[-1]), 1.0))
    passing = np.interp(0.5 * finer[0], finer[::-1], np.log(edges[::-1]))
    below = np.interp(log(FINE_UM), np.log(edges[::-1]), finer[::-1]) / finer[0]
    said = predicted_of(split)
    first = setting.passes[0]
    return (
        log(max(float(trials.mineralogy.reconciled_wt_pct[0, FE2O3]), 1e-4)),
        float(compared(said[PRODUCT][0], ASSAY)),
        float(compared(said[MAGNETICS][0], SHARE)),
        first.belt_speed_m_s,
        1e3 * first.splitter_m,
        float(passing),
        float(below),
        float(mass[trials.grains.is_flake].sum()),
    )


def past_result(
    library: Sequence[PastTest] | None,
    trials: Trials,
    setting: Setting,
    split: Outlets,
    limit: Limit | None,
    known: bool,
) -> PastTests | None:
    """What the library says of a next test here.

    Parameters
    ----------
    library : sequence of PastTest or None
        All tests; None: no library. [-]
    trials : Trials
        The feed and the machine. [-]
    setting : Setting
        As assessed. [SI]
    split : Outlets
        What it does. [-]
    limit : Limit or None
        What is asked. [-]
    known : bool
        Whether tests or a calibration speak of this machine already. [-]

    Returns
    -------
    PastTests or None
        None without a library. [-]
    """
    if library is None:
        return None
    if known:
        note = "not used: tests of this sample or a calibration speak of the machine already"
        return PastTests((), None, note)
    if len(setting.passes) > 1 or setting.drum_first is not None:
        return PastTests((), None, "not used: past tests are single passes without a drum before")
    window = setting.treated_passing_um is not None or setting.treated_retained_um
    if window or len(trials.classes.mass) < 2:
        note = "not used: past tests treat the whole bag" if window else "not used without trials"
        return PastTests((), None, note)
    alike = [one for one in library if one.machine == setting.machine]
    features = features_of(trials, setting, split)
    said = predicted_of(split)
    found = {name: correction(alike, name, features) for name in QUANTITIES}
    rows = tuple(_row(found[name], said[name]) for name in QUANTITIES)
    chance = None
    asked = None if limit is None else limit.max_wt_pct.get("Fe2O3")
    iron = found[PRODUCT]
    if iron.used and asked and iron.sd_ln:
        middle = float(np.median(np.log(said[PRODUCT][1:]))) + iron.shift_ln
        chance = float(ndtr((log(asked) - middle) / iron.sd_ln))
    apart = len(library) - len(alike)
    note = f"{len(alike)} past tests of this kind of machine"
    return PastTests(rows, chance, note + (f", {apart} of another left out" if apart else ""))


def _row(one: Correction, said: Array) -> PastCorrection:
    unit, kind = _UNITS[one.quantity]
    factor = 100.0 if kind == SHARE else 1.0
    corrected = None
    if one.used and one.sd_ln is not None:
        middle = float(np.median(compared(said[1:], kind))) + one.shift_ln
        low, likely, high = (
            factor * _unscaled(middle + side * one.sd_ln, kind) for side in (-P95, 0.0, P95)
        )
        corrected = Uncertain(likely, None, None, low, likely, high)
    return PastCorrection(
        quantity=one.quantity,
        unit=unit,
        method=one.method,
        used=one.used,
        why=one.why,
        tests=one.tests,
        samples=one.samples,
        settings=one.settings,
        coverage=one.coverage,
        skill=one.skill,
        plain=summarise(factor * said),
        corrected=corrected,
    )


def _unscaled(value: float, kind: str) -> float:
    grown = float(np.exp(value))
    return grown / (1.0 + grown) if kind == SHARE else grown


def _measured(sample: Sample, step: TestedStep) -> dict[str, float]:
    """Measured quantities of one step, on the scale on which they are compared."""
    found = {}
    bags = {bag.product: bag for bag in step.bags if bag.product in OUTLETS}
    if {"magnetics", "non-magnetics"} <= set(bags):
        whole = sum(bag.mass_g for bag in bags.values())
        share = bags["magnetics"].mass_g / whole if whole > 0.0 else 0.0
        if 0.0 < share < 1.0:
            found[MAGNETICS] = float(compared(share, SHARE))
    if "non-magnetics" in bags:
        rows = results_of(sample, bags["non-magnetics"].bag, "Fe2O3")
        if rows and combine(rows).value > 0.0:
            found[PRODUCT] = float(compared(combine(rows).value, ASSAY))
    return found
