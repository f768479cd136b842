"""The head assay that the fit sees: class sums, the mill's own iron, what burned off."""

from __future__ import annotations

import pytest

from feedchar.chemistry.diagnosis import Diagnosis, Reading
from feedchar.chemistry.head import class_sums, head_assay
from feedchar.sample.records import Determination, OxideValue, Sample, SieveClass

NOTHING = Diagnosis()


def codes(notes):
    return [note.code for note in notes]


def test_an_oxide_assayed_by_class_alone_is_the_weighted_sum_of_its_classes():
    # 0.4 x 0.10 + 0.6 x 0.30 = 0.22; sd of a mean of independent figures, by hand.
    sieves = (
        SieveClass(500, 250, 40.0, {"Fe2O3": 0.10}),
        SieveClass(250, 63, 60.0, {"Fe2O3": 0.30}),
    )
    sample = Sample("x", sieves=sieves)
    value, sd = class_sums(sample)["Fe2O3"]
    assert value == pytest.approx(0.22)
    assert 0.0 < sd < 0.22
    assay, notes = head_assay(sample, NOTHING)
    assert (assay["Fe2O3"].value, assay["Fe2O3"].sd) == (value, sd)
    assert codes(notes) == ["head-from-classes"]


def test_classes_that_leave_mass_out_do_not_speak_for_the_bag():
    row = Determination("feed", 250.0, 63.0, "Fe2O3", 0.30, False)
    sieves = (SieveClass(500, 250, 5.0), SieveClass(250, 63, 95.0))
    assert "Fe2O3" not in class_sums(Sample("x", sieves=sieves, determinations=(row,)))


def test_a_head_assay_is_not_replaced_by_the_sum_of_classes():
    sieves = (SieveClass(500, 63, 100.0, {"Fe2O3": 0.30}),)
    sample = Sample("x", sieves=sieves, assay={"Fe2O3": OxideValue(0.20, 0.01)})
    assert head_assay(sample, NOTHING)[0]["Fe2O3"].value == 0.20


def test_iron_that_only_a_treatment_assayed_is_the_iron_of_the_bag():
    assay, notes = head_assay(Sample("x"), Diagnosis(feed_iron=Reading(0.11, 0.004)))
    assert assay["Fe2O3"].value == 0.11
    assert codes(notes) == ["head-from-treatment"]


def test_iron_of_the_mill_is_taken_off_and_both_errors_stay():
    # Root of the sum of squares: (0.03^2 + 0.04^2)^0.5 = 0.05.
    sample = Sample("x", assay={"Fe2O3": OxideValue(0.50, 0.03)})
    assay, notes = head_assay(sample, Diagnosis(tool_iron=Reading(0.10, 0.04)))
    assert assay["Fe2O3"].value == pytest.approx(0.40)
    assert assay["Fe2O3"].sd == pytest.approx(0.05)
    assert "0.1 % Fe2O3 from the mill" in notes[0].text


def test_a_mill_cannot_have_given_more_iron_than_there_is():
    sample = Sample("x", assay={"Fe2O3": OxideValue(0.05, 0.01)})
    assert head_assay(sample, Diagnosis(tool_iron=Reading(0.2, 0.05)))[0]["Fe2O3"].value == 0.0


def test_less_than_is_not_lowered_by_the_mill():
    sample = Sample("x", assay={"Fe2O3": OxideValue(0.05, None, below_detection=True)})
    kept = head_assay(sample, Diagnosis(tool_iron=Reading(0.2, 0.05)))[0]["Fe2O3"]
    assert (kept.value, kept.below_detection) == (0.05, True)


def test_what_burns_off_is_partly_water_of_clay_so_loi_is_lowered_by_half_and_less_certain():
    sample = Sample("x", assay={"LOI": OxideValue(1.00, 0.02)})
    assay, notes = head_assay(sample, Diagnosis(organics_wt_pct=0.60))
    assert assay["LOI"].value == pytest.approx(0.70)
    # organic matter between none and all: a uniform law over 0.6 has sd 0.6 / 12^0.5 = 0.173
    assert assay["LOI"].sd == pytest.approx(0.6 / 12**0.5, rel=0.06)
    assert codes(notes) == ["organics"]
