"""Four kinds of repeat show four errors; the head assay takes all of them."""

from __future__ import annotations

import math

import numpy as np
import pytest

from feedchar.sample.assay_error import default_assay_sd
from feedchar.sample.records import Determination
from feedchar.sample.repeats import KINDS, combine, duplicate_sd, head_assay, nested_sd


def result(bag, value, kind=None, of=None, oxide="Fe2O3", below=False, laboratory=None):
    return Determination(bag, None, None, oxide, value, below, laboratory, None, of, kind, None)


def test_duplicates_give_the_sd_that_an_analysis_of_variance_gives():
    # Within-pair mean square of a one-way analysis of variance, numpy's ddof=1 variance.
    rng = np.random.default_rng(5)
    pairs = rng.normal(0.2, 0.01, (40, 2))
    within = np.mean([np.var(pair, ddof=1) for pair in pairs])
    assert duplicate_sd(list(pairs[:, 1] - pairs[:, 0])) == pytest.approx(math.sqrt(within))


def test_the_sd_of_a_nested_mean_is_that_of_a_simulation():
    sigma = {"reread": 0.1, "new bead": 0.2, "new split": 0.4, "new bag": 0.3}
    units = {"reread": 16, "new bead": 8, "new split": 4, "new bag": 2}
    cumulative, total = {}, 0.0
    for kind in KINDS:
        total += sigma[kind] ** 2
        cumulative[kind] = math.sqrt(total)
    rng = np.random.default_rng(1)
    n = 40_000
    bag = rng.normal(0, sigma["new bag"], (n, 2, 1, 1, 1))
    split = rng.normal(0, sigma["new split"], (n, 2, 2, 1, 1))
    bead = rng.normal(0, sigma["new bead"], (n, 2, 2, 2, 1))
    read = rng.normal(0, sigma["reread"], (n, 2, 2, 2, 2))
    simulated = (bag + split + bead + read).mean(axis=(1, 2, 3, 4)).std()
    assert nested_sd(cumulative, units) == pytest.approx(simulated, rel=0.02)


def test_each_kind_of_repeat_shows_its_own_spread():
    mean = combine(
        [
            result("feed", 0.200),
            result("feed", 0.201, "reread"),
            result("feed", 0.204, "new bead"),
            result("b", 0.212, "new split", "feed"),
            result("c", 0.180, "new bag", "feed"),
        ]
    )
    assert list(mean.spread) == list(KINDS)
    assert list(mean.spread.values()) == pytest.approx(
        [d / math.sqrt(2) for d in (0.001, 0.004, 0.012, 0.020)]
    )


def test_the_mean_is_taken_level_by_level():
    # Rereads are averaged before beads, beads before splits: the split counts half.
    mean = combine(
        [
            result("feed", 0.20),
            result("feed", 0.22, "reread"),
            result("b", 0.31, "new split", "feed"),
        ]
    )
    assert mean.value == pytest.approx((0.21 + 0.31) / 2)


def test_a_repeat_of_a_repeat_belongs_to_it():
    mean = combine(
        [
            result("feed", 0.20),
            result("b", 0.30, "new split", "feed"),
            result("b", 0.34, "reread", "b"),
        ]
    )
    assert mean.value == pytest.approx((0.20 + 0.32) / 2)
    assert mean.spread["reread"] == pytest.approx(0.04 / math.sqrt(2))


def test_rereads_alone_say_nothing_of_the_split():
    many = [result("feed", 0.2), *(result("feed", 0.2, "reread") for _ in range(20))]
    assert combine(many).sd >= default_assay_sd("Fe2O3", 0.2)


def test_new_splits_that_agree_make_the_head_surer_and_never_certain():
    few = combine([result("feed", 0.2), result("b", 0.2, "new split", "feed")]).sd
    more = combine(
        [result("feed", 0.2), *(result(f"b{i}", 0.2, "new split", "feed") for i in range(8))]
    ).sd
    assert 0 < more < few < default_assay_sd("Fe2O3", 0.2)


def test_splits_far_apart_make_it_less_sure():
    sd = combine([result("feed", 0.1), result("b", 0.3, "new split", "feed")]).sd
    assert sd > 5 * default_assay_sd("Fe2O3", 0.2)


def test_two_laboratories_are_two_results():
    sd = combine([result("feed", 0.20, laboratory="a"), result("feed", 0.28, laboratory="b")])
    assert sd.value == pytest.approx(0.24)
    assert sd.sd > 0.02


def test_the_order_of_results_changes_no_digit():
    rows = [
        result("feed", 0.2003),
        result("feed", 0.2017, "reread"),
        result("b", 0.2119, "new split", "feed"),
        result("c", 0.1801, "new split", "feed"),
    ]
    first = combine(rows)
    assert combine([rows[3], rows[1], rows[0], rows[2]]) == first


def test_results_below_detection_stay_intervals():
    assay = head_assay(
        [result("feed", 0.01, below=True), result("b", 0.005, "new split", "feed", below=True)]
    )
    assert (assay["Fe2O3"].value, assay["Fe2O3"].below_detection) == (0.005, True)
    mixed = head_assay([result("feed", 0.02), result("b", 0.01, "new split", "feed", below=True)])
    assert not mixed["Fe2O3"].below_detection
    assert mixed["Fe2O3"].sd >= 0.01


def test_one_result_alone_leaves_its_error_to_the_default():
    assert head_assay([result("feed", 0.2)])["Fe2O3"].sd is None


def test_repeats_in_a_file_become_the_head_assay(read):
    rows = (
        "bag,oxide,value,unit,repeat_of,repeat_kind\n"
        "feed,Fe2O3,0.20,%,,\nfeed,Fe2O3,0.21,%,,new bead\nB,Fe2O3,0.24,%,feed,new split\n"
        "B,Fe2O3,0.24,%,B,reread\n1M,Fe2O3,5,%,,\n"
    )
    sample = read({"assays.csv": rows})
    assert sample.assay["Fe2O3"].value == pytest.approx((0.205 + 0.24) / 2)
    assert sample.assay["Fe2O3"].sd > 0
    assert len(sample.determinations) == 5


@pytest.mark.parametrize(
    ("row", "column"),
    [
        ("B,Fe2O3,0.2,%,feed,", "repeat_kind"),
        ("B,Fe2O3,0.2,%,C,reread", "repeat_of"),
        ("B,Fe2O3,0.2,%,,reread", "repeat_of"),
        ("B,Fe2O3,0.2,%,feed,again", "repeat_kind"),
        ("B,TiO2,0.2,%,feed,reread", "repeat_of"),
    ],
)
def test_a_repeat_needs_its_kind_and_something_to_repeat(refused, row, column):
    text = f"bag,oxide,value,unit,repeat_of,repeat_kind\nfeed,Fe2O3,0.20,%,,\n{row}\n"
    error = refused({"assays.csv": text})
    assert (error.row, error.column) == (3, column)
