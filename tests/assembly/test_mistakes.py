"""Mistakes that bags show beside the balance, and putting one right on paper."""

from __future__ import annotations

import numpy as np
import pytest

from feedchar.assembly.mistakes import mistakes_of, undone
from feedchar.results.comparison import MistakeFound
from feedchar.sample.records import Determination, Place, Sample, TestBag
from feedchar.testwork.bags import bags_of
from feedchar.testwork.campaign import campaign_of


def bag(name, product, mass):
    place = Place("tests.csv", 2, "bag")
    return TestBag("one", None, None, "permanent roll", "feed", name, product, mass, place=place)


def assay(name, value, laboratory="north", oxide="Fe2O3"):
    place = Place("assays.csv", 2, "bag")
    return Determination(name, None, None, oxide, value, False, laboratory, place=place)


def campaign(*assays):
    rows = (bag("M", "magnetics", 40.0), bag("N", "non-magnetics", 955.0))
    return campaign_of(Sample("sand", tests=rows, determinations=assays))


def found(kind, bags, detail="", by="balance"):
    return MistakeFound(kind, bags, detail, 9.0, 4.0, by, True)


def test_magnetics_poorer_than_non_magnetics_are_labels_swapped():
    mistakes = mistakes_of(campaign(assay("M", 0.05), assay("N", 3.0)), None)
    assert [(one.kind, set(one.bags)) for one in mistakes] == [("labels swapped", {"M", "N"})]
    assert "hold less iron" in mistakes[0].detail


def test_magnetics_richer_than_non_magnetics_are_no_mistake():
    assert mistakes_of(campaign(assay("M", 3.0), assay("N", 0.05)), None) == ()


def test_a_laboratory_that_tells_fe_where_another_tells_fe2o3_is_named():
    # Fe2O3 / Fe = 1.4297 by standard atomic weights (IUPAC 2021, 55.845 and 15.999).
    both = [assay("M", 3.0), assay("N", 0.10), assay("M", 3.0 / 1.4297, "south"),
            assay("N", 0.10 / 1.4297, "south")]  # fmt: skip
    assert [one.kind for one in mistakes_of(campaign(*both), None)] == ["iron basis"]


@pytest.fixture
def tree():
    return bags_of(
        ("F", "M", "N"), (None, "F", "F"), [1000.0, 40.0, 955.0], [1.0, 0.1, 1.0],
        ("Fe2O3", "TiO2"), [[0.17, 0.1], [3.0, 0.5], [0.05, 0.08]],
        [[0.01, 0.01], [0.1, 0.02], [0.005, 0.01]],
    )  # fmt: skip


def test_swapped_labels_give_each_bag_the_assay_of_the_other_and_leave_the_weights(tree):
    right = undone(tree, found("labels swapped", ("M", "N"), "assays exchanged"))
    assert right.assay.tolist() == tree.assay[[0, 2, 1]].tolist()
    assert right.assay_sd.tolist() == tree.assay_sd[[0, 2, 1]].tolist()
    assert right.mass.tolist() == tree.mass.tolist()


def test_where_the_bags_themselves_were_swapped_the_weights_follow(tree):
    right = undone(tree, found("labels swapped", ("M", "N"), "weights and assays exchanged"))
    assert right.mass.tolist() == [1000.0, 955.0, 40.0]


@pytest.mark.parametrize(
    ("detail", "factor"),
    [("iron of a low house is high by 1.43", 1 / 1.4297), ("iron of south is low by 1.43", 1.4297)],
)
def test_iron_told_as_fe_is_put_right_in_the_bags_named_and_nowhere_else(tree, detail, factor):
    right = undone(tree, found("iron basis", ("M",), detail))
    ratio = right.assay / tree.assay
    assert ratio[1, 0] == pytest.approx(factor, rel=1e-4)
    assert np.delete(ratio.ravel(), 2) == pytest.approx(1.0)
    assert right.assay_sd[1, 0] / tree.assay_sd[1, 0] == pytest.approx(factor, rel=1e-4)


@pytest.mark.parametrize("kind", ["mass missing", "weight wrong", "assay wrong"])
def test_what_only_a_new_weighing_or_assay_can_tell_is_not_put_right(tree, kind):
    assert undone(tree, found(kind, ("M",))) is None


def test_what_the_balance_did_not_find_is_not_put_right(tree):
    assert undone(tree, found("labels swapped", ("M", "N"), by="order of the bags")) is None
