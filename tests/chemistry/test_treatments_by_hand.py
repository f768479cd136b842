"""What small treatments say of the iron, as mass balances by hand."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from feedchar.chemistry.assay_weight import assay_sd
from feedchar.chemistry.diagnosis import Diagnosis, Reading, diagnosis_of, forms_by_treatment
from feedchar.chemistry.head import class_sums, head_assay
from feedchar.sample.records import (
    Determination,
    Diagnostic,
    OxideValue,
    Sample,
    SieveClass,
)

HEAD = {"Fe2O3": OxideValue(0.20, 0.005)}


def read(*rows, assay=HEAD):
    return diagnosis_of(Sample("t", assay=dict(assay), diagnostics=tuple(rows)))


def iron_sd(value):
    """3 % and 0.002, from memory of trade practice."""
    return 0.03 * value + 0.002


def test_a_scrub_takes_off_the_difference_weighed_by_what_is_left():
    found = read(Diagnostic("scrub", 400.0, 380.0, 0.25, 0.20)).scrubbed
    assert found.value == pytest.approx(0.25 - 0.95 * 0.20)
    assert found.sd == pytest.approx(np.hypot(iron_sd(0.25), 0.95 * iron_sd(0.20)))
    assert read(Diagnostic("scrub", None, None, 0.25, 0.20)).scrubbed.value == pytest.approx(0.05)
    assert read(Diagnostic("scrub", None, None, 0.20, 0.25)).scrubbed.value == 0.0


def test_a_treatment_without_its_own_assay_before_takes_that_of_the_bag():
    one = Diagnostic("hot acid", None, None, None, 0.12)
    assert read(one).leached.value == pytest.approx(0.08)
    assert read(one).scrubbed is None
    assert read(one, assay={}).leached is None
    below = {"Fe2O3": OxideValue(0.20, None, below_detection=True)}
    assert read(one, assay=below).leached is None
    assert read(Diagnostic("hot acid", None, None, 0.2, None)).leached is None


def test_repeated_treatments_are_averaged_and_their_error_shrinks():
    rows = [Diagnostic("scrub", None, None, 0.20, out) for out in (0.10, 0.14)]
    found = read(*rows).scrubbed
    each = [np.hypot(iron_sd(0.20), iron_sd(out)) for out in (0.10, 0.14)]
    assert found.value == pytest.approx(0.08)
    assert found.sd == pytest.approx(np.hypot(*each) / 2.0)


def test_iron_before_a_treatment_is_that_of_the_feed_unless_it_is_a_less_than():
    rows = (
        Diagnostic("scrub", None, None, 0.22, 0.10),
        Diagnostic("hot acid", None, None, 0.26, 0.10),
        Diagnostic("hot acid", None, None, 0.90, 0.10, below_detection=("Fe2O3_in_wt_pct",)),
        Diagnostic("mill blank", None, None, 0.70, 0.71),
        Diagnostic("hot acid", None, None, None, 0.10),
    )
    found = read(*rows).feed_iron
    assert found.value == pytest.approx(0.24)
    assert found.sd == pytest.approx(np.hypot(iron_sd(0.22), iron_sd(0.26)) / 2.0)
    assert read().feed_iron is None


def test_clear_grains_and_mill_blanks():
    floor = read(
        Diagnostic("hand-picked clear grains", None, None, None, 0.010),
        Diagnostic("hand-picked clear grains", None, None, None, 0.014),
        Diagnostic("hand-picked clear grains", None, None, 0.2, None),
    ).floor
    assert floor.value == pytest.approx(0.012)
    tool = read(Diagnostic("mill blank", None, None, 0.010, 0.030)).tool_iron
    assert (tool.value, tool.sd) == (pytest.approx(0.020), pytest.approx(0.007))
    assert read(Diagnostic("mill blank", None, None, None, 0.030)).tool_iron.value == 0.030
    clean = read(Diagnostic("mill blank", None, None, 0.030, 0.010)).tool_iron
    assert (clean.value, clean.sd) == (0.0, 0.001)
    assert read(Diagnostic("mill blank", None, None, 0.03, None)).tool_iron is None


def test_what_burned_off_is_the_mean_loss_and_a_gain_is_none():
    assert read(Diagnostic("burn-off", 50.0, 49.0, None, None)).organics_wt_pct == pytest.approx(
        2.0
    )
    both = (Diagnostic("burn-off", 50.0, 49.0, None, None),
            Diagnostic("burn-off", 50.0, 51.0, None, None))  # fmt: skip
    assert read(*both).organics_wt_pct == pytest.approx(1.0)
    assert read(Diagnostic("burn-off", None, 49.0, None, None)).organics_wt_pct == 0.0
    assert read(Diagnostic("burn-off", 0.0, 49.0, None, None)).organics_wt_pct == 0.0
    assert read().organics_wt_pct == 0.0


def test_of_several_hand_magnets_the_one_that_took_most_counts():
    rows = [Diagnostic("hand magnet", 500.0, out, None, None) for out in (0.5, 1.5, None)]
    assert read(*rows).hand_magnet_wt_pct == pytest.approx(0.3)
    assert read(rows[-1]).hand_magnet_wt_pct is None
    assert read(Diagnostic("hand magnet", 2.0, 1.0, None, None)).hand_magnet_wt_pct == 50.0


# --- forms of the unseen iron ---------------------------------------------------------------

SHARES = np.repeat([[0.5, 0.3, 0.2]], 5, axis=0)
UNSEEN = np.full(5, 0.20)
NAMED = {
    "stain": np.full(5, 0.01), "soluble": np.full(5, 0.02), "lattice": np.full(5, 0.004),
    "pale": np.full(5, 0.95),
}  # fmt: skip


def forms(**found):
    readings = {name: Reading(value, 0.0) for name, value in found.items()}
    return forms_by_treatment(SHARES, UNSEEN, Diagnosis(**readings), NAMED, 1)


def test_scrubbed_iron_that_no_listed_stain_explains_is_unseen_stain():
    found = forms(scrubbed=0.05)
    assert found[:, 0] == pytest.approx((0.05 - 0.01) / 0.20)
    assert found[:, 1] / found[:, 2] == pytest.approx(1.5)  # the rest as assumed
    assert found.sum(axis=1) == pytest.approx(1.0)


def test_iron_of_clear_grains_beyond_their_crystals_is_inclusions():
    found = forms(floor=0.06)
    assert found[:, 1] == pytest.approx((0.06 * 0.95 - 0.004) / 0.20)
    assert found[:, 0] / found[:, 2] == pytest.approx(2.5)


def test_acid_takes_stain_and_free_oxide():
    found = forms(leached=0.16)  # of 0.20 unseen 0.14 is within reach of the acid
    assert found[:, 1] == pytest.approx(1.0 - 0.14 / 0.20)
    assert found[:, 0] / found[:, 2] == pytest.approx(2.5)
    both = forms(leached=0.16, scrubbed=0.05)
    assert both[:, 2] == pytest.approx(0.70 - 0.20)
    assert both[:, 0] == pytest.approx(0.20)
    assert both[:, 1] == pytest.approx(0.30)


def test_three_treatments_share_out_what_is_there():
    found = forms(leached=0.16, scrubbed=0.05, floor=0.06)
    parts = np.array([0.20, (0.06 * 0.95 - 0.004) / 0.20, 0.50])
    assert found == pytest.approx(np.repeat([parts / parts.sum()], 5, axis=0))
    # Clear grains say what is inside; acid without a scrub then adds nothing.
    assert forms(leached=0.16, floor=0.06) == pytest.approx(forms(floor=0.06))


def test_no_form_falls_below_a_hundredth_or_above_all():
    assert forms(scrubbed=0.0)[:, 0] == pytest.approx(0.01)
    most = forms(scrubbed=0.9)
    assert most[:, 0] == pytest.approx(1.0 / 1.01)
    assert most.sum(axis=1) == pytest.approx(1.0)
    assert np.array_equal(forms(), SHARES)


def test_the_error_of_a_treatment_is_carried_into_the_forms():
    shares, unseen = np.repeat([[0.5, 0.3, 0.2]], 4001, axis=0), np.full(4001, 0.20)
    named = {name: np.full(4001, v[0]) for name, v in NAMED.items()}
    found = forms_by_treatment(shares, unseen, Diagnosis(scrubbed=Reading(0.10, 0.01)), named, 1)
    assert found[0, 0] == pytest.approx(0.45)
    assert found[1:, 0].mean() == pytest.approx(0.45, abs=0.003)
    assert found[1:, 0].std() == pytest.approx(0.05, rel=0.04)


def test_the_stain_of_a_bag_without_unseen_iron_is_no_division_by_nothing():
    found = forms_by_treatment(
        SHARES, np.zeros(5), Diagnosis(scrubbed=Reading(0.10, 0.0)), NAMED, 1
    )
    assert np.isfinite(found).all()


# --- the head -------------------------------------------------------------------------------


def test_the_error_of_a_sum_of_classes_is_that_of_independent_figures():
    sieves = (
        SieveClass(500, 250, 40.0, {"Fe2O3": 0.10}),
        SieveClass(250, 63, 59.0, {"Fe2O3": 0.30}),
        SieveClass(63, 0, 1.0),
    )
    value, sd = class_sums(Sample("x", sieves=sieves))["Fe2O3"]
    assert value == pytest.approx((0.4 * 0.10 + 0.59 * 0.30) / 0.99)
    assert sd == pytest.approx(np.hypot(0.4 * iron_sd(0.10), 0.59 * iron_sd(0.30)) / 0.99)
    two = tuple(replace(row, mass_pct=m) for row, m in zip(sieves, (40.0, 57.5, 2.5), strict=True))
    assert "Fe2O3" not in class_sums(Sample("x", sieves=two))  # 97.5 % does not stand for the bag
    below = (replace(sieves[0], below_detection=("Fe2O3",)), *sieves[1:])
    assert "Fe2O3" not in class_sums(Sample("x", sieves=below))


def test_several_results_of_a_class_are_one_mean_and_surer():
    sieves = (SieveClass(500, 0, 100.0),)
    rows = tuple(Determination("feed", 500.0, None, "Fe2O3", v, False) for v in (0.2, 0.3, 0.4))
    value, sd = class_sums(Sample("x", sieves=sieves, determinations=rows))["Fe2O3"]
    assert value == pytest.approx(0.3)
    assert sd == pytest.approx(iron_sd(0.3) / 3**0.5)


def test_an_assay_is_never_surer_than_a_laboratory_can_be():
    """A thousandth of a figure and 2 ppm: a guess well below fused beads."""
    assert assay_sd("SiO2", OxideValue(98.0, 0.0001)) == pytest.approx(0.0982)
    assert assay_sd("SiO2", OxideValue(98.0, 0.5)) == 0.5
    assert assay_sd("Fe2O3", OxideValue(0.5, None)) == pytest.approx(0.017)
    assert assay_sd("Fe2O3", OxideValue(0.5, 0.0)) == pytest.approx(0.017)
    assert assay_sd("Fe2O3", OxideValue(0.5, 0.1, below_detection=True)) == pytest.approx(0.05)
    assert assay_sd("Fe2O3", OxideValue(0.0, None, below_detection=True)) == 1e-6


def test_iron_of_the_bag_is_taken_from_a_treatment_only_where_nothing_else_tells():
    told = Diagnosis(feed_iron=Reading(0.11, 0.004))
    assay, notes = head_assay(Sample("x", assay=HEAD), told)
    assert assay["Fe2O3"].value == 0.20
    assert notes == ()


def test_nothing_is_taken_off_where_the_mill_gave_nothing_and_nothing_burned():
    sample = Sample("x", assay={**HEAD, "LOI": OxideValue(1.0, 0.02)})
    assay, notes = head_assay(sample, Diagnosis(tool_iron=Reading(0.0, 0.001)))
    assert assay == sample.assay
    assert notes == ()
    assay, _ = head_assay(sample, Diagnosis(organics_wt_pct=4.0))
    assert assay["LOI"].value == 0.0
    # half of what burned, uncertain by three tenths of it
    assert assay["LOI"].sd == pytest.approx(np.hypot(0.02, 1.2))


def test_the_head_keeps_oxides_that_have_a_column():
    sample = Sample("x", assay={"BaO": OxideValue(1.0, 0.1), **HEAD})
    assert set(head_assay(sample, Diagnosis())[0]) == {"Fe2O3"}
