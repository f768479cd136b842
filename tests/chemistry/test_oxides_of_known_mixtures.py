"""An oxide is all of itself, charges cancel, and minerals that were mixed come out again."""

from __future__ import annotations

import numpy as np
import pytest
from pymatgen.core import Composition, Element

from feedchar.chemistry.formula import atoms_of, element_wt_pct, molar_mass, oxide_wt_pct
from feedchar.chemistry.iron_line import iron_line, mixed, state_of
from feedchar.chemistry.mineralogy import OXIDES
from feedchar.chemistry.norm import cipw_norm, nepheline_split, oxide_factor, rational_analysis
from feedchar.chemistry.oxides import (
    COLUMN,
    oxide_row,
    row_of,
)
from feedchar.constants import FE2O3_PER_FE, FE2O3_PER_FEO
from feedchar.errors import InputError
from feedchar.tables.minerals import minerals

REPORTED = (
    "H2O", "Li2O", "BeO", "B2O3", "CO2", "Na2O", "MgO", "Al2O3", "SiO2", "P2O5", "SO3", "K2O",
    "CaO", "Sc2O3", "TiO2", "V2O5", "Cr2O3", "MnO", "CoO", "NiO", "CuO", "ZnO", "Ga2O3", "GeO2",
    "As2O5", "Rb2O", "SrO", "Y2O3", "ZrO2", "Nb2O5", "MoO3", "SnO2", "Sb2O5", "Cs2O", "BaO",
    "La2O3", "Ce2O3", "Pr2O3", "Nd2O3", "Sm2O3", "Eu2O3", "Gd2O3", "Tb2O3", "Dy2O3", "Ho2O3",
    "Er2O3", "Tm2O3", "Yb2O3", "Lu2O3", "HfO2", "Ta2O5", "WO3", "PbO", "Bi2O3", "ThO2", "UO2",
    "Fe2O3",
)  # fmt: skip
"""Oxides by which rock analyses are reported: common practice."""


@pytest.mark.parametrize("oxide", REPORTED)
def test_an_oxide_is_a_hundred_per_cent_of_itself(oxide):
    assert oxide_wt_pct(oxide) == pytest.approx({oxide: 100.0})
    assert molar_mass(oxide) == pytest.approx(float(Composition(oxide).weight), rel=1e-9)


def test_ferrous_oxide_too_is_a_hundred_per_cent_of_itself():
    assert oxide_wt_pct("FeO", "FeO") == pytest.approx({"FeO": 100.0})
    assert oxide_wt_pct("FeO")["Fe2O3"] == pytest.approx(100.0 * FE2O3_PER_FEO, rel=1e-5)
    assert oxide_wt_pct("Fe")["Fe2O3"] == pytest.approx(100.0 * FE2O3_PER_FE, rel=1e-5)
    fe, o = (float(Element(s).atomic_mass) for s in ("Fe", "O"))
    assert pytest.approx((2 * fe + 3 * o) / (2 * fe), rel=1e-5) == FE2O3_PER_FE
    assert pytest.approx((2 * fe + 3 * o) / (2 * fe + 2 * o), rel=1e-5) == FE2O3_PER_FEO


def test_iron_in_two_states_may_be_given_within_the_rounding_of_a_formula():
    assert "FeO" in oxide_wt_pct("Fe3O4", {"Fe2+": 1.001, "Fe3+": 2.0})
    with pytest.raises(InputError, match="3 atoms of iron but"):
        oxide_wt_pct("Fe3O4", {"Fe2+": 1.0, "Fe3+": 2.1})
    with pytest.raises(InputError, match="cannot take iron"):
        oxide_wt_pct("Fe3O4", {"Fe4+": 3.0})
    with pytest.raises(InputError, match="but 3 were given"):
        oxide_wt_pct("Fe3O4", {"Fe2+": -1.0, "Fe3+": 4.0})
    only = oxide_wt_pct("Fe3O4", {"Fe3+": 3.0})
    assert "FeO" not in only
    assert only["Fe2O3"] == pytest.approx(oxide_wt_pct("Fe3O4")["Fe2O3"])
    ferrous = oxide_wt_pct("FeCO3", {"Fe2+": 1.0})
    assert set(ferrous) == {"FeO", "CO2"}
    assert oxide_wt_pct("Fe3O4", {"Fe2+": 1.0, "Fe3+": 2.0})["FeO"] == pytest.approx(
        31.03, abs=0.01
    )


