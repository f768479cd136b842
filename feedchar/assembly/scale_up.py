"""From a sample to circuits at full size: the recipe of `scale-up`."""

from __future__ import annotations

import numpy as np

from feedchar.assembly.basis import basis_of
from feedchar.assembly.checks import check_window, damp_parameters
from feedchar.assembly.machine import grains_for
from feedchar.assembly.plant_facts import bench_t_h_m, middle_cut_um, moisture_of, window_of
from feedchar.assembly.plant_questions import inverse_of, sensitivity_of
from feedchar.assembly.plant_results import alike_notes, circuit_result
from feedchar.assembly.plant_runs import METRE_WORTH_T_H, Plant, Prices, rows_asked, search
from feedchar.assembly.product import answer_result
from feedchar.assembly.search import SPLITTERS_M, speeds_of
from feedchar.assembly.subset import Trials
from feedchar.assembly.taught import taught_by_tests
from feedchar.chemistry.build import mineralogy_of
from feedchar.chemistry.sizes import size_classes
from feedchar.errors import SettingError, UnknownNameError
from feedchar.field.rolls import DEFAULT_ROLL, read_roll
from feedchar.field.setting import Pass, Setting
from feedchar.particles.build import build_classes
from feedchar.particles.classes import SizeClasses
from feedchar.particles.surface import sized_by_surface
from feedchar.plant.circuit import Circuit, check_circuit
from feedchar.plant.scale_up import Run
from feedchar.plant.standard import APART, STANDARD, standard_circuits
from feedchar.results.characterisation import InputFiles
from feedchar.results.plant import PlantCircuit, PlantInverse, ScaleUp
from feedchar.sample.records import Limit, Note, Sample
from feedchar.separation.parameters import Calibration, draw_parameters
from feedchar.separation.setting_checks import calibration_notes
from feedchar.uncertainty.summary import LIKELY_FROM

BENCH_BELT_M = 0.1
"""Belt of a bench roll; common practice, no source. [m]"""
ALIKE = 0.04
"""Chances of 400 trials that differ by less are alike: two standard errors near a half less the
part that common random numbers take away. [-]"""
PLANT_TRIALS = 400
"""Trials of a run unless told otherwise; a chance is then known to 0.025. [-]"""


def scale_up(
    sample: Sample,
    feed_t_h: float | None = None,
    setting: Setting | None = None,
    limit: Limit | None = None,
    calibration: Calibration | None = None,
    trials: int = PLANT_TRIALS,
    seed: int = 1,
    *,
    circuits: tuple[Circuit | str, ...] = (),
    at_grade: float | None = None,
    at_yield: float | None = None,
    prices: Prices | None = None,
) -> ScaleUp:
    """What the result implies at full size, circuit by circuit.

    Parameters
    ----------
    sample : Sample
        What was measured. [-]
    feed_t_h : float or None
        Dry feed; None: that of the sample. [t h⁻¹]
    setting : Setting or None
        Machine; with passes, the first of them is set on every roll of the standard circuits;
        without, a small search sets each circuit. [-]
    limit : Limit or None
        What is asked of the product; None takes the sample's own. [-]
    calibration : Calibration or None
        What tests taught of the machine. [-]
    trials : int
        Number of draws. [-]
    seed : int
        Seed of every random stream. [-]
    circuits : tuple of Circuit or str
        Circuits of one's own, or names of standard ones; empty: all standard ones. [-]
    at_grade, at_yield : float or None
        Product Fe2O3 and product of 100 dry bag that are asked for. [wt %]
    prices : Prices or None
        What belt and product are worth. [-]

    Returns
    -------
    ScaleUp
        Circuits compared, one chosen, and what is asked of it backwards. [-]

    Raises
    ------
    SettingError
        No feed rate, or a machine or circuit that cannot be.
    UnknownNameError
        A circuit that is not known.
    """
    rate = sample.feed_t_h if feed_t_h is None else feed_t_h
    if rate is None or not 0.0 < rate < 1e5:
        message = (
            "The feed rate is not known: give --feed-t-h, or t_h under [feed] in sample.toml"
            if rate is None
            else f"The feed rate must be above 0 and below 100000 t/h, found {rate:g}"
        )
        raise SettingError(message)
    asked = limit if limit is not None else sample.limit
    base = setting or Setting(
        roll=read_roll(DEFAULT_ROLL),
        passes=(),
        roll_temperature_c=sample.roll_temperature_c,
        feed_temperature_c=sample.feed_temperature_c,
    )
    mineralogy = mineralogy_of(sample, trials, seed)
    sizes = SizeClasses(*size_classes(sample)[:2])
    mineralogy = sized_by_surface(sample, mineralogy, sizes)
    classes, class_notes = build_classes(sample, mineralogy, sizes, seed)
    parameters, damp = damp_parameters(sample, draw_parameters(trials, seed, calibration))
    known = calibration_notes(calibration, base)
    grains = grains_for(classes, mineralogy, sample.feed_temperature_c)
    finished = Trials(mineralogy, classes, grains, parameters)
    taught = taught_by_tests(sample, finished, base, calibration, seed)
    after = taught.trials
    classes, mineralogy, parameters = after.classes, after.mineralogy, after.parameters
    machine_known = calibration is not None or taught.result is not None
    plant = Plant(classes, mineralogy, parameters, base, asked, rate, seed, prices, machine_known)

    window = window_of(base, asked)
    if not circuits:
        check_window(classes, *window)
    cut = middle_cut_um(plant)
    runs: list[tuple[Run, str]] = []
    for one in circuits or STANDARD:
        circuit, how = _circuit(plant, one, cut, window)
        runs.append((plant.run(circuit), how))
    chosen, choice = _choose(plant, [run for run, _ in runs])
    bench = bench_t_h_m(sample)
    results = tuple(circuit_result(plant, run, run is chosen, how, bench) for run, how in runs)
    picked = next(result for result in results if result.chosen)
    wet, water = moisture_of(sample, rate)
    return ScaleUp(
        command="scale-up",
        seed=seed,
        trials=trials,
        input=InputFiles(sample.name, sample.files),
        basis=basis_of(sample, base, calibration is not None, taught.result),
        feed_t_h=rate,
        wet_feed_t_h=wet,
        water_to_dry_t_h=water,
        bench_t_h_m=bench,
        bench_belt_kg_h=_bench_belt(picked),
        bench_belt_m=BENCH_BELT_M,
        limit=answer_result(plant.verdict(chosen, open_case=False), asked).limit,
        circuits=results,
        chosen=chosen.circuit.name,
        choice=choice,
        cost_unit=(
            f"m of belt; {METRE_WORTH_T_H:g} t/h lost counts as a metre (guess)"
            if prices is None
            else "money an hour, at the prices given"
        ),
        inverse=inverse_of(plant, chosen, at_grade, at_yield)
        if chosen.circuit.rolls
        else PlantInverse(),
        sensitivity=sensitivity_of(plant, chosen),
        cautions=CAUTIONS,
        notes=(
            *sample.notes,
            *mineralogy.notes,
            *class_notes,
            *damp,
            *known,
            *taught.notes,
            *_notes(plant, results),
        ),
        sample_note=sample.note,
        minerals=tuple(phase.name for phase in mineralogy.phases),
    )


