"""Tables of guesses keep what a guess promises: round figures, sound orders, neutral formulae."""

from __future__ import annotations

from math import floor, log10

import numpy as np
import pytest

from feedchar.chemistry import assumed, composition_spread, iron_line
from feedchar.chemistry.assumed import assumed_minerals
from feedchar.chemistry.composition_spread import mineral_spread
from feedchar.chemistry.formula import atoms_of
from feedchar.chemistry.iron_line import iron_line as line_of
from feedchar.chemistry.iron_line import state_of
from feedchar.chemistry.mineralogy import OXIDES
from feedchar.chemistry.oxides import COLUMN, oxide_row
from feedchar.sample.records import OxideValue, Sample
from feedchar.tables.minerals import minerals

ROUND = (1.0, 1.2, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 7.0, 8.0, 9.0)


def is_round(value):
    """One digit, or a step between two of them: no guess pretends to more."""
    digits = value / 10.0 ** floor(log10(value) + 1e-9)
    return any(digits == pytest.approx(step, rel=1e-9) for step in ROUND)


ROCKS = ("granite", "gneiss or schist", "pegmatite", "syenite", "sand")


@pytest.mark.parametrize("rock", ROCKS)
def test_amounts_that_are_assumed_are_round_and_leave_room_for_what_is_not_named(rock):
    found = assumed_minerals(Sample("x", rock=rock))
    for name, amount in found.items():
        whole = amount.mean > 20.0 and amount.mean == round(amount.mean)
        assert whole or is_round(amount.mean), name
        assert (amount.kind, amount.sd) == ("assumed", amount.mean), name
        assert amount.text == f"{name} assumed"
    assert 95.0 < sum(a.mean for a in found.values()) < 100.0
    assert set(found) <= set(minerals())


def test_a_syenite_without_nepheline_holds_as_much_quartz():
    """At more than 63.5 % silica; what else it holds stays."""
    for silica, name in ((63.5, "nepheline"), (63.6, "quartz"), (69.0, "quartz")):
        sample = Sample("x", rock="syenite", assay={"SiO2": OxideValue(silica, 0.1)})
        found = assumed_minerals(sample)
        assert found[name].mean == 22.0
        assert len({"nepheline", "quartz"} & set(found)) == 1
    granite = Sample("x", rock="granite", assay={"SiO2": OxideValue(70.0, 0.1)})
    assert assumed_minerals(granite)["quartz"].mean == 30.0


def extras():
    """What a formula leaves out, by mineral and oxide, in wt %."""
    for name in sorted(minerals()):
        spread = mineral_spread(name, "", np.zeros(len(OXIDES)))
        for oxide in OXIDES:
            if spread[COLUMN[oxide]] > 0.0:
                yield name, oxide, float(spread[COLUMN[oxide]])


def test_what_a_formula_leaves_out_is_guessed_to_one_digit():
    found = list(extras())
    assert len(found) > 50
    assert {name for name, _, _ in found} == set(composition_spread._EXTRA)
    for name, oxide, sd in found:
        assert is_round(sd), (name, oxide)
        assert oxide != "Fe2O3", name  # iron has its own line


def test_what_a_formula_leaves_out_is_less_than_the_mineral_can_hold():
    """Two sd of any oxide stay below a fifth of the mineral; the widest is lime of mixed garnet."""
    found = {(name, oxide): sd for name, oxide, sd in extras()}
    assert max(found, key=lambda pair: found[pair]) == ("mixed garnet", "CaO")
    assert max(found.values()) <= 10.0 / 2.0
    # Plagioclase trades soda and silica for lime and alumina along one line, so all move together.
    for name in ("albite", "oligoclase", "anorthite"):
        lime, soda = found[name, "CaO"], found[name, "Na2O"]
        assert 0.4 * lime < soda < lime  # half a mole of soda for one of lime: 0.55 by mass
        assert found[name, "Al2O3"] == pytest.approx(0.9 * lime, rel=0.3)  # half a mole: 0.91
        assert found[name, "SiO2"] == pytest.approx(1.07 * lime, rel=0.3)  # one mole


# --- partners on the line of iron -----------------------------------------------------------

CHARGE = {
    "H": 1, "Li": 1, "Na": 1, "K": 1, "Mg": 2, "Ca": 2, "Mn": 2, "Zn": 2, "Al": 3, "B": 3, "Ce": 3,
    "Si": 4, "Ti": 4, "C": 4, "Sn": 4, "P": 5, "Nb": 5, "Ta": 5, "W": 6, "O": -2, "F": -1, "S": -2,
}  # fmt: skip