def test_fluorine_and_chlorine_stand_for_half_as_many_oxygens():
    """Sellaite MgF2 as MgO + 2 F - O; sylvite KCl as K2O/2 + Cl - O/2."""
    for formula, halogen, oxide in (("MgF2", "F", "MgO"), ("KCl", "Cl", "K2O")):
        shares = oxide_wt_pct(formula)
        whole = float(Composition(formula).weight)
        oxygen = float(Element("O").atomic_mass)
        replaced = 100.0 * Composition(formula)[halogen] / 2.0 * oxygen / whole
        assert shares["less O"] == pytest.approx(-replaced)
        assert shares[halogen] == pytest.approx(element_wt_pct(formula)[halogen])
        assert shares[oxide] + shares[halogen] - replaced == pytest.approx(100.0)


@pytest.mark.parametrize(
    ("formula", "says"),
    [
        ("  ", "is empty or too long"), ("SiO2" * 51, "is empty or too long"),
        ("CaSO4·", "empty part beside a dot"), ("CaXx2", "no mineral here is made of"),
        ("(SiO2", "brackets that do not match"), ("SiO2)", "brackets that do not match"),
        ("(SiO2]", "brackets that do not match"), ("Si0O2", "amount of zero"),
        ("(2SiO2)", "number after an opening bracket"), ("siO2", "cannot be read"),
        ("FeNi", "has no oxygen, sulphur, fluorine or chlorine"),
        ("OF2", "has no metal or silicon"), ("O2", "has no metal or silicon"),
    ],
)  # fmt: skip
def test_a_refusal_says_what_is_wrong(formula, says):
    with pytest.raises(InputError, match=says):
        oxide_wt_pct(formula)


def test_long_formulas_are_shown_cut_and_those_of_two_hundred_signs_are_read():
    long = "SiO2" * 50
    assert oxide_wt_pct(long) == pytest.approx({"SiO2": 100.0})
    with pytest.raises(InputError) as caught:
        oxide_wt_pct("q" * 120)
    assert ("'" + "q" * 56 + "...") in str(caught.value)
    with pytest.raises(InputError) as caught:
        oxide_wt_pct("q" * 58)
    assert "q" * 58 in str(caught.value)


@pytest.mark.parametrize(
    ("written", "plain"),
    [
        ("K2O.Al2O3.6SiO2", "K2Al2Si6O16"), ("MgO.SiO2", "MgSiO3"), ("Fe", "Fe"),
        ("Na2O∙Al2O3⋅2SiO2", "NaAlSiO4"), ("[Mg]2{SiO4}", "Mg2SiO4"), ("Mg.5Ca.5CO3", "MgCaC2O6"),
        ("Ca0.5Mg0.5CO3", "CaMg(CO3)2"), ("CaCO3.MgCO3", "CaMg(CO3)2"),
        ("Al2O3.SiO2", "Al2SiO5"), ("Fe1.5O2", "Fe3O4"), ("2.5SiO2", None),
    ],
)  # fmt: skip
def test_dots_and_fractions_are_read_as_written(written, plain):
    if plain is None or written == "CaCO3.MgCO3":
        with pytest.raises(InputError):
            element_wt_pct(written)
    else:
        assert element_wt_pct(written) == pytest.approx(element_wt_pct(plain))


def test_atoms_of_a_hydrate_are_multiplied():
    assert atoms_of("CuSO4·5H2O") == pytest.approx({"Cu": 1.0, "S": 1.0, "O": 9.0, "H": 10.0})
    assert atoms_of("CuSO4*5.5H2O")["H"] == pytest.approx(11.0)


def test_metals_and_sulphides_are_told_by_their_elements():
    assert oxide_wt_pct("FeS2") == pytest.approx({"Fe2O3": 66.55, "S": 53.45}, abs=0.01)
    assert oxide_wt_pct("C") == pytest.approx({"C": 100.0})
    assert set(oxide_wt_pct("CaSO4")) == {"CaO", "SO3"}


