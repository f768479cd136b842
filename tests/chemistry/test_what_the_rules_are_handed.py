"""Figures of a bag that the sanity rules are handed, added up by hand from odd numbers."""

from __future__ import annotations

import numpy as np
import pytest

from feedchar.chemistry import sanity, sanity_of_assay, sanity_of_feed, sanity_of_magnets
from feedchar.chemistry.diagnosis import diagnosis_of
from feedchar.chemistry.ingredients import feed_of
from feedchar.chemistry.phases import mineral_ingredient, susceptibility_at
from feedchar.chemistry.sanity_of_feed import feed_notes
from feedchar.sample.assay_error import default_assay_sd, least_assay_sd
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

FE = 159.688 / 111.69
LISTED = {
    # mineral: amount and its sd
    "quartz": (58.3, 1.7), "biotite": (4.7, 0.9), "annite": (2.9, 0.6), "phlogopite": (1.3, 0.4),
    "siderophyllite": (1.1, 0.3), "muscovite": (5.9, 1.1), "phengite": (2.3, 0.7),
    "illite": (3.1, 0.8), "kaolinite": (4.1, 1.3), "goethite": (1.9, 0.5), "calcite": (2.7, 0.65),
    "siderite": (1.7, 0.35), "hornblende": (2.1, 0.45), "actinolite": (1.5, 0.55),
    "almandine": (1.4, 0.25), "ilmenite": (2.2, 0.75), "hematite": (2.8, 0.85),
}  # fmt: skip
SHARE = 100.0 / sum(amount for amount, _ in LISTED.values())  # the amounts fill the bag
MEAN = {name: amount * SHARE for name, (amount, _) in LISTED.items()}
ERROR = {name: sd * SHARE for name, (_, sd) in LISTED.items()}
DARK = ("biotite", "annite", "phlogopite", "siderophyllite")
PALE = ("muscovite", "phengite", "illite")


def bag(**more):
    rows = [MineralAmount(n, "mass_pct", a, sd=sd) for n, (a, sd) in LISTED.items()]
    # What was not found is in no sum.
    rows.append(MineralAmount("zircon", "mass_pct", 0.0))
    return Sample("x", minerals=tuple(rows), **more)


def figure(value, sd=None, **more):
    return OxideValue(value, sd, **more)


@pytest.fixture
def handed(monkeypatch):
    """Every rule notes what it was handed and says nothing."""
    seen = {}

    def noting(name):
        def rule(*figures, **words):
            seen.setdefault(name, []).append((figures, words))

        return rule

    for module, names in (
        (sanity, ("iron_of_minerals", "ilmenite_titania", "mica_potash", "loss_on_ignition")),
        (sanity_of_assay, ("alumina_balance", "oxide_total", "laboratory_ratio")),
        (sanity_of_magnets, ("unlisted_magnetite", "hand_magnet")),
        (sanity_of_feed, ("mass_lost", "adds_back")),
    ):
        for name in names:
            monkeypatch.setattr(module, name, noting(name))

    def run(sample, assay=None):
        diagnosis = diagnosis_of(sample)
        values = dict(sample.assay) if assay is None else assay
        feed, _ = feed_of(sample, values)
        seen.clear()
        assert feed_notes(sample, feed, values, diagnosis) == ()
        return {name: calls[0] for name, calls in seen.items()}, seen

    return run


def off(weights):
    return float(np.linalg.norm([w * ERROR[name] for name, w in weights.items()]))


def test_iron_titania_and_potash_against_the_assay(handed):
    sample = bag(assay={"Fe2O3": figure(3.7, 0.21), "TiO2": figure(1.3, 0.09),
                        "K2O": figure(1.7, 0.13)})  # fmt: skip
    found, _ = handed(sample)
    iron = {name: mineral_ingredient(minerals()[name]).iron for name in MEAN}
    low = {n: iron[n].low_wt_pct / 100.0 * FE for n in MEAN}
    high = {n: iron[n].high_wt_pct / 100.0 * FE for n in MEAN}
    figures, words = found["iron_of_minerals"]
    expected = (3.7, 0.21, sum(MEAN[n] * low[n] for n in MEAN),
                sum(MEAN[n] * high[n] for n in MEAN), off(low))  # fmt: skip
    assert figures == pytest.approx(expected, rel=1e-4)
    assert words == {"below": False}
    figures, words = found["ilmenite_titania"]
    assert figures == pytest.approx((MEAN["ilmenite"], ERROR["ilmenite"], 1.3, 0.09))
    figures, words = found["mica_potash"]
    potash = dict.fromkeys(DARK, 0.101) | {"muscovite": 0.117, "phengite": 0.117}
    assert figures == pytest.approx(
        (sum(MEAN[n] for n in DARK), MEAN["muscovite"] + MEAN["phengite"], off(potash), 1.7, 0.13)
    )
    assert set(found) == {"iron_of_minerals", "ilmenite_titania", "mica_potash"}


