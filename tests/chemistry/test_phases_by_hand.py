"""Phases, their iron and their magnetism, from figures given by hand."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy import stats

from feedchar.chemistry.bulk_magnetism import apparent_moment_susceptibility, bulk_row
from feedchar.chemistry.composition_spread import mineral_spread, own_spread
from feedchar.chemistry.curie import (
    DIAMAGNETISM,
    FE2_SLOPE,
    FE3_SLOPE,
    MN2_SLOPE,
    lattice_susceptibility,
    law_susceptibility,
)
from feedchar.chemistry.ingredients import feed_of
from feedchar.chemistry.iron_prior import Z95, IronPrior, ends_wanted
from feedchar.chemistry.mineral_trials import standard_scores
from feedchar.chemistry.mineralogy import OXIDES
from feedchar.chemistry.own_phases import own_phase_ingredient, unidentified_ingredient
from feedchar.chemistry.oxides import COLUMN
from feedchar.chemistry.phases import (
    Measured,
    law_holds,
    mineral_ingredient,
    susceptibility_at,
    unseen_ingredient,
)
from feedchar.constants import FE2O3_PER_FE
from feedchar.sample.records import BulkSusceptibility, MineralAmount, Phase, Sample
from feedchar.tables.minerals import minerals
from feedchar.tables.priors import SETTING_OF_ROCK, iron_priors

FE, SI = COLUMN["Fe2O3"], COLUMN["SiO2"]
ABSENT = ("Cr2O3", "ZrO2", "other")
SLAG = Phase("slag", None, None, None, None, {"SiO2": 30.0, "Fe2O3": 40.0}, {})


def of(name, rock=None, **measured):
    return mineral_ingredient(minerals()[name], rock, Measured(**measured))


# --- the law --------------------------------------------------------------------------------


def test_the_law_adds_ions_and_lattice():
    """Volume susceptibility of the lattice -14.6e-6 over the density; slopes of curie_model."""
    assert lattice_susceptibility(2650.0) == pytest.approx(-14.6e-6 / 2650.0)
    assert pytest.approx(-14.6e-6) == DIAMAGNETISM
    for place, slope in enumerate((FE2_SLOPE, FE3_SLOPE, MN2_SLOPE)):
        ions = np.zeros(3)
        ions[place] = 4.0
        found = law_susceptibility(ions, 3000.0)
        assert found == pytest.approx(4.0 * slope - 14.6e-6 / 3000.0)
    assert law_susceptibility(np.zeros(3), 3000.0) < 0.0


def test_slopes_of_the_ions_are_those_of_their_moments():
    """Curie's law at 293 K, mu0 NA mu^2 muB^2/(3 k T M): 5.12 Bohr magnetons as regressed for
    Fe2+, 5.92 for the five spins of Fe3+ and Mn2+."""
    mu0, avogadro, bohr, boltzmann = 4e-7 * np.pi, 6.02214e23, 9.2740e-24, 1.380649e-23
    for slope, moment, mass in ((FE2_SLOPE, 5.12, 55.845), (FE3_SLOPE, 5.92, 55.845),
                                (MN2_SLOPE, 5.92, 54.938)):  # fmt: skip
        molar = mu0 * avogadro * (moment * bohr) ** 2 / (3.0 * boltzmann * 293.15)
        assert slope == pytest.approx(molar / (1e-3 * mass) / 100.0, rel=0.015)


def test_the_law_is_void_for_ordered_minerals_sulphides_and_metals():
    assert [law_holds(minerals()[n]) for n in ("biotite", "quartz", "almandine")] == [True] * 3
    void = ("magnetite", "hematite", "goethite", "pyrite", "metallic iron", "chromite")
    assert not any(law_holds(minerals()[n]) for n in void)


# --- iron -----------------------------------------------------------------------------------


@pytest.mark.parametrize("points", [(8.0, 12.0, 20.0), (0.1, 0.5, 3.0)])
def test_iron_has_its_three_points_and_two_normal_halves(points):
    prior = IronPrior(*points, 0.0, 60.0)
    z = np.array([-2.0, -Z95, -0.5, 0.0, 0.7, Z95, 2.5])
    line = np.log(points) if prior.logarithmic else np.array(points)
    half = np.where(z < 0.0, line[1] - line[0], line[2] - line[1]) / stats.norm.ppf(0.95)
    expected = line[1] + half * z
    expected = np.exp(expected) if prior.logarithmic else expected
    assert prior.quantile(z) == pytest.approx(expected)
    assert prior.score(prior.quantile(z)) == pytest.approx(z, abs=1e-9)
    assert prior.logarithmic == (points[2] > 3.0 * points[0])


def test_iron_is_held_between_the_ends_of_its_line_and_scores_within_six():
    prior = IronPrior(8.0, 12.0, 20.0, 6.0, 25.0)
    assert prior.quantile(np.array([-9.0, 9.0])) == pytest.approx([6.0, 25.0])
    assert prior.score(np.array([900.0])) == 6.0
    assert IronPrior(9.0, 12.0, 20.0, 0.0, 25.0).score(np.array([0.1])) == -6.0
    assert not IronPrior(1.0, 2.0, 3.0, 0.0, 9.0).logarithmic
    assert IronPrior(1.0, 2.0, 3.1, 0.0, 9.0).logarithmic
    assert not IronPrior(0.0, 2.0, 3.1, 0.0, 9.0).logarithmic


def test_certain_iron_is_one_figure():
    prior = IronPrior(5.0, 5.0, 5.0, 5.0, 5.0)
    assert prior.certain
    assert prior.quantile(np.array([-1.0, 2.0])).tolist() == [5.0, 5.0]
    assert prior.score(np.array([5.0])) == 0.0
    assert not replace(prior, high_wt_pct=5.1).certain
    assert ends_wanted(5.0, 5.0, 5.0) == (5.0, 5.0)


def test_one_half_without_width_scores_nothing_at_its_middle():
    prior = IronPrior(72.0, 72.36, 72.36, 60.0, 72.36)
    assert prior.score(np.array([72.36])) == 0.0
    assert prior.score(np.array([72.0])) == pytest.approx(-Z95)


def test_lines_are_wanted_three_scores_wide():
    low, high = ends_wanted(8.0, 12.0, 20.0)
    assert low == pytest.approx(12.0 - 3.0 * 4.0 / Z95)
    assert high == pytest.approx(12.0 + 3.0 * 8.0 / Z95)
    assert ends_wanted(1.0, 12.0, 90.0)[1] == 100.0
    assert ends_wanted(0.0, 1.0, 2.9)[0] == 0.0


# --- tabulated minerals ---------------------------------------------------------------------


def test_measured_iron_has_three_per_cent_and_becomes_the_middle():
    found = of("biotite", iron_wt_pct=20.0).iron
    assert found.typical_wt_pct == 20.0
    assert found.low_wt_pct == pytest.approx(20.0 * (1.0 - 0.03 * Z95))
    assert found.high_wt_pct == pytest.approx(20.0 * (1.0 + 0.03 * Z95))
    assert of("biotite", "granite", iron_wt_pct=20.0).iron.source == ""
    assert of("biotite", iron_wt_pct=20.0).model.status == "measured"
    assert of("biotite").model.status == "typical"


ROCK = {setting: rock for rock, setting in SETTING_OF_ROCK.items()}
ANALYSED = [(n, s) for n, s in sorted(iron_priors()) if n in minerals() and s in ROCK]


@pytest.mark.parametrize(("name", "setting"), ANALYSED)
def test_iron_of_a_rock_has_the_5_50_and_95_per_cent_of_its_analyses(name, setting):
    """FeO of reference_tables/iron_priors.csv, 71.844 g/mol of which 55.845 are iron; an analysis
    below its detection limit, written 0, counts as a twentieth of the middle."""
    low, _, middle, _, high = (
        value * 55.845 / 71.844 for value in iron_priors()[name, setting].FeO_total_wt_pct
    )
    found = of(name, ROCK[setting]).iron
    expected = (max(low, middle / 20.0), middle, high)
    held = np.clip(expected, found.floor_wt_pct, found.ceiling_wt_pct)
    points = (found.low_wt_pct, found.typical_wt_pct, found.high_wt_pct)
    assert points == pytest.approx(tuple(held), rel=1e-3)
    assert found.source == iron_priors()[name, setting].source
    assert found.floor_wt_pct < found.typical_wt_pct  # the line goes on below the middle


def test_measured_iron_beyond_the_crystal_is_held_at_the_end_of_its_line():
    found = of("biotite", iron_wt_pct=60.0).iron
    assert found.typical_wt_pct == found.ceiling_wt_pct < 60.0
    assert found.low_wt_pct <= found.typical_wt_pct <= found.high_wt_pct


def test_the_law_at_a_measured_iron_is_that_of_the_ions_there():
    """Actinolite: Fe2+ alone, so 25.2e-9 for each per cent and the lattice."""
    model = of("actinolite", iron_wt_pct=8.0).model
    expected = 8.0 * FE2_SLOPE - 14.6e-6 / model.density_kg_m3
    assert model.susceptibility_m3_kg == pytest.approx(expected, rel=1e-6)
    assert model.susceptibility_per_iron_m3_kg == pytest.approx(FE2_SLOPE, rel=1e-6)
    assert model.susceptibility_ln_sd == pytest.approx(0.10)


def test_ilmenite_gains_by_ferrous_iron_alone_as_it_weathers():
    assert of("ilmenite").model.susceptibility_per_iron_m3_kg == FE2_SLOPE
    assert of("hematite").model.susceptibility_per_iron_m3_kg == 0.0


def test_a_preferred_value_belongs_to_its_own_iron():
    record = minerals()["biotite"]
    model = of("biotite").model
    assert model.susceptibility_m3_kg == record.susceptibility.typical
    assert model.susceptibility_iron_wt_pct == record.susceptibility.iron_wt_pct
    at = float(susceptibility_at(model, np.array([16.0]), np.zeros(1))[0])
    assert at == pytest.approx(record.susceptibility.typical)
    one = susceptibility_at(model, np.array([16.0]), np.ones(1))
    lattice = -14.6e-6 / model.density_kg_m3
    spread = np.log((float(one[0]) - lattice) / (at - lattice))
    assert spread == pytest.approx(model.susceptibility_ln_sd)


def test_ferric_minerals_are_twice_as_uncertain():
    assert of("aegirine").model.susceptibility_ln_sd == pytest.approx(0.20)
    assert of("muscovite").model.susceptibility_ln_sd == pytest.approx(0.10)


def test_where_the_law_is_void_the_range_of_measured_values_counts():
    record = minerals()["chromite"]
    row = record.susceptibility
    expected = np.log(row.high / row.low) / (2.0 * 1.6448536)
    assert of("chromite").model.susceptibility_ln_sd == pytest.approx(max(expected, 0.1), rel=1e-6)
    assert expected > 0.2


def test_martite_is_hematite_with_relics_of_magnetite():
    """Its low-field 8e-6 over the 5.77e-4 of a grain of magnetite: 1.4 % relics, 92 A m2/kg each,
    on the 0.4 of hematite."""
    model = of("martite").model
    assert model.saturation_moment_A_m2_kg == pytest.approx(0.4 + 92.0 * 8e-6 * 5201.0 / 3.0)
    assert model.susceptibility_m3_kg == pytest.approx(2.8e-7)
    assert model.order == "canted"


def test_dark_is_what_holds_more_than_five_per_cent_of_iron_and_manganese():
    dark = {name: of(name).model.is_dark for name in sorted(minerals())}
    for name in ("biotite", "ilmenite", "magnetite", "goethite", "spessartine", "almandine"):
        assert dark[name], name
    for name in ("quartz", "albite", "muscovite", "kaolinite", "calcite", "zircon"):
        assert not dark[name], name
    for name, record in minerals().items():
        model = of(name).model
        oxides = model.oxides_low_wt_pct + (model.oxides_high_wt_pct - model.oxides_low_wt_pct) * (
            model.iron_typical_wt_pct - model.iron_low_wt_pct
        ) / max(model.iron_high_wt_pct - model.iron_low_wt_pct, 1e-300)
        held = oxides[FE] + oxides[COLUMN["MnO"]]
        assert dark[name] == (held > 5.0 or record.marked_dark), name


def test_unseen_iron_is_certain_of_its_composition_and_pale():
    found = unseen_ingredient()
    assert found.iron.certain
    assert found.iron.typical_wt_pct == pytest.approx(90.0 / FE2O3_PER_FE)
    assert np.array_equal(found.spread, np.zeros(len(OXIDES)))
    assert not found.model.is_dark
    assert found.model.saturation_moment_A_m2_kg == 0.0
    drawn = susceptibility_at(found.model, np.array([10.0, 60.0]), np.zeros(2))
    assert drawn == pytest.approx([5e-7, 5e-7])  # a hydroxide's, whatever its iron
    assert found.model.oxides_low_wt_pct.sum() == pytest.approx(100.0)
    assert np.array_equal(found.model.oxides_low_wt_pct, found.model.oxides_high_wt_pct)


# --- phases of one's own --------------------------------------------------------------------


def test_a_slag_of_ones_own_has_its_iron_to_a_tenth():
    found = own_phase_ingredient(SLAG)
    iron = 40.0 / FE2O3_PER_FE
    assert found.iron.typical_wt_pct == pytest.approx(iron)
    assert found.iron.low_wt_pct == pytest.approx(iron * (1.0 - 0.1 * Z95))
    assert found.iron.high_wt_pct == pytest.approx(iron * (1.0 + 0.1 * Z95))
    given = own_phase_ingredient(replace(SLAG, oxides_sd_wt_pct={"Fe2O3": 2.0}))
    assert given.iron.high_wt_pct == pytest.approx((40.0 + 2.0 * Z95) / FE2O3_PER_FE)


def test_iron_takes_the_place_of_all_else_in_proportion():
    model = own_phase_ingredient(SLAG).model
    for end, iron in ((model.oxides_low_wt_pct, model.iron_low_wt_pct),
                      (model.oxides_high_wt_pct, model.iron_high_wt_pct)):  # fmt: skip
        assert end.sum() == pytest.approx(100.0)
        assert end[FE] == pytest.approx(iron * FE2O3_PER_FE)
        assert end[SI] == pytest.approx((100.0 - end[FE]) * 0.5)
        assert end[COLUMN["other"]] == pytest.approx((100.0 - end[FE]) * 0.5)


def test_without_a_value_of_its_own_a_phase_follows_the_ferric_law():
    model = own_phase_ingredient(SLAG).model
    iron = 40.0 / FE2O3_PER_FE
    assert model.density_kg_m3 == 2650.0
    assert model.susceptibility_m3_kg == pytest.approx(FE3_SLOPE * iron - 14.6e-6 / 2650.0)
    assert model.susceptibility_per_iron_m3_kg == pytest.approx(FE3_SLOPE)
    assert (model.role, model.order, model.is_dark) == ("removable", "none", True)
    assert (model.source, model.status) == ("curie_model", "assumed")
    glass = own_phase_ingredient(replace(SLAG, oxides_wt_pct={"SiO2": 99.5, "Fe2O3": 0.5}))
    assert glass.model.role == "host"  # 1.2e-8: below what any magnet takes
    assert not glass.model.is_dark
    five = own_phase_ingredient(replace(SLAG, oxides_wt_pct={"SiO2": 94.9, "Fe2O3": 5.1}))
    assert five.model.is_dark


def test_a_value_of_ones_own_is_taken_with_its_error():
    given = replace(SLAG, mass_susceptibility_m3_kg=4e-7, mass_susceptibility_sd_m3_kg=1e-7)
    model = own_phase_ingredient(given).model
    assert (model.susceptibility_m3_kg, model.susceptibility_per_iron_m3_kg) == (4e-7, 0.0)
    assert model.susceptibility_ln_sd == pytest.approx(0.25)
    assert (model.status, model.source) == ("measured", "user")
    plain = replace(given, mass_susceptibility_sd_m3_kg=None)
    assert own_phase_ingredient(plain).model.susceptibility_ln_sd == pytest.approx(0.05)
    beside = own_phase_ingredient(SLAG, Measured(mass_susceptibility_m3_kg=5e-7)).model
    assert (beside.susceptibility_m3_kg, beside.status) == (5e-7, "assumed")
    repelled = replace(given, mass_susceptibility_m3_kg=-4e-9, mass_susceptibility_sd_m3_kg=1e-9)
    assert own_phase_ingredient(repelled).model.susceptibility_ln_sd == pytest.approx(0.25)
    nil = replace(given, mass_susceptibility_m3_kg=0.0)
    assert own_phase_ingredient(nil).model.susceptibility_ln_sd == pytest.approx(0.05)


def test_a_phase_like_a_mineral_is_that_mineral_where_nothing_else_is_said():
    like = own_phase_ingredient(Phase("mica", "biotite", None, None, None, {}, {}))
    mineral = of("biotite")
    assert like.iron == mineral.iron
    assert np.array_equal(like.spread, mineral.spread)
    assert np.array_equal(like.model.oxides_high_wt_pct, mineral.model.oxides_high_wt_pct)
    assert (like.model.name, like.model.role, like.model.shape) == ("mica", "removable", "flake")
    assert like.model.density_kg_m3 == mineral.model.density_kg_m3
    # Its value is moved from the iron it was measured at to the typical one.
    at = susceptibility_at(mineral.model, np.array([mineral.iron.typical_wt_pct]), np.zeros(1))
    assert like.model.susceptibility_m3_kg == pytest.approx(float(at[0]))
    assert like.model.susceptibility_iron_wt_pct == mineral.iron.typical_wt_pct
    heavy = own_phase_ingredient(Phase("m", "biotite", 3300.0, None, None, {}, {})).model
    assert heavy.density_kg_m3 == 3300.0
    magnetic = own_phase_ingredient(Phase("m", "magnetite", None, None, None, {}, {})).model
    assert (magnetic.order, magnetic.saturation_moment_A_m2_kg) == ("ferrimagnetic", 92.0)


def test_oxides_not_given_are_borrowed_as_far_as_there_is_room():
    """60 % given; albite's own oxides, K2O apart, fill what is left in their proportion."""
    part = Phase("p", "albite", None, None, None, {"K2O": 55.0, "Fe2O3": 5.0}, {})
    found = own_phase_ingredient(part)
    albite = of("albite").model
    share = (albite.iron_typical_wt_pct - albite.iron_low_wt_pct) / (
        albite.iron_high_wt_pct - albite.iron_low_wt_pct
    )
    typical = albite.oxides_low_wt_pct + share * (
        albite.oxides_high_wt_pct - albite.oxides_low_wt_pct
    )
    low = found.model.oxides_low_wt_pct
    assert low[SI] / low[COLUMN["Na2O"]] == pytest.approx(typical[SI] / typical[COLUMN["Na2O"]])
    missing = sum(max(typical[COLUMN[o]], 0.0) for o in OXIDES[:-1] if o not in ("K2O", "Fe2O3"))
    scale = 40.0 / missing
    at_five = (100.0 - low[FE]) / 95.0
    assert low[SI] == pytest.approx(typical[SI] * scale * at_five, rel=1e-6)
    assert low[COLUMN["K2O"]] == pytest.approx(55.0 * at_five, rel=1e-6)
    full = Phase("p", "albite", None, None, None, {"SiO2": 95.0, "Fe2O3": 5.0}, {})
    assert own_phase_ingredient(full).model.oxides_low_wt_pct[COLUMN["Na2O"]] == 0.0
    little = Phase("p", "albite", None, None, None, {"Fe2O3": 1.0}, {})
    row = own_phase_ingredient(little).model.oxides_low_wt_pct
    assert row[COLUMN["other"]] == pytest.approx(0.0, abs=0.1)  # never more than it is itself


