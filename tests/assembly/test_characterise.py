"""The whole road: invented samples in, the answer and its accounts out."""

from __future__ import annotations

import json
import random

import numpy as np
import pytest

from feedchar import characterise, read_sample, to_json
from feedchar.field.rolls import read_roll
from feedchar.field.setting import Pass, Setting
from feedchar.report.answer_blocks import balance_block
from feedchar.sample.records import Limit
from feedchar.tables.locate import examples_folder

TRIALS = 60
ONE_PASS = Setting(roll=read_roll("fine-100"), passes=(Pass(1.5, 0.010),))

IRONY_SAND = {
    # Common practice, no source: a silica sand with these dark minerals near 0.6 % Fe.
    "quartz": 94.16,
    "k-feldspar": 3.0,
    "muscovite": 1.0,
    "biotite": 1.2,
    "ilmenite": 0.3,
    "hematite": 0.3,
    "goethite": 0.04,
}


def write_minerals(folder, minerals, toml="", textures=""):
    folder.mkdir(exist_ok=True)
    rows = "".join(f"{name},{pct}\n" for name, pct in minerals.items())
    (folder / "minerals.csv").write_text("mineral,mass_pct\n" + rows)
    (folder / "sample.toml").write_text('name = "invented"\n' + toml)
    if textures:
        (folder / "textures.csv").write_text("mineral,form,share_pct\n" + textures)
    return folder


@pytest.fixture(scope="module")
def glass_sand():
    return read_sample(str(examples_folder() / "glass_sand"))


@pytest.fixture(scope="module")
def result(glass_sand):
    return characterise(glass_sand, trials=TRIALS)


def iron_of(result, outlet):
    record = getattr(result.product, outlet)
    if not record.yield_pct.typical:
        return 0.0
    return record.yield_pct.typical / 100 * record.assay_wt_pct["Fe2O3"].typical


def test_the_four_outlets_are_the_dry_bag(result):
    outlets = ("non_magnetics", "middlings", "magnetics", "untreated")
    total = sum(getattr(result.product, name).yield_pct.typical for name in outlets)
    assert total == pytest.approx(100.0, abs=1e-7)


def test_mass_times_assay_is_the_iron_of_every_outlet(result):
    bag = result.assay.reconciled_wt_pct["Fe2O3"]
    outlets = ("non_magnetics", "middlings", "magnetics", "untreated")
    parts = [getattr(result.product, name) for name in outlets]
    carried = [part.Fe2O3_wt_pct_of_bag for part in parts]
    assert sum(part.mean for part in carried) == pytest.approx(bag.mean, rel=1e-9)
    rows = [[*row.cells] for row in balance_block(result).parts[0].rows]
    mass, iron, assay = (np.array([float(row[k]) for row in rows]) for k in (1, 2, 3))
    # as printed: three digits of assay, one decimal of mass and iron
    assert mass * assay / 100.0 == pytest.approx(iron * bag.mean / 100.0, rel=0.03, abs=2e-4)


@pytest.mark.parametrize("oxide", ["Fe2O3", "TiO2", "SiO2", "K2O", "LOI"])
def test_every_oxide_leaves_with_the_outlets(result, oxide):
    made = 0.0
    for name in ("non_magnetics", "middlings", "magnetics", "untreated"):
        record = getattr(result.product, name)
        if record.yield_pct.typical:
            made += record.yield_pct.typical / 100 * record.assay_wt_pct[oxide].typical
    assert made == pytest.approx(result.assay.reconciled_wt_pct[oxide].typical, rel=1e-9)


def test_the_iron_that_stays_adds_up_to_the_product(result):
    product = result.product.non_magnetics.assay_wt_pct["Fe2O3"]
    typical = sum(line.Fe2O3_ppm_of_product for line in result.iron_that_stays)
    mean = sum(line.mean_Fe2O3_ppm_of_product for line in result.iron_that_stays)
    assert typical == pytest.approx(1e4 * product.typical, rel=1e-9)
    assert mean == pytest.approx(1e4 * product.mean, rel=1e-9)


def test_the_iron_table_adds_up_to_the_bag(result):
    of_feed = sum(line.Fe2O3_wt_pct_of_feed for line in result.iron)
    assert of_feed == pytest.approx(result.assay.reconciled_wt_pct["Fe2O3"].typical, rel=1e-9)
    assert sum(line.share_of_iron_pct for line in result.iron) == pytest.approx(100.0, abs=1e-7)


def test_the_same_seed_gives_the_same_bytes(glass_sand, result):
    assert to_json(characterise(glass_sand, trials=TRIALS)) == to_json(result)


def test_another_seed_gives_other_trials_and_the_same_typical_case(glass_sand):
    here, there = (
        characterise(
            glass_sand, ONE_PASS, trials=TRIALS, seed=seed
        ).product.non_magnetics.assay_wt_pct["Fe2O3"]
        for seed in (1, 2)
    )
    # Adhesion is interpolated between rungs that the trials span, hence not to the last digit.
    assert here.typical == pytest.approx(there.typical, rel=1e-4)
    assert here.mean != there.mean


