"""The whole recipe on one page: from a sample to its characterisation."""

from __future__ import annotations

from typing import TYPE_CHECKING

from feedchar.assembly.basis import basis_of, measured_assay
from feedchar.assembly.best_possible import best_possible_result, dirtiest_feed_result, stay_lines
from feedchar.assembly.checks import (
    check_window,
    damp_parameters,
    loaded_parameters,
    machine_notes,
    product_notes,
)
from feedchar.assembly.discrepancy import with_discrepancy
from feedchar.assembly.feed import assay_result, iron_lines, mineral_results, unseen_iron
from feedchar.assembly.machine import grains_for, ranking_response, setting_result
from feedchar.assembly.measure import best_pair_result, measure_next_results, orders_of
from feedchar.assembly.other_machine import machines_compared
from feedchar.assembly.past import past_result
from feedchar.assembly.product import answer_result, product_result
from feedchar.assembly.response import response_lines
from feedchar.assembly.rules_of_tests import rules_of_tests
from feedchar.assembly.search import (
    candidate_settings,
    choose,
    searched_results,
    try_settings,
)
from feedchar.assembly.subset import Trials
from feedchar.assembly.taught import product_narrowed, taught_by_tests
from feedchar.assembly.treatments import other_treatments
from feedchar.assembly.what_if import what_if
from feedchar.chemistry.build import mineralogy_of
from feedchar.chemistry.sizes import size_classes
from feedchar.field.rolls import DEFAULT_ROLL, read_roll
from feedchar.field.setting import Setting
from feedchar.field.working import working_field
from feedchar.particles.build import build_classes
from feedchar.particles.classes import SizeClasses
from feedchar.particles.iron import iron_table
from feedchar.particles.surface import sized_by_surface
from feedchar.product.answer import answer
from feedchar.product.best_possible import best_possible
from feedchar.product.outlets import outlets
from feedchar.product.remedies import REMEDIES, evidence_of, spread_by_reason
from feedchar.product.specks import Specks, specks
from feedchar.product.stays import iron_that_stays
from feedchar.results import Characterisation, InputFiles
from feedchar.sample.records import Limit, Sample
from feedchar.separation.parameters import draw_parameters
from feedchar.separation.passes import separate
from feedchar.separation.setting_checks import calibration_notes

if TYPE_CHECKING:
    from collections.abc import Sequence

    from feedchar.separation.parameters import Calibration
    from feedchar.testwork.past_tests import PastTest