# --- oxide rows -----------------------------------------------------------------------------


def test_ignition_takes_water_carbon_dioxide_and_fluorine_of_a_mica_not_of_fluorite():
    """Figures by hand from the formulae; which anions stay is common practice, no source."""
    calcite = oxide_row("CaCO3")
    assert calcite[COLUMN["LOI"]] == pytest.approx(43.97, abs=0.01)
    assert calcite[COLUMN["other"]] == 0.0
    mica = oxide_row("KMg3AlSi3O10F2")
    fluorine = 100.0 * (2 * 18.998 - 15.999) / molar_mass("KMg3AlSi3O10F2")
    assert mica[COLUMN["LOI"]] == pytest.approx(fluorine, abs=0.01)
    assert mica[COLUMN["other"]] == 0.0
    fluorite = oxide_row("CaF2")
    assert fluorite[COLUMN["LOI"]] == 0.0
    assert fluorite[COLUMN["other"]] == pytest.approx(100.0 - fluorite[COLUMN["CaO"]])
    cryolite = oxide_row("Na3AlF6")  # 44.3 % Na2O
    assert cryolite[COLUMN["LOI"]] == 0.0
    sylvite = oxide_row("KCl")
    assert sylvite[COLUMN["LOI"]] == 0.0
    # 20 % of lime and soda is the border: an apatite is above it.
    assert oxide_row("Ca5P3O12F")[COLUMN["LOI"]] == 0.0


@pytest.mark.parametrize(("salt", "oxide"), [("CaF2", "CaO"), ("NaF", "Na2O")])
def test_fluorine_stays_with_lime_and_soda_above_a_fifth(salt, oxide):
    """Silica is added until the salt's own oxide is 19.5 or 20.5 % of the whole."""
    share = oxide_wt_pct(salt)[oxide] / 100.0
    for percent, stays in ((19.5, False), (20.5, True)):
        silica = molar_mass(salt) * (100.0 * share / percent - 1.0) / molar_mass("SiO2")
        row = oxide_row(f"{salt}(SiO2){silica:.6f}")
        assert row[COLUMN[oxide]] == pytest.approx(percent, abs=1e-3)
        assert (row[COLUMN["LOI"]] == 0.0) == stays
        assert (row[COLUMN["other"]] == 0.0) != stays


def test_what_has_no_column_is_other():
    barite = oxide_row("BaSO4")
    assert barite[COLUMN["other"]] == pytest.approx(100.0)
    zincite = oxide_row("ZnCO3")
    assert zincite[COLUMN["other"]] == pytest.approx(64.90, abs=0.02)
    assert zincite[COLUMN["LOI"]] == pytest.approx(35.10, abs=0.02)


def test_metals_gain_and_graphite_burns_away():
    iron = oxide_row("Fe")
    assert iron[COLUMN["LOI"]] == pytest.approx(100.0 - 142.97, abs=0.01)
    assert oxide_row("C")[COLUMN["LOI"]] == pytest.approx(100.0)
    sphalerite = oxide_row("ZnS")
    assert sphalerite[COLUMN["LOI"]] == pytest.approx(100.0 - 83.51, abs=0.03)
    assert sphalerite[COLUMN["other"]] == pytest.approx(83.51, abs=0.03)


def test_half_of_the_iron_ferrous_takes_up_half_the_oxygen():
    none, half, whole = (oxide_row("Fe2SiO4", share)[COLUMN["LOI"]] for share in (0.0, 0.5, 1.0))
    # Fayalite holds 70.51 % FeO (webmineral), which takes up 0.1114 of itself.
    assert whole == pytest.approx(-0.1113 * 70.51, abs=0.01)
    assert half - none == pytest.approx(0.5 * (whole - none))


def test_a_row_by_hand_closes_with_what_is_other():
    row = row_of({"SiO2": 60.0, "ZnO": 5.0, "LOI": 2.0})
    assert row[COLUMN["SiO2"]] == 60.0
    assert row[COLUMN["LOI"]] == 2.0
    assert row[COLUMN["other"]] == pytest.approx(38.0)
    assert row.sum() == pytest.approx(100.0)


