"""Shares of classes: sums, passes, outlets, drums, moments and the air of the belt."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from feedchar.field.setting import Pass, Setting
from feedchar.separation.grain_nodes import FlakeSpread
from feedchar.separation.passes import separate
from feedchar.separation.records import Grains, Parameters


def some_grains(susceptibility=(-6.2e-9, 6e-8, 5e-7, 1.4e-6), moment=0.0, trials=1, **more):
    """Quartz, muscovite (flake), biotite (flake), ilmenite of 212 to 300 um."""
    count = len(susceptibility)
    flake = np.array([False, True, True, False][:count])
    figures = {
        "passing_m": np.full(count, 300e-6),
        "retained_m": np.full(count, 212e-6),
        "is_flake": flake,
        "thickness_ratio": np.where(flake, 0.1, 1.0),
        "density_kg_m3": np.array([2650.0, 2830.0, 3000.0, 4700.0][:count]),
        "susceptibility_m3_kg": np.tile(susceptibility, (trials, 1)),
        "moment_A_m2_kg": np.full((trials, count), moment),
        "order": np.full(count, int(moment > 0.0)),
        "grain_ln_sd": np.full(count, 0.3),
    }
    return Grains(**{**figures, **more})


def machine(bypass=0.0, entrainment=0.0, pull=1.0, adhesion=1e-8, air=None):
    as_array = np.atleast_1d
    return Parameters(
        as_array(bypass), as_array(entrainment), as_array(pull), as_array(adhesion),
        None if air is None else as_array(air),
    )  # fmt: skip


def gone(shares):
    return 1.0 - shares.non_magnetics


def test_outlets_add_up_and_missed_is_part_of_the_product(sand):
    setting = Setting(sand.roll(0.05), (Pass(1.5, 0.01, 0.03), Pass(1.0, 0.015, 0.05)))
    shares = separate(setting, some_grains(), machine(0.05, 0.02))
    total = shares.magnetics + shares.middlings + shares.non_magnetics
    assert total == pytest.approx(np.ones_like(total), abs=1e-12)
    for part in (shares.magnetics, shares.middlings, shares.non_magnetics, shares.missed):
        assert np.all((part >= 0.0) & (part <= 1.0))
    assert np.all(shares.missed <= shares.non_magnetics)


def test_bypass_and_entrainment_act_as_stated(sand):
    setting = sand.setting(0.05, 1.5)
    pure = gone(separate(setting, some_grains(), machine()))
    shares = separate(setting, some_grains(), machine(0.1, 0.02))
    met = 0.9 * pure
    assert gone(shares) == pytest.approx(met + 0.02 * (1.0 - met), abs=1e-12)
    # Only what would have been taken is missed: the same grains, were there no bypass.
    assert shares.missed == pytest.approx(0.98 * 0.1 * pure, abs=1e-12)


def test_a_second_pass_multiplies_only_what_is_drawn_anew(sand):
    one, two = (Setting(sand.roll(0.05), (Pass(1.5),) * n) for n in (1, 2))
    params = machine(0.03, 0.01)
    left_once = separate(one, some_grains(), params).non_magnetics[0]
    left_twice = separate(two, some_grains(), params).non_magnetics[0]
    assert np.all(left_twice <= left_once + 1e-12)
    # Strong and pale grains hardly differ among themselves, muscovite's thickness and
    # susceptibility do: a fresh chance for each grain would leave far less of it.
    assert left_twice[0] == pytest.approx(left_once[0] ** 2, rel=0.02)
    assert left_twice[1] > 1.5 * left_once[1] ** 2


def test_the_order_of_different_passes_does_not_change_what_is_left(sand):
    first, second = Pass(1.5, 0.010), Pass(2.0, 0.020)
    there, back = (
        separate(Setting(sand.roll(0.05), passes), some_grains(), machine(0.03, 0.01))
        for passes in ((first, second), (second, first))
    )
    assert there.non_magnetics == pytest.approx(back.non_magnetics, abs=2e-3)


def test_a_wider_edge_takes_more_and_middlings_lie_between(sand):
    roll = sand.roll(0.05)
    narrow = separate(Setting(roll, (Pass(2.0, 0.01),)), some_grains(), machine())
    wide = separate(Setting(roll, (Pass(2.0, 0.04),)), some_grains(), machine())
    both = separate(Setting(roll, (Pass(2.0, 0.01, 0.04),)), some_grains(), machine())
    assert np.all(wide.magnetics >= narrow.magnetics)
    assert both.magnetics == pytest.approx(narrow.magnetics, abs=1e-12)
    assert both.middlings == pytest.approx(wide.magnetics - narrow.magnetics, abs=1e-12)


def test_retreated_middlings_end_in_one_of_the_three_outlets(sand):
    roll = sand.roll(0.05)
    passes = (Pass(2.0, 0.01, 0.04), Pass(1.5, 0.01, 0.04))
    kept = separate(Setting(roll, passes[:1]), some_grains(), machine())
    again = separate(Setting(roll, passes, retreat="middlings"), some_grains(), machine())
    assert np.all(again.magnetics >= kept.magnetics - 1e-12)
    assert np.all(again.non_magnetics >= kept.non_magnetics - 1e-12)
    assert np.all(again.middlings <= kept.middlings + 1e-12)


def test_a_drum_first_takes_strong_grains_and_leaves_sand(sand):
    iron_ore = some_grains((-6.2e-9, 6e-8, 5e-7, 4e-5))
    fast = replace(sand.setting(0.05, 1.5), passes=(Pass(14.0, 0.01),))
    without = separate(fast, iron_ore, machine())
    weak = separate(replace(fast, drum_first="weak"), iron_ore, machine())
    strong = separate(replace(fast, drum_first="strong"), iron_ore, machine())
    assert gone(strong)[0, 3] > 0.99
    assert gone(weak)[0, 2] == pytest.approx(gone(without)[0, 2], abs=0.01)
    assert gone(strong)[0, 0] == pytest.approx(gone(without)[0, 0], abs=1e-6)


def test_magnetite_goes_to_a_weak_drum(sand):
    magnetite = some_grains((0.0,), 92.0, order=np.array([2]), density_kg_m3=np.array([5200.0]))
    fast = replace(sand.setting(0.05, 1.5), passes=(Pass(14.0, 0.01),), drum_first="weak")
    assert gone(separate(fast, magnetite, machine()))[0, 0] > 0.99


def test_a_trace_of_magnetite_moves_quartz(sand):
    setting = sand.setting(0.05, 1.5)
    order = {"order": np.array([2])}
    moments = (0.0, 0.005, 0.02, 0.046, 0.09)
    taken = [
        float(gone(separate(setting, some_grains((-6.2e-9,), m, **order), machine()))[0, 0])
        for m in moments
    ]
    # 0.05 to 0.10 % of magnetite (92 A m2/kg) carries a pale grain of 0.3 mm over.
    assert np.all(np.diff(taken) >= -1e-9)
    assert taken[0] < 0.05
    assert taken[3] > 0.2
    assert taken[4] > 0.5


def test_trials_are_independent_of_each_other(sand):
    rng = np.random.default_rng(2)
    count = 7
    grains = some_grains(trials=count)
    grains = replace(
        grains,
        susceptibility_m3_kg=grains.susceptibility_m3_kg * rng.lognormal(0, 0.5, (count, 4)),
    )
    params = machine(
        rng.uniform(0, 0.1, count), rng.uniform(0, 0.03, count), rng.uniform(0.8, 1.2, count),
        rng.uniform(5e-9, 2e-8, count),
    )  # fmt: skip
    setting = Setting(sand.roll(0.05), (Pass(1.5, 0.01, 0.02),) * 2)
    together = separate(setting, grains, params)
    for t in (0, 3, 6):
        one = slice(t, t + 1)
        alone = separate(
            setting,
            replace(
                grains,
                susceptibility_m3_kg=grains.susceptibility_m3_kg[one],
                moment_A_m2_kg=grains.moment_A_m2_kg[one],
            ),
            Parameters(
                params.bypass[one],
                params.entrainment[one],
                params.pull_factor[one],
                params.adhesion_N[one],
            ),
        )
        # A lone trial has its own rung of adhesion; together they share a ladder.
        assert together.magnetics[t] == pytest.approx(alone.magnetics[0], abs=0.01)


def test_pull_factor_counts_as_susceptibility(sand):
    setting = sand.setting(0.05, 1.5)
    twice = separate(setting, some_grains(), machine(pull=2.0))
    double = separate(setting, some_grains((-1.24e-8, 1.2e-7, 1e-6, 2.8e-6)), machine())
    assert twice.magnetics == pytest.approx(double.magnetics, abs=1e-12)


def test_air_dragged_by_the_belt_throws_fines_further(sand):
    fine = some_grains((-6.2e-9,), passing_m=np.array([90e-6]), retained_m=np.array([75e-6]))
    setting = sand.setting(0.05, 1.5)
    still, moving, half = (
        float(gone(separate(setting, fine, machine(air=air)))[0, 0])
        for air in (0.0, 5e-3, np.array([2.5e-3, 5e-3]))
    )
    assert moving != pytest.approx(still, abs=0.01)
    assert min(still, moving) <= half <= max(still, moving)


def test_books_that_do_not_lie_flat_are_held_worse(sand):
    muscovite = some_grains((-6.2e-9, 6e-8))
    setting = sand.setting(0.05, 1.5)
    flat = separate(setting, muscovite, machine(), FlakeSpread(0.0, 0.0))
    books = separate(setting, muscovite, machine(), FlakeSpread(0.0, 1.0))
    assert books.magnetics[0, 1] < flat.magnetics[0, 1] - 0.1


def test_the_order_of_classes_changes_nothing(sand):
    setting = sand.setting(0.05, 1.5)
    grains = some_grains()
    back = Grains(
        **{
            name: None if value is None else value[..., ::-1].copy()
            for name, value in vars(grains).items()
        }
    )
    forward = separate(setting, grains, machine(0.03, 0.01))
    assert np.array_equal(
        separate(setting, back, machine(0.03, 0.01)).magnetics[:, ::-1], forward.magnetics
    )
