"""What could be done with a bag: each piece of work with its sand, its hours and its figures."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from feedchar.assembly.plan_trials import (
    SETTING_LN_SD,
    Bench,
    run_outlets,
    settings_compared,
    speeds_run,
    target_weights,
)
from feedchar.assembly.subset import Trials
from feedchar.assembly.tested import predict_tests
from feedchar.field.setting import Setting
from feedchar.product.candidates import candidates_of
from feedchar.product.measure import simulated_results
from feedchar.product.outlets import Outlets
from feedchar.sample.records import Sample, TestBag
from feedchar.testwork.plan import Weighed, Work, choose_work

Array = NDArray[np.float64]

RUN_H = 1.0
"""Set the machine, run, clean, weigh two bags; common practice, no source. [h]"""
NEXT_PASS_H = 0.5
ASSAY_H = 0.5
"""Split, pulverise and hand over one bag, the laboratory's own time left out; common practice, no
source. [h]"""
EDGE_H = 0.25
"""One bag more from the same run. [h]"""
LEAST_TRIALS = 50
"""With fewer, nothing tells what a run is worth: the usual programme is planned. [-]"""
SMALL_KG = 0.5
"""What a small treatment takes (guess). [kg]"""

HAND_MAGNET = "hand magnet, its bag weighed"
DRUM = "strong drum, its magnetics weighed"
SECOND_EDGE = "second edge: middlings weighed and assayed"
MORE_PASSES = "non-magnetics over the roll again, assayed"
REPEAT = "main run repeated on a charge of its own"
_ROLL_WORDS = ("roll at", "same bag over the roll")


@dataclass(frozen=True)
class Programme:
    """The work weighed, and what the bags of each run should weigh."""

    weighed: tuple[Weighed, ...]
    machine_work: frozenset[str]

    def chosen(self, name: str) -> bool:
        """Whether a piece of work is part of the programme."""
        return any(one.chosen and one.work.name == name for one in self.weighed)


def run_name(speed_m_s: float) -> str:
    """Name of a run on the roll.

    Parameters
    ----------
    speed_m_s : float
        Belt speed. [m s⁻¹]

    Returns
    -------
    str
        As the programme calls it. [-]
    """
    return f"roll at {speed_m_s:g} m/s, magnetics weighed"


def assay_name(speed_m_s: float) -> str:
    """Name of assaying what a run made.

    Parameters
    ----------
    speed_m_s : float
        Belt speed. [m s⁻¹]

    Returns
    -------
    str
        As the programme calls it. [-]
    """
    return f"roll at {speed_m_s:g} m/s, bags assayed"


def programme(
    sample: Sample,
    trials: Trials,
    used: Setting,
    split: Outlets,
    charge_kg: float,
    sampling_sd: float,
    seed: int,
    kg_available: float,
) -> Programme:
    """The programme that removes most of the doubt about product iron for its cost.

    Parameters
    ----------
    sample : Sample
        For its temperatures. [-]
    trials : Trials
        The feed and the machine. [-]
    used : Setting
        As assessed. [SI]
    split : Outlets
        What it does. [-]
    charge_kg : float
        Sand of one run. [kg]
    sampling_sd : float
        Relative sd that sampling leaves in an assay of product. [-]
    seed : int
        The run's seed. [-]
    kg_available : float
        Sand that may be used. [kg]

    Returns
    -------
    Programme
        The work in the order of its choice. [-]
    """
    compared = settings_compared(used)
    splits = {name: run_outlets(trials, setting) for name, setting in compared.items()}
    own_speed = used.passes[0].belt_speed_m_s
    single = f"{own_speed:g} m/s"
    own = "more passes" if len(used.passes) > 1 else single
    bench = Bench(seed, sampling_sd)
    iron = {name: one.non_magnetics.oxide("Fe2O3") for name, one in splits.items()}
    truth = {name: bench.truth(name, value) for name, value in iron.items()}
    names = list(truth)
    targets = np.exp(np.stack([truth[name] for name in names], axis=1))

    works = []
    for speed in speeds_run(used):
        name = f"{speed:g} m/s"
        pulled = splits[name].yield_of_roll_feed_pct("magnetics")
        weight = bench.weight(name, pulled, SETTING_LN_SD)
        works.append(Work(run_name(speed), charge_kg, RUN_H, weight[:, None]))
        assay = bench.assay(name, truth[name])
        works.append(Work(assay_name(speed), 0.0, 2 * ASSAY_H, assay[:, None], (run_name(speed),)))
    base = (run_name(own_speed), assay_name(own_speed))
    twice = bench.weight(f"{single} again", splits[single].yield_of_roll_feed_pct("magnetics"))
    assay = bench.assay(f"{single} again", truth[single])
    again = np.stack([twice, assay], axis=1)
    works.append(Work(REPEAT, charge_kg, RUN_H + 2 * ASSAY_H, again, base))
    works += _more(bench, splits, truth, single, base)
    works += _drum(sample, trials, used, bench, charge_kg)
    machine = frozenset(work.name for work in works) | {HAND_MAGNET}
    tells = len(targets) >= LEAST_TRIALS
    if tells:
        works += _laboratory(trials, split, seed)
    known = {work.name for work in works}
    practice = [name for name in (HAND_MAGNET,) if name in known]
    practice += [*base, *([MORE_PASSES] if len(used.passes) > 1 else []), REPEAT]
    if used.passes[0].splitter_2_m is not None:
        practice.insert(-1, SECOND_EDGE)
    if not tells:
        usual = [SECOND_EDGE, MORE_PASSES, *(work.name for work in works if "roll at" in work.name)]
        practice += [name for name in usual if name in known and name not in practice]
    weights = target_weights(names, own)
    weighed = choose_work(works, targets, weights, practice, kg_available)
    return Programme(weighed, machine)


def _more(
    bench: Bench,
    splits: dict[str, Outlets],
    truth: dict[str, Array],
    single: str,
    base: tuple[str, ...],
) -> list[Work]:
    """What the main run can show besides: a second edge, further passes."""
    made = []
    taken = splits[single].yield_of_roll_feed_pct("magnetics")
    for key, name, hours in (
        ("second edge", SECOND_EDGE, EDGE_H + ASSAY_H),
        ("more passes", MORE_PASSES, NEXT_PASS_H + 2 * ASSAY_H),
    ):
        if key not in splits:
            continue
        more = splits[key].yield_of_roll_feed_pct("magnetics") - taken
        weight = bench.weight(key, more, SETTING_LN_SD)
        assay = bench.assay(key, truth[key])
        made.append(Work(name, 0.0, hours, np.stack([weight, assay], axis=1), base))
    return made


def _drum(
    sample: Sample, trials: Trials, used: Setting, bench: Bench, charge_kg: float
) -> list[Work]:
    if used.drum_first is not None:
        return []  # then every run has it
    rows = tuple(
        TestBag("drum", None, None, "strong drum", "feed", name, product, 1.0)
        for name, product in (("M", "magnetics"), ("N", "non-magnetics"))
    )
    found = predict_tests(replace(sample, tests=rows), trials, used)
    share = next(one.share for one in found if one.product == "magnetics")
    if share is None:
        return []
    weight = bench.weight("strong drum", 100.0 * share, SETTING_LN_SD)
    return [Work(DRUM, charge_kg, RUN_H, weight[:, None])]


def _laboratory(trials: Trials, split: Outlets, seed: int) -> list[Work]:
    """Measurements on splits of the bag, and the hand magnet."""
    found = candidates_of(
        trials.mineralogy, trials.classes, split, parameters=trials.parameters, seed=seed
    )
    made = []
    for one in found:
        if one.measurement.startswith(_ROLL_WORDS):
            continue
        results = simulated_results(one, seed)
        small = "microprobe" in one.measurement or "looked at" in one.measurement
        kg = 0.0 if small else SMALL_KG
        made.append(Work(one.measurement, kg, one.hours or 4.0, results))
    return made
