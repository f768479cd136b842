"""Each sanity rule warns at 2 sd, stops at 4 where it may, and shows its figure."""

from __future__ import annotations

import pytest

from feedchar.chemistry import sanity, sanity_of_assay, sanity_of_magnets, sanity_of_tests
from feedchar.chemistry import severity as severity_rule


def severity(note):
    return None if note is None else note.severity


@pytest.mark.parametrize(
    ("excess", "expected"), [(-1.0, None), (1.9, None), (2.1, "warning"), (4.1, "stop")]
)
def test_two_sd_warn_and_four_stop(excess, expected):
    assert severity_rule.severity_of(excess, 1.0) == expected


def test_minerals_found_can_contradict_an_assay_however_wide_their_sd():
    # 12 grains counted, sd 3.5: by a normal law never 4 sd from none; by Poisson 1 in 160 000.
    twelve = 0.40, 0.40 / 12**0.5
    assert severity_rule.severity_of_amount(*twelve, 0.01, 0.001) == "stop"
    assert severity_rule.severity_of_amount(*twelve, 0.15, 0.01) == "warning"
    assert severity_rule.severity_of_amount(*twelve, 0.35, 0.01) is None
    # one grain is no proof of anything
    assert severity_rule.severity_of_amount(0.03, 0.03, 0.001, 0.0001) is None
    # well known amounts: as by the normal law
    assert severity_rule.severity_of_amount(1.0, 0.01, 0.97, 0.001) == "warning"
    assert severity_rule.severity_of_amount(1.0, 0.01, 0.985, 0.001) is None


def test_less_than_is_an_upper_end_that_minerals_may_not_pass():
    note = sanity.iron_of_minerals(0.01, 0.001, 0.161, 0.3, 0.03, below=True)
    assert note is not None
    assert (note.severity, "<0.01 % assayed" in note.text) == ("stop", True)
    assert sanity.iron_of_minerals(0.5, 0.05, 0.05, 0.10, 0.02, below=True) is None
    assert sanity.ilmenite_titania(0.0, 0.0, 0.20, 0.02, below=True) is None


def test_an_excess_without_uncertainty_stops():
    assert severity_rule.severity_of(0.1, 0.0) == "stop"


@pytest.mark.parametrize(("richest", "expected"), [(72.0, None), (40.0, "warning"), (35.0, "stop")])
def test_rule_1_a_reject_cannot_be_richer_than_its_minerals(richest, expected):
    # 45.05 % by the balance, sd 1.75 by its errors.
    note = sanity.reject_grade(0.5, 0.05, 0.99, richest, 0.01, 0.005, 0.0003)
    assert severity(note) == expected


def test_rule_1_shows_the_grade():
    note = sanity.reject_grade(0.60, 0.05, 0.995, 90.0, 0.01, 0.002, 0.0)
    assert "110 %" in note.text  # (0.60 - 0.995 * 0.05) / 0.005 = 110.05
    assert note.code == "sanity-1"


def test_rule_2_minerals_with_too_much_iron_and_iron_in_nothing_listed():
    assert severity(sanity.iron_of_minerals(0.10, 0.005, 0.40, 0.60, 0.05)) == "stop"
    assert severity(sanity.iron_of_minerals(0.10, 0.005, 0.25, 0.60, 0.05)) == "warning"
    note = sanity.iron_of_minerals(0.50, 0.005, 0.05, 0.10, 0.02)
    assert severity(note) == "note"
    assert "0.4 %" in note.text
    assert sanity.iron_of_minerals(0.10, 0.005, 0.05, 0.15, 0.02) is None


def test_rule_3_ilmenite_against_titania():
    assert severity(sanity.ilmenite_titania(0.50, 0.05, 0.10, 0.005)) == "stop"
    assert sanity.ilmenite_titania(0.20, 0.05, 0.105, 0.005) is None
    assert severity(sanity.ilmenite_titania(0.0, 0.0, 0.20, 0.01)) == "note"


def test_rule_4_mica_against_potash():
    note = sanity.mica_potash(2.0, 5.0, 0.05, 0.30, 0.02)
    assert severity(note) == "stop"
    assert "0.787" in note.text
    assert sanity.mica_potash(2.0, 5.0, 0.05, 1.0, 0.02) is None


