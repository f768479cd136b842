"""The composition of a mineral moves with its iron along a line that holds its formula."""

from __future__ import annotations

import numpy as np
import pytest

from feedchar.chemistry.iron_line import iron_line, mixed, state_of
from feedchar.chemistry.mineralogy import OXIDES
from feedchar.chemistry.oxides import oxide_row
from feedchar.chemistry.phases import mineral_ingredient
from feedchar.tables.minerals import minerals

SOLID = [i for i, name in enumerate(OXIDES) if name not in ("LOI", "other")]


@pytest.mark.parametrize("name", sorted(minerals()))
def test_every_mineral_has_a_line_of_real_compositions(name):
    model = mineral_ingredient(minerals()[name]).model
    for row in (model.oxides_low_wt_pct, model.oxides_high_wt_pct):
        assert row.sum() == pytest.approx(100.0, abs=1e-9)
        assert row[SOLID].min() >= -1e-9
    assert model.iron_low_wt_pct <= model.iron_typical_wt_pct <= model.iron_high_wt_pct


@pytest.mark.parametrize("name", sorted(minerals()))
def test_the_line_passes_through_the_formula(name):
    record = minerals()[name]
    here = state_of(record.formula, dict(record.ions))
    low, high = iron_line(
        name, record.formula, dict(record.ions), here.iron_wt_pct - 1.0, here.iron_wt_pct + 1.0
    )
    span = high.iron_wt_pct - low.iron_wt_pct
    share = (here.iron_wt_pct - low.iron_wt_pct) / span if span > 0 else 0.0
    again = mixed(low, high, share)
    assert again.oxides_wt_pct == pytest.approx(here.oxides_wt_pct, abs=1e-9)
    assert again.ions_wt_pct == pytest.approx(here.ions_wt_pct, abs=1e-9)


def test_exchanged_atoms_are_a_mixture_by_mass_exactly():
    # Biotite with another share of iron, computed from its own formula, lies on the line.
    low, high = iron_line("x", "KMg1.5Fe1.5AlSi3O10(OH)2", {"Fe2+": 1.5}, 5.0, 30.0)
    other = state_of("KMg2.2Fe0.8AlSi3O10(OH)2", {"Fe2+": 0.8})
    share = (other.iron_wt_pct - low.iron_wt_pct) / (high.iron_wt_pct - low.iron_wt_pct)
    assert mixed(low, high, share).oxides_wt_pct == pytest.approx(other.oxides_wt_pct, abs=1e-5)


def test_weathered_ilmenite_gains_titanium_as_it_loses_iron():
    low, high = iron_line("ilmenite", *_of("ilmenite"), 28.5, 36.0)
    titania = OXIDES.index("TiO2")
    assert low.oxides_wt_pct[titania] > high.oxides_wt_pct[titania]
    pseudorutile = oxide_row("Fe2Ti3O9")[titania]
    assert low.oxides_wt_pct[titania] == pytest.approx(pseudorutile, abs=1.0)


def _of(name):
    record = minerals()[name]
    return record.formula, dict(record.ions)


def test_ignition_oxidises_ferrous_iron_so_magnetite_gains_weight():
    magnetite = state_of("Fe3O4", {"Fe2+": 1.0, "Fe3+": 2.0})
    loss = magnetite.oxides_wt_pct[OXIDES.index("LOI")]
    assert loss == pytest.approx(-0.1114 * 31.03, abs=0.01)
    siderite = state_of("FeCO3", {"Fe2+": 1.0})
    assert siderite.oxides_wt_pct[OXIDES.index("LOI")] == pytest.approx(
        37.99 - 0.1114 * 62.01, abs=0.02
    )


def test_sulphides_burn_and_sulphates_do_not():
    pyrite = oxide_row("FeS2")
    assert pyrite[OXIDES.index("LOI")] == pytest.approx(100.0 - 66.55, abs=0.01)
    gypsum = oxide_row("CaSO4(H2O)2")
    assert gypsum[OXIDES.index("LOI")] == pytest.approx(20.93, abs=0.01)
    assert np.isclose(gypsum[OXIDES.index("other")], 46.50, atol=0.01)
