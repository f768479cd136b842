"""What each step from a sample to its mineralogy hands to the next, by figures of the bag."""

from __future__ import annotations

from itertools import permutations

import numpy as np
import pytest

from feedchar.chemistry import build
from feedchar.chemistry.build import mineralogy_of
from feedchar.chemistry.mineralogy import OXIDES
from feedchar.sample.records import (
    BulkSusceptibility,
    Diagnostic,
    Fraction,
    MineralAmount,
    OxideValue,
    Sample,
    Texture,
)

FE = OXIDES.index("Fe2O3")


def row(mineral, value, basis="mass_pct", **more):
    return MineralAmount(mineral, basis, value, **more)


BAG = (row("quartz", 80.0), row("albite", 12.0), row("biotite", 5.0), row("hematite", 2.0),
       row("goethite", 1.0))  # fmt: skip


def test_no_answer_without_an_assay_below_a_tenth_of_a_per_cent_of_iron():
    """Counted as dug, so that nothing else asks for one; points of biotite step over it."""
    seen = []
    for points in range(64, 76, 2):
        bag = (row("quartz", 20000.0, "points"), row("biotite", float(points), "points"))
        found = mineralogy_of(Sample("x", origin="as dug", minerals=bag), 0, 1, thorough=False)
        iron = found.predicted_wt_pct[0, FE]
        assert found.assay_needed == (iron < 0.10), iron
        seen.append(iron)
    assert 0.09 < max(v for v in seen if v < 0.10) < 0.10 < min(v for v in seen if v > 0.10) < 0.105


def test_the_typical_case_has_no_say_where_there_are_trials():
    """One trial is its own median; the assay is asked for by it, not by the typical case."""
    bag = (row("quartz", 20000.0, "points"), row("biotite", 70.0, "points"))
    sample = Sample("x", origin="as dug", minerals=bag)
    both = {False: 0, True: 0}
    for seed in range(20):
        found = mineralogy_of(sample, 1, seed, thorough=False)
        assert found.assay_needed == (found.predicted_wt_pct[1, FE] < 0.10)
        both[found.assay_needed] += 1
    assert min(both.values()) > 3


def test_iron_oxides_and_susceptibility_lie_where_the_scores_put_them():
    found = mineralogy_of(Sample("x", origin="as dug", minerals=BAG), 40, 3, thorough=False)
    for j, phase in enumerate(found.phases):
        iron, oxides = found.iron_wt_pct[:, j], found.oxides_wt_pct[:, j]
        span = phase.iron_high_wt_pct - phase.iron_low_wt_pct
        place = (iron - phase.iron_low_wt_pct) / span if span > 0.0 else np.zeros(41)
        low, high = phase.oxides_low_wt_pct, phase.oxides_high_wt_pct
        assert oxides == pytest.approx(low + place[:, None] * (high - low), abs=1e-9)
        assert iron[0] == pytest.approx(phase.iron_typical_wt_pct)
    mass = found.mass_fraction
    assert mass.sum(axis=1) == pytest.approx(1.0)
    bulk = np.einsum("tm,tmk->tk", mass, found.oxides_wt_pct)
    assert found.predicted_wt_pct == pytest.approx(bulk, rel=1e-9)
    assert np.array_equal(found.predicted_wt_pct, found.reconciled_wt_pct)


def test_without_rows_there_is_nothing_to_agree_with():
    found = mineralogy_of(Sample("x", origin="as dug", minerals=BAG), 5, 3)
    agreement = found.agreement
    assert (agreement.chi_square, agreement.degrees_of_freedom) == (None, 0)
    assert (agreement.settled, agreement.residual_sd) == (True, {})
    assert not found.data_disagree
    assert found.mass_range_pct == {}
    assert not found.has_assay


def test_ranges_are_told_where_phases_outnumber_figures():
    """Five minerals: five figures settle them, four and a limit do not; and only when asked."""
    five = {"SiO2": 88.5, "Al2O3": 3.4, "Fe2O3": 4.0, "K2O": 0.5, "Na2O": 1.4}
    figures = {name: OxideValue(v, 0.3) for name, v in five.items()}
    limit = figures | {"Na2O": OxideValue(2.0, None, below_detection=True)}
    for assay, thorough, told in ((figures, True, False), (limit, True, True),
                                  (limit, False, False)):  # fmt: skip
        sample = Sample("x", origin="as dug", minerals=BAG, assay=assay)
        found = mineralogy_of(sample, 0, 1, thorough=thorough)
        assert bool(found.mass_range_pct) == told
        assert (found.agreement.degrees_of_freedom, found.has_assay) == (5, True)


