"""Edges of size classes, of lists in another order, and of the bulk's susceptibility."""

from __future__ import annotations

from dataclasses import replace
from itertools import permutations

import numpy as np
import pytest

from feedchar.chemistry.assay import assay_rows, fraction_rows, joined
from feedchar.chemistry.assay_weight import assay_sd
from feedchar.chemistry.diagnosis import Diagnosis, Reading
from feedchar.chemistry.formula import atoms_of
from feedchar.chemistry.head import class_sums, head_assay
from feedchar.chemistry.ingredients import feed_of, measured_on
from feedchar.chemistry.mineralogy import OXIDES
from feedchar.chemistry.ranges import amount_ranges
from feedchar.chemistry.severity import severity_of, severity_of_amount
from feedchar.chemistry.size_split import size_shares
from feedchar.chemistry.sizes import class_assays, inside, size_classes
from feedchar.chemistry.system import Rows
from feedchar.chemistry.traces import CARRIERS, missing_carriers
from feedchar.sample.assay_error import default_assay_sd
from feedchar.sample.records import (
    Determination,
    Fraction,
    MineralAmount,
    OxideValue,
    Sample,
    SieveClass,
)
from feedchar.tables.minerals import minerals


def row(mineral, value, **more):
    return MineralAmount(mineral, "mass_pct", value, **more)


# --- classes --------------------------------------------------------------------------------


def test_a_class_of_little_mass_is_a_class():
    sieves = (SieveClass(500, 250, 99.5), SieveClass(250, 0, 0.4), SieveClass(250, 63, 0.1))
    passing, retained, share = size_classes(Sample("x", sieves=sieves))
    assert passing.tolist() == [500, 250, 250]
    assert retained.tolist() == [250, 63, 0]  # of two that begin alike the coarser first
    assert share == pytest.approx([0.995, 0.001, 0.004])


def test_rounded_sieves_lie_inside_within_one_part_in_ten_thousand():
    tops, bottoms = (
        np.array([250.024, 250.026, 250.0, 250.0]),
        np.array([125.0, 125.0, 124.988, 124.987]),
    )
    assert inside(tops, bottoms, 250.0, 125.0).tolist() == [True, False, True, False]


def results(*values, top=500.0, bottom=250.0, oxide="Fe2O3", **more):
    return tuple(Determination("feed", top, bottom, oxide, v, False, **more) for v in values)


SIEVES = (SieveClass(500, 250, 40.0), SieveClass(250, 125, 35.0), SieveClass(125, 0, 25.0))


def test_results_of_a_class_in_any_order_are_one_mean_to_the_last_digit():
    values = (0.1, 0.2, 0.3, 0.7)
    means = {
        class_assays(Sample("x", sieves=SIEVES, determinations=results(*order)))[0].value
        for order in permutations(values)
    }
    assert len({sum(order) for order in permutations(values)}) > 1
    assert len(means) == 1


def test_classes_come_from_coarse_to_fine_and_the_pan_ends_at_nothing():
    given = (
        *results(0.5, top=125.0, bottom=None), *results(0.1, oxide="TiO2"), *results(0.2),
        *results(0.4, top=500.0, bottom=125.0), *results(0.3, top=250.0, bottom=125.0),
        *results(9.0, top=60.0, bottom=30.0),
    )  # fmt: skip
    found = class_assays(Sample("x", sieves=SIEVES, determinations=given))
    assert [(a.passing_um, a.retained_um, a.oxide) for a in found] == [
        (500.0, 125.0, "Fe2O3"), (500.0, 250.0, "Fe2O3"), (500.0, 250.0, "TiO2"),
        (250.0, 125.0, "Fe2O3"), (125.0, 0.0, "Fe2O3"),
    ]  # fmt: skip
    assert [a.members for a in found[:1]] == [(True, True, False)]
    assert [a.share for a in found] == pytest.approx([0.75, 0.4, 0.4, 0.35, 0.25])
    assert found[1].sd == pytest.approx(default_assay_sd("Fe2O3", 0.2))
    twice = class_assays(Sample("x", sieves=SIEVES, determinations=results(0.2, 0.2, 0.2)))
    assert twice[0].sd == pytest.approx(default_assay_sd("Fe2O3", 0.2) / 3.0**0.5)
    assert class_assays(Sample("x", determinations=given)) == ()


