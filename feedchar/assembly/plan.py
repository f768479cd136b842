"""From a sample to the plan of its test: the recipe of `plan`."""

from __future__ import annotations

import numpy as np

from feedchar.assembly.basis import basis_of
from feedchar.assembly.checks import damp_parameters
from feedchar.assembly.machine import grains_for, setting_result
from feedchar.assembly.plan_bags import Bench, planned_bags
from feedchar.assembly.plan_masses import (
    Masses,
    assay_sampling_sd,
    least_charge_g,
    masses_of,
    split_grams,
    wanted_sd,
)
from feedchar.assembly.plan_notes import plan_notes
from feedchar.assembly.plan_order import FLOOR_G, order_of
from feedchar.assembly.plan_rate import rate_of
from feedchar.assembly.plan_sampling import grain_lines, grain_table, outlet_share, top_size_um
from feedchar.assembly.plan_trials import run_outlets
from feedchar.assembly.plan_work import Programme, programme
from feedchar.assembly.search import candidate_settings, choose, try_settings
from feedchar.assembly.subset import Trials
from feedchar.chemistry.build import mineralogy_of
from feedchar.chemistry.sizes import size_classes
from feedchar.field.rolls import DEFAULT_ROLL, read_roll
from feedchar.field.setting import Setting
from feedchar.field.working import working_field
from feedchar.particles.build import build_classes
from feedchar.particles.classes import SizeClasses
from feedchar.particles.surface import sized_by_surface
from feedchar.results.characterisation import InputFiles
from feedchar.results.plan import Plan, PlanBag, PlanSplit, PlanWork
from feedchar.sample.records import Limit, Sample
from feedchar.separation.parameters import Calibration, draw_parameters
from feedchar.separation.passes import separate
from feedchar.separation.setting_checks import calibration_notes
from feedchar.uncertainty.summary import summarise

PLAN_TRIALS = 400
"""Trials unless told otherwise: a share of the variance is then known to about 0.03. [-]"""
BENCH_BELT_M = 0.1
"""Belt of a bench roll; common practice, no source. [m]"""
RESERVE = 0.25
"""Share of the sand received that is kept sealed and untouched; common practice. [-]"""
HEAD_KG = 0.5
"""Head split: sieves, head assay, a spare; common practice, no source. [kg]"""
LEAST_CHARGE_KG = 0.5
"""Below this a run on a bench roll never settles (guess). [kg]"""