def test_rule_5_volatile_minerals_against_the_loss():
    assert severity(sanity.loss_on_ignition(2.0, 5.0, 0.0, 1.0, 0.0, 0.1, 0.2, 0.05)) == "stop"
    assert sanity.loss_on_ignition(2.0, 0.5, 0.0, 0.0, 1.0, 0.1, 0.2, 0.05) is None


def test_rule_6_alumina_of_the_feldspars_points_and_never_stops():
    assert severity(sanity_of_assay.alumina_balance(10.0, 5.0, 5.0, 2.0, 0.2)) == "note"
    assert severity(sanity_of_assay.alumina_balance(25.0, 5.0, 5.0, 1.0, 0.2)) == "note"
    # A potash feldspar alone: 16.92 % K2O, 18.32 % Al2O3 (webmineral).
    assert sanity_of_assay.alumina_balance(18.32, 16.92, 0.0, 0.0, 0.2) is None


def test_rule_7_an_ignited_basis_and_a_total_that_is_off():
    assert "ignited" in sanity_of_assay.oxide_total(100.1, 1.2).text
    assert sanity_of_assay.oxide_total(98.9, 1.0) is None
    assert severity(sanity_of_assay.oxide_total(96.0, 0.5)) == "warning"
    assert severity(sanity_of_assay.oxide_total(96.0, None)) == "note"


def test_rule_8_iron_and_iron_oxide_of_two_laboratories():
    assert sanity_of_assay.laboratory_ratio(0.143, 0.100) is not None
    assert sanity_of_assay.laboratory_ratio(0.120, 0.100) is None
    assert sanity_of_assay.laboratory_ratio(0.120, 0.0) is None


def test_rule_9_unlisted_magnetite_in_ppm():
    note = sanity_of_magnets.unlisted_magnetite(6.8e-8, 1e-9, 1e-8, 2e-9)
    assert "100 ppm" in note.text  # 5.8e-8 / 5.8e-4 = 1e-4
    assert severity(note) == "warning"
    assert severity(sanity_of_magnets.unlisted_magnetite(1e-8, 1e-9, 3e-8, 1e-9)) == "stop"
    assert sanity_of_magnets.unlisted_magnetite(1.0e-8, 1e-9, 1.1e-8, 2e-9) is None


def test_rule_10_a_hand_magnet_that_took_something():
    assert sanity_of_magnets.hand_magnet(0.05, False) is not None
    assert sanity_of_magnets.hand_magnet(0.05, True) is None
    assert sanity_of_magnets.hand_magnet(0.009, False) is None


def test_rule_11_less_or_more_pulled_than_counted():
    assert "less" in sanity_of_tests.magnetics_pulled(1.0, 2.0, 0.5).text
    assert "sand" in sanity_of_tests.magnetics_pulled(5.0, 2.0, 0.5).text
    assert sanity_of_tests.magnetics_pulled(2.2, 2.0, 0.5) is None


@pytest.mark.parametrize(
    ("out", "expected"),
    [(99.5, None), (98.6, "note"), (97.0, "warning"), (100.2, None), (100.6, "warning")],
)
def test_rule_12_mass_lost_or_gained(out, expected):
    assert severity(sanity_of_tests.mass_lost(100.0, out, "sieving")) == expected


def test_rule_13_parts_that_do_not_add_back():
    assert severity(sanity_of_tests.adds_back(0.60, 0.01, 0.50, 0.01, "classes")) == "stop"
    assert sanity_of_tests.adds_back(0.51, 0.01, 0.50, 0.01, "classes") is None


def test_rule_14_faster_belts_pull_less():
    assert severity(sanity_of_tests.faster_pulls_more(2.0, 0.1, 2.5, 0.1)) == "warning"
    assert sanity_of_tests.faster_pulls_more(2.5, 0.1, 2.0, 0.1) is None


def test_rule_15_below_the_floor_and_a_laboratory_that_cannot_tell():
    assert severity(sanity_of_tests.below_the_floor(0.010, 0.002, 0.030, 0.002)) == "stop"
    assert sanity_of_tests.below_the_floor(0.040, 0.002, 0.030, 0.002) is None
    assert sanity_of_tests.laboratory_decides(0.030, 0.028, 0.002, None) is not None
    assert sanity_of_tests.laboratory_decides(0.030, 0.020, 0.002, None) is None
    assert sanity_of_tests.laboratory_decides(0.010, 0.005, 0.002, 0.010) is not None