def test_a_feed_that_the_minerals_contradict_is_never_passed(tmp_path):
    folder = tmp_path / "contradicted"
    folder.mkdir()
    rows = "quartz,2900\nk-feldspar,60\nmuscovite,20\nbiotite,12\nilmenite,5\n"
    (folder / "minerals.csv").write_text(f"mineral,grains\n{rows}")
    toml = 'origin = "washed"\n[assay]\nFe2O3 = "<0.01"\n[limit]\nFe2O3_max_pct = 0.015\n'
    (folder / "sample.toml").write_text(f'name = "invented"\n{toml}')
    result = characterise(read_sample(str(folder)), ONE_PASS, trials=TRIALS)
    assert result.answer.status == "data disagree"
    assert result.answer.chance_of_meeting_limit is None
    assert "<0.01 % assayed" in result.answer.sentence


def test_a_check_of_the_feed_is_silent_about_the_machine(tmp_path):
    minerals = {"quartz": 60.0, "biotite": 40.0}
    sample = read_sample(str(write_minerals(tmp_path / "dark", minerals)))
    codes = {
        command: {note.code for note in characterise(sample, trials=0, command=command).notes}
        for command in ("assess", "check")
    }
    assert "magnetics-bury" in codes["assess"]
    assert codes["check"] == codes["assess"] - {"magnetics-bury"}


def test_rows_of_the_input_may_stand_in_any_order(tmp_path, result):
    source = examples_folder() / "glass_sand"
    copy = tmp_path / "glass_sand"
    copy.mkdir()
    shuffler = random.Random(5)
    for file in source.iterdir():
        text = file.read_text()
        if file.suffix == ".csv":
            heading, *rows = text.splitlines()
            shuffler.shuffle(rows)
            text = "\n".join([heading, *rows]) + "\n"
        (copy / file.name).write_text(text)
    shuffled = json.loads(to_json(characterise(read_sample(str(copy)), trials=TRIALS)))
    straight = json.loads(to_json(result))
    shuffled.pop("input"), straight.pop("input")
    assert shuffled == straight


def test_a_mineral_of_nil_mass_changes_nothing(tmp_path):
    plain = {"quartz": 99.0, "biotite": 1.0}
    without = read_sample(str(write_minerals(tmp_path / "a", plain, 'origin = "as dug"\n')))
    nil = plain | {"schorl": 0.0}
    with_nil = read_sample(str(write_minerals(tmp_path / "b", nil, 'origin = "as dug"\n')))
    first, second = (characterise(sample, ONE_PASS, trials=0) for sample in (without, with_nil))
    a = first.product.non_magnetics.assay_wt_pct["Fe2O3"].typical
    b = second.product.non_magnetics.assay_wt_pct["Fe2O3"].typical
    # Looked for and not found still leaves up to the detection limit; its typical share is small.
    assert b == pytest.approx(a, rel=0.15)


def test_a_slower_belt_leaves_less_iron(glass_sand):
    iron = [
        characterise(
            glass_sand, Setting(roll=ONE_PASS.roll, passes=(Pass(speed, 0.010),)), trials=0
        )
        .product.non_magnetics.assay_wt_pct["Fe2O3"]
        .typical
        for speed in (2.5, 2.0, 1.5)
    ]
    assert iron == sorted(iron, reverse=True)


def test_dark_minerals_report_to_the_roll_or_weaker_and_quartz_to_no_magnet(tmp_path):
    sample = read_sample(str(write_minerals(tmp_path / "irony", IRONY_SAND)))
    lines = characterise(sample, ONE_PASS, trials=0).response
    by_mineral = {}
    for line in lines:
        if line.form in ("free", "inside"):
            by_mineral.setdefault(line.mineral, set()).add(line.reports_to)
    for dark in ("biotite", "ilmenite", "hematite"):
        assert by_mineral[dark] <= {"weak drum", "strong drum", "permanent roll"}, dark
    assert by_mineral["quartz"] == {"no magnet"}


def test_the_sand_near_0_6_pct_iron_comes_near_0_05_at_a_good_yield(tmp_path):
    """Common practice, no source: about 0.05 % Fe after the roll, small loss of sand.

    All grains free and 3 % missed by the machine, as the trade's figure has no locked iron.
    """
    free = "".join(
        f"{name},free,100\n" for name in ("biotite", "ilmenite", "hematite", "muscovite")
    )
    toml = "[assay]\nFe2O3 = 0.834\n[assay_sd]\nFe2O3 = 0.02\n"
    sample = read_sample(str(write_minerals(tmp_path / "irony", IRONY_SAND, toml, free)))
    result = characterise(sample, ONE_PASS, trials=0)
    feed_iron = result.assay.reconciled_wt_pct["Fe2O3"].typical / 1.42974
    product = result.product.non_magnetics
    iron = product.assay_wt_pct["Fe2O3"].typical / 1.42974
    assert feed_iron == pytest.approx(0.58, abs=0.05)
    assert iron < 0.10
    assert product.yield_pct.typical > 85.0


def test_without_trials_there_is_no_chance_but_an_answer(glass_sand):
    result = characterise(glass_sand, ONE_PASS, Limit(max_wt_pct={"Fe2O3": 0.05}), trials=0)
    assert result.answer.chance_of_meeting_limit is None
    assert result.product.non_magnetics.yield_pct.p50 is None
    assert result.product.non_magnetics.yield_pct.typical > 0
    assert result.measure_next == ()


def test_curves_by_hand_lie_below_the_others(result):
    best = result.best_possible
    for other in (best.ideal_magnet, best.this_roll):
        for hand, point in zip(best.every_grain_sorted, other, strict=True):
            if hand.Fe2O3_wt_pct is not None and point.Fe2O3_wt_pct is not None:
                assert hand.Fe2O3_wt_pct <= point.Fe2O3_wt_pct * (1 + 1e-9)
