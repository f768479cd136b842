"""The answer: status, joint chance, and words that claim no more than is known."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from feedchar.errors import UnknownNameError
from feedchar.particles.build import build_classes
from feedchar.product.answer import answer
from feedchar.product.answer_words import in_100
from feedchar.product.inverse import dirtiest_feed, feed_that_passes
from feedchar.product.limit_rows import oxide_values
from feedchar.product.outlets import outlets
from feedchar.product.specks import specks
from feedchar.sample.records import Limit, Note, Sample

PLAIN = Sample("x")


@pytest.fixture(scope="module")
def case(sand_of):
    sand = sand_of(trials=400)
    classes = build_classes(PLAIN, sand.mineralogy, sand.sizes)[0]
    shares = sand.shares(classes)
    made = outlets(classes, shares, sand.mineralogy)
    return sand, made, specks(classes, shares, sand.mineralogy).dark


def quantile(made, level):
    return float(np.quantile(made.non_magnetics.oxide("Fe2O3")[1:], level))


@pytest.mark.parametrize(
    ("level", "status"), [(0.97, "meets"), (0.5, "uncertain"), (0.03, "fails")]
)
def test_the_status_follows_the_chance(case, level, status):
    sand, made, _ = case
    limit = Limit(max_wt_pct={"Fe2O3": quantile(made, level)})
    found = answer(made, limit, sand.mineralogy)
    assert found.status == status
    assert found.chance_of_meeting_limit == pytest.approx(level, abs=0.01)
    assert "validated" not in found.sentence
    assert "guarantee" not in found.sentence
    assert "mean of this bag" in found.sentence


def test_the_chance_is_joint_over_all_that_is_asked(case):
    sand, made, dark = case
    iron = made.non_magnetics.oxide("Fe2O3")
    titanium = made.non_magnetics.oxide("TiO2")
    yields = made.yield_pct()
    limit = Limit(
        max_wt_pct={"TiO2": float(np.median(titanium)), "Fe2O3": float(np.median(iron))},
        min_wt_pct={"SiO2": 90.0},
        yield_min_pct=float(np.quantile(yields, 0.2)),
        specks_per_100_g_max=float(np.quantile(dark, 0.8)),
    )
    found = answer(made, limit, sand.mineralogy, dark)
    met = (
        (iron <= limit.max_wt_pct["Fe2O3"])
        & (titanium <= limit.max_wt_pct["TiO2"])
        & (yields >= limit.yield_min_pct)
        & (dark <= limit.specks_per_100_g_max)
    )
    assert found.chance_of_meeting_limit == pytest.approx(met[1:].mean())
    assert [row.quantity for row in found.rows] == ["Fe2O3", "TiO2", "SiO2", "yield", "specks"]
    assert found.chance_of_meeting_limit <= min(row.chance for row in found.rows)
    assert found.rows[2].words == "likely"


@pytest.mark.parametrize(
    ("flag", "status"), [("data_disagree", "data disagree"), ("assay_needed", "assay needed")]
)
def test_no_chance_is_given_where_the_feed_is_not_known(case, flag, status):
    sand, made, _ = case
    doubtful = replace(sand.mineralogy, **{flag: True})
    found = answer(made, Limit(max_wt_pct={"Fe2O3": 0.05}), doubtful)
    assert found.status == status
    assert found.chance_of_meeting_limit is None
    assert [row.chance for row in found.rows] == [None]
    assert found.rows[0].words == "not known"


def test_a_rule_that_stops_is_told_before_the_datum_to_doubt(case):
    sand, made, _ = case
    limit = Limit(max_wt_pct={"Fe2O3": 0.05})
    agreement = replace(sand.mineralogy.agreement, doubtful="TiO2")
    apart = Note("disagreement", "TiO2 is 5 sd from the rest", "stop")
    broken = Note("rule", "more iron than its minerals can hold", "stop")
    for notes, said, unsaid in (
        ((apart,), "Doubt first: TiO2.", "5 sd from"),
        ((apart, broken), "Settle first: more iron than its minerals can hold.", "Doubt first"),
    ):
        doubtful = replace(sand.mineralogy, data_disagree=True, agreement=agreement, notes=notes)
        sentence = answer(made, limit, doubtful).sentence
        assert said in sentence
        assert unsaid not in sentence


@pytest.mark.parametrize("limit", [None, Limit()])
def test_without_a_limit_nothing_is_met_or_failed(case, limit):
    sand, made, _ = case
    found = answer(made, limit, sand.mineralogy)
    assert found.status == "no limit given"
    assert found.chance_of_meeting_limit is None
    assert found.rows == ()


def test_without_trials_there_is_no_chance(sand_of):
    sand = sand_of(trials=0)
    classes = build_classes(PLAIN, sand.mineralogy, sand.sizes)[0]
    made = outlets(classes, sand.shares(classes), sand.mineralogy)
    found = answer(made, Limit(max_wt_pct={"Fe2O3": 5.0}), sand.mineralogy)
    assert (found.status, found.chance_of_meeting_limit) == ("uncertain", None)
    assert "typical case meets" in found.sentence


def test_an_empty_product_meets_nothing(case):
    sand, made, _ = case
    nothing = replace(
        made.non_magnetics,
        phase_size=made.non_magnetics.phase_size * 0.0,
        oxide_mass=made.non_magnetics.oxide_mass * 0.0,
    )
    found = answer(
        replace(made, non_magnetics=nothing), Limit(max_wt_pct={"Fe2O3": 1.0}), sand.mineralogy
    )
    assert found.status == "fails"
    assert found.chance_of_meeting_limit == 0.0
    assert "Left out" not in found.sentence


def test_a_limit_of_which_nothing_is_known_is_never_met(case):
    sand, made, _ = case
    loose = {"Fe2O3": 50.0}
    assert answer(made, Limit(max_wt_pct=loose), sand.mineralogy).status == "meets"
    found = answer(made, Limit(max_wt_pct={**loose, "Cr2O3": 5e-4}), sand.mineralogy)
    assert (found.status, found.chance_of_meeting_limit) == ("uncertain", 1.0)
    assert "What is known is likely to meet at most 50 % Fe2O3" in found.sentence
    assert "Left out: Cr2O3" in found.sentence


def test_sums_of_oxides_may_be_asked_and_unknown_ones_are_refused(case):
    sand, made, _ = case
    both = oxide_values(made, "K2O+Na2O")
    assert both == pytest.approx(made.non_magnetics.oxide("K2O") + made.non_magnetics.oxide("Na2O"))
    with pytest.raises(UnknownNameError, match="B2O3"):
        answer(made, Limit(max_wt_pct={"B2O3": 1.0}), sand.mineralogy)


def test_a_chance_in_words_is_never_certain():
    assert in_100(0.0) == "fewer than 1 in 100"
    assert in_100(1.0) == "more than 99 in 100"
    assert in_100(0.44) == "about 44 in 100"
    assert in_100(0.897) == "about 89.7 in 100"  # uncertain: never told as 90


def test_the_dirtiest_feed_that_passes_gives_a_product_at_the_limit(case):
    """Scaled up by hand: dark phases times s, product and feed added up again."""
    sand, made, _ = case
    limit = 0.09
    dirtiest = dirtiest_feed(made, sand.mineralogy, limit)
    content = sand.mineralogy.oxides_wt_pct[0, :, 3]
    pale = made.is_pale
    product = made.non_magnetics.phase_mass[0]
    bag = sand.mineralogy.mass_fraction[0]

    def mean(mass, factor):
        scaled = np.where(pale, mass, factor * mass)
        return scaled @ content / scaled.sum()

    factors = np.linspace(0.0, 20.0, 200_001)
    at_limit = np.interp(limit, [mean(product, f) for f in factors[::1000]], factors[::1000])
    assert dirtiest[0] == pytest.approx(mean(bag, at_limit), rel=1e-3)


def test_a_dirtier_feed_may_pass_half_the_time_than_nine_times_in_ten(case):
    sand, made, _ = case
    dirtiest = dirtiest_feed(made, sand.mineralogy, 0.08)
    often, half = feed_that_passes(dirtiest, 0.9), feed_that_passes(dirtiest, 0.5)
    assert often < half
    assert np.mean(dirtiest[1:] >= often) == pytest.approx(0.9, abs=0.01)


def test_pale_minerals_that_break_the_limit_alone_allow_no_feed(case):
    sand, made, _ = case
    assert np.isnan(dirtiest_feed(made, sand.mineralogy, 0.001)).all()
    assert feed_that_passes(dirtiest_feed(made, sand.mineralogy, 0.001)) is None


def test_no_pass_is_claimed_for_an_oxide_that_nothing_listed_carries(case):
    """Never a pass on what was not looked for: chromium without a chromium mineral or assay."""
    sand, made, _ = case
    limit = Limit(max_wt_pct={"Fe2O3": 5.0, "Cr2O3": 0.0005})
    found = answer(made, limit, sand.mineralogy)
    chromium = next(row for row in found.rows if row.quantity == "Cr2O3")
    assert (chromium.chance, chromium.words, chromium.value.typical) == (None, "not known", None)
    assert found.chance_of_meeting_limit == 1.0
    assert "Left out: Cr2O3" in found.sentence
    alone = answer(made, Limit(max_wt_pct={"Cr2O3": 0.0005}), sand.mineralogy)
    assert (alone.status, alone.chance_of_meeting_limit) == ("uncertain", None)
    assert "Nothing that is asked is known" in alone.sentence