def test_a_less_than_is_handed_with_its_end_and_never_to_what_needs_a_figure(handed):
    below = figure(0.4, None, below_detection=True)
    oxides = ("Fe2O3", "TiO2", "K2O", "LOI", "Al2O3", "Na2O", "CaO")
    found, _ = handed(bag(assay=dict.fromkeys(oxides, below)))
    for rule in ("iron_of_minerals", "ilmenite_titania", "mica_potash"):
        figures, words = found[rule]
        assert words == {"below": True}
        assert {0.4, 0.04} <= {round(f, 12) for f in figures}
    assert set(found) == {"iron_of_minerals", "ilmenite_titania", "mica_potash"}


def test_loss_on_ignition_by_what_each_mineral_gives_off(handed):
    """Water of micas 4 %, of kaolin 14, of goethite 10, carbon dioxide of calcite 44; FeO of those
    that hold ferrous iron takes oxygen up."""
    found, _ = handed(bag(assay={"LOI": figure(2.3, 0.17)}))
    weights = dict.fromkeys((*DARK, *PALE), 0.04)
    weights |= {"kaolinite": 0.14, "goethite": 0.10, "calcite": 0.44}
    ferrous = ("annite", "biotite", "hornblende", "actinolite", "almandine", "siderite")
    feo = (
        sum(MEAN[n] * minerals()[n].iron_typical_wt_pct / 100.0 for n in ferrous) * 71.844 / 55.845
    )
    figures, _ = found["loss_on_ignition"]
    assert figures == pytest.approx(
        (sum(MEAN[n] for n in (*DARK, *PALE)), MEAN["kaolinite"], MEAN["goethite"],
         MEAN["calcite"], feo, off(weights), 2.3, 0.17), rel=4e-4,
    )  # fmt: skip


def test_alumina_against_alkalis_and_lime_with_all_four_errors(handed):
    assay = {"Al2O3": figure(14.7, 0.21), "K2O": figure(4.3, 0.13), "Na2O": figure(3.1, 0.17),
             "CaO": figure(1.9, 0.11)}  # fmt: skip
    found, _ = handed(bag(assay=assay))
    error = np.linalg.norm([0.21, 1.082 * 0.13, 1.645 * 0.17, 1.818 * 0.11])
    assert found["alumina_balance"][0] == pytest.approx((14.7, 4.3, 3.1, 1.9, error))
    # What the fit uses is held against itself, not what was written down.
    lower = assay | {"CaO": figure(0.9, 0.11)}
    assert handed(bag(assay=assay), lower)[0]["alumina_balance"][0][3] == 0.9


def test_the_sum_of_all_oxides_but_the_loss(handed):
    assay = {"SiO2": 70.93, "Al2O3": 15.25, "Fe2O3": 2.96, "K2O": 3.86, "BaO": 0.8, "LOI": 1.7}
    values = {name: figure(v, 0.1) for name, v in assay.items()}
    assert handed(bag(assay=values))[0]["oxide_total"][0] == pytest.approx((93.8, 1.7))
    dry = {name: v for name, v in values.items() if name != "LOI"}
    total, loi = handed(bag(assay=dry))[0]["oxide_total"][0]
    assert (total, loi) == (pytest.approx(93.8), None)
    # The order of the sheet changes not even the last digit.
    turned = dict(reversed(values.items()))
    solid = [v.value for name, v in values.items() if name != "LOI"]
    assert sum(solid) != sum(reversed(solid))
    both = [handed(bag(assay=a))[0]["oxide_total"][0] for a in (values, turned)]
    assert both[0] == both[1]
    for lacking in ("SiO2", "Al2O3", "Fe2O3"):
        few = {name: v for name, v in values.items() if name != lacking}
        assert "oxide_total" not in handed(bag(assay=few))[0]