def test_of_several_less_thans_the_least_holds_with_a_tenth_of_it():
    below = tuple(Determination("feed", 500.0, 250.0, "TiO2", v, True) for v in (0.07, 0.03, 0.05))
    (found,) = class_assays(Sample("x", sieves=SIEVES, determinations=below))
    assert (found.value, found.below_detection) == (0.03, True)
    assert found.sd == pytest.approx(0.003)
    assert class_sums(Sample("x", sieves=SIEVES, determinations=below)) == {}


def test_classes_speak_for_the_bag_from_ninety_eight_per_cent_of_its_mass():
    for last, told in ((2.0, True), (2.1, False)):
        sieves = (
            SieveClass(500, 250, 60.0, {"TiO2": 0.1}), SieveClass(63, 0, last),
            SieveClass(250, 63, 40.0 - last, {"TiO2": 0.3}),
        )  # fmt: skip
        sums = class_sums(Sample("x", sieves=sieves))
        assert ("TiO2" in sums) == told
        if told:
            parts = np.array([0.6, 0.38]) / 0.98
            sd = [default_assay_sd("TiO2", v) for v in (0.1, 0.3)]
            assert sums["TiO2"] == pytest.approx((parts @ [0.1, 0.3], np.hypot(*(parts * sd))))


def test_a_phase_without_mass_is_spread_as_the_sieves_are():
    sieves = tuple(replace(s, oxides_wt_pct={"Fe2O3": v}) for s, v in zip(SIEVES, (0.1, 0.2, 0.4),
                                                                          strict=True))  # fmt: skip
    feed, _ = feed_of(Sample("x", minerals=(row("quartz", 98.0), row("biotite", 2.0))), {})
    mass = np.array([[0.02, 0.98, 0.0]])
    oxides = np.zeros((1, 3, len(OXIDES)))
    oxides[:, 0, OXIDES.index("Fe2O3")] = 11.0
    found = size_shares(Sample("x", sieves=sieves), feed, mass, oxides, 1)[0]
    assert found[2] == pytest.approx([0.4, 0.35, 0.25])
    assert found.sum(axis=1) == pytest.approx(np.ones(3))
    assert found[0, 2] / 0.25 > 1.3 > 0.9 > found[0, 0] / 0.4


def test_two_classes_are_enough_to_differ():
    two = (SieveClass(500, 250, 60.0, {"Fe2O3": 0.1}), SieveClass(250, 0, 40.0, {"Fe2O3": 0.5}))
    feed, _ = feed_of(Sample("x", minerals=(row("quartz", 98.0), row("biotite", 2.0))), {})
    oxides = np.zeros((1, 3, len(OXIDES)))
    oxides[:, 0, OXIDES.index("Fe2O3")] = 13.0
    found = size_shares(Sample("x", sieves=two), feed, np.array([[0.02, 0.975, 0.005]]), oxides, 1)
    assert found.shape == (1, 3, 2)
    assert found[0, 0, 1] > 0.5


# --- lists in another order -----------------------------------------------------------------


def test_figures_measured_twice_have_one_mean_in_any_order():
    values = (0.1, 0.2, 0.3, 0.7)
    found = set()
    for order in permutations(values):
        rows = tuple(row("biotite", 1.0, iron_wt_pct=v, mass_susceptibility_m3_kg=v * 1e-8)
                     for v in order)  # fmt: skip
        measured = measured_on(Sample("x", minerals=rows), "biotite")
        found.add((measured.iron_wt_pct, measured.mass_susceptibility_m3_kg))
    assert len(found) == 1
    assert len({sum(order) for order in permutations(values)}) > 1


