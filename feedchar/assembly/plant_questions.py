"""The chosen circuit asked backwards, and what changes when the feed or the machine changes."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np

from feedchar.assembly.plant_runs import Plant, all_met
from feedchar.assembly.search import CHANCE_TRIALS
from feedchar.field.setting import Setting
from feedchar.plant.circuit import Circuit
from feedchar.plant.inverse import (
    EDGES,
    dirtier,
    dirtiest_factor,
    feed_iron_wt_pct,
    highest_passing,
    root,
    with_edges,
    with_speeds,
)
from feedchar.plant.scale_up import Run
from feedchar.plant.streams import first_rows
from feedchar.product.outlets import Outlets
from feedchar.results.plant import PlantInverse, PlantSensitivity
from feedchar.separation.load import under_load
from feedchar.uncertainty.summary import LIKELY_FROM, summarise

MOST_FEED = 3.0
"""Highest feed rate tried, over that for which the belts were sized. [-]"""
WORN = 0.95
"""Remanence of worn or once overheated magnets, over that of new ones. [-]"""
FINES_BELOW_UM = 125.0
HOT_C = 60.0
CLEAR_OF_BELT_M = 0.002
"""Nearest an edge may come to the bare roll. [m]"""
DAMP_PCT = 0.2


def inverse_of(
    plant: Plant, run: Run, at_grade: float | None = None, at_yield: float | None = None
) -> PlantInverse:
    """All questions asked backwards of one circuit.

    Parameters
    ----------
    plant : Plant
        Feed, machine, limit. [-]
    run : Run
        The chosen circuit, all trials. [-]
    at_grade : float or None
        Fe2O3 of the product wanted; None: what the limit asks. [wt %]
    at_yield : float or None
        Product of 100 dry bag wanted; None: what the limit asks. [%]

    Returns
    -------
    PlantInverse
        None where a question has no answer. [-]
    """
    limit = plant.limit
    grade, wanted = at_grade, at_yield
    if limit is not None:
        grade = limit.max_wt_pct.get("Fe2O3") if grade is None else grade
        wanted = limit.yield_min_pct if wanted is None else wanted
    found = PlantInverse(grade_wanted_wt_pct=grade, yield_wanted_pct=wanted)
    if grade is not None:
        lever = _lever(plant, run, lambda out: out.non_magnetics.oxide("Fe2O3")[0] - grade)
        if lever is not None:
            at = _few(plant, lever[1])
            found = replace(
                found, yield_at_grade_pct=summarise(at.yield_pct()), set_for_grade=lever[0]
            )
    if wanted is not None:
        lever = _lever(plant, run, lambda out: out.yield_pct()[0] - wanted)
        if lever is not None:
            iron = summarise(_few(plant, lever[1]).non_magnetics.oxide("Fe2O3"))
            found = replace(found, grade_at_yield_wt_pct=iron, set_for_yield=lever[0])
    if limit is None or limit.is_empty():
        return found
    dirty, fast = _dirtiest(plant, run), _highest(plant, run)
    return replace(
        found,
        dirtiest_feed_typical_wt_pct=dirty[0],
        dirtiest_feed_nine_in_ten_wt_pct=dirty[1],
        highest_feed_typical_t_h=fast[0],
        highest_feed_nine_in_ten_t_h=fast[1],
        highest_feed_tried_t_h=MOST_FEED * plant.feed_t_h,
    )


def sensitivity_of(plant: Plant, run: Run) -> tuple[PlantSensitivity, ...]:
    """What one change at a time does to the chosen circuit on its belts.

    Parameters
    ----------
    plant : Plant
        Feed, machine, limit. [-]
    run : Run
        The chosen circuit. [-]

    Returns
    -------
    tuple of PlantSensitivity
        As it is first; the trials of all lines are the same. [-]
    """
    circuit = run.circuit
    installed = {belt.step.name: belt.installed_m for belt in run.belts}
    setting = plant.setting
    hot = replace(setting, feed_temperature_c=HOT_C, roll_temperature_c=HOT_C)
    damp = under_load(plant.parameters, moisture_pct=DAMP_PCT)[0]
    cases: list[tuple[str, Plant, Circuit, float]] = [
        ("as it is", plant, circuit, 1.0),
        ("dark phases +10 %", plant, circuit, 1.1),
        (f"twice as much below {FINES_BELOW_UM:g} um", _finer(plant), circuit, 1.0),
        (f"roll feed at {DAMP_PCT:g} % moisture", replace(plant, parameters=damp), circuit, 1.0),
        ("belts 10 % faster", plant, with_speeds(circuit, 1.1), 1.0),
        ("belts 10 % slower", plant, with_speeds(circuit, 0.9), 1.0),
        ("worn magnets, remanence -5 %", _worn(plant), _worn_circuit(circuit), 1.0),
        (f"feed and roll at {HOT_C:g} C", replace(plant, setting=hot),
         circuit, 1.0),
    ]  # fmt: skip
    made: list[PlantSensitivity] = []
    rows = min(CHANCE_TRIALS + 1, len(plant.parameters.bypass))
    for words, changed, steps, dark in cases:
        one = changed.run(steps, rows, plain=True, installed=installed)
        split = one.outlets
        if dark != 1.0:
            split = dirtier(split, first_rows(changed.feed(steps), rows).mineralogy, dark)
        iron, part = float(split.non_magnetics.oxide("Fe2O3")[0]), float(split.yield_pct()[0])
        first = made[0] if made else None
        base = first.Fe2O3_wt_pct if first else iron
        verdict = changed.verdict(one, split, open_case=False)
        made.append(
            PlantSensitivity(
                change=words,
                Fe2O3_wt_pct=iron if np.isfinite(iron) else None,
                Fe2O3_change_ppm=(
                    1e4 * (iron - base) if base is not None and np.isfinite(iron) else None
                ),
                per_100_dry_bag=part,
                per_100_change=part - (first.per_100_dry_bag if first else part),
                chance_of_meeting_limit=verdict.chance_of_meeting_limit,
                belt_m=one.metres,
            )
        )
    return tuple(made)


def _few(plant: Plant, circuit: Circuit) -> Outlets:
    return plant.run(circuit, CHANCE_TRIALS + 1, plain=True).outlets


def _lever(plant: Plant, run: Run, gap: Callable[[Outlets], float]) -> tuple[str, Circuit] | None:
    """What brings the typical case to a figure: the edges, else the speeds; nearest first."""
    circuit = run.circuit
    # The edge must stand clear of the belt.
    least = min(step.machine.splitter_m for step in circuit.rolls)
    low = max(EDGES[0], CLEAR_OF_BELT_M / least)
    levers = (
        ("edges", with_edges, ((low, 1.0), (1.0, 1.5), (1.5, EDGES[1]))),
        ("belt speeds", with_speeds, ((1.0, 1.4), (0.7, 1.0), (1.4, 2.0))),
    )
    for words, change, sides in levers:

        def at(factor: float, change: Callable[..., Circuit] = change) -> float:
            return float(gap(plant.run(change(circuit, factor), 1, plain=True).outlets))

        for side in sides:
            factor = root(at, *side, 1e-3) if side[0] < side[1] else None
            if factor is not None:
                return f"{words} x {factor:.2f}", change(circuit, factor)
    return None


def _dirtiest(plant: Plant, run: Run) -> tuple[float | None, float | None]:
    mineralogy = plant.mineralogy
    rows = len(run.outlets.non_magnetics.mass)
    whole = first_rows(plant.feed(run.circuit), rows).mineralogy

    def typical(factor: float) -> float:
        return float(all_met(plant.verdict(run, dirtier(run.outlets, whole, factor))))

    def chance(factor: float) -> float:
        verdict = plant.verdict(run, dirtier(run.outlets, whole, factor))
        return verdict.chance_of_meeting_limit or 0.0

    def iron(factor: float | None) -> float | None:
        if factor is None:
            return None
        return feed_iron_wt_pct(dirtier(run.outlets, whole, factor))

    told = rows >= 3 and not (mineralogy.data_disagree or mineralogy.assay_needed)
    often = dirtiest_factor(chance, LIKELY_FROM) if told else None
    return iron(dirtiest_factor(typical, 1.0)), iron(often)


def _highest(plant: Plant, run: Run) -> tuple[float | None, float | None]:
    installed = {belt.step.name: belt.installed_m for belt in run.belts}
    top = MOST_FEED * plant.feed_t_h
    rows = min(CHANCE_TRIALS + 1, len(plant.parameters.bypass))
    withheld = plant.mineralogy.data_disagree or plant.mineralogy.assay_needed

    def at(rate: float, kept: int) -> Run:
        return plant.run(run.circuit, kept, plain=True, installed=installed, feed_t_h=rate)

    def typical(rate: float) -> float:
        return float(all_met(plant.verdict(at(rate, 1))))

    def chance(rate: float) -> float:
        return plant.verdict(at(rate, rows)).chance_of_meeting_limit or 0.0

    width = 0.01 * plant.feed_t_h
    least = 0.1 * plant.feed_t_h
    often = None
    if rows >= 3 and not withheld:
        often = highest_passing(chance, least, top, LIKELY_FROM, width)
    return highest_passing(typical, least, top, 1.0, width), often


def _finer(plant: Plant) -> Plant:
    sizes = plant.classes.sizes
    fine = sizes.passing_um[plant.classes.size] <= FINES_BELOW_UM
    mass = plant.classes.mass * np.where(fine, 2.0, 1.0)
    mass = mass / mass.sum(axis=1, keepdims=True)
    return replace(plant, classes=replace(plant.classes, mass=mass))


def _worn(plant: Plant) -> Plant:
    roll = plant.setting.roll
    worn = replace(roll, remanence_tesla=WORN * roll.remanence_tesla)
    setting: Setting = replace(plant.setting, roll=worn)
    return replace(plant, setting=setting)


def _worn_circuit(circuit: Circuit) -> Circuit:
    steps = tuple(
        step
        if step.roll is None
        else replace(
            step, roll=replace(step.roll, remanence_tesla=WORN * step.roll.remanence_tesla)
        )
        for step in circuit.steps
    )
    return replace(circuit, steps=steps)