@pytest.mark.parametrize("given", [{"Fe2O3": 0.0}, {"SiO2": 50.0, "Fe2O3": 0.0}])
def test_a_phase_like_a_metal_does_not_gain_on_ignition_what_the_metal_would(given):
    """A metal has no oxide to lend, and its gain of oxygen is its own iron's."""
    made = own_phase_ingredient(Phase("slag", "metallic iron", None, None, None, given, {}))
    for row in (made.model.oxides_low_wt_pct, made.model.oxides_high_wt_pct, made.spread):
        assert np.all(row >= 0.0)
    assert made.model.oxides_low_wt_pct.sum() == pytest.approx(100.0)


def test_iron_measured_beside_the_amount_replaces_that_of_the_phase():
    found = own_phase_ingredient(SLAG, Measured(iron_wt_pct=10.0)).iron
    assert found.typical_wt_pct == 10.0
    assert found.high_wt_pct == pytest.approx(10.0 * (1.0 + 0.03 * Z95))
    like = Phase("mica", "biotite", None, None, None, {}, {})
    assert own_phase_ingredient(like, Measured(iron_wt_pct=10.0)).iron.typical_wt_pct == 10.0


def test_an_oxide_of_iron_or_a_metal_has_no_line():
    scale = own_phase_ingredient(replace(SLAG, oxides_wt_pct={"Fe2O3": 100.0}))
    assert scale.iron.certain
    assert scale.model.oxides_low_wt_pct[FE] == 100.0
    nearly = own_phase_ingredient(replace(SLAG, oxides_wt_pct={"Fe2O3": 90.0, "SiO2": 10.0}))
    assert not nearly.iron.certain
    assert nearly.iron.ceiling_wt_pct <= 69.9


