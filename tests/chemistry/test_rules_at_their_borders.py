"""Sanity rules at their borders and on a bag: figures by hand, factors by stoichiometry."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from feedchar.chemistry import sanity, sanity_of_assay, sanity_of_magnets, sanity_of_tests
from feedchar.chemistry import severity as severity_rule
from feedchar.chemistry.build import mineralogy_of
from feedchar.chemistry.formula import molar_mass, oxide_wt_pct
from feedchar.chemistry.phases import mineral_ingredient, susceptibility_at
from feedchar.sample.records import (
    BulkSusceptibility,
    Determination,
    Diagnostic,
    MineralAmount,
    OxideValue,
    Sample,
    SieveClass,
    Sieving,
)
from feedchar.tables.minerals import minerals


def severity(note):
    return None if note is None else note.severity


def test_the_border_itself_is_not_passed():
    assert severity_rule.severity_of(2.0, 1.0) is None
    assert severity_rule.severity_of(4.0, 1.0) == "warning"
    assert severity_rule.severity_of(2.1, 1.0) == "warning"
    assert severity_rule.severity_of(1.95, 1.0) is None
    assert severity_rule.severity_of(4.05, 1.0) == "stop"
    assert severity_rule.severity_of(0.0, 0.0) is None
    assert severity_rule.severity_of(0.5, 0.0) == "stop"
    assert severity_rule.severity_of(0.2, 0.05) == "warning"


@pytest.mark.parametrize("shape", [4.0, 12.0, 60.0])
def test_amounts_contradict_as_a_gamma_tail_says(shape):
    """The tail of the gamma law at the most allowed, by scipy.stats, against 2 and 4 sd."""
    listed, sd = 0.4, 0.4 / shape**0.5
    border = {2.0: "warning", 4.0: "stop"}
    for score, word in border.items():
        tail = stats.norm.sf(score)
        most = stats.gamma.ppf(tail, shape, scale=listed / shape)
        normal = listed - score * sd
        assert most > normal  # the gamma law is the stricter one
        assert severity_rule.severity_of_amount(listed, sd, 0.999 * most, 0.0) == word
        assert severity_rule.severity_of_amount(listed, sd, 1.001 * most, 0.0) != word


def test_an_assay_below_nothing_allows_no_less_than_nothing():
    twelve = 0.40, 0.40 / 12**0.5
    assert severity_rule.severity_of_amount(*twelve, -0.05, 0.0) == "stop"
    assert severity_rule.severity_of_amount(1.0, 0.0, 0.9, 0.0) == "stop"
    assert severity_rule.severity_of_amount(1.0, 0.1, 1.0, 0.0) is None
    # The error of the assay counts once towards what it allows.
    assert severity_rule.severity_of_amount(1.0, 0.01, 0.5, 0.3) is None


def test_rule_1_by_hand():
    """Reject of 0.5 % feed, 0.1 % product at 90 %: (0.5 - 0.09) / 0.1 = 4.1 %; sd of feed
    0.02/0.1, of product 0.9 x 0.01/0.1, of yield 0.4/0.01 x 0.001: 0.2, 0.09, 0.04."""
    sd = (0.2**2 + 0.09**2 + 0.04**2) ** 0.5
    args = (0.02, 0.01, 0.001)
    for sds, word in ((1.95, None), (2.05, "warning"), (3.95, "warning"), (4.05, "stop")):
        note = sanity.reject_grade(0.5, 0.1, 0.9, 4.1 - sds * sd, *args)
        assert severity(note) == word
    assert "4.1 % Fe2O3 into the reject" in note.text


def test_rule_2_iron_in_nothing_listed_beyond_two_sd_is_noted():
    # sd 0.05 by assay 0.03 and minerals 0.04
    assert sanity.iron_of_minerals(0.399, 0.03, 0.1, 0.3, 0.04) is None
    note = sanity.iron_of_minerals(0.405, 0.03, 0.1, 0.3, 0.04)
    assert (note.severity, note.code) == ("note", "sanity-2")
    assert "at least 0.105 %" in note.text
    assert sanity.iron_of_minerals(0.405, 0.03, 0.1, 0.3, 0.04, below=True) is None


def test_rule_3_titania_of_ilmenite():
    """FeTiO3 holds 52.65 % TiO2 (webmineral); natural ilmenite never below 45 %."""
    ideal = oxide_wt_pct("FeTiO3")["TiO2"] / 100.0
    full = 1.0 * ideal
    assert sanity.ilmenite_titania(1.0, 0.0, full, 1e-4) is None
    note = sanity.ilmenite_titania(1.0, 0.0, full + 0.1, 1e-4)
    assert (note.severity, note.code) == ("note", "sanity-3")
    assert "0.1 % TiO2 is not ilmenite" in note.text
    assert sanity.ilmenite_titania(0.0, 0.0, 0.02, 1e-4) is None
    assert sanity.ilmenite_titania(0.0, 0.0, 0.021, 1e-4) is not None
    assert sanity.ilmenite_titania(0.0, 0.0, 0.1, 0.055) is None  # within 2 sd of the assay
    assert sanity.ilmenite_titania(1.0, 0.1, full + 0.1, 0.0) is None  # and of the amount
    assert sanity.ilmenite_titania(1.0, 0.09, full + 0.1, 0.0) is not None
    note = sanity.ilmenite_titania(2.0, 0.01, 0.45, 0.001)
    assert (note.severity, note.code) == ("stop", "sanity-3")
    assert "TiO2 allows 1 % at most" in note.text
    # 1.02 listed against 1.00 allowed: 2 sd are 0.0099 of the assay over 0.45
    assert sanity.ilmenite_titania(1.02, 1e-6, 0.45, 0.0040) == severity_rule.note_of(
        3, "warning", "1.02 % ilmenite listed, but TiO2 allows 1 % at most"
    )
    assert sanity.ilmenite_titania(1.02, 1e-6, 0.45, 0.0046) is None


def test_rule_4_potash_of_micas():
    """Ideal phlogopite and annite hold 11.3 and 9.2 % K2O, muscovite 11.8: webmineral."""
    assert sanity.mica_potash(1.0, 0.0, 0.0, 0.100, 0.0) is not None
    assert sanity.mica_potash(1.0, 0.0, 0.0, 0.102, 0.0) is None
    assert sanity.mica_potash(0.0, 1.0, 0.0, 0.116, 0.0) is not None
    assert sanity.mica_potash(0.0, 1.0, 0.0, 0.118, 0.0) is None
    assert "more than the 0.1 % assayed" in sanity.mica_potash(1.0, 0.0, 0.0, 0.1, 0.0).text
    muscovite = oxide_wt_pct("KAl3Si3O10(OH)2")["K2O"] / 100.0
    assert muscovite == pytest.approx(0.117, abs=0.0015)
    below = sanity.mica_potash(0.0, 1.0, 0.01, 0.01, 0.001, below=True)
    assert (below.code, "<0.01 % assayed" in below.text) == ("sanity-4", True)


def test_rule_5_volatiles_by_the_formulae():
    """Water and carbon dioxide of the ideal formulae; FeO gains 0.111 of itself."""
    gain = molar_mass("Fe2O3") / (2.0 * molar_mass("FeO")) - 1.0
    shares = {
        1: oxide_wt_pct("Al2Si2O5(OH)4")["H2O"], 2: oxide_wt_pct("FeO(OH)")["H2O"],
        3: oxide_wt_pct("CaCO3")["CO2"], 4: -100.0 * gain,
    }  # fmt: skip
    for place, share in shares.items():
        amounts = [100.0, 100.0, 100.0, 100.0, 0.0]
        amounts[place] += 1.0
        base = 4.0 + 14.0 + 10.0 + 44.0
        needed = base + share / 100.0
        assert sanity.loss_on_ignition(*amounts, 0.0, needed - 0.004, 0.0) is not None
        assert sanity.loss_on_ignition(*amounts, 0.0, needed + 0.004, 0.0) is None
    note = sanity.loss_on_ignition(10.0, 0.0, 0.0, 0.0, 0.0, 0.03, 0.27, 0.04)
    assert (severity(note), note.code) == ("warning", "sanity-5")  # 0.13 over 0.05: 2.6 sd
    assert "(0.4 %)" in note.text
    assert sanity.loss_on_ignition(10.0, 0.0, 0.0, 0.0, 0.0, 0.03, 0.31, 0.04) is None


def test_rule_6_feldspars_take_alumina_mole_for_mole():
    alumina = molar_mass("Al2O3")
    for place, oxide in enumerate(("K2O", "Na2O", "CaO")):
        assayed = [0.0, 0.0, 0.0]
        assayed[place] = 10.0
        mole_for_mole = 10.0 * alumina / molar_mass(oxide)
        balance = sanity_of_assay.alumina_balance
        assert balance(mole_for_mole, *assayed, 0.01) is None
        short = balance(mole_for_mole - 0.05, *assayed, 0.01)
        assert (short.severity, short.code) == ("note", "sanity-6")
        assert "short" in short.text
        assert balance(mole_for_mole + 1.0, *assayed, 0.01) is None
        spare = balance(mole_for_mole + 1.05, *assayed, 0.01)
        assert "is not in feldspar" in spare.text
        assert float(spare.text.split(" %")[0]) == pytest.approx(1.05, abs=0.02)


@pytest.mark.parametrize(
    ("solid", "loi", "word"),
    [
        (99.5, 0.6, "ignited"), (100.5, 0.6, "ignited"), (99.4, 0.6, None), (100.0, 0.5, None),
        (100.0, 0.52, "ignited"),
        (99.0, None, None), (101.0, None, None), (98.9, None, "not assayed"),
        (101.1, None, "not assayed"), (98.0, 1.0, None), (97.9, 1.0, "not assayed"),
        (100.6, 0.6, "not assayed"),
    ],
)  # fmt: skip
def test_rule_7_totals(solid, loi, word):
    note = sanity_of_assay.oxide_total(solid, loi)
    assert (note is None) == (word is None)
    if note is not None:
        assert word in note.text
        assert note.code == "sanity-7"
        assert note.severity == ("note" if solid < 99.0 and loi is None else "warning")
    if word == "ignited":
        assert f"multiply them by {1.0 - loi / 100.0:.4f}".rstrip("0") in note.text


def test_rule_8_fe_for_fe2o3():
    ratio = molar_mass("Fe2O3") / (2.0 * molar_mass("Fe"))
    note = sanity_of_assay.laboratory_ratio(ratio, 1.0, "North", "South")
    assert note.text.startswith("North finds 1.430 times the iron of South: South may give Fe")
    assert (note.code, note.severity) == ("sanity-8", "warning")
    assert "factor of 1.43" in sanity_of_assay.laboratory_ratio(ratio, 1.0, "North").text
    assert sanity_of_assay.laboratory_ratio(1.39, 1.0) is None
    assert sanity_of_assay.laboratory_ratio(1.47, 1.0) is None
    assert sanity_of_assay.laboratory_ratio(0.0, 0.0) is None


def test_rule_9_magnetite_of_a_bag_by_the_low_field_value_of_a_grain():
    """A sphere of magnetite shows 3/density: 5.77e-4 m3/kg, within a hundredth of 5.8e-4."""
    assert pytest.approx(3.0 / 5201.0, rel=0.01) == sanity_of_magnets.MAGNETITE_CHI
    note = sanity_of_magnets.unlisted_magnetite(1e-8 + 5.8e-9, 2e-9, 1e-8, 0.0)
    assert "about 10 ppm" in note.text
    assert note.code == "sanity-9"
    # 3 and 4 make an sd of 5: twice that is 10, four times 20.
    for excess, word in ((9.9, None), (10.1, "warning"), (30.0, "warning")):
        found = sanity_of_magnets.unlisted_magnetite(1e-7 + excess * 1e-9, 3e-9, 1e-7, 4e-9)
        assert severity(found) == word
    for lack, word in ((9.9, None), (10.1, "warning"), (20.1, "stop")):
        found = sanity_of_magnets.unlisted_magnetite(1e-7 - lack * 1e-9, 3e-9, 1e-7, 4e-9)
        assert severity(found) == word
        assert found is None or "less magnetic" in found.text


def test_rule_10_a_hundredth_of_a_per_cent_is_nothing():
    assert sanity_of_magnets.hand_magnet(0.01, False) is None
    note = sanity_of_magnets.hand_magnet(0.0105, False)
    assert (note.code, note.severity) == ("sanity-10", "warning")
    assert "took 0.0105 %" in note.text


def test_rule_11_at_seven_tenths_and_at_three_times_the_sand():
    pulled = sanity_of_tests.magnetics_pulled
    assert pulled(1.41, 2.0, 0.5) is None
    assert "less than counted (2 %)" in pulled(1.39, 2.0, 0.5).text
    assert pulled(3.49, 2.0, 0.5) is None
    assert "mostly sand" in pulled(3.51, 2.0, 0.5).text
    assert {pulled(1.0, 2.0, 0.5).code, pulled(9.0, 2.0, 0.5).code} == {"sanity-11"}


@pytest.mark.parametrize(
    ("out", "word", "says"),
    [(100.31, "warning", "gained 0.31 %"), (100.29, None, ""), (99.01, None, ""),
     (98.99, "note", "lost 1.01 %"), (98.01, "note", "lost 1.99 %"),
     (97.99, "warning", "repeat it")],
)  # fmt: skip
def test_rule_12_losses_and_gains(out, word, says):
    note = sanity_of_tests.mass_lost(200.0, 2.0 * out, "screening")
    assert severity(note) == word
    if note is not None:
        assert says in note.text
        assert note.code == "sanity-12"
        assert "(200 in," in note.text


def test_rules_13_to_15_count_both_errors():
    """Errors of 3 and 4 make one of 5, so that 2 sd are 10 and 4 sd are 20."""
    for gap, word in ((9.9, None), (10.1, "warning"), (19.9, "warning"), (20.1, "stop")):
        for sign in (1.0, -1.0):
            note = sanity_of_tests.adds_back(100.0 + sign * gap, 3.0, 100.0, 4.0, "parts")
            assert severity(note) == word
        assert severity(sanity_of_tests.faster_pulls_more(30.0, 3.0, 30.0 + gap, 4.0)) == word
        assert severity(sanity_of_tests.below_the_floor(50.0 - gap, 3.0, 50.0, 4.0)) == word
    assert note.code == "sanity-13"
    assert sanity_of_tests.faster_pulls_more(1.0, 0.1, 9.0, 0.1).code == "sanity-14"
    assert sanity_of_tests.below_the_floor(1.0, 0.1, 9.0, 0.1).code == "sanity-15"


def test_rule_15_two_sd_of_the_laboratory():
    decide = sanity_of_tests.laboratory_decides
    assert decide(0.030, 0.0261, 0.002, None).code == "sanity-15"
    assert decide(0.030, 0.0339, 0.002, 0.029).severity == "warning"
    assert decide(0.030, 0.0259, 0.002, None) is None
    assert decide(0.030, 0.0001, 0.002, 0.029) is None
    assert "below detection (0.03 %)" in decide(0.030, 0.0001, 0.002, 0.030).text


def test_a_border_that_is_met_exactly_is_not_passed():
    """Halves, quarters and eighths, which a computer holds without rounding."""
    assert sanity.iron_of_minerals(1.5, 0.25, 0.5, 1.0, 0.0) is None
    assert sanity.iron_of_minerals(1.5, 0.125, 0.5, 1.0, 0.0) is not None
    assert sanity.ilmenite_titania(0.0, 0.0, 0.5, 0.25) is None
    assert sanity.ilmenite_titania(0.0, 0.0, 0.5, 0.125) is not None
    assert sanity_of_assay.alumina_balance(1.5, 0.0, 0.0, 0.0, 0.25) is None
    assert sanity_of_tests.magnetics_pulled(0.7 * 2.0, 2.0, 0.5) is None
    assert sanity_of_tests.magnetics_pulled(3.5, 2.0, 0.5) is None
    assert sanity_of_tests.laboratory_decides(0.5, 0.25, 0.125, None) is None
    assert sanity_of_tests.laboratory_decides(0.5, 0.25, 0.126, None) is not None


# --- the rules on a bag ---------------------------------------------------------------------


def row(mineral, value, sd=0.01, **more):
    return MineralAmount(mineral, "mass_pct", value, sd=sd, **more)


def rules(minerals_=(), assay=(), **more):
    """Notes of the rules by code, as a run without trials gives them."""
    values = {}
    for name, value in dict(assay).items():
        given = value if isinstance(value, OxideValue) else OxideValue(value, 0.001)
        values[name] = given
    sample = Sample("x", origin="washed", minerals=tuple(minerals_), assay=values, **more)
    notes = mineralogy_of(sample, 0, 1, thorough=False).notes
    return {note.code: note for note in notes if note.code.startswith("sanity")}


QUARTZ = row("quartz", 95.0)


def test_iron_of_a_bag_is_that_of_its_minerals_at_both_ends():
    record = minerals()["biotite"]
    per_fe = 159.688 / 111.69
    least = 5.0 * record.iron_low_wt_pct / 100.0 * per_fe
    text = rules((QUARTZ, row("biotite", 5.0)), {"Fe2O3": 0.3})["sanity-2"].text
    assert f"at least {least:.3g} % Fe2O3, more than the 0.3 % assayed" in text
    most = (5.0 * record.iron_high_wt_pct + 95.0 * minerals()["quartz"].iron_high_wt_pct) / 100.0
    text = rules((QUARTZ, row("biotite", 5.0)), {"Fe2O3": 4.0})["sanity-2"].text
    assert f"at least {4.0 - most * per_fe:.3g} % Fe2O3 is in nothing listed" in text
    limit = OxideValue(0.3, None, below_detection=True)
    assert (
        "<0.3 % assayed" in rules((QUARTZ, row("biotite", 5.0)), {"Fe2O3": limit})["sanity-2"].text
    )


def test_the_errors_of_the_amounts_count_by_what_each_mineral_holds():
    """Excess of 0.24 % Fe2O3 of which 0.167 % is one sd of the biotite alone: no contradiction."""
    wide = rules((QUARTZ, row("biotite", 5.0, 1.0)), {"Fe2O3": 0.6})
    firm = rules((QUARTZ, row("biotite", 5.0, 0.2)), {"Fe2O3": 0.6})
    assert "sanity-2" not in wide
    assert firm["sanity-2"].severity == "stop"


def test_titania_and_potash_of_a_bag():
    text = rules((row("quartz", 99.0), row("ilmenite", 1.0)), {"TiO2": 0.09})["sanity-3"].text
    assert text.startswith("1 % ilmenite listed, but TiO2 allows 0.2 %")
    micas = (row("quartz", 90.0), row("annite", 2.0), row("phlogopite", 3.0), row("muscovite", 5.0))
    text = rules(micas, {"K2O": 0.3})["sanity-4"].text
    assert "needs 1.09 % K2O" in text  # 0.101 x 5 + 0.117 x 5
    wide = tuple(row(m.mineral, m.value, 2.5) for m in micas[1:])
    assert "sanity-4" not in rules((micas[0], *wide), {"K2O": 0.6})


def test_the_loss_of_a_bag():
    bag = (
        row("quartz", 85.0), row("muscovite", 5.0), row("kaolinite", 4.0), row("goethite", 1.0),
        row("calcite", 2.0), row("siderite", 3.0),
    )  # fmt: skip
    iron = minerals()["siderite"].iron_typical_wt_pct
    ferrous = 3.0 * iron / 100.0 * (71.844 / 55.845)
    needed = 0.04 * 5.0 + 0.14 * 4.0 + 0.10 * 1.0 + 0.44 * 2.0 - 0.111 * ferrous
    text = rules(bag, {"LOI": 0.3})["sanity-5"].text
    assert f"({needed:.3g} %)" in text
    assert "sanity-5" not in rules(bag, {"LOI": needed + 0.1})
    below = OxideValue(0.3, None, below_detection=True)
    assert "sanity-5" not in rules(bag, {"LOI": below})
    wide = tuple(row(m.mineral, m.value, 3.0) for m in bag[1:])
    assert "sanity-5" not in rules((bag[0], *wide), {"LOI": 0.3})


def test_alumina_of_a_bag_needs_all_four_oxides():
    assay = {"Al2O3": 5.0, "K2O": 1.0, "Na2O": 1.0, "CaO": 0.0}
    text = rules((QUARTZ,), assay)["sanity-6"].text
    assert text.startswith(f"{5.0 - 1.082 - 1.645:.3g} % alumina is not in feldspar")
    assert "sanity-6" not in rules((QUARTZ,), {k: v for k, v in assay.items() if k != "CaO"})
    # The errors count by the same factors: 2 sd of potash alone are 2 x 1.082 x 0.6 = 1.3.
    wide = assay | {"Al2O3": 4.9, "K2O": OxideValue(1.0, 0.6)}
    assert "sanity-6" not in rules((QUARTZ,), wide)
    firm = assay | {"Al2O3": 4.9, "K2O": OxideValue(1.0, 0.5)}
    assert "sanity-6" in rules((QUARTZ,), firm)


def test_the_total_of_a_bag_is_asked_where_the_three_great_oxides_are_known():
    assay = {"SiO2": 90.0, "Al2O3": 3.0, "Fe2O3": 1.0, "LOI": 1.0}
    assert "sums to 95 %" in rules((QUARTZ,), assay)["sanity-7"].text
    assert "sanity-7" not in rules((QUARTZ,), {k: v for k, v in assay.items() if k != "Al2O3"})
    ignited = {"SiO2": 96.0, "Al2O3": 3.0, "Fe2O3": 1.0, "LOI": 1.0}
    assert "ignited" in rules((QUARTZ,), ignited)["sanity-7"].text


def test_laboratories_of_a_bag_are_compared_by_their_means():
    def result(laboratory, value, **more):
        given = {"passing_um": None, "retained_um": None, "below_detection": False} | more
        return Determination("feed", oxide="Fe2O3", value=value, laboratory=laboratory, **given)

    two = (result("A", 0.95), result("A", 1.05), result("B", 0.70))
    text = rules((QUARTZ,), determinations=two)["sanity-8"].text
    assert "factor of 1.43" in text
    others = (
        result("A", 1.0), result(None, 0.70), result("B", 0.70, below_detection=True),
        result("C", 0.70, passing_um=100.0, retained_um=50.0),
        Determination("feed", None, None, "TiO2", 0.70, False, laboratory="D"),
    )  # fmt: skip
    assert "sanity-8" not in rules((QUARTZ,), determinations=others)
    three = (result("A", 0.70), result("B", 0.85), result("C", 1.0))
    assert "factor of 1.43" in rules((QUARTZ,), determinations=three)["sanity-8"].text


def listed_susceptibility(**amounts):
    total = 0.0
    for name, amount in amounts.items():
        model = mineral_ingredient(minerals()[name]).model
        iron = np.array([model.iron_typical_wt_pct])
        chi = float(susceptibility_at(model, iron, np.zeros(1))[0])
        if model.order == "canted":
            chi += model.saturation_moment_A_m2_kg / (0.15 / (4e-7 * np.pi))
        total += amount / 100.0 * chi
    return total


def test_magnetite_that_no_list_names_shows_in_the_bulk():
    bag = (row("quartz", 95.0), row("biotite", 4.0), row("hematite", 1.0))
    listed = listed_susceptibility(quartz=95.0, biotite=4.0, hematite=1.0)
    bulk = BulkSusceptibility(listed + 5.8e-7, 1e-9)
    text = rules(bag, susceptibility=bulk)["sanity-9"].text
    assert float(text.split()[1]) == pytest.approx(1000.0, rel=0.01)
    weak = BulkSusceptibility(0.2 * listed, 1e-10)
    assert "less magnetic" in rules(bag, susceptibility=weak)["sanity-9"].text
    strong = (*bag, row("magnetite", 0.01))
    assert "sanity-9" not in rules(strong, susceptibility=bulk)
    high = BulkSusceptibility(listed + 5.8e-7, 1e-9, flux_density_tesla=0.2)
    assert "sanity-9" not in rules(bag, susceptibility=high)
    low = BulkSusceptibility(listed + 5.8e-7, 1e-9, flux_density_tesla=0.09)
    assert "sanity-9" in rules(bag, susceptibility=low)
    # A tenth more than listed is within the fifth that a mineral's own value may be off.
    near = BulkSusceptibility(1.1 * listed, 1e-10)
    assert "sanity-9" not in rules(bag, susceptibility=near)
    # So is what the amounts leave open.
    wide = (row("quartz", 95.0), row("biotite", 4.0, 4.0), row("hematite", 1.0, 1.0))
    assert "sanity-9" not in rules(wide, susceptibility=BulkSusceptibility(2.5 * listed, 1e-10))


def test_hematite_shows_in_the_bulk_by_the_top_of_its_low_field_range():
    """0.4 A m2/kg of moment at 0.15 tesla over mu0: 3.3e-6 m3/kg, a hundredth of it by the list."""
    bag = (row("quartz", 99.0), row("hematite", 1.0))
    listed = listed_susceptibility(quartz=99.0, hematite=1.0)
    bulk = BulkSusceptibility(listed + 3e-8, 1e-10)
    text = rules(bag, susceptibility=bulk)["sanity-9"].text
    assert float(text.split()[1]) == pytest.approx(3e-8 / 5.8e-10, rel=0.02)


def test_without_a_stated_error_a_bulk_value_is_good_to_a_twentieth():
    bag = (row("quartz", 100.0),)
    assert "sanity-9" not in rules(bag, susceptibility=BulkSusceptibility(-5.4e-9))
    assert "sanity-9" in rules(bag, susceptibility=BulkSusceptibility(-2.0e-9))


def test_what_a_hand_magnet_took_of_a_bag_without_strong_minerals():
    took = (Diagnostic("hand magnet", 500.0, 0.5, None, None),)
    assert "took 0.1 %" in rules((QUARTZ,), diagnostics=took)["sanity-10"].text
    strong = (QUARTZ, row("magnetite", 0.1))
    assert "sanity-10" not in rules(strong, diagnostics=took)
    nil = (QUARTZ, MineralAmount("magnetite", "mass_pct", 0.0))
    assert "sanity-10" in rules(nil, diagnostics=took)


def test_a_sieving_that_lost_and_classes_that_do_not_add_back():
    lost = rules((QUARTZ,), sieving=Sieving(500.0, 480.0))
    assert "sieving lost 4.00 % of mass" in lost["sanity-12"].text
    assert "sanity-12" not in rules((QUARTZ,), sieving=Sieving(None, 480.0))
    assert "sanity-12" not in rules((QUARTZ,), sieving=Sieving(500.0, None))
    sieves = (
        SieveClass(500, 250, 40.0, {"Fe2O3": 0.10}),
        SieveClass(250, 63, 60.0, {"Fe2O3": 0.3}),
    )
    text = rules((QUARTZ,), {"Fe2O3": 0.30}, sieves=sieves)["sanity-13"].text
    assert "the Fe2O3 of the classes add up to 0.22, the head is 0.3" in text
    assert "sanity-13" not in rules((QUARTZ,), {"Fe2O3": 0.22}, sieves=sieves)
    below = OxideValue(0.9, None, below_detection=True)
    assert "sanity-13" not in rules((QUARTZ,), {"Fe2O3": below}, sieves=sieves)
    wide = OxideValue(0.30, 0.1)
    assert "sanity-13" not in rules((QUARTZ,), {"Fe2O3": wide}, sieves=sieves)


def test_only_what_is_beyond_four_sd_makes_the_data_disagree():
    bag = (row("quartz", 95.0, 0.5), row("biotite", 5.0, 0.3))
    for iron, disagree in ((0.1, True), (1.2, False)):
        sample = Sample("x", minerals=bag, assay={"Fe2O3": OxideValue(iron, 0.02)})
        assert mineralogy_of(sample, 0, 1, thorough=False).data_disagree == disagree
