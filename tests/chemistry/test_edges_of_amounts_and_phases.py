"""Edges of amounts and phases: small lists, equal claims, the least and the most of each rule."""

from __future__ import annotations

from dataclasses import replace
from itertools import permutations

import numpy as np
import pytest

from feedchar.chemistry.amounts import amount_of, bag_amounts, grain_volumes, scaled
from feedchar.chemistry.ingredients import _most_supplied
from feedchar.chemistry.iron_prior import Z95
from feedchar.chemistry.mineral_trials import Amount
from feedchar.chemistry.mineralogy import OXIDES
from feedchar.chemistry.own_phases import own_phase_ingredient, unidentified_ingredient
from feedchar.chemistry.oxides import COLUMN, row_of
from feedchar.chemistry.phases import Measured, law_holds, mineral_ingredient, unseen_ingredient
from feedchar.constants import FE2O3_PER_FE
from feedchar.sample.records import Fraction, MineralAmount, Phase, Sample, SieveClass, Texture
from feedchar.tables.minerals import minerals

FE = COLUMN["Fe2O3"]


def of(name, rock=None, **measured):
    return mineral_ingredient(minerals()[name], rock, Measured(**measured))


def row(mineral, value, basis="mass_pct", **more):
    return MineralAmount(mineral, basis, value, **more)


def amounts(rows, **more):
    models = {r.mineral: of(r.mineral).model for r in rows}
    return bag_amounts(Sample("x", minerals=tuple(rows), **more), models).by_phase


# --- amounts --------------------------------------------------------------------------------


def test_the_common_size_is_the_middle_one_of_five():
    sizes = {"quartz": 900.0, "zircon": 100.0, "rutile": 300.0, "albite": 200.0, "topaz": 700.0}
    textures = tuple(Texture(n, None, "free", None, grain_size_um=s) for n, s in sizes.items())
    names = (*sizes, "corundum")
    found = grain_volumes(Sample("x", textures=textures), {n: of("quartz").model for n in names})
    assert found == pytest.approx({n: (s / 300.0) ** 3 for n, s in sizes.items()} | {
        "corundum": 1.0})  # fmt: skip


def test_several_textures_of_a_mineral_have_one_mean_size_in_any_order():
    rows = [Texture("biotite", None, "free", None, grain_size_um=s, thickness_um=t)
            for s, t in ((100.0, 10.0), (200.0, 12.0), (300.0, None))]  # fmt: skip
    rows.append(Texture("quartz", None, "free", None, grain_size_um=100.0))
    models = {name: of(name).model for name in ("biotite", "quartz")}
    for order in (rows, rows[::-1]):
        found = grain_volumes(Sample("x", textures=tuple(order)), models)
        assert found["biotite"] == pytest.approx(1.5 * 11.0 / 200.0)  # 200 is the common size
        assert found["quartz"] == pytest.approx(0.125)


def test_thickness_of_a_flake_is_doubtful_by_half():
    """The relative variance of the thickness alone, 0.25, beside that of 999.5 grains."""
    found = amount_of(row("biotite", 999.0, "grains"), of("biotite").model)
    assert found.shape == pytest.approx(1.0 / (0.25 + 1.0 / 999.5))
    bare = grain_volumes(Sample("x"), {"biotite": of("biotite").model})
    assert bare["biotite"] == pytest.approx(1.5 * 0.1)  # a tenth as thick as wide


def test_methods_that_list_less_than_one_in_all_fill_the_bag_too():
    assert scaled({"a": Amount("gamma", 0.3), "b": Amount("count", 0.1)})["a"].mean == 75.0
    assert scaled({"a": Amount("gamma", 0.0)})["a"].mean == 0.0
    nothing = {"a": Amount("not found", limit=0.5)}
    assert scaled(nothing) == nothing
    by = amounts([row("quartz", 0.2, "volume_pct"),
                  row("zircon", 0.1, "volume_pct", below_detection=True)])  # fmt: skip
    assert by["zircon"].limit == pytest.approx(100.0 * 0.1 * 4.669 / (0.2 * 2.648))
    assert by["quartz"].mean == 100.0