def test_what_nobody_identified_is_log_normal_with_the_rest_of_a_fine_sediment():
    found = unidentified_ingredient()
    assert found.model.oxides_low_wt_pct.sum() == pytest.approx(100.0)
    assert found.iron.logarithmic
    assert found.spread[FE] == 0.0
    assert found.spread[SI] == pytest.approx(0.3 * 62.0, rel=0.02)
    own = Phase("unidentified", None, 2900.0, None, None, {"SiO2": 10.0, "CaO": 54.0}, {})
    given = unidentified_ingredient(own)
    assert given.model.density_kg_m3 == 2900.0
    assert given.model.oxides_low_wt_pct[COLUMN["CaO"]] > 50.0
    assert given.iron == found.iron
    iron = replace(own, oxides_wt_pct={"Fe2O3": 20.0, "SiO2": 80.0})
    assert unidentified_ingredient(iron).iron.typical_wt_pct == pytest.approx(20.0 / FE2O3_PER_FE)


def test_a_mean_sediment_closes_by_itself():
    """What was guessed for the unidentified adds up, so that nothing of it is `other`."""
    row = unidentified_ingredient().model.oxides_low_wt_pct
    assert row[COLUMN["other"]] == pytest.approx(0.0, abs=1e-9)
    assert all(row[column] > 0.0 for name, column in COLUMN.items() if name not in ABSENT)


