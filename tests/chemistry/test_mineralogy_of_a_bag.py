"""From a bag to its mineralogy: closure, order, honesty."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from feedchar.chemistry.build import mineralogy_of
from feedchar.chemistry.mineralogy import OXIDES, UNSEEN
from feedchar.errors import InputError, UnknownNameError
from feedchar.sample.records import (
    BulkSusceptibility,
    Diagnostic,
    Fraction,
    MineralAmount,
    OxideValue,
    Phase,
    Sample,
    SieveClass,
    Texture,
)

FE, TI = OXIDES.index("Fe2O3"), OXIDES.index("TiO2")


def listed(method="diffraction", basis="mass_pct", **amounts):
    return tuple(
        MineralAmount(name.replace("_", "-"), basis, value, method=method)
        for name, value in amounts.items()
    )


def assay(**values):
    return {name: OxideValue(value, None) for name, value in values.items()}


SAND = Sample(
    "invented sand",
    origin="washed",
    minerals=listed(quartz=90.0, k_feldspar=6.0, muscovite=2.0, biotite=1.5, ilmenite=0.3,
                    hematite=0.2),
)  # fmt: skip
ASSAY = assay(SiO2=96.0, Fe2O3=0.55, TiO2=0.20, Al2O3=1.9, K2O=1.15, MgO=0.12, LOI=0.2)
ASSAYED = replace(SAND, assay=ASSAY)
SIEVES = (
    SieveClass(500, 250, 20.0, {"Fe2O3": 0.40}),
    SieveClass(250, 125, 50.0, {"Fe2O3": 0.50}),
    SieveClass(125, 63, 25.0, {"Fe2O3": 0.65}),
    SieveClass(63, 0, 5.0, {"Fe2O3": 1.20}),
)


def column(mineralogy, name):
    return [phase.name for phase in mineralogy.phases].index(name)


@pytest.mark.parametrize("trials", [0, 1, 7, 300])
@pytest.mark.parametrize("sample", [SAND, ASSAYED], ids=["minerals", "assayed"])
def test_any_number_of_trials_closes_to_one_and_stays_in_bounds(sample, trials):
    mineralogy = mineralogy_of(sample, trials, 1)
    mass = mineralogy.mass_fraction
    assert mass.shape == (trials + 1, 7)
    assert mass.sum(axis=1) == pytest.approx(1.0, abs=1e-12)
    assert mass.min() >= 0.0
    assert mineralogy.oxides_wt_pct.sum(axis=2) == pytest.approx(100.0, abs=1e-9)
    assert mineralogy.size_share.sum(axis=2) == pytest.approx(1.0, abs=1e-12)
    assert mineralogy.unseen_form_share.sum(axis=1) == pytest.approx(1.0, abs=1e-12)
    bulk = np.einsum("tm,tmk->tk", mass, mineralogy.oxides_wt_pct)
    assert mineralogy.reconciled_wt_pct == pytest.approx(bulk, abs=1e-9)
    for phase, iron in zip(mineralogy.phases, mineralogy.iron_wt_pct.T, strict=True):
        assert iron.min() >= phase.iron_low_wt_pct - 1e-9
        assert iron.max() <= phase.iron_high_wt_pct + 1e-9


def test_phases_stand_in_canonical_order_with_unseen_last():
    names = [phase.name for phase in mineralogy_of(SAND, 3, 1).phases]
    assert names[:-1] == sorted(names[:-1])
    assert names[-1] == UNSEEN


def test_rows_in_another_order_change_nothing_to_the_last_digit():
    with_sieves = replace(ASSAYED, sieves=SIEVES)
    backwards = replace(
        with_sieves,
        minerals=tuple(reversed(with_sieves.minerals)),
        assay=dict(reversed(with_sieves.assay.items())),
        sieves=tuple(reversed(with_sieves.sieves)),
    )
    one, two = mineralogy_of(with_sieves, 60, 1), mineralogy_of(backwards, 60, 1)
    for field in ("mass_fraction", "iron_wt_pct", "oxides_wt_pct", "susceptibility_m3_kg",
                  "size_share", "predicted_wt_pct", "reconciled_wt_pct"):  # fmt: skip
        assert np.array_equal(getattr(one, field), getattr(two, field)), field
    assert one.agreement == two.agreement
    assert one.notes == two.notes


def test_the_same_seed_gives_the_same_trials_and_another_seed_others():
    one, two = mineralogy_of(ASSAYED, 50, 1), mineralogy_of(ASSAYED, 50, 1)
    assert np.array_equal(one.mass_fraction, two.mass_fraction)
    other = mineralogy_of(ASSAYED, 50, 2)
    assert not np.array_equal(one.mass_fraction, other.mass_fraction)
    assert np.array_equal(one.mass_fraction[0], other.mass_fraction[0])


def test_the_typical_case_without_assay_is_what_was_listed():
    typical = mineralogy_of(SAND, 5, 1)
    mass = 100.0 * typical.mass_fraction[0]
    listed_part = 100.0 - mass[-1]
    assert mass[column(typical, "biotite")] == pytest.approx(1.5 * listed_part / 100.0)
    assert typical.iron_wt_pct[0, column(typical, "biotite")] == pytest.approx(16.511)


def test_an_assay_is_met_within_its_error():
    mineralogy = mineralogy_of(ASSAYED, 1000, 1)
    iron = mineralogy.reconciled_wt_pct[1:, FE]
    sd = 0.03 * 0.55 + 0.002
    assert np.mean(np.abs(iron - 0.55) < 2.0 * sd) > 0.93
    assert abs(iron.mean() - 0.55) < 0.5 * sd
    assert mineralogy.agreement.settled
    assert not mineralogy.data_disagree
    assert mineralogy.has_assay
    assert not mineralogy.assay_needed


def test_an_assay_narrows_what_minerals_alone_leave_open():
    before, after = mineralogy_of(SAND, 500, 1), mineralogy_of(ASSAYED, 500, 1)
    spread = lambda m: m.reconciled_wt_pct[1:, FE].std()  # noqa: E731
    assert spread(after) < 0.2 * spread(before)
    assert np.array_equal(before.predicted_wt_pct[1:, TI] > 0, after.predicted_wt_pct[1:, TI] > 0)


def test_an_assay_below_detection_is_an_interval():
    limy = Sample(
        "limy", origin="washed", minerals=listed(quartz=98.0, calcite=2.0),
        assay=assay(SiO2=99.0) | {"CaO": OxideValue(0.4, None, below_detection=True)},
    )  # fmt: skip
    lime = OXIDES.index("CaO")
    before, after = (mineralogy_of(s, 500, 1) for s in (replace(limy, assay={}), limy))
    assert np.mean(before.reconciled_wt_pct[1:, lime] > 0.4) > 0.8
    found = after.reconciled_wt_pct[1:, lime]
    assert np.mean(found > 0.4 * 1.2) < 0.03  # the end of the interval is blurred by a tenth
    assert found.std() > 0.03  # and nothing inside it is preferred but by the minerals


@pytest.mark.parametrize("origin", [None, "washed", "crushed rock", "plant product"])
def test_without_origin_as_dug_and_without_assay_an_assay_is_needed(origin):
    mineralogy = mineralogy_of(replace(SAND, origin=origin), 200, 1)
    assert mineralogy.assay_needed
    unseen = 100.0 * mineralogy.mass_fraction[1:, -1] * 0.9
    assert unseen.min() >= 0.003
    assert unseen.max() <= 0.3


def test_a_bag_as_dug_answers_without_assay_and_says_what_is_unseen():
    mineralogy = mineralogy_of(replace(SAND, origin="as dug"), 500, 1)
    assert not mineralogy.assay_needed
    assert "unseen-iron" in {note.code for note in mineralogy.notes}
    assert mineralogy.mass_fraction[1:, -1].min() > 0


def test_contradicting_data_stop_and_name_the_datum():
    wrong = replace(ASSAYED, assay=ASSAYED.assay | assay(K2O=4.5))
    mineralogy = mineralogy_of(wrong, 200, 1)
    assert mineralogy.data_disagree
    assert "K2O" in (mineralogy.agreement.doubtful or "")
    assert mineralogy.agreement.residual_sd["K2O"] > 4.0
    assert any(note.severity == "stop" for note in mineralogy.notes)


def test_the_disagreement_names_the_datum_once_where_it_is_also_the_one_to_doubt():
    def said(potash, trials=200):
        wrong = replace(ASSAYED, assay=ASSAYED.assay | assay(K2O=potash))
        found = mineralogy_of(wrong, trials, 1)
        text = {note.code: note for note in found.notes}.get("disagreement")
        return text, found

    note, found = said(4.5)
    assert note.severity == "stop"
    off = found.agreement.residual_sd["K2O"]
    assert note.text.startswith(
        f"the assay of K2O is {off:.1f} sd from what all else says; doubt this one: without it"
    )
    note, found = said(1.15)
    assert note is None
    quick = mineralogy_of(
        replace(ASSAYED, assay=ASSAYED.assay | assay(K2O=4.5)), 200, 1, thorough=False
    )
    text = next(note.text for note in quick.notes if note.code == "disagreement")
    assert text == f"the assay of K2O is {off:.1f} sd from what all else says"


def test_forms_of_a_bag_by_a_scrub_an_acid_and_clear_grains():
    """Balances by hand over the typical case: stain of textures and oxides an acid takes are
    listed already, and iron of pale grains sits in their crystals."""
    bag = Sample(
        "x", origin="as dug",
        minerals=listed(quartz=90.0, albite=9.0, goethite=0.04, hematite=0.02, biotite=0.5),
        textures=(Texture("goethite", "quartz", "stain", 50.0),),
        diagnostics=(
            Diagnostic("scrub", None, None, 1.0, 0.90),
            Diagnostic("hot acid", None, None, 1.0, 0.75),
            Diagnostic("hand-picked clear grains", None, None, None, 0.30),
        ),
    )  # fmt: skip
    found = mineralogy_of(bag, 0, 1)
    mass, iron = found.mass_fraction[0], found.mass_fraction[0] * found.oxides_wt_pct[0, :, FE]
    of = {name: iron[column(found, name)] for name in ("goethite", "hematite", "quartz", "albite")}
    pale = mass[column(found, "quartz")] + mass[column(found, "albite")]
    stain = (0.10 - 0.5 * of["goethite"]) / iron[-1]
    inside = (0.30 * pale - of["quartz"] - of["albite"]) / iron[-1]
    free = (0.25 - of["goethite"] - of["hematite"]) / iron[-1] - stain
    parts = np.clip([stain, inside, free], 0.01, 1.0)
    assert (parts > 0.01).all()
    assert (parts < 1.0).all()
    assert found.unseen_form_share[0] == pytest.approx(parts / parts.sum())


def test_agreeing_data_say_so():
    agreement = mineralogy_of(ASSAYED, 300, 1).agreement
    assert agreement.degrees_of_freedom == len(ASSAY)
    assert agreement.predictive_probability > 0.01
    assert max(abs(v) for v in agreement.residual_sd.values()) < 2.5


def test_without_trials_no_chance_of_a_worse_misfit_is_told_and_a_note_says_why():
    mineralogy = mineralogy_of(ASSAYED, 0, 1)
    assert mineralogy.agreement.predictive_probability is None
    assert mineralogy.agreement.chi_square is not None
    code = "no-predictive-probability"
    assert [note.code for note in mineralogy.notes].count(code) == 1
    assert code not in {note.code for note in mineralogy_of(ASSAYED, 20, 1).notes}


def test_an_oxide_that_nothing_listed_holds_gets_its_common_carrier():
    plain = Sample(
        "quartz", origin="washed", minerals=listed(quartz=100.0),
        assay=assay(SiO2=99.2, Al2O3=0.3, TiO2=0.06, Fe2O3=0.04, K2O=0.03),
    )  # fmt: skip
    mineralogy = mineralogy_of(plain, 300, 1)
    names = {phase.name for phase in mineralogy.phases}
    assert {"rutile", "kaolinite"} <= names
    assert not mineralogy.data_disagree
    assert np.median(mineralogy.reconciled_wt_pct[1:, TI]) == pytest.approx(0.06, abs=0.01)


def test_an_assay_alone_gives_a_wide_mineralogy_and_says_what_it_assumed():
    bare = Sample("assay", rock="syenite", assay=assay(
        SiO2=60.0, Al2O3=23.2, Fe2O3=0.084, TiO2=0.003, K2O=4.8, Na2O=10.7, CaO=0.25))  # fmt: skip
    mineralogy = mineralogy_of(bare, 400, 1)
    assert "minerals-assumed" in {note.code for note in mineralogy.notes}
    nepheline = 100.0 * mineralogy.mass_fraction[1:, column(mineralogy, "nepheline")]
    # The norm of this rock (methods of element-to-mineral conversion) has 25 % nepheline.
    low, high = np.quantile(nepheline, [0.05, 0.95])
    assert low < 25.0 < high
    assert high - low > 5.0


def test_where_phases_outnumber_assays_ranges_are_given_and_hold_the_trials():
    few = replace(SAND, assay=assay(SiO2=96.0, Fe2O3=0.55, TiO2=0.20))
    mineralogy = mineralogy_of(few, 300, 1)
    assert set(mineralogy.mass_range_pct) == {phase.name for phase in mineralogy.phases}
    for j, phase in enumerate(mineralogy.phases):
        low, high = mineralogy.mass_range_pct[phase.name]
        assert 0.0 <= low <= high <= 100.0
        middle = np.median(100.0 * mineralogy.mass_fraction[1:, j])
        assert low - 0.05 <= middle <= high + 0.05
    assert not mineralogy_of(ASSAYED, 5, 1).mass_range_pct


def test_counts_become_mass_by_density():
    counted = Sample("c", origin="as dug", minerals=listed(
        method="point count", basis="points", quartz=900.0, hematite=100.0))  # fmt: skip
    mineralogy = mineralogy_of(counted, 2000, 1)
    share = mineralogy.mass_fraction[0] / mineralogy.mass_fraction[0, :2].sum()
    expected = 100.5 * 5276.0 / (100.5 * 5276.0 + 900.5 * 2648.0)
    assert share[column(mineralogy, "hematite")] == pytest.approx(expected, rel=1e-9)
    opaque = mineralogy.mass_fraction[1:, column(mineralogy, "hematite")]
    assert opaque.std() / opaque.mean() > 0.14  # never better than 20 % before closure


def test_counted_flakes_weigh_less_than_grains_of_their_width():
    grains = Sample("g", minerals=listed(
        method="grain count", basis="grains", quartz=500.0, muscovite=500.0))  # fmt: skip
    points = Sample("p", minerals=listed(
        method="point count", basis="points", quartz=500.0, muscovite=500.0))  # fmt: skip
    by_grain, by_point = (mineralogy_of(s, 0, 1).mass_fraction[0] for s in (grains, points))
    assert by_grain[0] / by_grain[1] == pytest.approx(0.15 * by_point[0] / by_point[1], rel=1e-6)


def test_not_found_and_trace_stay_below_their_limits():
    looked = replace(
        SAND,
        minerals=(
            *SAND.minerals,
            MineralAmount("goethite", "mass_pct", 0.0, method="diffraction"),
            MineralAmount("zircon", "mass_pct", 0.5, below_detection=True, method="diffraction"),
        ),
    )
    mineralogy = mineralogy_of(looked, 1000, 1)
    goethite = 100.0 * mineralogy.mass_fraction[1:, column(mineralogy, "goethite")]
    zircon = 100.0 * mineralogy.mass_fraction[1:, column(mineralogy, "zircon")]
    assert 0.0 < np.median(goethite) < 0.1
    assert np.quantile(goethite, 0.99) < 0.6
    assert zircon.max() <= 0.5
    assert 0.2 < np.median(zircon) < 0.3


def test_undetected_oxides_and_unseen_iron_are_not_counted_twice():
    looked = replace(
        SAND,
        origin="as dug",
        minerals=(*SAND.minerals, MineralAmount("goethite", "mass_pct", 0.0, method="diffraction")),
    )
    one = mineralogy_of(replace(SAND, origin="as dug"), 2000, 1).predicted_wt_pct[1:, FE]
    two = mineralogy_of(looked, 2000, 1).predicted_wt_pct[1:, FE]
    assert np.median(two) == pytest.approx(np.median(one), rel=0.03)


def test_heavy_sinks_rule_the_heavy_minerals():
    sinks = replace(
        SAND,
        minerals=(
            *SAND.minerals,
            *(replace(m, fraction="sinks") for m in listed(
                method="point count", basis="points", ilmenite=300.0, zircon=100.0)),
        ),
        fractions=(Fraction("sinks", 0.40),),
    )  # fmt: skip
    mineralogy = mineralogy_of(sinks, 500, 1)
    ilmenite = 100.0 * mineralogy.mass_fraction[1:, column(mineralogy, "ilmenite")]
    expected = 0.40 * 300.5 * 4720 / (300.5 * 4720 + 100.5 * 4669)
    assert np.mean(ilmenite) == pytest.approx(expected, rel=0.05)
    before = 100.0 * mineralogy_of(SAND, 500, 1).mass_fraction[1:, 2]
    assert ilmenite.std() < 0.5 * before.std()


def test_size_classes_keep_both_margins_and_their_assays():
    mineralogy = mineralogy_of(replace(ASSAYED, sieves=SIEVES), 400, 1)
    mass = np.einsum("tm,tms->tms", mineralogy.mass_fraction, mineralogy.size_share)
    assert mass.sum(axis=1) == pytest.approx(
        np.broadcast_to([0.20, 0.50, 0.25, 0.05], (401, 4)), abs=1e-12
    )
    assert mass.sum(axis=2) == pytest.approx(mineralogy.mass_fraction, abs=1e-12)
    iron = np.einsum("tms,tm->ts", mass, mineralogy.oxides_wt_pct[:, :, FE]) / [
        0.20,
        0.50,
        0.25,
        0.05,
    ]
    for s, row in enumerate(SIEVES):
        measured = row.oxides_wt_pct["Fe2O3"]
        assert np.median(iron[1:, s]) == pytest.approx(measured, abs=0.12 * measured)


def test_minerals_by_class_shape_the_split():
    by_class = replace(
        SAND,
        sieves=tuple(replace(row, oxides_wt_pct={}) for row in SIEVES),
        minerals=tuple(
            replace(m, passing_um=top, retained_um=bottom)
            for top, bottom, biotite in ((500, 250, 4.0), (250, 125, 1.0))
            for m in listed(quartz=100.0 - biotite, biotite=biotite)
        ),
    )
    mineralogy = mineralogy_of(by_class, 200, 1)
    biotite = mineralogy.size_share[0, column(mineralogy, "biotite")]
    assert biotite[0] / 0.20 == pytest.approx(4.0 * biotite[1] / 0.50, rel=0.02)
    mass = np.einsum("tm,tms->ts", mineralogy.mass_fraction, mineralogy.size_share)
    assert mass == pytest.approx(np.broadcast_to([0.2, 0.5, 0.25, 0.05], mass.shape), abs=1e-9)


def test_bulk_susceptibility_limits_strong_minerals():
    strong = replace(SAND, minerals=(*SAND.minerals[:-1], *listed(magnetite=0.2)))
    with_chi = replace(strong, susceptibility=BulkSusceptibility(1e-7))
    before = mineralogy_of(strong, 400, 1)
    after = mineralogy_of(replace(with_chi, assay=ASSAY), 400, 1)
    magnetite = column(after, "magnetite")
    assert np.median(before.mass_fraction[1:, magnetite]) > 1e-3
    assert np.median(after.mass_fraction[1:, magnetite]) < 3e-4
    assert "susceptibility" in after.agreement.residual_sd


def test_nothing_to_start_from_is_refused():
    with pytest.raises(InputError):
        mineralogy_of(Sample("empty"), 10, 1)
    with pytest.raises(InputError):
        mineralogy_of(Sample("zeros", minerals=listed(quartz=0.0)), 10, 1)


def test_an_unknown_phase_is_refused():
    with pytest.raises(UnknownNameError):
        mineralogy_of(Sample("x", minerals=listed(unobtainium=100.0)), 10, 1)


@pytest.mark.parametrize(
    "minerals",
    [listed(magnetite=100.0), listed(quartz=100.0), listed(hematite=50.0, martite=50.0)],
    ids=["all magnetite", "all quartz", "twins"],
)
def test_odd_bags_do_not_break_the_fit(minerals):
    sample = Sample("odd", minerals=minerals, assay=assay(SiO2=50.0, Fe2O3=50.0))
    mineralogy = mineralogy_of(sample, 40, 1)
    assert np.isfinite(mineralogy.mass_fraction).all()
    assert mineralogy.mass_fraction.sum(axis=1) == pytest.approx(1.0)


def test_an_assay_of_one_oxide_is_enough_for_the_fit():
    mineralogy = mineralogy_of(replace(SAND, assay=assay(Fe2O3=0.4)), 100, 1)
    assert np.median(mineralogy.reconciled_wt_pct[1:, FE]) == pytest.approx(0.4, abs=0.02)


def test_a_users_metal_may_hold_more_than_a_hundred_as_oxide():
    steel = Phase("steel", None, 7800.0, 1e-4, None, {"Fe2O3": 140.0}, {})
    bag = replace(SAND, minerals=listed(quartz=99.9, steel=0.1), phases=(steel,))
    mineralogy = mineralogy_of(bag, 20, 1)
    steel_iron = mineralogy.oxides_wt_pct[:, column(mineralogy, "steel"), FE]
    assert steel_iron == pytest.approx(140.0)


def test_zero_assays_and_sd_of_zero_are_finite_weights():
    zero = replace(SAND, assay={"Fe2O3": OxideValue(0.0, 0.0), "SiO2": OxideValue(98.0, 0.0)})
    mineralogy = mineralogy_of(zero, 60, 1)
    assert np.isfinite(mineralogy.reconciled_wt_pct).all()
    assert "sanity-2" in {note.code for note in mineralogy.notes}


def test_assayed_sinks_take_part():
    sinks = replace(
        SAND,
        minerals=(*SAND.minerals, *(replace(m, fraction="sinks") for m in listed(
            method="estimate", ilmenite=60.0, zircon=40.0))),
        fractions=(Fraction("sinks", 0.3, oxides_wt_pct={"TiO2": 28.0, "Fe2O3": 30.0}),),
        assay=assay(Fe2O3=0.35),
    )  # fmt: skip
    residual = mineralogy_of(sinks, 60, 1).agreement.residual_sd
    assert {"TiO2 of sinks", "Fe2O3 of sinks"} <= set(residual)
    assert abs(residual["TiO2 of sinks"]) < 2.0


def test_a_users_phase_and_unidentified_take_part():
    own = replace(
        SAND,
        minerals=(*listed(quartz=90.0, slag=6.0, unidentified=4.0),),
        phases=(Phase("slag", None, 3200.0, 2e-6, 2e-7, {"SiO2": 30.0, "Fe2O3": 40.0}, {}),),
    )
    mineralogy = mineralogy_of(own, 300, 1)
    iron = mineralogy.iron_wt_pct[1:, column(mineralogy, "unidentified")] * 1.4297
    assert np.median(iron) == pytest.approx(5.0, rel=0.2)
    assert np.quantile(iron, 0.95) > 15.0


def test_many_samples_at_once_may_skip_what_they_do_not_need():
    quick = mineralogy_of(ASSAYED, 50, 1, thorough=False)
    full = mineralogy_of(ASSAYED, 50, 1)
    assert np.array_equal(quick.mass_fraction, full.mass_fraction)
    assert not quick.mass_range_pct


def test_a_hopeless_assay_is_fitted_without_a_number_that_is_none():
    # Mica that needs twice the potash: chains start where unseen iron cannot be, and get out.
    minerals = tuple(
        replace(row, sd=sd)
        for row, sd in zip(listed(None, quartz=95.0, muscovite=5.0), (0.3, 0.2), strict=True)
    )
    found = mineralogy_of(Sample("hopeless", minerals=minerals, assay=assay(K2O=0.3)), 20, 1)
    assert found.data_disagree
    assert np.isfinite(found.mass_fraction).all()