def test_a_list_without_anything_found_keeps_its_limits():
    by = amounts([row("zircon", 0.3, "volume_pct", below_detection=True)])
    assert by["zircon"].limit == pytest.approx(0.3 * 4.669)


ODD = {"quartz": 0.1, "albite": 0.2, "zircon": 0.3, "rutile": 0.7}
VOLUMES = {"quartz": 0.6, "albite": 0.5, "zircon": 0.8, "rutile": 0.9}


def test_order_changes_nothing_to_the_last_digit():
    orders = list(permutations(ODD.items()))
    assert len({sum(v for _, v in order) for order in orders}) > 1
    means = {
        tuple(scaled({n: Amount("gamma", v) for n, v in order})[n].mean for n in ODD)
        for order in orders
    }
    assert len(means) == 1
    weights = [v * (of(n).model.density_kg_m3 / 1000.0) for n, v in VOLUMES.items()]
    assert len({sum(order) for order in permutations(weights)}) > 1
    trace = row("topaz", 0.1, "volume_pct", below_detection=True)
    lists = [
        amounts([*(row(n, v, "volume_pct") for n, v in order), trace])
        for order in permutations(VOLUMES.items())
    ]
    assert len({tuple(by[n].mean for n in VOLUMES) for by in lists}) == 1
    assert len({by["topaz"].limit for by in lists}) == 1
    parts = {n: of(n) for n in VOLUMES}
    known = {n: Amount("gamma", v, 9.0) for n, v in ODD.items()}
    given = [_most_supplied({n: parts[n] for n in order}, known) for order in permutations(parts)]
    assert all(np.array_equal(one, given[0]) for one in given)
    no_column = {"Li2O": 0.1, "BaO": 0.2, "SrO": 0.3, "B2O3": 0.7}
    assert len({row_of(dict(order))[-1] for order in permutations(no_column.items())}) == 1


def test_classes_in_another_order_change_nothing_to_the_last_digit():
    sieves = (SieveClass(500, 250, 10.0), SieveClass(250, 125, 20.0), SieveClass(125, 63, 30.0),
              SieveClass(63, 0, 70.0))  # fmt: skip
    listed = {(500.0, 250.0): 3.1, (250.0, 125.0): 2.3, (125.0, 63.0): 1.7, (63.0, 0.0): 0.7}
    found = set()
    for order in permutations(listed.items()):
        rows = [row(name, value if name == "zircon" else 100.4 - value, passing_um=top,
                    retained_um=bottom) for (top, bottom), value in order
                for name in ("quartz", "zircon")]  # fmt: skip
        by = amounts(rows, sieves=sieves)
        found.add((by["zircon"].mean, by["zircon"].shape, by["quartz"].mean))
    for turned in permutations(sieves[:3]):  # and so with the sieves that a class joins
        joined = [row("quartz", 90.0, passing_um=500.0, retained_um=63.0),
                  row("zircon", 90.0, passing_um=63.0, retained_um=0.0)]  # fmt: skip
        found.add(amounts(joined, sieves=(*turned, sieves[3]))["quartz"].mean)
    assert len(found) == 2


SIEVES = (SieveClass(500, 250, 30.0), SieveClass(250, 125, 50.0), SieveClass(125, 0, 20.0))


def test_a_fraction_takes_the_share_that_stands_for_its_own_class_or_for_the_bag():
    """Sinks of 250 to 125 um: 4 % of half the bag; rows that share but one of its ends do not
    speak for it. Sinks of the bag take the first share of sinks there is."""
    fractions = (
        Fraction("floats", 90.0, passing_um=250.0, retained_um=125.0),
        Fraction("sinks", 11.0, passing_um=250.0, retained_um=63.0),
        Fraction("sinks", 13.0, passing_um=355.0, retained_um=125.0),
        Fraction("sinks", 4.0, passing_um=250.0, retained_um=125.0),
    )
    sinks = row("zircon", 100.0, fraction="sinks", passing_um=250.0, retained_um=125.0)
    rows = [row("quartz", 100.0), sinks]
    by = amounts(rows, sieves=SIEVES, fractions=fractions)
    assert by["zircon"].mean / by["quartz"].mean == pytest.approx(0.5 * 0.04)
    whole = [row("quartz", 100.0), row("zircon", 100.0, fraction="sinks")]
    by = amounts(whole, fractions=(Fraction("floats", 90.0), Fraction("sinks", 3.0)))
    assert by["zircon"].mean / by["quartz"].mean == pytest.approx(0.03)
    by = amounts(whole)  # nobody weighed them: taken as they are
    assert by["zircon"].mean / by["quartz"].mean == pytest.approx(1.0)


