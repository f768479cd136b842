"""Priors of the machine: the quantiles they state, their streams, calibration and load."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import beta

from feedchar.errors import SettingError
from feedchar.separation.adhesion import asperity_adhesion, smooth_sphere_adhesion
from feedchar.separation.load import layers_of_feed, under_load
from feedchar.separation.parameters import (
    HAND_MAGNET_PRIOR,
    ISODYNAMIC_PRIOR,
    Calibration,
    bypass_shape,
    draw_bench_magnet,
    draw_parameters,
)
from feedchar.separation.records import Parameters
from feedchar.uncertainty.streams import stream

NAMES = ("bypass", "entrainment", "pull_factor", "adhesion_N")


def test_the_prior_of_the_bypass_has_its_stated_mean_and_95_percent_point():
    prior = beta(*bypass_shape())
    assert prior.mean() == pytest.approx(0.03, abs=1e-12)
    assert prior.ppf(0.95) == pytest.approx(0.10, abs=1e-9)


def test_draws_reproduce_the_stated_priors():
    drawn = draw_parameters(40_000, 1)
    assert drawn.bypass[1:].mean() == pytest.approx(0.03, abs=0.0006)
    carried = np.quantile(drawn.entrainment[1:], (0.05, 0.5, 0.95))
    assert carried == pytest.approx([0.005, 0.01, 0.03], rel=0.02)
    # Upper quartile of the upper piece: three times the median is its 95 % point.
    quartile = 0.01 * 3.0 ** (0.6745 / 1.6449)
    assert np.quantile(drawn.entrainment[1:], 0.75) == pytest.approx(quartile, rel=0.02)
    held = np.quantile(drawn.adhesion_N[1:], (0.05, 0.5, 0.95))
    assert held == pytest.approx(1e-8 * np.exp(0.5 * np.array([-1.645, 0, 1.645])), rel=0.02)


def test_row_0_is_the_typical_case_and_trials_come_on_top():
    drawn = draw_parameters(5, 3)
    assert all(len(getattr(drawn, name)) == 6 for name in NAMES)
    assert [getattr(drawn, name)[0] for name in NAMES] == [0.03, 0.01, 1.0, 1e-8]
    assert len(draw_parameters(0, 3).bypass) == 1


def test_the_seed_alone_decides_and_more_trials_keep_the_first_ones():
    few, many = draw_parameters(50, 7), draw_parameters(80, 7)
    for name in ("entrainment", "adhesion_N"):
        assert np.array_equal(getattr(few, name), getattr(many, name)[:51])
    assert not np.array_equal(few.entrainment, draw_parameters(50, 8).entrainment)


def test_each_draw_is_of_the_stream_of_its_own_quantity():
    """One counter-based stream for each named quantity: more than usual where its score is high."""
    drawn, bench = draw_parameters(50, 7), draw_bench_magnet(ISODYNAMIC_PRIOR, 50, 7)
    held = stream(7, "machine/adhesion").standard_normal(50)
    assert drawn.adhesion_N[1:] == pytest.approx(1e-8 * np.exp(0.5 * held), rel=1e-9)
    score = stream(7, "machine/entrainment").standard_normal(50) / 1.6448536
    carried = 0.01 * np.where(score < 0.0, 2.0, 3.0) ** score
    assert drawn.entrainment[1:] == pytest.approx(carried, rel=1e-6)
    kept = stream(7, "isodynamic separator/entrainment").standard_normal(50) / 1.6448536
    wanted = np.minimum(0.003 * (0.02 / 0.003) ** kept, 0.5)
    assert bench.entrainment[1:] == pytest.approx(wanted, rel=1e-6)
    pull = stream(7, "isodynamic separator/pull").standard_normal(50)
    assert bench.pull_factor[1:] == pytest.approx(np.exp(0.2 * pull), rel=1e-9)


def test_a_calibration_replaces_the_priors_row_by_row():
    rng = np.random.default_rng(0)
    bypass = rng.uniform(0.05, 0.06, 300)
    taught = Calibration(bypass, 0.2 * bypass, np.full(300, 0.9), np.full(300, 2e-8), "three tests")
    drawn = draw_parameters(1000, 1, taught)
    assert drawn.bypass[0] == pytest.approx(bypass.mean())
    assert drawn.entrainment[1:] == pytest.approx(0.2 * drawn.bypass[1:])
    assert np.all(drawn.pull_factor == 0.9)
    assert set(drawn.bypass[1:]) <= set(bypass)


@pytest.mark.parametrize(
    "columns",
    [
        ([0.1, 0.2], [0.1], [1.0], [1e-8]),
        ([], [], [], []),
        ([1.0], [0.0], [1.0], [1e-8]),
        ([0.1], [0.0], [0.0], [1e-8]),
        ([0.1], [np.nan], [1.0], [1e-8]),
        ([-0.01], [0.0], [1.0], [1e-8]),
        ([0.1], [1.0], [1.0], [1e-8]),
        ([0.1], [-0.01], [1.0], [1e-8]),
        ([0.1], [0.0], [-1.0], [1e-8]),
        ([0.1], [0.0], [np.inf], [1e-8]),
        ([0.1], [0.0], [1.0], [0.0]),
        ([0.1], [0.0], [1.0], [-1e-8]),
        ([0.1], [0.0], [1.0], [np.inf]),
        ([0.1, 0.1], [0.0, 0.0], [1.0, 1.0], [1e-8]),
        ([0.1, 1.0], [0.0, 0.0], [1.0, 1.0], [1e-8, 1e-8]),
        ([0.1, 0.1], [0.0, 1.5], [1.0, 1.0], [1e-8, 1e-8]),
        ([0.1, 0.1], [0.0, 0.0], [1.0, np.inf], [1e-8, 1e-8]),
        ([0.1, 0.1], [0.0, 0.0], [1.0, 1.0], [1e-8, -1e-8]),
    ],
)
def test_a_calibration_that_cannot_be_is_refused(columns):
    with pytest.raises(SettingError, match="calibration"):
        draw_parameters(10, 1, Calibration(*map(np.array, columns)))


def test_negative_trials_are_refused():
    with pytest.raises(SettingError, match="0 or more"):
        draw_parameters(-1, 1)


def test_a_dry_single_layer_with_few_magnetics_changes_nothing():
    base = draw_parameters(10, 1)
    changed, notes = under_load(base, 1.0, 0.19, 0.1)
    assert notes == ()
    assert all(np.array_equal(getattr(base, name), getattr(changed, name)) for name in NAMES)


def test_load_moves_each_parameter_the_way_the_trade_knows():
    base = draw_parameters(10, 1)
    deep, deep_notes = under_load(base, layers=2.5)
    assert np.all(deep.bypass > base.bypass)
    assert np.all(deep.entrainment > base.entrainment)
    buried, buried_notes = under_load(base, magnetics_share=0.4)
    assert np.all(buried.bypass > base.bypass)
    damp, damp_notes = under_load(base, moisture_pct=0.3)
    assert damp.adhesion_N == pytest.approx(5.0 * base.adhesion_N)
    wet, wet_notes = under_load(base, moisture_pct=3.0)
    assert np.all(wet.adhesion_N > damp.adhesion_N)
    assert np.all(wet.adhesion_N <= 1000.0 * base.adhesion_N + 1e-20)
    assert ["2.5" in deep_notes[0].text, "40 %" in buried_notes[0].text] == [True, True]
    assert damp_notes[0].severity == "note"
    assert wet_notes[0].severity == "warning"
    for each in (deep, buried, damp, wet):
        assert np.all((each.bypass >= 0) & (each.bypass < 1) & (each.entrainment < 1))


@pytest.mark.parametrize("load", [(-1.0, 0, 0), (1, 1.2, 0), (1, 0, -0.1), (np.nan, 0, 0)])
def test_a_load_that_cannot_be_is_refused(load):
    with pytest.raises(SettingError, match="must be from 0"):
        under_load(draw_parameters(1, 1), *load)


def test_a_load_is_counted_from_its_border_on():
    """A bed a twentieth too deep is; a fifth of magnetics is not; all of it or all water may be."""
    base = draw_parameters(2, 1)
    assert len(under_load(base, layers=1.05)[1]) == 1
    assert under_load(base, magnetics_share=0.2)[1] == ()
    assert len(under_load(base, magnetics_share=0.201)[1]) == 1
    assert len(under_load(base, 1.0, 1.0, 100.0)[1]) == 2
    for load in ((1.0, 1.02, 0.0), (1.0, 0.0, 101.0)):
        with pytest.raises(SettingError, match="must be from 0"):
            under_load(base, *load)
    assert layers_of_feed(0.0, 2650.0, 3e-4, 1.75) == 0.0


def test_layers_count_the_feed_against_a_full_single_layer():
    # 2.5 t/h per metre of 0.3 mm sand at 1.75 m/s is one full layer at coverage 0.75.
    assert layers_of_feed(2.5 / 3.6, 2650.0, 3e-4, 1.75) == pytest.approx(1.0, abs=0.01)
    with pytest.raises(SettingError):
        layers_of_feed(-1.0, 2650.0, 3e-4, 1.75)


def test_a_bed_two_grains_deep_misses_a_quarter_more_and_carries_twice_the_sand():
    # Half the grains do not touch the belt, and half of what is magnetic in them is missed.
    clean = Parameters(*(np.full(1, value) for value in (0.04, 0.01, 1.0, 1e-8)))
    loaded, notes = under_load(clean, layers=2.0)
    assert loaded.bypass[0] == pytest.approx(1.0 - 0.96 * 0.75, rel=1e-12)
    assert loaded.entrainment[0] == pytest.approx(0.02, rel=1e-12)
    assert len(notes) == 1
    same, none = under_load(clean, layers=1.0)
    assert same.bypass[0] == 0.04
    assert none == ()


def test_magnetics_on_two_fifths_of_the_belt_leave_room_for_half_of_them():
    """Above a fifth they bury each other: missed with the root of the room, carried with it."""
    clean = Parameters(*(np.full(1, value) for value in (0.04, 0.01, 1.0, 1e-8)))
    loaded, notes = under_load(clean, magnetics_share=0.4)
    assert loaded.bypass[0] == pytest.approx(1.0 - 0.96 * np.sqrt(0.5), rel=1e-12)
    assert loaded.entrainment[0] == pytest.approx(0.02, rel=1e-12)
    assert "above 20 %" in notes[0].text
    assert notes[0].severity == "warning"


@pytest.mark.parametrize(
    ("moisture", "times"), [(0.1, 1.0), (0.2, np.sqrt(5.0)), (0.3, 5.0), (0.5, 25.0), (3.0, 1e3)]
)
def test_every_fifth_of_a_per_cent_of_moisture_makes_fines_cling_five_times_harder(moisture, times):
    clean = Parameters(*(np.full(1, value) for value in (0.04, 0.01, 1.0, 1e-8)))
    loaded, notes = under_load(clean, moisture_pct=moisture)
    assert loaded.adhesion_N[0] == pytest.approx(1e-8 * times, rel=1e-9)
    assert [note.severity for note in notes] == (
        [] if moisture <= 0.1 else ["note"] if moisture <= 0.3 else ["warning"]
    )


@pytest.mark.parametrize("prior", [HAND_MAGNET_PRIOR, ISODYNAMIC_PRIOR])
def test_a_bench_magnet_is_drawn_as_its_prior_says(prior):
    drawn = draw_bench_magnet(prior, 40_000, 2)
    typical = (drawn.bypass[0], drawn.entrainment[0], drawn.pull_factor[0])
    assert typical == (prior.bypass_mean, prior.entrainment_median, 1.0)
    assert drawn.bypass[1:].mean() == pytest.approx(prior.bypass_mean, rel=0.02)
    assert np.quantile(drawn.bypass[1:], 0.95) == pytest.approx(prior.bypass_p95, rel=0.03)
    kept = np.quantile(drawn.entrainment[1:], (0.5, 0.95))
    assert kept == pytest.approx([prior.entrainment_median, prior.entrainment_p95], rel=0.05)
    assert np.log(drawn.pull_factor[1:]).std() == pytest.approx(prior.pull_ln_sd, rel=0.02)
    assert drawn.entrainment.max() <= 0.5
    # A hand magnet may keep half of the sand, one draw in a thousand would be more.
    if prior is HAND_MAGNET_PRIOR:
        assert np.sum(drawn.entrainment == 0.5) == pytest.approx(40, abs=25)


def test_the_figures_guessed_of_machine_and_bench_are_those_told():
    """Guesses, no source: hand magnet 10 % missed, isodynamic 2 %, roll 3 % (95 % below 10 %)."""
    one = draw_parameters(0, 1)
    assert (one.bypass[0], one.entrainment[0], one.adhesion_N[0]) == (0.03, 0.01, 1e-8)
    assert one.by_hand is not None
    assert one.isodynamic is not None
    assert (one.by_hand.bypass[0], one.by_hand.entrainment[0]) == (0.10, 5e-4)
    assert (one.isodynamic.bypass[0], one.isodynamic.entrainment[0]) == (0.02, 0.003)
    assert (HAND_MAGNET_PRIOR.bypass_p95, ISODYNAMIC_PRIOR.bypass_p95) == (0.30, 0.06)
    assert (HAND_MAGNET_PRIOR.entrainment_p95, ISODYNAMIC_PRIOR.entrainment_p95) == (0.02, 0.02)
    assert (HAND_MAGNET_PRIOR.pull_ln_sd, ISODYNAMIC_PRIOR.pull_ln_sd) == (0.0, 0.2)


def test_rows_of_a_calibration_stay_together_and_its_typical_case_is_the_median():
    taught = Calibration(
        np.array([0.0, 0.02, 0.10]), np.array([0.0, 0.01, 0.05]), np.array([0.8, 1.0, 1.1]),
        np.array([1e-9, 1e-8, 3e-8]),
    )  # fmt: skip
    drawn = draw_parameters(200, 5, taught)
    rows = np.stack([getattr(drawn, name) for name in NAMES], axis=1)
    assert rows[0] == pytest.approx([0.04, 0.01, 1.0, 1e-8])
    told = {(0.0, 0.0, 0.8, 1e-9), (0.02, 0.01, 1.0, 1e-8), (0.10, 0.05, 1.1, 3e-8)}
    assert {tuple(row) for row in rows[1:].tolist()} == told
    assert drawn.by_hand is not None
    assert len(drawn.by_hand.bypass) == 201


def test_a_smooth_sphere_holds_by_the_formula_worked_by_hand():
    # A d / (12 z^2): 6.5e-20 J x 1e-4 m over 12 x 1.6e-19 m2, from memory.
    assert smooth_sphere_adhesion(1e-4, 6.5e-20, 4e-10) == pytest.approx(3.3854e-6, rel=1e-4)
    nearer = smooth_sphere_adhesion(1e-4, 6.5e-20, 2e-10)
    assert nearer == pytest.approx(4.0 * 3.3854e-6, rel=1e-4)


def test_one_asperity_of_a_tenth_of_a_micrometre_holds_with_seven_nanonewtons():
    """A r / (6 z^2) with 6.5e-20 J at 0.4 nm, from memory; at 0.165 nm with forty."""
    assert asperity_adhesion() == pytest.approx(6.5e-27 / (6.0 * 1.6e-19), rel=1e-9)
    assert asperity_adhesion() == pytest.approx(6.77e-9, rel=1e-3)
    assert asperity_adhesion(distance_m=1.65e-10) == pytest.approx(3.98e-8, rel=1e-3)
    assert smooth_sphere_adhesion(2e-7) == pytest.approx(asperity_adhesion(), rel=1e-12)
