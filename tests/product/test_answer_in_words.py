"""What the answer says at its borders, and that its words are its figures."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from feedchar.chemistry.mineralogy import OXIDES
from feedchar.particles.build import build_classes
from feedchar.product.answer import answer
from feedchar.product.answer_words import in_100
from feedchar.product.inverse import dirtiest_feed, feed_that_passes
from feedchar.product.limit_rows import chance_of, oxide_values
from feedchar.product.outlets import OUTLETS, outlets
from feedchar.sample.records import Limit, Sample


@pytest.fixture(scope="module")
def case(sand_of):
    sand = sand_of(trials=1000)
    classes = build_classes(Sample("x"), sand.mineralogy, sand.sizes)[0]
    return sand, outlets(classes, sand.shares(classes), sand.mineralogy)


def limited(case, **limits):
    sand, made = case
    return answer(made, Limit(**limits), sand.mineralogy)


@pytest.mark.parametrize(
    ("met", "status", "words", "told"),
    [
        (900, "meets", "likely", "about 90 in 100"),
        (899, "uncertain", "uncertain", "about 89.9 in 100"),
        (101, "uncertain", "uncertain", "about 10.1 in 100"),
        (100, "fails", "unlikely", "about 10 in 100"),
        (5, "fails", "unlikely", "fewer than 1 in 100"),
        (995, "meets", "likely", "more than 99 in 100"),
        (994, "meets", "likely", "about 99 in 100"),
    ],
)
def test_nine_in_ten_meet_and_one_in_ten_fails_the_border_included(case, met, status, words, told):
    """A product that holds exactly the limit meets it: the limit is that of the last that may."""
    iron = np.sort(case[1].non_magnetics.oxide("Fe2O3")[1:])
    found = limited(case, max_wt_pct={"Fe2O3": float(iron[met - 1])})
    assert found.chance_of_meeting_limit == pytest.approx(met / 1000.0)
    assert (found.status, found.rows[0].words) == (status, words)
    assert told in found.sentence


def test_at_least_is_met_by_exactly_that_much(case):
    silica = np.sort(case[1].non_magnetics.oxide("SiO2")[1:])
    found = limited(case, min_wt_pct={"SiO2": float(silica[200])})
    assert found.chance_of_meeting_limit == pytest.approx(0.8)
    assert f"Open whether it meets at least {silica[200]:g} % SiO2" in found.sentence
    yields = np.sort(case[1].yield_pct()[1:])
    found = limited(case, yield_min_pct=float(yields[50]))
    assert found.chance_of_meeting_limit == pytest.approx(0.95)
    assert "Likely to meet a yield of at least" in found.sentence
    assert "% of the dry bag: about 95 in 100" in found.sentence


def test_a_chance_is_told_in_hundreds_that_never_say_none_or_all():
    for number in range(1001):
        chance = number / 1000.0
        told = in_100(chance)
        if chance <= 0.005:
            assert told == "fewer than 1 in 100"
        elif chance >= 0.995:
            assert told == "more than 99 in 100"
        else:
            figure = float(told.removeprefix("about ").removesuffix(" in 100"))
            assert 1.0 <= figure <= 99.0
            assert figure == pytest.approx(100.0 * chance, abs=0.5001)
            assert (figure >= 90.0) == (chance >= 0.9)
            assert (figure <= 10.0) == (chance <= 0.1)
    assert in_100(0.8996) == "about 89.96 in 100"


def test_rows_carry_what_was_asked_with_iron_first(case):
    asked = {"CaO": 9.0, "Al2O3": 8.0, "Fe2O3": 7.0}
    found = limited(
        case, max_wt_pct=asked, min_wt_pct={"SiO2": 50.0}, yield_min_pct=10.0,
        specks_per_100_g_max=5.0,
    )  # fmt: skip
    assert [(r.quantity, r.unit, r.bound, r.asked) for r in found.rows] == [
        ("Fe2O3", "wt_pct", "max", 7.0),
        ("Al2O3", "wt_pct", "max", 8.0),
        ("CaO", "wt_pct", "max", 9.0),
        ("SiO2", "wt_pct", "min", 50.0),
        ("yield", "pct_of_dry_bag", "min", 10.0),
    ]  # specks were asked, but nobody counted any
    assert all(row.typical_meets for row in found.rows)


def test_each_row_gives_the_quantity_over_the_trials(case):
    row = limited(case, max_wt_pct={"K2O + Na2O": 0.01}).rows[0]
    both = case[1].non_magnetics.oxide("K2O") + case[1].non_magnetics.oxide("Na2O")
    assert row.value.typical == pytest.approx(both[0])
    assert row.value.mean == pytest.approx(both[1:].mean())
    assert not row.typical_meets
    assert row.chance == 0.0


def test_what_decides_is_told_where_several_things_are_asked_and_not_all_are_met(case):
    sand, made = case
    iron = np.sort(made.non_magnetics.oxide("Fe2O3")[1:])
    titania = np.sort(made.non_magnetics.oxide("TiO2")[1:])
    two = {"Fe2O3": float(iron[799]), "TiO2": float(titania[499])}
    sentence = limited(case, max_wt_pct=two).sentence
    assert f"What decides is at most {two['TiO2']:g} % TiO2 (about 50 in 100 by itself)" in sentence
    assert "What decides" not in limited(case, max_wt_pct={"Fe2O3": two["Fe2O3"]}).sentence
    loose = {"Fe2O3": 50.0, "TiO2": 50.0}
    assert "What decides" not in limited(case, max_wt_pct=loose).sentence
    dark = np.arange(1001.0)
    few = answer(made, Limit(max_wt_pct=loose, specks_per_100_g_max=300.0), sand.mineralogy, dark)
    assert "at most 300 dark grains above 250 um in 100 g (about 30 in 100" in few.sentence
    assert few.chance_of_meeting_limit == pytest.approx(0.3)


def test_the_unknown_is_left_out_of_what_decides(case):
    iron = np.sort(case[1].non_magnetics.oxide("Fe2O3")[1:])
    found = limited(case, max_wt_pct={"Fe2O3": float(iron[499]), "Cr2O3": 1.0, "CaO": 9.0})
    assert "Left out: CaO, Cr2O3, which nothing listed carries" in found.sentence
    assert "What decides" not in found.sentence
    assert found.status == "uncertain"


def test_without_trials_the_typical_case_alone_is_told(sand_of):
    sand = sand_of(trials=0)
    classes = build_classes(Sample("x"), sand.mineralogy, sand.sizes)[0]
    made = outlets(classes, sand.shares(classes), sand.mineralogy)
    both = {"Fe2O3": 1e-4, "TiO2": 50.0}
    found = answer(made, Limit(max_wt_pct=both), sand.mineralogy)
    assert "does not meet at most 0.0001 % Fe2O3, at most 50 % TiO2" in found.sentence
    assert [row.typical_meets for row in found.rows] == [False, True]
    assert chance_of(np.array([True])) is None


def test_data_that_disagree_are_told_before_an_assay_that_lacks(case):
    sand, made = case
    both = replace(sand.mineralogy, data_disagree=True, assay_needed=True)
    found = answer(made, Limit(max_wt_pct={"Fe2O3": 1.0}), both)
    assert found.status == "data disagree"
    assert found.sentence.endswith("so no chance is given.")
    needed = replace(sand.mineralogy, assay_needed=True)
    assert answer(made, None, needed).status == "assay needed"
    assert "have Fe2O3 of the dry bag determined" in answer(made, None, needed).sentence


def test_a_row_of_an_unknown_feed_still_shows_its_figures(case):
    sand, made = case
    doubtful = replace(sand.mineralogy, data_disagree=True)
    row = answer(made, Limit(max_wt_pct={"Fe2O3": 50.0}), doubtful).rows[0]
    assert row.value.typical == pytest.approx(oxide_values(made, "Fe2O3")[0])


def test_the_dirtiest_feed_of_every_trial_gives_the_limit_again(case):
    """Dark phases of the dirtiest feed are s times those of this one; product and feed are added
    up again with that s, found by bisection."""
    sand, made = case
    pale = made.is_pale
    bag = sum(getattr(made, name).phase_mass for name in OUTLETS)
    product = made.non_magnetics.phase_mass
    for oxide, limit in (("Fe2O3", 0.05), ("TiO2", 0.03)):
        content = sand.mineralogy.oxides_wt_pct[:, :, OXIDES.index(oxide)]
        found = dirtiest_feed(made, sand.mineralogy, limit, oxide)

        def grade(mass, factor, trial, content=content):
            scaled = np.where(pale, mass[trial], factor * mass[trial])
            return scaled @ content[trial] / scaled.sum()

        for trial in (0, 17, 400):
            low, high = 0.0, 1e4
            for _ in range(80):
                middle = 0.5 * (low + high)
                if grade(product, middle, trial) > limit:
                    high = middle
                else:
                    low = middle
            assert found[trial] == pytest.approx(grade(bag, low, trial), rel=1e-6)


def test_a_limit_above_all_that_is_dark_is_never_broken(case):
    sand, made = case
    assert np.isposinf(dirtiest_feed(made, sand.mineralogy, 99.0, "K2O")).all()
    assert feed_that_passes(dirtiest_feed(made, sand.mineralogy, 99.0, "K2O")) is None


def test_pale_minerals_at_the_limit_leave_room_for_nothing_else(case):
    """Spare of exactly nothing is no infringement: the feed may be the pale minerals alone."""
    sand, made = case
    clean = sand.mineralogy.oxides_wt_pct.copy()
    clean[:, made.is_pale, 3] = 0.05
    even = replace(sand.mineralogy, oxides_wt_pct=np.round(clean, 2))
    found = dirtiest_feed(made, even, 0.0, "Cr2O3")
    assert np.isposinf(found).all()


@pytest.mark.parametrize("chance", [0.95, 0.62, 0.5, 0.25])
def test_the_feed_that_passes_passes_that_often(chance):
    draws = np.random.default_rng(8).uniform(0.1, 1.0, 401)
    value = feed_that_passes(draws, chance)
    assert value in draws[1:]
    assert np.mean(draws[1:] >= value) >= chance
    above = np.sort(draws[1:][draws[1:] > value])
    assert np.mean(draws[1:] >= above[1]) < chance


def test_trials_without_any_feed_that_passes_count_as_the_lowest():
    draws = np.array([5.0, np.nan, np.nan, 0.0, 2.0, np.inf])
    assert feed_that_passes(draws, 0.41) == 0.0  # 0, 2 and infinity: three of five
    assert feed_that_passes(draws, 0.61) is None
    assert feed_that_passes(draws, 0.3) == 2.0
    assert feed_that_passes(draws, 0.0) is None  # no end of it
    assert feed_that_passes(draws[:1]) is None
    assert feed_that_passes(np.array([5.0, 3.0, 4.0]), 0.0) == 4.0