def test_classes_that_no_sieve_stands_for_weigh_alike():
    rows = [row("quartz", 100.0, passing_um=500.0, retained_um=250.0),
            row("zircon", 100.0, passing_um=250.0, retained_um=125.0)]  # fmt: skip
    by = amounts(rows)
    assert by["quartz"].mean == by["zircon"].mean == 50.0


def test_of_two_rows_as_sure_as_each_other_that_of_the_bag_speaks():
    rows = [row("quartz", 90.0), row("zircon", 10.0, sd=2.0),
            row("zircon", 50.0, sd=10.0, fraction="sinks"),
            row("quartz", 50.0, fraction="sinks")]  # fmt: skip
    by = amounts(rows, fractions=(Fraction("sinks", 20.0),))
    assert by["zircon"].text == "zircon 10 (mass_pct)"
    surer = [*rows[:2], row("zircon", 50.0, sd=9.9, fraction="sinks"), rows[3]]
    by = amounts(surer, fractions=(Fraction("sinks", 20.0),))
    assert by["zircon"].text == "zircon 50 (mass_pct)"


def test_two_limits_of_a_mineral_never_speak_over_each_other():
    rows = [row("quartz", 90.0), row("zircon", 0.3, below_detection=True),
            row("quartz", 50.0, fraction="sinks"),
            row("zircon", 0.1, below_detection=True, fraction="sinks")]  # fmt: skip
    by = amounts(rows, fractions=(Fraction("sinks", 20.0),))
    assert by["zircon"].limit == 0.3


# --- phases of one's own --------------------------------------------------------------------


def own(oxides, like=None, density=None, chi=None, sd=None, **oxide_sd):
    return Phase("own", like, density, chi, sd, oxides, oxide_sd)


def test_a_phase_answers_a_magnet_above_three_parts_in_a_hundred_million():
    for chi, role in ((2.99e-8, "host"), (3e-8, "host"), (3.01e-8, "removable")):
        assert own_phase_ingredient(own({"SiO2": 99.0}, chi=chi)).model.role == role


def test_a_phase_is_dark_above_five_per_cent_of_iron_oxide():
    for iron, dark in ((4.99, False), (5.01, True)):
        assert own_phase_ingredient(own({"Fe2O3": iron, "SiO2": 90.0})).model.is_dark == dark


def test_iron_of_ones_own_never_below_nothing_and_its_line_three_scores_wide():
    doubtful = own_phase_ingredient(own({"Fe2O3": 1.0, "SiO2": 90.0}, Fe2O3=0.9)).iron
    assert doubtful.low_wt_pct == 0.0
    assert doubtful.floor_wt_pct == 0.0
    assert doubtful.high_wt_pct == pytest.approx((1.0 + 0.9 * Z95) / FE2O3_PER_FE)
    firm = own_phase_ingredient(own({"Fe2O3": 30.0, "SiO2": 60.0}, Fe2O3=1.0)).iron
    assert firm.floor_wt_pct == pytest.approx((30.0 - 3.0) / FE2O3_PER_FE)
    assert firm.ceiling_wt_pct == pytest.approx((30.0 + 3.0) / FE2O3_PER_FE)
    none = own_phase_ingredient(own({"SiO2": 99.0}))
    assert none.iron.certain
    assert none.model.oxides_low_wt_pct == pytest.approx(row_of({"SiO2": 99.0}))


