"""From the rows of tests.csv and assays.csv to one forest of bags, and from it to figures."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from feedchar.errors import InputError
from feedchar.sample.records import Determination, OxideValue, Place, Sample, TestBag
from feedchar.testwork.campaign import campaign_of, fed_from
from feedchar.testwork.explained import misfit, score_of, slope_over_trials
from feedchar.testwork.figures import figures_of, measured
from feedchar.testwork.likelihood import SHARE, compared


def bag(name, product, mass, source="feed", test="one", **more):
    place = Place("tests.csv", 7, "bag")
    return TestBag(test, more.pop("step", None), more.pop("repeat", None), "permanent roll", source,
                   name, product, mass, place=place, **more)  # fmt: skip


def assay(name, value, oxide="Fe2O3", laboratory="north", below=False, **more):
    return Determination(name, None, None, oxide, value, below, laboratory,
                         place=Place("assays.csv", 3, "bag"), **more)  # fmt: skip


def sample(*bags, assays=(), head=None):
    given = {} if head is None else {"Fe2O3": OxideValue(head, 0.003)}
    return Sample("sand", tests=bags, determinations=tuple(assays), assay=given)


SPLIT = (bag("M", "magnetics", 40.0), bag("N", "non-magnetics", 955.0))


def test_a_feed_that_was_not_weighed_is_a_bag_all_the_same_with_the_head_assay():
    found = campaign_of(sample(*SPLIT, assays=[assay("M", 3.0), assay("N", 0.05)], head=0.17))
    assert found.bags.bag == ("feed of one", "M", "N")
    assert np.isnan(found.bags.mass[0])
    assert found.bags.assay[0, 0] == 0.17
    assert list(found.bags.parent) == [-1, 0, 0]


def test_bags_that_name_no_other_feed_come_from_the_feed_weighed_in():
    rows = (*SPLIT, bag("F", "feed", 1000.0))
    assert fed_from(sample(*rows)) == {"m": "f", "n": "f", "f": ""}
    assert campaign_of(sample(*rows)).bags.bag == ("F", "M", "N")


def test_two_tests_have_two_feeds():
    other = [replace(one, test="two", bag=f"2{one.bag}") for one in SPLIT]
    found = campaign_of(sample(*SPLIT, *other))
    assert found.bags.bag[:2] == ("2M", "2N") or "feed of two" in found.bags.bag
    assert sorted(found.bags.bag[i] for i in found.splits) == ["feed of one", "feed of two"]


def test_rows_in_another_order_make_the_same_forest():
    rows = (*SPLIT, bag("U", "dust", 1.0), bag("F", "feed", 1000.0))
    assays = [assay("M", 3.0), assay("N", 0.05)]
    first = campaign_of(sample(*rows, assays=assays))
    second = campaign_of(sample(*rows[::-1], assays=assays[::-1]))
    assert first.bags.bag == second.bags.bag
    assert np.array_equal(first.bags.assay, second.bags.assay, equal_nan=True)


def test_a_little_dust_that_nobody_assayed_comes_off_the_feed():
    rows = (*SPLIT, bag("U", "dust", 2.0), bag("F", "feed", 1000.0))
    found = campaign_of(sample(*rows))
    assert "U" not in found.bags.bag
    assert found.bags.mass[found.bags.bag.index("F")] == 998.0
    assert found.dust_g[found.bags.bag.index("F")] == 2.0


def test_much_dust_or_dust_that_was_assayed_stays_a_bag():
    feed = bag("F", "feed", 1000.0)
    assert "U" in campaign_of(sample(*SPLIT, feed, bag("U", "dust", 30.0))).bags.bag
    little = sample(*SPLIT, feed, bag("U", "dust", 2.0), assays=[assay("U", 0.6)])
    assert "U" in campaign_of(little).bags.bag


def test_below_detection_is_told_and_never_fitted():
    found = campaign_of(sample(*SPLIT, assays=[assay("M", 3.0), assay("N", 0.01, below=True)]))
    assert np.isnan(found.bags.assay[found.bags.bag.index("N"), 0])
    assert found.below == (("N", "Fe2O3", 0.01),)
    assert "below 0.01 %" in found.notes[0].text


def test_repeats_are_one_mean_and_of_two_laboratories_the_one_that_assayed_most_speaks():
    assays = [
        assay("M", 3.0), assay("N", 0.050), assay("N", 0.054, repeat_kind="new bead"),
        assay("N", 0.036, laboratory="south"),
    ]  # fmt: skip
    found = campaign_of(sample(*SPLIT, assays=assays))
    place = found.bags.bag.index("N")
    assert found.bags.assay[place, 0] == pytest.approx(0.052)
    assert found.bags.laboratory[place] == "north"
    ((first, second, ratio, count),) = found.pairs
    assert (first, second, count) == ("north", "south", 1)
    assert ratio == pytest.approx(0.052 / 0.036)


def test_a_blank_and_a_reference_material_are_no_bags():
    assays = [assay("M", 3.0), assay("N", 0.05), assay("mill blank", 0.01), assay("Reference 1", 1)]
    assert campaign_of(sample(*SPLIT, assays=assays)).bags.bag == ("feed of one", "M", "N")


@pytest.mark.parametrize(
    ("bad", "told"),
    [
        (sample(), "nothing to compare"),
        (sample(*SPLIT, bag("X", "magnetics", 1.0, "Q")), "no row has weighed"),
        (
            sample(bag("A", "magnetics", 1.0, "B"), bag("B", "magnetics", 1.0, "A")),
            "detour",
        ),
        (sample(*SPLIT, assays=[assay("NN", 0.05)]), "no row of tests.csv"),
        (sample(*SPLIT, bag("Z", "dust", 0.0)), "weighs 0 g"),
    ],
)
def test_rows_that_do_not_hang_together_are_refused_with_their_place(bad, told):
    with pytest.raises(InputError, match=told) as caught:
        campaign_of(bad)
    assert caught.value.file in ("tests.csv", "assays.csv")


def test_a_share_is_that_of_all_outlets_and_the_non_magnetics_are_what_is_left():
    found = campaign_of(sample(*SPLIT, assays=[assay("M", 3.0), assay("N", 0.05)]))
    figures = figures_of(found)
    kinds = [(found.bags.bag[one.bag], one.oxide) for one in figures]
    assert kinds == [("M", -1), ("M", 0), ("N", 0)]
    value, sd = measured(found.bags, figures)
    assert value[0] == pytest.approx(np.log(40.0 / 955.0))
    assert value[2] == pytest.approx(np.log(0.05))
    # A ratio of two masses: the relative errors add in squares (closed form).
    errors = found.bags.mass_sd[1:] / found.bags.mass[1:]
    assert sd[0] == pytest.approx(float(np.hypot(*errors)), rel=1e-3)


def test_a_step_without_its_non_magnetics_has_no_shares():
    found = campaign_of(sample(SPLIT[0], assays=[assay("M", 3.0)]))
    assert [one.oxide for one in figures_of(found)] == [0]


def test_the_odds_of_a_half_are_even():
    assert compared(0.5, SHARE) == 0.0
    assert np.isfinite(compared([0.0, 1.0], SHARE)).all()


def test_a_misfit_within_its_errors_is_chance_and_along_a_slope_it_finds_the_cause():
    """Against the closed form of generalised least squares on invented trials."""
    random = np.random.default_rng(4)
    cause = random.standard_normal(4001)
    slope = np.array([0.5, -0.2, 0.0])
    trials = cause[:, None] * slope + 0.1 * random.standard_normal((4001, 3))
    found = slope_over_trials(trials, cause)
    assert found == pytest.approx(slope, abs=0.01)
    sd = np.full(3, 0.05)
    quiet = misfit(np.array([0.1, -0.05, 0.02]), sd, trials)
    assert quiet.p_value > 0.1
    moved = misfit(8.0 * slope, sd, trials)
    gain, far = moved.gain_along(slope)
    assert far == pytest.approx(8.0, rel=0.02)
    assert gain == pytest.approx(0.5 * moved.chi_square, rel=0.01)
    assert moved.gain_at(8.0 * slope) == pytest.approx(gain, rel=0.01)
    assert moved.p_value < 1e-6


def test_an_input_that_moves_nothing_and_few_trials_give_no_slope():
    random = np.random.default_rng(5)
    trials = random.standard_normal((1001, 4))
    assert slope_over_trials(trials, random.standard_normal(1001)) is None
    assert slope_over_trials(trials[:50], trials[:50, 0]) is None


def test_freedom_and_rivals_cost_likelihood():
    assert score_of(5.0, 0, 1, 20) == 5.0
    assert score_of(5.0, 1, 1, 20) == pytest.approx(5.0 - 0.5 * np.log(20))
    assert score_of(5.0, 1, 10, 20) < score_of(5.0, 1, 2, 20)