def test_rows_of_the_fit_are_the_head_the_fractions_and_the_bulk():
    fractions = (Fraction("sinks", 3.0, oxides_wt_pct={"TiO2": 30.0}),)
    bag = (*BAG, row("hematite", 90.0, fraction="sinks"), row("rutile", 10.0, fraction="sinks"))
    more = {
        "assay": {"Fe2O3": OxideValue(4.2, 0.2), "K2O": OxideValue(0.5, 0.1)},
        "fractions": fractions, "susceptibility": BulkSusceptibility(2e-7, 2e-8),
    }  # fmt: skip
    names = {"assay": ["Fe2O3", "K2O"], "fractions": ["TiO2 of sinks"],
             "susceptibility": ["susceptibility"]}  # fmt: skip
    for given in (("assay",), ("fractions",), ("susceptibility",), tuple(more)):
        sample = Sample("x", minerals=bag, **{key: more[key] for key in given})
        found = mineralogy_of(sample, 0, 1, thorough=False)
        expected = [name for key in given for name in names[key]]
        assert list(found.agreement.residual_sd) == expected


def test_stained_shares_are_means_of_what_was_seen_and_never_more_than_all():
    textures = (
        Texture("zircon", "quartz", "stain", 30.0), Texture("albite", "quartz", "stain", 130.0),
        Texture("zircon", "quartz", "stain", 20.0), Texture("zircon", "quartz", "stain", 10.0),
        Texture("albite", "quartz", "stain", 120.0), Texture("rutile", "quartz", "joined", 9.0),
        Texture("topaz", "quartz", "stain", None),
    )  # fmt: skip
    found = build._stains(Sample("x", textures=textures))
    assert found == pytest.approx({"albite": 1.0, "zircon": 0.2})
    assert list(found) == ["albite", "zircon"]
    shares = (10.0, 20.0, 30.0, 70.0)
    assert len({sum(v / 100.0 for v in order) for order in permutations(shares)}) > 1
    every = [tuple(Texture("zircon", None, "stain", v) for v in o) for o in permutations(shares)]
    assert len({build._stains(Sample("x", textures=one))["zircon"] for one in every}) == 1


@pytest.mark.parametrize("stain", [True, False])
def test_treatments_are_told_what_listed_phases_already_give(monkeypatch, stain):
    """Iron of the stained shares, of oxides an acid takes, and of pale grains with their mass."""
    told = {}

    def noting(shares, unseen, diagnosis, named, seed):
        told.update(shares=shares, unseen=unseen, diagnosis=diagnosis, named=named, seed=seed)
        return shares

    monkeypatch.setattr(build, "forms_by_treatment", noting)
    textures = (Texture("hematite", "quartz", "stain" if stain else "free", 30.0),)
    scrub = (Diagnostic("scrub", 100.0, 99.0, 5.0, 4.0),)
    sample = Sample("x", origin="as dug", minerals=BAG, textures=textures, diagnostics=scrub)
    found = mineralogy_of(sample, 6, 11, thorough=False)
    iron = found.mass_fraction * found.oxides_wt_pct[:, :, FE]
    place = {phase.name: j for j, phase in enumerate(found.phases)}
    pale = [place["quartz"], place["albite"]]
    assert told["named"]["stain"] == pytest.approx(
        (0.3 if stain else 0.0) * iron[:, place["hematite"]]
    )
    assert told["named"]["soluble"] == pytest.approx(
        iron[:, place["hematite"]] + iron[:, place["goethite"]]
    )
    assert told["named"]["lattice"] == pytest.approx(iron[:, pale].sum(axis=1))
    assert told["named"]["pale"] == pytest.approx(found.mass_fraction[:, pale].sum(axis=1))
    assert told["unseen"] == pytest.approx(iron[:, place["unseen"]])
    assert told["shares"].shape == (7, 3)
    assert told["seed"] == 11
    assert told["diagnosis"].scrubbed is not None
    typical = told["shares"][0]  # a stain that is named leaves a fifth of it unseen
    assert typical[0] / typical[1] == pytest.approx(0.4 if stain else 2.0)


def test_one_grave_rule_makes_the_data_disagree_beside_harmless_ones():
    """Alumina to spare is a note; biotite without iron to match is beyond four sd."""
    bag = (row("quartz", 95.0, sd=0.3), row("biotite", 5.0, sd=0.2))
    assay = {"Fe2O3": OxideValue(0.02, 0.01), "Al2O3": OxideValue(6.0, 0.1),
             "K2O": OxideValue(0.5, 0.05), "Na2O": OxideValue(0.1, 0.05),
             "CaO": OxideValue(0.1, 0.05)}  # fmt: skip
    found = mineralogy_of(Sample("x", minerals=bag, assay=assay), 0, 1, thorough=False)
    severities = {note.code: note.severity for note in found.notes if "sanity" in note.code}
    assert severities["sanity-2"] == "stop"
    assert "note" in severities.values()
    assert found.data_disagree