# --- what a composition leaves out ----------------------------------------------------------


def test_compositions_are_one_per_cent_certain_in_a_compound_and_eight_in_a_series():
    """Guesses; what must hold: nothing for iron and `other`, quartz is quartz, and a series is
    wider than a compound."""
    row = np.full(len(OXIDES), 7.0)
    compound, series = (mineral_spread("x", group, row) for group in ("oxide", "garnet"))
    assert compound[SI] == pytest.approx(0.07)
    assert series[SI] == pytest.approx(0.56)
    for spread in (compound, series, own_spread(row, {}), mineral_spread("albite", "x", row)):
        assert spread[FE] == spread[-1] == 0.0
        assert (spread >= 0.0).all()
    assert not mineral_spread("quartz", "silica", row).any()
    assert own_spread(row, {"CaO": 0.3, "BaO": 1.0})[COLUMN["CaO"]] == 0.3
    assert own_spread(-row, {})[SI] == pytest.approx(0.35)
    assert own_spread(row, {}, vague=True)[SI] == pytest.approx(2.1)


def test_lime_of_plagioclase_may_move_as_far_as_its_names_reach():
    """Albite An0 to An10, oligoclase An10 to An30: half of that in lime is 1.0 and 2.1 wt %."""
    albite = mineral_spread("albite", "feldspar", of("albite").model.oxides_low_wt_pct)
    oligoclase = mineral_spread("oligoclase", "feldspar", of("oligoclase").model.oxides_low_wt_pct)
    assert 0.2 < albite[COLUMN["CaO"]] < 1.0
    assert albite[COLUMN["CaO"]] < oligoclase[COLUMN["CaO"]] < 2.1
    rich = mineral_spread("albite", "feldspar", np.full(len(OXIDES), 90.0))
    assert rich[COLUMN["Na2O"]] == pytest.approx(0.9)  # the larger of the two counts