def plan(
    sample: Sample,
    setting: Setting | None = None,
    limit: Limit | None = None,
    calibration: Calibration | None = None,
    trials: int = PLAN_TRIALS,
    seed: int = 1,
    *,
    feed_t_h: float | None = None,
    plant_belt_m: float | None = None,
    bench_belt_m: float = BENCH_BELT_M,
    relative_sd: float | None = None,
) -> Plan:
    """What to take, run, weigh and assay so that the answer narrows most for the work.

    Parameters
    ----------
    sample : Sample
        What was measured. [-]
    setting : Setting or None
        Machine setting that the test is about; one without passes, or None, is searched. [-]
    limit : Limit or None
        What is asked of the product; None takes the sample's own. [-]
    calibration : Calibration or None
        What tests taught of the machine. [-]
    trials : int
        Number of draws. [-]
    seed : int
        Seed of every random stream. [-]
    feed_t_h : float or None
        Dry feed of the plant; None: that of the sample. [t h⁻¹]
    plant_belt_m : float or None
        Belt of the plant over which that feed is spread; None: the usual widths that carry it one
        grain deep. [m]
    bench_belt_m : float
        Width of the layer on the bench roll. [m]
    relative_sd : float or None
        Wanted of the product's iron, from sampling alone; None: see `wanted_sd`. [-]

    Returns
    -------
    Plan
        Masses, programme, bags, order. [-]

    Raises
    ------
    FeedcharError
        When sample or setting cannot be used.
    """
    asked = limit if limit is not None else sample.limit
    mineralogy = mineralogy_of(sample, trials, seed)
    sizes = SizeClasses(*size_classes(sample)[:2])
    mineralogy = sized_by_surface(sample, mineralogy, sizes)
    classes, class_notes = build_classes(sample, mineralogy, sizes, seed)
    grains = grains_for(classes, mineralogy, sample.feed_temperature_c)
    parameters, damp = damp_parameters(sample, draw_parameters(trials, seed, calibration))
    everything = Trials(mineralogy, classes, grains, parameters)
    base = setting or Setting(
        roll=read_roll(DEFAULT_ROLL),
        passes=(),
        roll_temperature_c=sample.roll_temperature_c,
        feed_temperature_c=sample.feed_temperature_c,
    )
    known = calibration_notes(calibration, base)
    used = base
    if not base.passes:
        tried = try_settings(candidate_settings(base), everything, asked)
        used = choose(tried, everything, asked).setting
    split = run_outlets(everything, used)
    iron = split.non_magnetics.oxide("Fe2O3")
    most = None if asked is None else asked.max_wt_pct.get("Fe2O3")
    wanted, how = wanted_sd(iron, most) if relative_sd is None else (relative_sd, "as asked")

    shares = separate(used, grains, parameters)
    window = (used.treated_passing_um, used.treated_retained_um)
    feed = grain_table(everything)
    product = grain_table(everything, outlet_share(everything, shares, "non_magnetics", window))
    magnetics = grain_table(everything, outlet_share(everything, shares, "magnetics", window))
    top_um = top_size_um(everything)
    rate = rate_of(sample, everything, used, feed_t_h, plant_belt_m, bench_belt_m)

    dry_kg = _dry_kg(sample)
    usable = np.inf if dry_kg is None else max((1.0 - RESERVE) * dry_kg - HEAD_KG, 0.0)
    charge_g = least_charge_g(wanted, product, split, rate.bench_kg_h)
    charge_g = _fitting(charge_g, usable)
    charge_kg = charge_g / 1000.0
    grams = split_grams(wanted, feed, product, magnetics)
    left_sd = assay_sampling_sd(
        everything, product, split, charge_g, max(FLOOR_G, grams["product"])
    )
    made = programme(sample, everything, used, split, charge_kg, left_sd, seed, float(usable))
    bags = planned_bags(
        sample, everything, used, made, Bench(charge_g, rate.bench_kg_h, bench_belt_m)
    )
    order = order_of(sample, bags, grams, asked)
    main = next((one for one in order if one.kind == "first" and one.bag != "feed"), None)
    ground_g = grams["product"] if main is None else main.pulverise_g
    used_kg = sum(one.work.kg for one in made.weighed if one.chosen)
    masses = masses_of(
        Masses(wanted, feed, product, top_um, charge_g, ground_g, used_kg, HEAD_KG, RESERVE),
        everything,
        split,
    )
    take_kg = masses[0].kept_g / 1000.0
    lines = grain_lines(everything, product, ground_g, wanted / 2.0, top_um)
    notes = plan_notes(
        everything, lines, rate, used, dry_kg, take_kg, masses[1], made.weighed, wanted
    )
    return Plan(
        command="plan",
        seed=seed,
        trials=trials,
        input=InputFiles(sample.name, sample.files),
        basis=basis_of(sample, used, calibration is not None),
        setting=setting_result(used, working_field(used), "given" if base.passes else "searched"),
        product_Fe2O3_wt_pct=summarise(iron),
        limit_Fe2O3_wt_pct=most,
        wanted_relative_sd=wanted,
        wanted_how=how,
        masses=masses,
        grains=lines,
        rate=rate,
        work=_work(made),
        kg_used=used_kg,
        hours=sum(one.work.hours for one in made.weighed if one.chosen),
        splits=_splits(made, bags, dry_kg, take_kg),
        bags=bags,
        order=order,
        received_dry_kg=dry_kg,
        take_kg=take_kg,
        notes=(*sample.notes, *mineralogy.notes, *class_notes, *known, *damp, *notes),
        minerals=tuple(phase.name for phase in mineralogy.phases),
        sample_note=sample.note,
        moisture_pct=sample.moisture_pct,
    )


def _dry_kg(sample: Sample) -> float | None:
    if sample.received_kg is None:
        return None
    return sample.received_kg * (1.0 - (sample.moisture_pct or 0.0) / 100.0)


def _fitting(charge_g: float, usable_kg: float) -> float:
    """The charge, smaller where the sand received does not do for the least programme."""
    most = 1000.0 * usable_kg / 3.0  # main run, its repeat, the small splits
    if charge_g <= most:
        return charge_g
    return max(1000.0 * LEAST_CHARGE_KG, 100.0 * (most // 100.0))


def _work(made: Programme) -> tuple[PlanWork, ...]:
    return tuple(
        PlanWork(
            work=one.work.name,
            kind="machine" if one.work.name in made.machine_work else "laboratory",
            kg=one.work.kg,
            hours=one.work.hours,
            removes_alone=one.alone,
            removes_more=one.gain,
            removed_together=one.together,
            chosen=one.chosen,
            why=one.why,
        )
        for one in made.weighed
    )


def _splits(
    made: Programme, bags: tuple[PlanBag, ...], dry_kg: float | None, take_kg: float
) -> tuple[PlanSplit, ...]:
    whole = 1000.0 * (take_kg if dry_kg is None else dry_kg)
    parts = [PlanSplit("head", 1000.0 * HEAD_KG, "sieves, head assay, a spare")]
    parts += [
        PlanSplit(bag.bag, bag.expected_g or 0.0, _charge_words(bag))
        for bag in bags
        if bag.product == "feed"
    ]
    small = [one for one in made.weighed if one.chosen and one.work.name not in made.machine_work]
    parts += [
        PlanSplit(f"treatment {number}", 1000.0 * one.work.kg, one.work.name)
        for number, one in enumerate((one for one in small if one.work.kg > 0.0), start=1)
    ]
    rest = whole - sum(part.grams for part in parts)
    if rest > 0.0:
        parts.append(PlanSplit("reserve", rest, "sealed and kept for a second laboratory"))
    return tuple(parts)


def _charge_words(bag: PlanBag) -> str:
    return bag.test + ("" if bag.repeat == "1" else f", repeat {bag.repeat}")
