"""The plan of a test on the invented samples: masses, programme, bags, order."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from feedchar.assembly.plan import HEAD_KG, RESERVE, plan
from feedchar.assembly.plan_masses import COARSEST, FINEST, stage_sd, wanted_sd
from feedchar.assembly.plan_rate import bench_feed_kg_h
from feedchar.assembly.tested_steps import steps_of_tests
from feedchar.errors import SettingError
from feedchar.field.rolls import DEFAULT_ROLL, read_roll
from feedchar.field.setting import Pass, Setting
from feedchar.sample.read import read_sample
from feedchar.sample.records import TestBag
from feedchar.sample.repeats import KINDS
from feedchar.tables.locate import examples_folder

TRIALS = 120


@pytest.fixture(scope="module")
def sand():
    return read_sample(examples_folder() / "glass_sand")


@pytest.fixture(scope="module")
def made(sand):
    return plan(sand, trials=TRIALS)


def test_no_stage_spends_more_than_its_share_of_the_wanted_sd(made):
    for stage in made.masses[:3]:
        assert stage.kept_g >= stage.needed_g
        assert stage.relative_sd <= stage_sd(made.wanted_relative_sd)
    whole = np.sqrt(sum(stage.relative_sd**2 for stage in made.masses))
    assert whole < made.wanted_relative_sd


def test_what_is_taken_does_for_the_programme_the_head_and_the_reserve(made):
    assert made.take_kg * (1.0 - RESERVE) >= made.kg_used + HEAD_KG - 1e-9
    assert made.kg_used == pytest.approx(sum(one.kg for one in made.work if one.chosen))
    charges = [bag for bag in made.bags if bag.product == "feed"]
    assert sum(bag.expected_g for bag in charges) <= 1000.0 * made.kg_used + 1e-6
    assert sum(part.grams for part in made.splits) == pytest.approx(1000.0 * made.received_dry_kg)


def test_four_times_the_sand_halves_the_sd_and_a_finer_sd_asks_for_more(sand, made):
    finer = plan(sand, trials=TRIALS, relative_sd=0.5 * made.wanted_relative_sd)
    for coarse, fine in zip(made.masses, finer.masses, strict=True):
        assert fine.needed_g == pytest.approx(4.0 * coarse.needed_g, rel=1e-9)
    assert finer.wanted_how == "as asked"


def test_the_default_sd_is_a_third_of_the_spread_or_a_tenth_of_the_limit():
    product = np.array([0.03, *np.random.default_rng(1).normal(0.03, 0.003, 4000)])
    assert wanted_sd(product, None)[0] == pytest.approx(0.1 / 3.0, rel=0.03)
    assert wanted_sd(product, 0.0075)[0] == pytest.approx(0.1 * 0.0075 / 0.03)
    assert wanted_sd(product[:1], None)[0] == COARSEST
    assert wanted_sd(product, 0.0001)[0] == FINEST


def test_the_programme_adds_up_and_says_what_each_removes(made):
    done = [one for one in made.work if one.chosen]
    assert done[-1].removed_together == pytest.approx(sum(one.removes_more for one in done))
    assert 0.5 < done[-1].removed_together <= 1.0
    assert all(one.why for one in made.work)
    left = [one for one in made.work if not one.chosen]
    assert all(one.removes_more < 0.05 for one in left)
    names = [one.work for one in done]
    assert any("hand magnet" in name for name in names)
    assert "main run repeated on a charge of its own" in names


def test_three_speeds_two_edges_and_more_passes_are_weighed_whether_chosen_or_not(made):
    told = " ".join(one.work for one in made.work)
    for speed in ("1 m/s", "1.5 m/s", "2 m/s"):
        assert f"roll at {speed}" in told
    for word in ("second edge", "over the roll again", "strong drum", "microprobe", "scrub"):
        assert word in told


def test_without_trials_the_usual_programme_is_planned(sand):
    blind = plan(sand, trials=0)
    assert all(one.removed_together == 0.0 for one in blind.work)
    done = [one for one in blind.work if one.chosen]
    assert {one.why for one in done} == {"practice"}
    assert sum("magnetics weighed" in one.work and "roll" in one.work for one in done) == 3
    assert blind.product_Fe2O3_wt_pct.p50 is None


def test_bags_have_short_names_once_and_hang_together(made):
    names = [bag.bag for bag in made.bags]
    assert len({name.casefold() for name in names}) == len(names)
    assert all(len(name) <= 4 and not name[0].isdigit() for name in names)
    assert all(bag.from_bag in {"feed", *names} for bag in made.bags)


def test_the_outlets_of_a_step_weigh_what_was_fed(made):
    known = {bag.bag: bag for bag in made.bags}
    steps: dict[str, float] = {}
    for bag in made.bags:
        if bag.expected_g is not None and bag.product not in ("feed", "screened"):
            key = bag.from_bag
            steps[key] = steps.get(key, 0.0) + bag.expected_g
    assert len(steps) >= 3
    for source, grams in steps.items():
        assert grams == pytest.approx(known[source].expected_g, rel=1e-9)


def test_what_is_fed_on_is_not_split_for_the_laboratory(made):
    fed = {bag.from_bag for bag in made.bags}
    ordered = {line.bag for line in made.order if line.in_table}
    for bag in made.bags:
        if bag.bag in fed and bag.product == "non-magnetics":
            assert bag.bag not in ordered
        elif bag.belt_speed_m_s is not None:
            assert bag.bag in ordered


def test_the_order_has_all_four_repeats_blanks_a_reference_and_agate(made):
    kinds = [line.kind for line in made.order]
    assert set(KINDS) <= set(kinds)
    assert kinds[0] == kinds[-1] == "blank"
    assert "reference" in kinds
    assert {line.mill for line in made.order} == {"agate"}
    assert [line.line for line in made.order] == list(range(1, len(made.order) + 1))
    # The clean before the rich: no product comes after the magnetics.
    known = {bag.bag: bag.product for bag in made.bags}
    order = [known[line.bag] for line in made.order if line.bag in known]
    assert order == sorted(order, key=["non-magnetics", "middlings", "magnetics"].index)


def test_no_more_is_pulverised_than_the_bag_will_hold(made):
    expected = {bag.bag: bag.expected_g for bag in made.bags}
    for line in made.order:
        if expected.get(line.bag) is not None:
            assert line.pulverise_g <= expected[line.bag] + 1.0


def test_the_planned_bags_are_a_test_that_can_be_predicted(sand, made):
    """Masses filled in as expected: the rows are read as steps, and every outlet is computed."""
    rows = tuple(
        TestBag(
            bag.test, bag.step, bag.repeat, bag.machine or None, bag.from_bag, bag.bag, bag.product,
            bag.expected_g or 1.0, bag.belt_speed_m_s, bag.splitter_m, bag.splitter_2_m,
        )
        for bag in made.bags
    )  # fmt: skip
    filled = replace(sand, tests=rows)
    base = Setting(roll=read_roll(DEFAULT_ROLL), passes=())
    steps = steps_of_tests(filled, base)
    assert not [step.reason for step in steps if step.reason]
    assert {step.kind for step in steps} >= {"charge", "drum", "roll"}


def test_bench_and_plant_carry_the_same_per_metre(sand):
    """trade_facts.csv: a plant of 5 t/h is imitated at 2 t/h per metre (common practice)."""
    assert bench_feed_kg_h(5.0, 2.5, 0.1) == pytest.approx(200.0)
    one = plan(sand, trials=0, feed_t_h=5.0, plant_belt_m=2.5, bench_belt_m=0.1)
    assert one.rate.plant_t_h_m == pytest.approx(2.0)
    assert one.rate.bench_kg_h == pytest.approx(200.0)
    assert {bag.feed_kg_h for bag in one.bags if bag.belt_speed_m_s} == {one.rate.bench_kg_h}
    # Two tonnes an hour and metre bury this sand on a slow belt, and that is said.
    assert any(note.code == "belt-deep" for note in one.notes)


def test_a_belt_without_a_feed_rate_is_refused():
    bare = read_sample(examples_folder() / "minimal.csv")
    with pytest.raises(SettingError, match="--feed-t-h"):
        plan(bare, trials=0, plant_belt_m=2.0)


def test_a_small_bag_is_planned_with_a_warning(sand):
    small = plan(replace(sand, received_kg=2.5), trials=60)
    assert any(note.code == "sand-short" for note in small.notes)
    main = next(bag for bag in small.bags if bag.belt_speed_m_s)
    charge = next(bag for bag in small.bags if bag.bag == main.from_bag)
    assert charge.expected_g < 1000.0


def test_screened_feed_and_a_drum_first_are_steps_of_their_own(sand):
    setting = Setting(
        roll=read_roll(DEFAULT_ROLL),
        passes=(Pass(1.5, 0.008, 0.020),),
        drum_first="weak",
        treated_passing_um=400.0,
        treated_retained_um=100.0,
    )
    one = plan(sand, setting, trials=0)
    first = [bag for bag in one.bags if bag.test == "roll 1.5 m/s" and bag.repeat == "1"]
    assert [bag.product for bag in first[:4]] == ["feed", "screened", "screened", "screened"]
    parts = [bag.expected_g for bag in first if bag.product == "screened"]
    assert sum(parts) == pytest.approx(first[0].expected_g, rel=1e-6)
    assert "weak drum" in {bag.machine for bag in first}
    assert {bag.splitter_2_m for bag in first if bag.product == "middlings"} == {0.020}


def test_new_names_keep_clear_of_bags_that_are_there():
    tested = read_sample(examples_folder() / "test_result")
    taken = replace(tested.tests[0], bag="A1M", test="roll 2 m/s")
    again = plan(replace(tested, tests=(*tested.tests, taken)), trials=0)
    names = {bag.bag for bag in again.bags}
    assert not names & {bag.bag for bag in tested.tests}
    assert not any(name.startswith("A") for name in names)
    assert "roll 2 m/s" not in {bag.test for bag in again.bags}
    # The head has a result already: the new one is another split of it.
    (head,) = [line for line in again.order if line.repeat_of == "feed"]
    assert head.kind == "new split"