CAUTIONS = (
    (
        "A model of a bench result is not a plant: fit the model to tests of this sand, then run "
        "a pilot on a full-width belt before anything is ordered."
    ),
    (
        "Belts are sized one grain deep, screens cut without fault, and nothing stops or wears; "
        "add what your own practice adds."
    ),
)


def _circuit(
    plant: Plant,
    one: Circuit | str,
    cut_um: float,
    window_um: tuple[float | None, float | None],
) -> tuple[Circuit, str]:
    if isinstance(one, Circuit):
        return check_circuit(one), "given"
    if one not in STANDARD:
        message = f'The circuit "{one[:40]}" is not known: {", ".join(STANDARD)}, or a TOML file'
        raise UnknownNameError(message, STANDARD)

    def make(machine: Pass, fine: Pass | None = None) -> Circuit:
        return check_circuit(standard_circuits(machine, cut_um, window_um, fine)[one])

    if plant.setting.passes:
        return make(plant.setting.passes[0]), "given"
    speeds = speeds_of(plant.setting)
    candidates = [
        make(Pass(speed, edge), Pass(fine, edge))
        for edge in SPLITTERS_M
        for speed in speeds
        # Only where sizes are parted has the fine roll a speed of its own.
        for fine in (speeds if one == APART else (speed,))
    ]
    return search(plant, candidates), "searched"


def _choose(plant: Plant, runs: list[Run]) -> tuple[Run, str]:
    costs = [plant.cost(run) for run in runs]
    cheapest = runs[int(np.argmin(costs))]
    if not any(rows_asked(plant)):
        return cheapest, "No limit is asked, so this is the least cost of those compared."
    chances = [plant.verdict(run).chance_of_meeting_limit for run in runs]
    known = [-1.0 if chance is None else chance for chance in chances]
    likely = [k for k, chance in enumerate(known) if chance >= LIKELY_FROM]
    if likely:
        best = min(likely, key=lambda k: costs[k])
        return runs[best], "The least cost of those that are likely to meet what is asked."
    if max(known) < 0.0:
        return cheapest, "No trials were run, so this is the least cost whatever it meets."
    near = [k for k, chance in enumerate(known) if chance >= max(known) - ALIKE]
    best = min(near, key=lambda k: costs[k])
    return runs[best], (
        "None is likely to meet what is asked; this is the least cost of those whose chance is "
        "as good as the best, as far as the trials can tell."
    )


def _bench_belt(picked: PlantCircuit) -> float | None:
    rolls = [step for step in picked.steps if step.feed_t_h_m is not None]
    rate = rolls[0].feed_t_h_m if rolls else None
    return None if rate is None else 1000.0 * rate * BENCH_BELT_M


def _notes(plant: Plant, results: tuple[PlantCircuit, ...]) -> tuple[Note, ...]:
    made = []
    for result in results:
        for step in result.steps:
            share = step.magnetics_on_belt_pct
            if share is not None and share > 20.0:
                text = (
                    f"{result.circuit}, {step.step}: magnetics are {share:.0f} % of the belt and "
                    "bury each other (their effect is a guess)"
                )
                made.append(Note("magnetics-bury", text, "warning"))
    made += alike_notes(results)
    if plant.parameters.air_layer_m is not None:
        made.append(Note("still-air", "circuits are computed in still air", "note"))
    return tuple(made)