# --- the mixing line of iron ----------------------------------------------------------------

OUTSIDE = {
    "F", "Cl", "S", "Zn", "Nb", "Ta", "W", "Sn", "Ce", "La", "Nd", "Th", "Ba", "Sr", "B", "Li",
    "Be", "Cu", "Pb", "As", "Ni", "Co", "V", "Y",
}  # fmt: skip
APART = ("anatase", "pyrolusite", "rutile")
"""Titania whose iron is listed without its state, and an oxide that gives off oxygen."""
WHOLE = [
    name for name, record in sorted(minerals().items())
    if name not in APART
    and "O" in (atoms := atoms_of(record.formula))
    and not OUTSIDE & set(atoms)
]  # fmt: skip


@pytest.mark.parametrize("name", WHOLE)
def test_nothing_is_left_over_anywhere_on_the_line_of_iron(name):
    """Oxides, water and the oxygen that ferrous iron takes up are all of a mineral made of them:
    true only where the charges of both ends cancel."""
    record = minerals()[name]
    low, high = iron_line(name, record.formula, dict(record.ions), 0.0, 70.0)
    for end in (low, high):
        # Formulas are written to two or three figures.
        assert end.oxides_wt_pct[COLUMN["other"]] == pytest.approx(0.0, abs=0.12)


@pytest.mark.parametrize("name", WHOLE)
def test_iron_ions_are_never_more_than_the_iron(name):
    record = minerals()[name]
    for end in iron_line(name, record.formula, dict(record.ions), 0.0, 70.0):
        fe = FE2O3_PER_FE * end.iron_wt_pct
        assert end.oxides_wt_pct[COLUMN["Fe2O3"]] == pytest.approx(fe, rel=1e-4, abs=1e-9)
        assert end.ions_wt_pct[0] + end.ions_wt_pct[1] <= end.iron_wt_pct * (1.0 + 1e-9) + 1e-9


def test_a_manganese_partner_brings_its_ion():
    """Half of almandine is spessartine, 33.29 % Mn (webmineral), half as much here."""
    record = minerals()["spessartine"]
    low, high = iron_line("spessartine", record.formula, dict(record.ions), 0.0, 40.0)
    pure = state_of("Mn3Al2Si3O12", {"Mn2+": 3.0})
    assert pure.ions_wt_pct[2] == pytest.approx(33.29, abs=0.02)
    for end in (low, high):
        whole = end.oxides_wt_pct[COLUMN["MnO"]] * 54.938 / 70.937
        assert end.ions_wt_pct[2] == pytest.approx(whole, rel=1e-3)


def test_a_line_ends_where_an_oxide_is_used_up_and_the_asked_iron_is_met_before():
    formula, ions = "KMg1.5Fe1.5AlSi3O10(OH)2", {"Fe2+": 1.5}
    low, high = iron_line("x", formula, ions, 0.0, 60.0)
    assert low.iron_wt_pct == pytest.approx(0.0, abs=1e-9)
    annite = state_of("KFe3AlSi3O10(OH)2", {"Fe2+": 3.0})
    assert high.iron_wt_pct == pytest.approx(annite.iron_wt_pct, abs=1e-5)
    assert high.oxides_wt_pct[COLUMN["MgO"]] == pytest.approx(0.0, abs=1e-9)
    near = iron_line("x", formula, ions, 10.0, 20.0)
    assert [state.iron_wt_pct for state in near] == pytest.approx([10.0, 20.0])


def test_iron_that_a_crystal_does_not_hold_is_hematite_and_a_sulphide_is_diluted():
    low, high = iron_line("x", "SiO2", {}, 0.0, 3.0)
    assert low.oxides_wt_pct[COLUMN["SiO2"]] == pytest.approx(100.0)
    assert high.oxides_wt_pct[COLUMN["Fe2O3"]] == pytest.approx(3.0 * FE2O3_PER_FE, rel=1e-4)
    assert high.ions_wt_pct == pytest.approx([0.0, 3.0, 0.0])
    low, high = iron_line("x", "FeS2", {}, 20.0, 46.55)
    share = 20.0 / high.iron_wt_pct
    assert low.oxides_wt_pct[COLUMN["other"]] == pytest.approx(100.0 * (1.0 - share), rel=1e-3)
    assert low.oxides_wt_pct[COLUMN["LOI"]] == pytest.approx(
        share * high.oxides_wt_pct[COLUMN["LOI"]], rel=1e-3
    )