# --- the bulk -------------------------------------------------------------------------------

MU0 = 4e-7 * np.pi


def test_a_moment_shows_by_its_field_and_a_ball_of_magnetite_never_more_than_three_over_density():
    magnetite, hematite = of("magnetite").model, of("hematite").model
    assert apparent_moment_susceptibility(of("quartz").model, 0.5) == 0.0
    assert apparent_moment_susceptibility(magnetite, 0.02) == pytest.approx(3.0 / 5201.0)
    assert apparent_moment_susceptibility(magnetite, 1.0) == pytest.approx(92.0 * MU0)
    assert apparent_moment_susceptibility(magnetite, 0.0) == pytest.approx(3.0 / 5201.0)
    assert apparent_moment_susceptibility(hematite, 0.3) == pytest.approx(0.4 * MU0 / 0.3)
    assert apparent_moment_susceptibility(hematite, 0.02) == pytest.approx(0.4 * MU0 / 0.15)
    odd = replace(magnetite, order="none")
    assert apparent_moment_susceptibility(odd, 0.5) == 0.0


def bulk(names, chi, scores=None, **more):
    rows = tuple(MineralAmount(name, "mass_pct", 100.0 / len(names)) for name in names)
    feed, _ = feed_of(Sample("x", minerals=rows), {})
    z = np.zeros((3, len(feed.names))) if scores is None else scores(len(feed.names))
    return feed, bulk_row(feed, BulkSusceptibility(chi, **more), z, 1)