def test_a_list_in_another_order_is_the_same_feed_to_the_last_digit():
    rows = [row("quartz", 41.3), row("zircon", 17.9), row("albite", 23.7), row("rutile", 0.0),
            row("biotite", 7.1), row("topaz", 3.3)]  # fmt: skip
    assay = {"TiO2": OxideValue(0.9, 0.01), "P2O5": OxideValue(0.4, 0.01)}
    feeds = [feed_of(Sample("x", minerals=tuple(o)), assay, 0.3) for o in (rows, rows[::-1])]
    assert feeds[0][0].names == feeds[1][0].names == (
        "albite", "apatite", "biotite", "magnetite", "quartz", "rutile", "topaz", "zircon", "unseen"
    )  # fmt: skip
    assert feeds[0][0].amounts == feeds[1][0].amounts
    assert feeds[0][1] == feeds[1][1]
    bare, notes = feed_of(Sample("x", minerals=(row("quartz", 100.0),)), assay)
    assert bare.names == ("apatite", "quartz", "rutile", "unseen")
    assert notes[0].text.index("apatite for the P2O5") < notes[0].text.index("rutile for the TiO2")


def test_fractions_and_atoms_stand_in_an_order_of_their_own():
    """By name; a fraction's minerals add up alike from either end of their list."""
    fractions = [Fraction("sinks", 3.0, oxides_wt_pct={"TiO2": 30.0, "Fe2O3": 20.0}),
                 Fraction("magnetics", 2.0, oxides_wt_pct={"Fe2O3": 40.0})]  # fmt: skip
    listed = {"rutile": 0.1, "zircon": 0.2, "ilmenite": 0.3, "garnet": 0.7}
    listed["almandine"] = listed.pop("garnet")
    rows = [row(n, v, fraction=f) for f in ("sinks", "magnetics") for n, v in listed.items()]
    feed, _ = feed_of(Sample("x", minerals=(row("quartz", 90.0), *rows)), {})
    typical = np.full(len(feed.names), 20.0)
    found = [
        fraction_rows(feed, Sample("x", minerals=tuple(r), fractions=tuple(f)), typical)
        for r in (rows, rows[::-1], [rows[1], *rows[2:], rows[0]])
        for f in (fractions, fractions[::-1])
    ]
    for one in found:
        assert one.names == ("Fe2O3 of magnetics", "TiO2 of sinks", "Fe2O3 of sinks")
        assert np.array_equal(one.low, found[0].low)
    assert list(atoms_of("SiO2")) == ["O", "Si"]
    assert list(atoms_of("KAlSi3O8")) == ["Al", "K", "O", "Si"]


def test_strong_minerals_are_named_in_order_and_share_what_a_magnet_took():
    rows = (row("quartz", 96.0), row("magnetite", 1.0), row("maghemite", 3.0))
    feed, notes = feed_of(Sample("x", minerals=rows), {}, 0.5)
    amounts = dict(zip(feed.names, feed.amounts, strict=True))
    assert amounts["maghemite"].mean / amounts["magnetite"].mean == pytest.approx(3.0)
    assert (amounts["magnetite"].shape, amounts["magnetite"].kind) == (9.0, "gamma")
    assert "sets maghemite, magnetite to" in notes[-1].text


@pytest.mark.parametrize("oxide", CARRIERS)
def test_a_carrier_holds_its_oxide_and_is_tried_where_three_sd_are_missing(oxide):
    mineral = CARRIERS[oxide]
    held = minerals()[mineral]
    assert held.mineral == mineral
    most = np.zeros(len(OXIDES))
    most[OXIDES.index(oxide)] = 0.2
    for value, added in ((0.49, False), (0.51, True)):
        found = missing_carriers({oxide: OxideValue(value, 0.1)}, most, frozenset(), False)
        assert set(found) == ({mineral} if added else set())
    assert not missing_carriers({oxide: OxideValue(9.0, 0.1)}, most, frozenset({mineral}), True)
    counted = missing_carriers({oxide: OxideValue(9.0, 0.1)}, most, frozenset(), True)[mineral]
    looked = missing_carriers({oxide: OxideValue(9.0, 0.1)}, most, frozenset(), False)[mineral]
    assert (counted.limit, looked.limit) == (0.1, 0.5)


# --- the head and rows of the fit -----------------------------------------------------------