def test_laboratories_by_their_means_of_the_whole_bag(handed):
    def result(laboratory, value, passing=None, below=False, oxide="Fe2O3"):
        return Determination("x", passing, None, oxide, value, below, laboratory=laboratory)

    results = (
        result("A", 1.31), result("B", 1.93), result("A", 1.37), result("C", 1.5),
        result("B", 1.99), result("A", 9.0, passing=500.0), result("B", 9.0, below=True),
        result("C", 9.0, oxide="TiO2"), result(None, 9.0),
    )  # fmt: skip
    found, _ = handed(bag(determinations=results))
    assert found["laboratory_ratio"][0] == pytest.approx((1.96, 1.34))
    assert "laboratory_ratio" not in handed(bag(determinations=results[:1]))[0]


def test_susceptibility_of_the_list_with_the_errors_of_amounts_and_minerals(handed):
    """A mineral's own value is good to a fifth; hematite shows 0.4 A m2/kg at 0.15 tesla more."""
    found, _ = handed(bag(susceptibility=BulkSusceptibility(7.7e-7, 3.1e-8)))
    total, squares = 0.0, 0.0
    for name, amount in MEAN.items():
        model = mineral_ingredient(minerals()[name]).model
        iron = np.array([model.iron_typical_wt_pct])
        chi = float(susceptibility_at(model, iron, np.zeros(1))[0])
        if model.order == "canted":
            chi += model.saturation_moment_A_m2_kg / 1.2e5  # A/m: 0.15 tesla over mu0
        total += amount / 100.0 * chi
        squares += (chi * ERROR[name] / 100.0) ** 2 + (0.2 * chi * amount / 100.0) ** 2
    figures, _ = found["unlisted_magnetite"]
    assert figures == pytest.approx((7.7e-7, 3.1e-8, total, squares**0.5))
    bare, _ = handed(bag(susceptibility=BulkSusceptibility(-7.7e-7)))
    assert bare["unlisted_magnetite"][0][1] == pytest.approx(0.05 * 7.7e-7 + 5e-10)


def test_magnetite_is_looked_for_in_weak_fields_and_where_none_is_listed(handed):
    for field, asked in ((None, True), (0.1, True), (0.101, False)):
        bulk = BulkSusceptibility(7.7e-7, 3.1e-8, flux_density_tesla=field)
        assert ("unlisted_magnetite" in handed(bag(susceptibility=bulk))[0]) == asked
    assert "unlisted_magnetite" not in handed(bag())[0]


def test_a_hand_magnet_is_handed_with_whether_anything_strong_is_listed(handed):
    took = (Diagnostic("hand magnet", 400.0, 1.2, None, None),)
    assert handed(bag(diagnostics=took))[0]["hand_magnet"][0] == (pytest.approx(0.3), False)
    assert "hand_magnet" not in handed(bag())[0]


def test_masses_of_a_sieving_and_sums_of_classes(handed):
    """Each figure of a class has the error of its laboratory; so has the head."""
    sieves = (
        SieveClass(500, 250, 37.0, {"Fe2O3": 0.91, "TiO2": 0.13}),
        SieveClass(250, 0, 63.0, {"Fe2O3": 0.37, "TiO2": 0.29}),
    )
    sample = bag(sieves=sieves, sieving=Sieving(731.0, 719.0), assay={
        "Fe2O3": figure(0.71, 0.07), "TiO2": figure(0.31), "K2O": figure(2.0, 0.1)})  # fmt: skip
    found, every = handed(sample)
    assert found["mass_lost"][0] == (731.0, 719.0, "sieving")
    for (figures, _), (oxide, coarse, fine, head, sd) in zip(
        every["adds_back"],
        (("TiO2", 0.13, 0.29, 0.31, default_assay_sd("TiO2", 0.31)),
         ("Fe2O3", 0.91, 0.37, 0.71, 0.07)), strict=True,
    ):  # fmt: skip
        error = np.hypot(
            0.37 * default_assay_sd(oxide, coarse), 0.63 * default_assay_sd(oxide, fine)
        )
        assert figures[:4] == pytest.approx((0.37 * coarse + 0.63 * fine, error, head, sd))
        assert figures[4] == f"the {oxide} of the classes"
    below = bag(sieves=sieves, assay={"Fe2O3": figure(0.71, below_detection=True)})
    assert "adds_back" not in handed(below)[0]


def test_an_error_that_no_laboratory_reaches_is_widened_before_the_rules_see_it(handed):
    found, _ = handed(bag(assay={"TiO2": figure(1.3, 1e-6)}))
    assert found["ilmenite_titania"][0][3] == least_assay_sd(1.3) > 1e-6
    found, _ = handed(bag(assay={"TiO2": figure(1.3)}))
    assert found["ilmenite_titania"][0][3] == default_assay_sd("TiO2", 1.3)