def test_the_bulk_is_the_sum_of_the_phases_at_both_ends_of_their_iron():
    feed, row = bulk(("biotite", "quartz", "hematite"), 2e-7)
    for j, ingredient in enumerate(feed.ingredients):
        model = ingredient.model
        moment = {"hematite": 0.4 * MU0 / 0.15}.get(model.name, 0.0)
        ends = np.array([model.iron_low_wt_pct, model.iron_high_wt_pct])
        expected = (susceptibility_at(model, ends, np.zeros(2)) + moment) / 1e-9 / 100.0
        found = row.low[j, 0, 0], row.low[j, 0, 0] + row.change[j, 0, 0]
        assert found == pytest.approx(tuple(expected)), model.name
    assert row.value[0] == pytest.approx(200.0)
    assert row.sd[0] == pytest.approx(0.05 * 200.0 + 0.5)
    assert row.capped[0]  # magnetite that nobody listed may add to it
    assert row.names == ("susceptibility",)
    assert not row.spread.any()


def test_where_a_strong_mineral_is_listed_the_bulk_is_met_with_the_spread_of_chains_and_needles():
    feed, row = bulk(("magnetite", "quartz"), 3e-6, sd_m3_kg=1e-7)
    assert not row.capped[0]
    assert row.sd[0] == pytest.approx(100.0)
    j = feed.names.index("magnetite")
    assert row.low[j, 0, 0] == pytest.approx(3.0 / 5201.0 / 1e-9 / 100.0, rel=1e-3)
    assert len(set(row.low[j, 0])) == 3
    many = np.zeros((4001, len(feed.names)))
    wide = bulk_row(feed, BulkSusceptibility(3e-6), many, 1).low[j, 0, 1:]
    assert np.log(wide).std() == pytest.approx(0.4, rel=0.04)
    firm = bulk(("magnetite", "quartz"), 3e-6, sd_m3_kg=1e-20)[1]
    assert firm.sd[0] == 1e-3