def test_iron_of_pyrrhotite_is_never_more_than_all_of_it():
    record = minerals()["pyrrhotite"]
    low, high = iron_line("pyrrhotite", record.formula, dict(record.ions), 60.0, 63.52)
    for end in (low, high):
        assert end.ions_wt_pct.sum() == pytest.approx(end.iron_wt_pct)
        assert end.ions_wt_pct.min() >= -1e-9
    # Troilite FeS: 63.53 % iron (webmineral), all ferrous.
    assert high.iron_wt_pct == pytest.approx(63.52)
    step = (high.ions_wt_pct - low.ions_wt_pct) / (high.iron_wt_pct - low.iron_wt_pct)
    here = state_of(record.formula, dict(record.ions))
    per_iron = (63.53 - here.ions_wt_pct[0]) / (63.53 - here.iron_wt_pct)
    assert step[0] == pytest.approx(per_iron, rel=0.01)


def test_a_mixture_by_mass_is_a_mixture_of_every_figure():
    a, b = state_of("FeO(OH)", {"Fe3+": 1.0}), state_of("Fe3O4", {"Fe2+": 1.0, "Fe3+": 2.0})
    third = mixed(a, b, 1.0 / 3.0)
    assert third.iron_wt_pct == pytest.approx((2.0 * a.iron_wt_pct + b.iron_wt_pct) / 3.0)
    assert third.ions_wt_pct == pytest.approx((2.0 * a.ions_wt_pct + b.ions_wt_pct) / 3.0)
    assert third.oxides_wt_pct == pytest.approx((2.0 * a.oxides_wt_pct + b.oxides_wt_pct) / 3.0)


# --- norms of mixtures ----------------------------------------------------------------------

FORMULA = {
    "Q": "SiO2", "Or": "KAlSi3O8", "Ab": "NaAlSi3O8", "An": "CaAl2Si2O8", "C": "Al2O3",
    "Hy": "MgSiO3", "Mt": "Fe3O4", "Il": "FeTiO3", "Ap": "Ca10P6O25", "Hm": "Fe2O3", "Ru": "TiO2",
}  # fmt: skip


def mixture(parts, formulas=FORMULA):
    """Oxides of a mixture of minerals, iron in its two states."""
    whole: dict[str, float] = {}
    for name, amount in parts.items():
        formula = formulas[name]
        iron = {"Mt": {"Fe2+": 1, "Fe3+": 2}, "Il": "FeO", "Fs": "FeO"}.get(name, "Fe2O3")
        for oxide, share in oxide_wt_pct(formula, iron).items():
            whole[oxide] = whole.get(oxide, 0.0) + amount * share / 100.0
    return whole


@pytest.mark.parametrize(
    "parts",
    [
        {"Q": 30.0, "Or": 25.0, "Ab": 28.0, "An": 7.0, "C": 1.0, "Hy": 4.0, "Mt": 2.0, "Il": 2.0,
         "Ap": 1.0},
        {"Q": 40.0, "Or": 20.0, "Ab": 30.0, "An": 4.0, "C": 1.0, "Hy": 1.0, "Mt": 1.0, "Hm": 2.0,
         "Ap": 1.0},
        {"Q": 50.0, "Or": 40.0, "C": 2.0, "Il": 3.0, "Ru": 4.0, "Ap": 1.0},
        {"Q": 20.0, "Or": 30.0, "Ab": 30.0, "An": 20.0},
    ],
)  # fmt: skip
def test_the_norm_of_a_mixture_is_the_mixture(parts):
    norm = cipw_norm(mixture(parts))
    for name, amount in norm.items():
        assert amount == pytest.approx(parts.get(name, 0.0), abs=2e-3), name
    assert set(parts) <= set(norm)


