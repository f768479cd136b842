"""Tests of a sample narrow its feed and its machine, and a sample without tests stays as it was."""

from __future__ import annotations

import json
import re
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from feedchar.assembly.discrepancy import with_discrepancy
from feedchar.assembly.feed import iron_of_phases
from feedchar.assembly.machine import grains_for
from feedchar.assembly.narrowed import narrowed
from feedchar.assembly.subset import Trials, chosen_rows
from feedchar.assembly.taught import LEAST_TRIALS, after_tests, learned_of, taught_by_tests
from feedchar.assembly.tested import predict_tests
from feedchar.assembly.tested_figures import feed_with_tests
from feedchar.characterise import characterise
from feedchar.chemistry.build import mineralogy_of
from feedchar.chemistry.sizes import size_classes
from feedchar.field.rolls import DEFAULT_ROLL, read_roll
from feedchar.field.setting import Pass, Setting
from feedchar.particles.build import build_classes
from feedchar.particles.classes import SizeClasses
from feedchar.report.document import plain, to_json
from feedchar.report.findings import assess_findings
from feedchar.report.terminal import Screen, render
from feedchar.results.taught import LeftOut
from feedchar.sample.read import read_sample
from feedchar.sample.records import Determination, TestBag
from feedchar.separation.parameters import draw_parameters
from feedchar.separation.passes import separate
from feedchar.separation.records import Parameters
from feedchar.tables.locate import examples_folder
from feedchar.testwork.counted import counted_tests
from feedchar.testwork.likelihood import DISCREPANCY_LN
from feedchar.testwork.scores import calibration_of, draw_scores

TRIALS = 240
BASE = Setting(read_roll(DEFAULT_ROLL), ())
MACHINE = {"bypass": 0.09, "entrainment": 0.008, "pull_factor": 0.8, "adhesion_N": 1e-8}


def finished(sample, trials=TRIALS, seed=1):
    mineralogy = mineralogy_of(sample, trials, seed)
    sizes = SizeClasses(*size_classes(sample)[:2])
    classes, _ = build_classes(sample, mineralogy, sizes, seed)
    grains = grains_for(classes, mineralogy, sample.feed_temperature_c)
    return Trials(mineralogy, classes, grains, draw_parameters(trials, seed))


def run_of(test, speed, bags=("M", "N")):
    products = {"M": "magnetics", "N": "non-magnetics"}
    return tuple(
        TestBag(
            test=test, step="1", repeat=None, machine="permanent roll", from_bag="feed",
            bag=f"{test}{key}", product=products[key], mass_g=1.0, belt_speed_m_s=speed,
            splitter_m=0.010,
        )
        for key in bags
    )  # fmt: skip


@pytest.fixture(scope="module")
def tested():
    """The glass sand, run twice by a machine whose parameters and feed are known."""
    plain = replace(read_sample(examples_folder() / "glass_sand"), tests=())
    trials = finished(plain)
    sample = replace(plain, tests=run_of("slow", 1.2) + run_of("fast", 1.8))
    truth = Parameters(**{name: np.array([value]) for name, value in MACHINE.items()})
    one = chosen_rows(trials, np.array([17]), truth)
    made = {bag.bag: bag for bag in predict_tests(sample, one, BASE)}
    bags = tuple(
        replace(bag, mass_g=1000.0 * float(made[bag.bag].share[0])) for bag in sample.tests
    )
    assays = tuple(
        Determination(name, None, None, "Fe2O3", float(bag.oxide("Fe2O3")[0]), False)
        for name, bag in made.items()
    )
    return replace(plain, tests=bags, determinations=assays), trials


@pytest.fixture(scope="module")
def taught(tested):
    sample, trials = tested
    return taught_by_tests(sample, trials, BASE, None, 1)


def test_without_tests_the_trials_are_the_very_same(tested):
    sample, trials = tested
    taught = taught_by_tests(replace(sample, tests=()), trials, BASE, None, 1)
    assert taught.trials is trials
    assert taught.result is None
    assert taught.notes == ()


def test_what_was_measured_is_what_the_trials_say_afterwards(taught):
    result = taught.result
    assert result.tests == ("fast", "slow")
    assert result.method == "Metropolis"
    assert [one.quantity for one in result.figures] == ["Fe2O3", "weight", "Fe2O3"] * 2
    for one in result.figures:
        assert one.after.p05 * 0.85 < one.measured < one.after.p95 * 1.15
        assert abs(one.off_sd) < 2.0


def test_the_machine_behind_the_tests_is_found(taught):
    missed = taught.result.machine[0]
    assert missed.quantity == "missed by the machine"
    assert missed.before.p50 < 3.0 < missed.after.p50
    assert missed.after.p05 < 9.0 < missed.after.p95
    assert taught.trials.parameters.bypass[1:].mean() == pytest.approx(
        0.01 * missed.after.mean, rel=0.05
    )


def test_a_chosen_feed_keeps_its_own_balances(tested, taught):
    _, before = tested
    after = taught.trials
    assert len(after.classes.mass) == TRIALS + 1
    assert after.classes.mass.sum(axis=1) == pytest.approx(1.0, abs=1e-9)
    assert after.mineralogy.mass_fraction.sum(axis=1) == pytest.approx(1.0, abs=1e-9)
    rows = {row.tobytes() for row in before.mineralogy.mass_fraction}
    assert all(row.tobytes() in rows for row in after.mineralogy.mass_fraction)
    iron = iron_of_phases(after.mineralogy).sum(axis=1)
    assert np.quantile(iron[1:], 0.2) < iron[0] < np.quantile(iron[1:], 0.8)