def test_chains_and_needles_are_drawn_for_each_strong_mineral_by_its_own_scores():
    feed, row = bulk(("magnetite", "quartz"), 3e-6)
    j = feed.names.index("magnetite")
    model = feed.ingredients[j].model
    low = susceptibility_at(model, np.array([model.iron_low_wt_pct]), np.zeros(1))
    grain = 3.0 / 5201.0 * np.exp(0.4 * standard_scores("magnetite/moment", 2, 1))
    assert row.low[j, 0] == pytest.approx((low + grain) / 1e-9 / 100.0)


def test_scores_of_magnetism_move_what_lies_above_the_lattice():
    feed, row = bulk(("biotite", "quartz"), 2e-7, lambda n: np.array([[0.0], [1.0], [-1.0]]) *
                     np.ones((1, n)))  # fmt: skip
    model = feed.ingredients[feed.names.index("biotite")].model
    for trial, z in enumerate((0.0, 1.0, -1.0)):
        at = susceptibility_at(model, np.array([model.iron_low_wt_pct]), np.array([z]))
        found = row.low[feed.names.index("biotite"), 0, trial]
        assert found == pytest.approx(float(at[0]) / 1e-9 / 100.0)


def test_a_strong_field_shows_magnetite_less():
    weak = bulk(("magnetite", "quartz"), 3e-6)[1].low[0, 0, 0]
    strong = bulk(("magnetite", "quartz"), 3e-6, flux_density_tesla=1.0)[1].low[0, 0, 0]
    assert strong / weak == pytest.approx(92.0 * MU0 * 5201.0 / 3.0, rel=1e-3)
