"""Formulae are read as a mineralogist writes them, and nothing else is read as one."""

from __future__ import annotations

import pytest

from feedchar.chemistry.formula import atoms_of, element_wt_pct, oxide_wt_pct
from feedchar.errors import InputError


@pytest.mark.parametrize(
    "formula",
    ["NaN", "nan", "", "quartz", "XO2", "D2O", "SIO2", "FE2O3", "CaCo3", "Fe0O", "Si1e3", "Fe-2O3",
     "FeO(OH", "FeO)OH(", "(2Fe)O", "NaNO3", "O2", "null", "inf", "Fe2O3!", "A" * 300,
     "CaSO4··2H2O"],
)  # fmt: skip
def test_what_is_not_a_mineral_is_refused_in_one_sentence(formula):
    with pytest.raises(InputError) as caught:
        oxide_wt_pct(formula)
    assert "\n" not in str(caught.value)
    assert len(str(caught.value)) < 300


@pytest.mark.parametrize("formula", [None, 3.0, float("nan")])
def test_a_cell_that_is_not_text_is_refused(formula):
    with pytest.raises(InputError):
        element_wt_pct(formula)


@pytest.mark.parametrize(
    ("written", "plain"),
    [
        ("CaSO4·2H2O", "CaSO4(H2O)2"),
        ("CaSO4.2H2O", "CaSO4(H2O)2"),
        ("CaSO4 * 2 H2O", "CaSO4(H2O)2"),
        ("K2O.Al2O3.6SiO2", "K2Al2Si6O16"),
        ("Al2O3•2SiO2•2H2O", "Al2Si2O5(OH)4"),
        ("FeO(OH).0.3H2O", "FeO(OH)(H2O)0.3"),
    ],
)
def test_hydrate_dots_are_split(written, plain):
    assert oxide_wt_pct(written) == pytest.approx(oxide_wt_pct(plain))


def test_a_decimal_point_is_no_hydrate_dot():
    assert atoms_of("K0.65Al2.03Fe0.28Mg0.17Si3.52O10(OH)2")["Al"] == pytest.approx(2.03)


def test_oxides_of_a_mineral_with_fluorine_and_chlorine_sum_to_100():
    for formula in ("CaF2", "Ca5P3O12F", "Na8Al6Si6O24Cl2", "KLiFeAl2Si3O10F2"):
        oxides = oxide_wt_pct(formula, "FeO")
        assert sum(oxides.values()) == pytest.approx(100.0, abs=1e-9)
        assert oxides["less O"] < 0


def test_fluorite_is_half_fluorine():
    assert oxide_wt_pct("CaF2")["F"] == pytest.approx(48.67, abs=0.01)  # printed_formula_pages


def test_iron_may_be_told_apart_and_must_add_up():
    both = oxide_wt_pct("Fe3O4", {"Fe2+": 1, "Fe3+": 2})
    assert sum(both.values()) == pytest.approx(100.0)
    assert oxide_wt_pct("Fe3O4")["Fe2O3"] == pytest.approx(
        both["Fe2O3"] + both["FeO"] * 159.688 / 143.688, abs=1e-3
    )
    with pytest.raises(InputError):
        oxide_wt_pct("Fe3O4", {"Fe2+": 1, "Fe3+": 1})
    with pytest.raises(InputError):
        oxide_wt_pct("Fe3O4", "Fe")


def test_elements_sum_to_100():
    assert sum(element_wt_pct("KAl3Si3O10(OH)2").values()) == pytest.approx(100.0)


def test_less_than_one_atom_of_either_iron_is_told_too():
    both = oxide_wt_pct("Mg1.5Fe0.5SiO4", {"Fe2+": 0.3, "Fe3+": 0.2})
    assert both["FeO"] / both["Fe2O3"] == pytest.approx(0.3 * 71.844 / (0.1 * 159.688), rel=1e-4)
    ferric = oxide_wt_pct("Mg1.5Fe0.5SiO4", {"Fe2+": 0.0, "Fe3+": 0.5})
    assert "FeO" not in ferric
    ferrous = oxide_wt_pct("Mg1.5Fe0.5SiO4", {"Fe2+": 0.5, "Fe3+": 0.0})
    assert "Fe2O3" not in ferrous


@pytest.mark.parametrize("formula", ["ClO3F", "OFCl", "F2", "Cl2O"])
def test_what_holds_but_oxygen_fluorine_and_chlorine_is_no_mineral(formula):
    with pytest.raises(InputError, match="no metal or silicon"):
        atoms_of(formula)