def test_iron_of_the_mill_comes_off_a_figure_that_is_above_nothing():
    tool = Diagnosis(tool_iron=Reading(0.03, 0.004))
    assay = {"Fe2O3": OxideValue(0.21, 0.012), "LOI": OxideValue(1.3, 0.11)}
    found, notes = head_assay(Sample("x", assay=assay), tool)
    assert found["Fe2O3"].value == pytest.approx(0.18)
    assert found["Fe2O3"].sd == pytest.approx(np.hypot(assay_sd("Fe2O3", assay["Fe2O3"]), 0.004))
    assert [note.code for note in notes] == ["tool-iron"]
    burned = Diagnosis(organics_wt_pct=0.7)
    found, _ = head_assay(Sample("x", assay=assay), burned)
    assert found["LOI"].value == pytest.approx(1.3 - 0.35)
    assert found["LOI"].sd == pytest.approx(np.hypot(assay_sd("LOI", assay["LOI"]), 0.3 * 0.7))
    none = Diagnosis(tool_iron=Reading(0.0, 0.001))
    assert head_assay(Sample("x", assay=assay), none)[0] == assay


def test_a_row_of_the_head_adds_what_no_mineral_carries():
    """Organic matter and water 0.1 % of LOI, skins 0.03 % of MnO; all else by the assay alone."""
    feed, _ = feed_of(Sample("x", minerals=(row("quartz", 98.0), row("biotite", 2.0))), {})
    assay = {name: OxideValue(1.7, 0.13) for name in ("LOI", "MnO", "K2O")}
    found = assay_rows(feed, assay)
    assert found.names == ("MnO", "K2O", "LOI")
    assert found.sd == pytest.approx([np.hypot(0.13, 0.03), 0.13, np.hypot(0.13, 0.1)])
    spread = np.stack([i.spread for i in feed.ingredients])
    columns = [OXIDES.index(name) for name in found.names]
    assert found.spread == pytest.approx(spread[:, columns] / 100.0)
    both = joined([found, replace(found, low=np.repeat(found.low, 3, axis=2))])
    assert both.low.shape == both.change.shape == (3, 6, 3)
    assert np.array_equal(both.spread, np.tile(found.spread, 2))


def test_an_assay_weighs_by_its_own_error_but_never_without_bound():
    for sd in (0.0, -1.0, None):
        assert assay_sd("K2O", OxideValue(2.0, sd)) == default_assay_sd("K2O", 2.0)
    assert assay_sd("K2O", OxideValue(2.0, 0.5)) == 0.5
    assert assay_sd("K2O", OxideValue(2.0, 0.5, below_detection=True)) == pytest.approx(0.2)
    assert assay_sd("K2O", OxideValue(0.0, 0.5, below_detection=True)) == 1e-6


def test_ranges_by_hand_of_three_phases_and_one_figure():
    """0.5 of a and 0.1 to 0.3 of b, none of c, make 10 +- 2 x 0.5 of a hundred."""
    low = np.array([[0.5], [0.1], [0.0]])[:, :, None]
    change = np.array([[0.0], [0.2], [0.0]])[:, :, None]
    one = Rows(("K2O",), np.array([10.0]), np.array([0.5]), low, change, np.array([False]),
               np.zeros((3, 1)))  # fmt: skip
    found = amount_ranges(one, ("a", "b", "c"))
    assert found["a"] == pytest.approx((0.0, 22.0))
    assert found["b"] == pytest.approx((0.0, 100.0))  # all of it at 0.1 is 10
    assert found["c"] == pytest.approx((0.0, 82.0))
    capped = amount_ranges(replace(one, capped=np.array([True])), ("a", "b", "c"))
    assert capped["a"] == pytest.approx((0.0, 20.0))
    assert capped["c"] == pytest.approx((0.0, 100.0))


def test_an_excess_without_error_is_grave_and_of_amounts_the_graver_of_two_laws():
    assert severity_of(1e-9, 0.0) == "stop"
    assert severity_of_amount(0.5, 0.0, 0.4, 0.0) == "stop"
    # 2.1 sd by a normal law; a gamma law of the same sd makes it more.
    assert severity_of_amount(1.0, 0.1, 0.79, 0.0) == "warning"
    assert severity_of_amount(1.0, 0.1, 0.81, 0.0) == "warning"
    assert severity_of_amount(1.0, 0.1, 0.83, 0.0) is None
    assert severity_of_amount(1.0, 0.001, 0.0, 0.3) == "warning"  # 3.3 sd of the assay
    assert severity_of_amount(1.0, 0.0, 0.9, 0.2) is None