def characterise(
    sample: Sample,
    setting: Setting | None = None,
    limit: Limit | None = None,
    calibration: Calibration | None = None,
    trials: int = 2000,
    seed: int = 1,
    *,
    command: str = "assess",
    other_settings: bool = False,
    library: Sequence[PastTest] | None = None,
) -> Characterisation:
    """From a sample to where its iron is, what a magnet can do, and what stays.

    Parameters
    ----------
    sample : Sample
        What was measured. [-]
    setting : Setting or None
        Machine setting; one without passes, or None (the default roll), lets a small search
        choose speed, edge and number of passes. [-]
    limit : Limit or None
        What is asked of the product; None takes the sample's own. [-]
    calibration : Calibration or None
        What tests taught of the machine. [-]
    trials : int
        Number of draws, 0 for the typical case alone. [-]
    seed : int
        Seed of every random stream. [-]
    command : str
        Name that the document carries. [-]
    other_settings : bool
        Whether settings round the one assessed are computed too, for the panel of the page. [-]
    library : sequence of PastTest or None
        Past tests that may correct what is said of a next one. [-]

    Returns
    -------
    Characterisation
        Records for the report, and trial arrays for those who compute on. [-]

    Raises
    ------
    FeedcharError
        When sample or setting cannot be used.

    References
    ----------
    computed_here; named in the rooms that each step calls.
    """
    asked = limit if limit is not None else sample.limit

    # What it is made of, and where the iron is.
    mineralogy = mineralogy_of(sample, trials, seed)
    sizes = SizeClasses(*size_classes(sample)[:2])
    mineralogy = sized_by_surface(sample, mineralogy, sizes)
    classes, class_notes = build_classes(sample, mineralogy, sizes, seed)

    # What answers a magnet, on which machine.
    grains = grains_for(classes, mineralogy, sample.feed_temperature_c)
    parameters, damp = damp_parameters(sample, draw_parameters(trials, seed, calibration))
    finished = Trials(mineralogy, classes, grains, parameters)
    base = setting or Setting(
        roll=read_roll(DEFAULT_ROLL),
        passes=(),
        roll_temperature_c=sample.roll_temperature_c,
        feed_temperature_c=sample.feed_temperature_c,
    )
    check_window(classes, base.treated_passing_um, base.treated_retained_um)

    # What tests of this sample leave of both.
    known = calibration_notes(calibration, base)
    taught = taught_by_tests(sample, finished, base, calibration, seed)
    everything = taught.trials
    mineralogy, classes = everything.mineralogy, everything.classes
    grains, parameters = everything.grains, everything.parameters

    # The setting, and what it does.
    tried = try_settings(candidate_settings(base), everything, asked)
    chosen = None if base.passes else choose(tried, everything, asked)
    used = base if chosen is None else chosen.setting
    shares = separate(used, grains, parameters)
    window = (used.treated_passing_um, used.treated_retained_um)

    # What can be sold, what stays and why, what could be.
    split = outlets(classes, shares, mineralogy, *window)
    # Many magnetics bury each other on the belt: where they do, it runs again as such a belt.
    buried = loaded_parameters(split, parameters)
    if buried is not None:
        shares = separate(used, grains, buried[0])
        split = outlets(classes, shares, mineralogy, *window)
    # Guesses are wide enough to hold what no parameter describes; what tests narrowed is not.
    machine_known = calibration is not None or taught.result is not None
    if machine_known:
        shares = with_discrepancy(shares, classes, mineralogy, seed)
        split = outlets(classes, shares, mineralogy, *window)
    stays = iron_that_stays(classes, shares, mineralogy, *window)

    def specks_of(outlet: str) -> Specks:
        return specks(classes, shares, mineralogy, seed, outlet, *window)

    verdict = answer(split, asked, mineralogy, specks_of("non_magnetics").dark)
    typical_kept = [one.non_magnetics for one in tried]
    curves = best_possible(
        classes,
        mineralogy,
        ranking_response(grains),
        [*typical_kept, shares.non_magnetics[0]],
        *window,
    )
    treatments = other_treatments(
        used, everything, sample.feed_temperature_c, sample.origin == "crushed rock"
    )
    product_iron = split.non_magnetics.oxide("Fe2O3")
    orders = orders_of(everything, used, split, seed)
    of_machine = (
        *damp,
        *(() if buried is None else buried[1]),
        *machine_notes(used),
        *product_notes(sample, split, asked),
    )
    if command == "check":  # It judges the feed alone.
        of_machine = ()
    return Characterisation(
        command=command,
        seed=seed,
        trials=trials,
        input=InputFiles(sample.name, sample.files),
        basis=basis_of(sample, used, calibration is not None, taught.result),
        assay=assay_result(mineralogy, measured_assay(sample)),
        unseen_iron=unseen_iron(mineralogy),
        minerals=mineral_results(mineralogy, split),
        iron=iron_lines(iron_table(classes, mineralogy), sizes),
        response=response_lines(
            used, classes, mineralogy, grains, shares, float(parameters.pull_factor[0])
        ),
        setting=setting_result(
            used, working_field(used), "given" if chosen is None else "searched"
        ),
        product=product_result(split, specks_of),
        best_possible=best_possible_result(curves, asked, float(split.yield_pct()[0]), treatments),
        iron_that_stays=stay_lines(stays, REMEDIES, evidence_of(sample, mineralogy, machine_known)),
        answer=answer_result(verdict, asked),
        measure_next=measure_next_results(orders, product_iron, seed),
        best_pair=best_pair_result(orders, product_iron, seed),
        doubt=spread_by_reason(stays),
        dirtiest_feed=dirtiest_feed_result(split, mineralogy, asked),
        machines=machines_compared(used, everything),
        notes=(
            *sample.notes,
            *mineralogy.notes,
            *class_notes,
            *known,
            *taught.notes,
            *rules_of_tests(sample, finished.mineralogy, finished.classes),
            *of_machine,
        ),
        searched=() if chosen is None else searched_results(tried, chosen),
        received_kg=sample.received_kg,
        moisture_pct=sample.moisture_pct,
        sample_note=sample.note,
        origin=sample.origin,
        feed_t_h=sample.feed_t_h,
        what_if=what_if(used, everything, asked, seed) if other_settings else None,
        tests_taught=product_narrowed(taught, finished, used, split),
        past_tests=past_result(library, everything, used, split, asked, machine_known),
        trial_values={
            "product_Fe2O3_wt_pct": product_iron,
            "product_yield_pct": split.yield_pct(),
        },
    )