def test_ferrous_hypersthene_and_manganese_are_weighed_by_their_own_mass():
    formulas = FORMULA | {"Fs": "FeSiO3", "Rh": "MnSiO3"}
    norm = cipw_norm(mixture({"Q": 60.0, "Fs": 20.0, "Rh": 10.0, "Hy": 10.0}, formulas))
    assert norm["Hy"] == pytest.approx(40.0, abs=1e-3)
    assert norm["Q"] == pytest.approx(60.0, abs=1e-3)
    rhodonite = cipw_norm(mixture({"Q": 60.0, "Rh": 40.0}, formulas))
    assert rhodonite["Hy"] == pytest.approx(40.0, abs=1e-3)


def test_phosphate_takes_all_lime_where_lime_is_short():
    oxides = mixture({"Q": 90.0, "Ap": 5.0}) | {"P2O5": 5.0}
    norm = cipw_norm(oxides)
    assert norm["Ap"] == pytest.approx(5.0, abs=1e-3)
    assert norm["An"] == pytest.approx(0.0, abs=1e-9)


def test_a_rock_short_of_alumina_has_no_anorthite_and_negative_corundum():
    norm = cipw_norm(mixture({"Q": 60.0, "Or": 40.0}) | {"Al2O3": 5.0, "CaO": 3.0})
    assert norm["An"] == 0.0
    assert norm["C"] < 0.0
    assert cipw_norm({"SiO2": 50.0, "MgO": 50.0})["Q"] < 0.0


CERAMIC = {
    "orthoclase": "KAlSi3O8", "albite": "NaAlSi3O8", "anorthite": "CaAl2Si2O8",
    "kaolinite": "Al2Si2O5(OH)4", "quartz": "SiO2", "muscovite": "KAl3Si3O10(OH)2",
    "nepheline": "NaAlSiO4", "spare Al2O3": "Al2O3",
}  # fmt: skip


@pytest.mark.parametrize("potash", ["orthoclase", "muscovite"])
def test_a_rational_analysis_finds_the_minerals_that_were_mixed(potash):
    parts = {potash: 25.0, "albite": 20.0, "anorthite": 5.0, "kaolinite": 18.0, "quartz": 32.0}
    found = rational_analysis(mixture(parts, CERAMIC), clay=potash == "muscovite")
    assert found == pytest.approx(parts, abs=1e-6)


@pytest.mark.parametrize(("albite", "nepheline"), [(45.0, 25.0), (70.0, 0.0), (0.0, 70.0)])
def test_a_nepheline_rock_is_split_as_it_was_mixed(albite, nepheline):
    parts = {"orthoclase": 24.0, "albite": albite, "anorthite": 4.0, "nepheline": nepheline,
             "spare Al2O3": 2.0}  # fmt: skip
    found = nepheline_split(mixture(parts, CERAMIC))
    assert found == pytest.approx(parts, abs=1e-6)


def test_silica_beyond_albite_or_below_nepheline_does_not_make_either_negative():
    rich = nepheline_split(mixture({"albite": 50.0, "quartz": 50.0}, CERAMIC))
    assert (rich["albite"], rich["nepheline"]) == (
        pytest.approx(50.0),
        pytest.approx(0.0, abs=1e-9),
    )
    poor = nepheline_split({"Na2O": 30.0, "Al2O3": 50.0, "SiO2": 5.0})
    assert poor["albite"] == 0.0
    assert poor["nepheline"] > 0.0
    assert (poor["orthoclase"], poor["anorthite"]) == (0.0, 0.0)
    assert rational_analysis({"SiO2": 100.0})["quartz"] == pytest.approx(100.0)


def test_a_factor_times_its_oxide_is_the_whole_mineral():
    for formula, oxide in (("KAlSi3O8", "K2O"), ("CaCO3", "CaO"), ("ZrSiO4", "ZrO2")):
        assert oxide_factor(formula, oxide) * oxide_wt_pct(formula)[oxide] == pytest.approx(100.0)


def test_every_column_is_an_oxide_of_its_own():
    assert [name for name, _ in sorted(COLUMN.items(), key=lambda item: item[1])] == list(OXIDES)
    assert len(set(COLUMN.values())) == len(OXIDES)
    assert np.all(row_of({}) == np.eye(len(OXIDES))[-1] * 100.0)