@pytest.mark.parametrize("name", sorted(iron_line._PARTNERS))
def test_a_partner_is_neutral_with_its_share_of_ferrous_iron(name):
    atoms = atoms_of(iron_line._PARTNERS[name])
    partner = iron_line._partner(name, minerals()[name].formula, dict(minerals()[name].ions))
    fe2, fe3, mn = partner.ions_wt_pct
    assert fe2 + fe3 == pytest.approx(partner.iron_wt_pct)
    assert (mn > 0.0) == ("Mn" in atoms)
    others = sum(CHARGE[symbol] * n for symbol, n in atoms.items() if symbol != "Fe")
    iron = atoms.get("Fe", 0.0)
    share = fe2 / (fe2 + fe3) if iron else 0.0
    assert others + iron * (2.0 * share + 3.0 * (1.0 - share)) == pytest.approx(0.0, abs=1e-9)


def test_ferrous_shares_are_of_partners_that_hold_iron():
    assert set(iron_line._FERROUS) <= set(iron_line._PARTNERS)
    for name in iron_line._FERROUS:
        assert "Fe" in atoms_of(iron_line._PARTNERS[name])


@pytest.mark.parametrize(
    ("formula", "ions", "without"),
    [
        ("KFe3AlSi3O10(OH)2", {"Fe2+": 3.0}, "KMg3AlSi3O10(OH)2"),  # annite to phlogopite
        ("Fe3Al2Si3O12", {"Fe2+": 3.0}, "Mg3Al2Si3O12"),  # almandine to pyrope
        ("Ca2FeAl2Si3O12(OH)", {"Fe3+": 1.0}, "Ca2Al3Si3O12(OH)"),  # epidote to clinozoisite
        ("Ca3Fe2Si3O12", {"Fe3+": 2.0}, "Ca3Al2Si3O12"),  # andradite to grossular
        ("MgFeSi2O6", {"Fe2+": 1.0}, "Mg2Si2O6"),  # pyroxene to enstatite
        ("Mg2Fe3Al2Si3O14", {"Fe2+": 2.0, "Fe3+": 1.0}, "Mg4Al3Si3O14"),
    ],
)
def test_atom_for_atom_a_mineral_without_iron_is_its_sister(formula, ions, without):
    """Magnesium for Fe2+ and aluminium for Fe3+: names of mineralogy for the two ends."""
    low, _ = line_of("no line of its own", formula, ions, 0.0, 5.0)
    assert low.iron_wt_pct == pytest.approx(0.0, abs=1e-6)
    assert low.oxides_wt_pct == pytest.approx(oxide_row(without), abs=1e-5)
    assert low.ions_wt_pct == pytest.approx(np.zeros(3), abs=1e-6)


def test_manganese_stays_where_iron_leaves():
    low, high = line_of(
        "no line of its own", "Fe2MnAl2Si3O12", {"Fe2+": 2.0, "Mn2+": 1.0}, 0.0, 9.0
    )
    assert low.ions_wt_pct[2] == pytest.approx(100.0 * 54.938 / 434.12, rel=2e-3)  # Mg2MnAl2Si3O12
    assert 0.0 < high.ions_wt_pct[2] < low.ions_wt_pct[2]


def test_iron_without_a_moment_and_minerals_without_iron_show_no_ions():
    pyrite = state_of("FeS2", {})
    assert pyrite.iron_wt_pct == pytest.approx(46.55, abs=0.01)
    assert not pyrite.ions_wt_pct.any()
    quartz = state_of("SiO2", {"Fe3+": 1.0})
    assert quartz.iron_wt_pct == 0.0
    assert not quartz.ions_wt_pct.any()
    rhodonite = state_of("MnSiO3", {"Mn2+": 1.0})
    assert rhodonite.ions_wt_pct == pytest.approx([0.0, 0.0, 100.0 * 54.938 / 131.02], rel=1e-3)
    magnetite = state_of("Fe3O4", {"Fe2+": 1.0, "Fe3+": 2.0})
    assert magnetite.ions_wt_pct == pytest.approx(np.array([1.0, 2.0, 0.0]) * 72.36 / 3.0, rel=1e-3)


def test_lists_of_rocks_hold_what_names_the_rock():
    held = {rock: assumed_minerals(Sample("x", rock=rock)) for rock in ROCKS}
    assert held["granite"] == held["gneiss or schist"]
    assert max(held["sand"], key=lambda n: held["sand"][n].mean) == "quartz"
    assert "nepheline" in held["syenite"]
    assert "schorl" in held["pegmatite"]
    assert assumed._LISTS.keys() == set(ROCKS)
