"""A phase carries its iron, its magnetism and where both come from."""

from __future__ import annotations

import numpy as np
import pytest

from feedchar.chemistry.curie import FE2_SLOPE, lattice_susceptibility
from feedchar.chemistry.iron_prior import IronPrior
from feedchar.chemistry.own_phases import own_phase_ingredient, unidentified_ingredient
from feedchar.chemistry.oxides import COLUMN
from feedchar.chemistry.phases import (
    Measured,
    mineral_ingredient,
    susceptibility_at,
    unseen_ingredient,
)
from feedchar.constants import FE2O3_PER_FE
from feedchar.sample.records import Phase
from feedchar.tables.minerals import minerals

Z = np.linspace(-1.6448536, 1.6448536, 3)


def test_iron_has_the_tables_5_50_and_95_per_cent():
    biotite = mineral_ingredient(minerals()["biotite"]).iron
    record = minerals()["biotite"]
    assert biotite.quantile(Z) == pytest.approx(
        [record.iron_low_wt_pct, record.iron_typical_wt_pct, record.iron_high_wt_pct], rel=1e-6
    )


@pytest.mark.parametrize("iron", [0.01, 0.04, 0.2, 0.24])
def test_score_is_the_inverse_of_quantile(iron):
    prior = IronPrior(0.005, 0.04, 0.25, 0.0, 2.0)
    score = prior.score(np.array([iron]))
    assert prior.quantile(score) == pytest.approx(iron, rel=1e-9)


def test_the_rock_narrows_the_iron_and_names_its_source():
    granite = mineral_ingredient(minerals()["muscovite"], "granite").iron
    pegmatite = mineral_ingredient(minerals()["muscovite"], "pegmatite").iron
    assert pegmatite.typical_wt_pct < 0.6 * granite.typical_wt_pct  # nissen_2024, georoc_qmin
    assert pegmatite.source
    assert not mineral_ingredient(minerals()["muscovite"]).iron.source


def test_a_measured_iron_replaces_the_preferred_susceptibility_by_the_law():
    typical = mineral_ingredient(minerals()["biotite"]).model
    richer = mineral_ingredient(minerals()["biotite"], None, Measured(iron_wt_pct=20.0)).model
    assert richer.status == "measured"
    assert richer.source == "curie_model"
    assert richer.susceptibility_m3_kg > typical.susceptibility_m3_kg
    assert richer.susceptibility_iron_wt_pct == 20.0


def test_a_measured_iron_does_not_put_the_law_to_an_ordered_mineral():
    hematite = mineral_ingredient(minerals()["hematite"], None, Measured(iron_wt_pct=68.0)).model
    assert hematite.susceptibility_m3_kg == pytest.approx(2.822e-7, rel=1e-6)
    assert hematite.saturation_moment_A_m2_kg == pytest.approx(0.4)


def test_a_measured_susceptibility_is_taken_as_it_is():
    model = mineral_ingredient(
        minerals()["biotite"], None, Measured(mass_susceptibility_m3_kg=5e-7)
    ).model
    drawn = susceptibility_at(model, np.array([12.0, 20.0]), np.zeros(2))
    assert drawn == pytest.approx([5e-7, 5e-7])


def test_iron_and_susceptibility_move_together():
    model = mineral_ingredient(minerals()["actinolite"]).model
    chi = susceptibility_at(model, np.array([5.0, 10.0]), np.zeros(2))
    assert chi[1] - chi[0] == pytest.approx(5.0 * FE2_SLOPE, rel=1e-9)


def test_a_diamagnetic_lattice_keeps_its_sign_under_the_spread():
    model = mineral_ingredient(minerals()["quartz"]).model
    chi = susceptibility_at(model, np.zeros(3), np.array([-3.0, 0.0, 3.0]))
    assert np.all(chi < 0.9 * lattice_susceptibility(model.density_kg_m3))


@pytest.mark.parametrize(
    ("name", "order"),
    [("magnetite", "ferrimagnetic"), ("metallic iron", "ferrimagnetic"), ("hematite", "canted"),
     ("martite", "canted"), ("biotite", "none"), ("quartz", "none")],
)  # fmt: skip
def test_ordered_minerals_carry_a_moment_and_no_low_field_value(name, order):
    model = mineral_ingredient(minerals()[name]).model
    assert model.order == order
    assert (model.saturation_moment_A_m2_kg > 0) == (order != "none")
    assert model.susceptibility_m3_kg < 1.1e-6


def test_a_users_phase_borrows_from_the_mineral_it_is_like():
    rock = Phase("rock fragment", "oligoclase", None, None, None, {"Fe2O3": 3.0}, {"Fe2O3": 0.6})
    ingredient = own_phase_ingredient(rock)
    plagioclase = mineral_ingredient(minerals()["oligoclase"]).model
    assert ingredient.model.density_kg_m3 == plagioclase.density_kg_m3
    assert ingredient.iron.typical_wt_pct == pytest.approx(3.0 / FE2O3_PER_FE)
    low, high = ingredient.model.oxides_low_wt_pct, ingredient.model.oxides_high_wt_pct
    assert low.sum() == pytest.approx(100.0)
    assert low[COLUMN["SiO2"]] > 55.0
    assert high[COLUMN["Fe2O3"]] > low[COLUMN["Fe2O3"]]


def test_a_users_phase_without_a_model_keeps_the_rest_apart():
    slag = Phase("slag", None, 3200.0, 2e-6, 4e-7, {"SiO2": 30.0, "Fe2O3": 45.0, "CaO": 10.0}, {})
    model = own_phase_ingredient(slag).model
    assert model.susceptibility_m3_kg == 2e-6
    assert model.susceptibility_ln_sd == pytest.approx(0.2)
    assert model.is_dark
    assert model.role == "removable"


def test_unidentified_iron_is_log_normal_about_five_per_cent():
    iron = unidentified_ingredient().iron
    oxide = iron.quantile(np.array([0.0, 1.0])) * FE2O3_PER_FE
    assert oxide == pytest.approx([5.0, 5.0 * np.e], rel=1e-6)


def test_unseen_iron_is_nine_tenths_oxide_and_one_tenth_loss():
    model = unseen_ingredient().model
    assert model.oxides_low_wt_pct[COLUMN["Fe2O3"]] == 90.0
    assert model.oxides_low_wt_pct[COLUMN["LOI"]] == 10.0
    assert model.role == "stays"