def test_rows_of_tests_in_another_order_teach_the_same(tested):
    sample, trials = tested
    few = Trials(trials.mineralogy, trials.classes, trials.grains, trials.parameters)
    found = []
    for given in (sample, replace(sample, tests=sample.tests[::-1],
                                  determinations=sample.determinations[::-1])):  # fmt: skip
        feed = feed_with_tests(given, few, BASE, ["slow"])
        learned = learned_of([feed], None, 120, 3)
        found.append(after_tests(feed, learned, 0).parameters.bypass)
    assert np.array_equal(found[0], found[1])


def test_a_test_of_the_calibration_is_not_counted_again(tested):
    sample, trials = tested
    counted = counted_tests(sample.name, sample.tests, sample.determinations)
    calibration = replace(
        calibration_of(draw_scores(200, 1)), tests=tuple(test.sha256 for test in counted)
    )
    taught = taught_by_tests(sample, trials, BASE, calibration, 1)
    assert taught.trials is trials
    assert [note.code for note in taught.notes] == ["tests-in-calibration"]


def test_few_trials_are_not_weighed_and_that_is_said(tested):
    sample, _ = tested
    trials = finished(replace(sample, tests=()), LEAST_TRIALS - 1)
    taught = taught_by_tests(sample, trials, BASE, None, 1)
    assert taught.trials is trials
    assert taught.notes[0].code == "tests-not-counted"


def test_a_bag_that_no_model_computes_is_left_out_by_name(tested):
    sample, trials = tested
    odd = tuple(replace(bag, machine="jig") for bag in sample.tests[:2])
    taught = taught_by_tests(replace(sample, tests=odd), trials, BASE, None, 1)
    assert taught.result is None
    assert {note.code for note in taught.notes} == {"test-left-out"}
    assert "jig" in taught.notes[0].text


def test_the_assessment_tells_what_the_tests_narrowed_and_is_called_tested(tested):
    sample, _ = tested
    one = replace(sample, tests=sample.tests[:2])
    setting = replace(BASE, passes=(Pass(1.5, 0.010),))
    result = characterise(one, setting, trials=120)
    document = json.loads(to_json(result))
    assert document["basis"]["separation"] == "tested"
    assert document["tests_taught"]["tests"] == ["slow"]
    product = {row["quantity"]: row for row in document["tests_taught"]["product"]}
    iron = product["Fe2O3 of the product"]
    assert (
        iron["after"]["p50"] == document["product"]["non_magnetics"]["assay_wt_pct"]["Fe2O3"]["p50"]
    )
    assert iron["narrower_share"] > 0.2
    text = render(assess_findings(result), Screen(80))
    assert "WHAT THE TESTS NARROWED" in text
    assert "missed by the machine, %" in text
    assert not any(
        "not calibrated" in line for line in document["basis"]["assumptions_that_decide"]
    )


def test_the_key_is_not_in_a_document_without_tests(tested):
    sample, _ = tested
    plain = replace(sample, tests=(), determinations=())
    assert "tests_taught" not in json.loads(to_json(characterise(plain, trials=0)))


def test_narrower_is_told_as_the_part_of_the_range_taken_off():
    before, after = np.linspace(0.0, 100.0, 1001), np.linspace(40.0, 60.0, 1001)
    row = narrowed("a", "%", before, after)
    assert row.narrower_share == pytest.approx(0.8)
    assert (row.before.p05, row.after.p50) == (pytest.approx(5.0), pytest.approx(50.0))


def test_every_key_of_what_was_taught_is_described_for_developers(taught):
    page = Path(__file__).parents[2] / "DEVELOPERS.md"
    text = page.read_text(encoding="utf-8").split("<!-- document tests_taught -->")[1]
    described = set(re.findall(r'"(\w+)"', text.split("```")[1]))
    left = replace(taught.result, left_out=(LeftOut("a", "b"),))
    told = plain(left)
    found = {"tests_taught", *told, *told["figures"][0], *told["machine"][0], *told["left_out"][0]}
    assert found == described


def test_the_stated_discrepancy_moves_dark_grains_and_keeps_every_mass(tested):
    _, trials = tested
    setting = replace(BASE, passes=(Pass(1.5, 0.010, 0.025),))
    plain = separate(setting, trials.grains, trials.parameters)
    moved = with_discrepancy(plain, trials.classes, trials.mineralogy, 1)
    for name in ("magnetics", "middlings", "non_magnetics", "missed"):
        assert getattr(moved, name)[0] == pytest.approx(getattr(plain, name)[0], abs=1e-12)
    whole = moved.magnetics + moved.middlings + moved.non_magnetics
    assert whole == pytest.approx(1.0, abs=1e-12)
    assert np.all(moved.missed <= moved.non_magnetics)
    names = [phase.name for phase in trials.mineralogy.phases]
    quartz, biotite = (
        trials.classes.mineral[trials.classes.carrier] == names.index(name)
        for name in ("quartz", "biotite")
    )
    assert np.array_equal(moved.non_magnetics[:, quartz], plain.non_magnetics[:, quartz])
    inside = (plain.non_magnetics > 0.01) & (plain.non_magnetics < 0.99) & biotite
    odds = [one.non_magnetics[inside] / (1.0 - one.non_magnetics[inside]) for one in (moved, plain)]
    assert np.log(odds[0] / odds[1]).std() == pytest.approx(DISCREPANCY_LN, rel=0.15)