def test_nearly_all_iron_ends_at_pure_oxide_and_beyond_it_there_is_no_line():
    """Fe2O3 is 69.94 % iron: 69.9 is the most a line reaches."""
    close = own_phase_ingredient(own({"Fe2O3": 99.0, "SiO2": 1.0}))
    assert close.iron.ceiling_wt_pct == close.iron.high_wt_pct == 69.9
    assert close.model.oxides_high_wt_pct[FE] == pytest.approx(69.9 * FE2O3_PER_FE)
    metal = own_phase_ingredient(own({"Fe2O3": 130.0}))
    assert metal.iron.certain
    assert metal.iron.floor_wt_pct == metal.iron.ceiling_wt_pct
    assert metal.iron.floor_wt_pct == pytest.approx(130.0 / FE2O3_PER_FE)
    assert np.array_equal(metal.model.oxides_low_wt_pct, metal.model.oxides_high_wt_pct)
    assert metal.model.oxides_low_wt_pct[FE] == 130.0


def test_what_is_borrowed_is_the_typical_mineral_and_no_negative_oxide():
    """Magnetite gains on ignition: its loss is negative and takes no room from the others."""
    given = own({"MgO": 70.0}, like="magnetite")
    row_ = own_phase_ingredient(given).model.oxides_low_wt_pct
    mineral = of("magnetite").model
    share = (mineral.iron_typical_wt_pct - mineral.iron_low_wt_pct) / (
        mineral.iron_high_wt_pct - mineral.iron_low_wt_pct
    )
    typical = mineral.oxides_low_wt_pct + share * (
        mineral.oxides_high_wt_pct - mineral.oxides_low_wt_pct
    )
    room = 30.0 / sum(max(typical[COLUMN[o]], 0.0) for o in OXIDES[:-1] if o != "MgO")
    assert own_phase_ingredient(given).iron.typical_wt_pct == pytest.approx(
        typical[FE] * room / FE2O3_PER_FE
    )
    assert typical[COLUMN["LOI"]] < 0.0
    assert row_.sum() == pytest.approx(100.0)
    full = own_phase_ingredient(own({"MgO": 60.0, "SiO2": 45.0}, like="biotite"))
    assert full.iron.typical_wt_pct == 0.0  # more than full: nothing is borrowed
    nearly = own_phase_ingredient(own({"MgO": 60.0, "SiO2": 39.5}, like="biotite"))
    assert nearly.iron.typical_wt_pct > 0.0  # half a per cent is


def test_a_phase_like_a_mineral_follows_its_slope_and_its_grains():
    mineral = of("biotite").model
    model = own_phase_ingredient(own({"Fe2O3": 20.0, "SiO2": 40.0}, like="biotite")).model
    iron = 20.0 / FE2O3_PER_FE
    slope = mineral.susceptibility_per_iron_m3_kg
    at = mineral.susceptibility_m3_kg + slope * (iron - mineral.susceptibility_iron_wt_pct)
    assert model.susceptibility_m3_kg == pytest.approx(at)
    assert model.susceptibility_per_iron_m3_kg == slope
    assert model.susceptibility_ln_sd == 0.2
    assert (model.grain_ln_sd, model.source) == (mineral.grain_ln_sd, mineral.source)
    alone = own_phase_ingredient(own({"Fe2O3": 20.0, "SiO2": 40.0})).model
    assert (alone.grain_ln_sd, alone.susceptibility_ln_sd, alone.shape) == (0.3, 0.3, "equant")
    assert alone.saturation_moment_A_m2_kg == 0.0
    told = own_phase_ingredient(own({}, like="magnetite", chi=3e-7)).model
    assert (told.saturation_moment_A_m2_kg, told.order) == (0.0, "none")
    assert own_phase_ingredient(own({}, like="biotite", chi=3e-7)).model.status == "assumed"
    assert own_phase_ingredient(own({"SiO2": 9.0}, chi=3e-7)).model.status == "measured"


def test_iron_of_the_unidentified_lies_a_factor_e_about_five_per_cent():
    prior = unidentified_ingredient().iron
    points = np.array([prior.low_wt_pct, prior.typical_wt_pct, prior.high_wt_pct]) * FE2O3_PER_FE
    assert points == pytest.approx(5.0 * np.exp([-Z95, 0.0, Z95]))
    assert unidentified_ingredient().spread[FE] == 0.0


# --- tabulated phases -----------------------------------------------------------------------


def test_the_law_needs_an_iron_that_is_not_bound_to_others():
    assert {n for n, r in minerals().items() if law_holds(r)} == {
        n for n, r in minerals().items()
        if r.magnetic_order in ("diamagnetic", "paramagnetic")
        and r.group not in ("sulphide", "metal")
        and n not in ("chromite", "pseudorutile", "wuestite", "lepidocrocite", "limonite")
    }  # fmt: skip


def test_points_of_iron_stay_in_order_and_on_the_line():
    for name in sorted(minerals()):
        for iron in (None, 0.0, 12.0):
            part = of(name, iron_wt_pct=iron)
            p, model = part.iron, part.model
            points = (p.floor_wt_pct, p.low_wt_pct, p.typical_wt_pct, p.high_wt_pct,
                      p.ceiling_wt_pct)  # fmt: skip
            assert list(points) == sorted(points), name
            assert (model.iron_low_wt_pct, model.iron_high_wt_pct) == (points[0], points[-1])
            assert model.iron_typical_wt_pct == p.typical_wt_pct


def test_where_iron_does_not_vary_susceptibility_does_not_follow_it():
    held = [of(n, iron_wt_pct=0.0) for n in ("quartz", "albite", "calcite")]
    held += [of(n) for n in sorted(minerals()) if of(n).iron.certain]
    for part in held:
        assert part.iron.certain
        assert part.model.susceptibility_per_iron_m3_kg == 0.0


def test_goethite_has_a_weak_moment_on_its_linear_part_and_pyrite_none():
    goethite, pyrite = of("goethite").model, of("pyrite").model
    assert goethite.order == "canted"
    assert goethite.saturation_moment_A_m2_kg == minerals()["goethite"].saturation.typical > 0.0
    assert goethite.susceptibility_m3_kg > 0.0
    assert (pyrite.order, pyrite.saturation_moment_A_m2_kg) == ("none", 0.0)


def test_a_measured_susceptibility_is_linear_good_to_a_twentieth_and_without_a_moment():
    found = of("goethite", mass_susceptibility_m3_kg=8e-7).model
    assert (found.susceptibility_m3_kg, found.susceptibility_per_iron_m3_kg) == (8e-7, 0.0)
    assert (found.susceptibility_ln_sd, found.saturation_moment_A_m2_kg) == (0.05, 0.0)
    assert (found.source, found.status) == ("user", "measured")
    assert found.susceptibility_iron_wt_pct == found.iron_typical_wt_pct


def test_ferric_iron_is_doubtful_twice_over_where_it_is_more_than_five_per_cent_and_the_more():
    rich = {n for n in minerals() if law_holds(minerals()[n])
            and of(n).model.susceptibility_ln_sd == 0.20}  # fmt: skip
    assert {"aegirine", "epidote"} & set(minerals()) <= rich
    for name in ("biotite", "almandine", "actinolite", "muscovite", "quartz", "titanite"):
        assert name not in rich


def test_darkness_and_doubt_of_ferric_iron_begin_above_five_per_cent():
    """Five per cent of Fe2O3 are 3.497 of iron; of ferric iron itself five are five."""
    for name, iron, dark in (("muscovite", 3.47, False), ("muscovite", 3.52, True),
                             ("kaolinite", 3.47, False), ("kaolinite", 3.52, True)):  # fmt: skip
        assert of(name, iron_wt_pct=iron).model.is_dark == dark
    for iron, ln_sd in ((4.95, 0.10), (5.05, 0.20)):
        assert of("epidote", iron_wt_pct=iron).model.susceptibility_ln_sd == ln_sd
    # Half of each is not more ferric than ferrous.
    assert of("biotite", iron_wt_pct=20.0).model.susceptibility_ln_sd == 0.10


def test_unseen_iron_is_ninety_of_a_hundred_oxide_and_weighs_as_a_hydroxide():
    model = unseen_ingredient().model
    assert model.oxides_low_wt_pct[FE] == 90.0
    assert model.oxides_low_wt_pct[COLUMN["LOI"]] == 10.0
    assert 3300.0 < model.density_kg_m3 < 4300.0  # ferrihydrite to goethite, from memory
    assert model.susceptibility_iron_wt_pct == model.iron_typical_wt_pct
    assert model.susceptibility_ln_sd == 0.5
    assert replace(model, name="x").role == "stays"
