"""What turns susceptibility and moment into one response, and the ladder of adhesion, by hand."""

from __future__ import annotations

from dataclasses import replace
from math import pi

import numpy as np
import pytest

from feedchar.field.drum import drum_of
from feedchar.field.force import mean_force_product
from feedchar.field.series import roll_flux_density
from feedchar.field.setting import Pass, Setting
from feedchar.field.working import working_field
from feedchar.magnetics.moment import ordered_fraction
from feedchar.separation import passes
from feedchar.separation.grain_nodes import FlakeSpread, Kind
from feedchar.separation.magnetic_response import magnetic_response, response_reference
from feedchar.separation.passes import adhesion_rungs, separate
from feedchar.separation.records import Grains, Parameters, Shares
from feedchar.separation.step_tree import StepTree

MU0 = 4e-7 * pi


def four_classes(trials=3):
    """Quartz; a canted and two ferrimagnetic carriers, one of them a flake."""
    by_trial = 1.0 + 0.2 * np.arange(trials)[:, None]
    return Grains(
        passing_m=np.array([3.1, 2.3, 1.7, 4.2]) * 1e-4,
        retained_m=np.array([2.2, 1.6, 1.1, 3.0]) * 1e-4,
        is_flake=np.array([False, False, False, True]),
        thickness_ratio=np.array([1.0, 1.0, 1.0, 0.1]),
        density_kg_m3=np.array([2650.0, 5200.0, 2700.0, 2900.0]),
        susceptibility_m3_kg=by_trial * np.array([-6e-9, 2.5e-7, 1e-8, 4e-8]),
        moment_A_m2_kg=by_trial * np.array([0.0, 0.31, 0.06, 0.02]),
        order=np.array([0, 1, 2, 2]),
        grain_ln_sd=np.array([0.0, 0.3, 0.5, 0.2]),
        saturation_field_tesla=np.array([0.0, 0.0, 0.17, 0.9]),
    )


def three_machines():
    return Parameters(
        bypass=np.array([0.0, 0.04, 0.09]), entrainment=np.array([0.01, 0.0, 0.03]),
        pull_factor=np.array([1.0, 1.3, 0.8]), adhesion_N=np.array([6e-9, 1.1e-8, 3e-8]),
    )  # fmt: skip


@pytest.mark.parametrize("machine", ["permanent-roll", "induced-roll"])
def test_one_response_is_the_pull_over_that_of_the_belt_a_tenth_of_a_millimetre_up(sand, machine):
    """chi F / mu0 over v^2/R; a moment counts as mu0 M / B, B of the gap or the rms of the roll."""
    field = working_field(replace(sand.setting(0.05, 1.5), machine=machine))
    reference, flux = response_reference(field, 1.7)
    place = (field.harmonics, field.pitch_m, field.roll_radius_m, field.belt_thickness_m + 1e-4)
    product = float(mean_force_product(*place))
    wanted = product / MU0 / (1.7**2 / field.roll_radius_m)
    assert reference.pull_per_susceptibility == pytest.approx(wanted, rel=1e-9)
    if machine == "induced-roll":
        assert flux == field.background_tesla
    else:
        # Six places from the middle of a magnet to the middle of the steel tell the mean.
        along = (np.arange(6) + 0.5) / 12 * field.pitch_m
        size = np.hypot(*roll_flux_density(*place, along))
        assert flux == pytest.approx(np.sqrt(np.mean(size**2)), rel=1e-9)
    assert reference.susceptibility_per_moment == pytest.approx(MU0 / flux, rel=1e-9)


@pytest.mark.parametrize(
    ("adhesion", "exponents"),
    [((3e-9, 4.1e-8, 1e-8), range(-2, 4)), ((1.01e-8, 1.9e-8), (0, 1)),
     ((0.9e-8, 1.1e-8), (-1, 0, 1)), ((1e-8, 2e-8), (0, 1))],
)  # fmt: skip
def test_rungs_of_adhesion_double_and_enclose_every_trial(adhesion, exponents):
    wanted = [1e-8 * 2.0**n for n in exponents]
    assert adhesion_rungs(np.array(adhesion)) == pytest.approx(wanted, rel=1e-12)


def test_trials_of_one_adhesion_have_one_rung():
    assert adhesion_rungs(np.full(3, 3e-9)) == (3e-9,)
    assert adhesion_rungs(3e-9 * np.array([1.0, 1.0 + 0.9e-9])) == (3e-9,)
    assert len(adhesion_rungs(3e-9 * np.array([1.0, 1.0 + 2e-9]))) == 2


@pytest.mark.parametrize("machine", ["permanent-roll", "induced-roll"])
def test_a_moment_counts_by_the_share_that_the_field_calls_up_times_the_pull_of_the_machine(
    sand, machine
):
    setting = replace(sand.setting(0.05, 1.5), machine=machine)
    grains, parameters = four_classes(), three_machines()
    tree = StepTree(setting, grains, parameters)
    _, flux = response_reference(working_field(setting), 1.5)
    share = np.array(
        [
            float(ordered_fraction(order, flux, field))
            for order, field in zip(grains.order, grains.saturation_field_tesla, strict=True)
        ]
    )
    assert share[1] == 1.0
    pull = np.array([1.0, 1.3, 0.8])[:, None]
    moment = pull * share * grains.moment_A_m2_kg * MU0 / flux
    total = pull * grains.susceptibility_m3_kg + moment
    response = tree.response
    assert response.total_m3_kg == pytest.approx(total, rel=1e-9)
    assert response.moment_m3_kg == pytest.approx(moment, rel=1e-9)
    kinds = (Kind(False, 2650.0), Kind(False, 3500.0), Kind(False, 5000.0))
    assert tuple(kind for kind in response.moment_kinds if not kind.is_flake) == kinds
    assert any(kind.is_flake for kind in response.moment_kinds)
    # In a steady gap a moment is pulled as a susceptibility is, and none is flown by itself.
    steady = machine == "induced-roll"
    assert response.flown_kinds == (() if steady else response.moment_kinds)
    alone = magnetic_response(
        working_field(setting), 1.5, grains, tree.spread, parameters, other_fields=False
    )
    assert alone.with_moment == (not steady)
    assert np.any(alone.moment_m3_kg) == (not steady)
    assert np.array_equal(alone.total_m3_kg, response.total_m3_kg)


@pytest.mark.parametrize(("drum", "strength"), [("weak", 15.0), ("strong", 1.0)])
def test_a_drum_pulls_a_moment_by_its_own_field_whatever_stands_behind_it(sand, drum, strength):
    """Haematite's moment is constant: what a drum takes of it cannot know of a roll or a gap."""
    grains, parameters = four_classes(), three_machines()
    moment = strength * grains.moment_A_m2_kg
    constant = replace(grains, order=np.ones(4, dtype=int), moment_A_m2_kg=moment)
    taken = []
    for machine in ("permanent-roll", "induced-roll"):
        tree = StepTree(replace(sand.setting(0.05, 1.5), machine=machine), constant, parameters)
        load = tree.load(parameters.bypass, parameters.entrainment)
        split = tree.split(tree.start(), tree.drum(drum_of(drum)), load)
        taken.append(tree.shares(split["magnetics"]))
    assert taken[1] == pytest.approx(taken[0], abs=0.02)
    assert np.any((taken[0] > 0.1) & (taken[0] < 0.9))


@pytest.mark.parametrize("machine", ["permanent-roll", "induced-roll"])
@pytest.mark.parametrize("drum", [None, "weak"])
def test_a_tree_of_one_road_is_the_passes_of_a_machine(sand, machine, drum):
    """Carriers with a moment, three machines, a second edge: each outlet of the road."""
    first, second = Pass(1.5, 0.010, 0.030), Pass(1.1, 0.012, 0.025)
    setting = Setting(sand.roll(0.05), (first, second), "non-magnetics", drum, machine=machine)
    grains, parameters = four_classes(), three_machines()
    wanted = separate(setting, grains, parameters)
    tree = StepTree(setting, grains, parameters)
    load = tree.load(parameters.bypass, parameters.entrainment)
    carried, middle, taken = tree.start(), 0.0, 0.0
    stages = [tree.roll(replace(setting, passes=(one,))) for one in (first, second)]
    if drum:
        stages.insert(0, tree.drum(drum_of(drum)))
    for stage in stages:
        split = tree.split(carried, stage, load)
        carried = split["non-magnetics"]
        middle = middle + tree.shares(split["middlings"])
        taken = taken + tree.shares(split["magnetics"])
    assert tree.shares(carried) == pytest.approx(wanted.non_magnetics, abs=1e-10)
    assert middle == pytest.approx(wanted.middlings, abs=1e-10)
    assert taken == pytest.approx(wanted.magnetics, abs=1e-10)
    assert wanted.middlings.max() > 0.01


def test_a_class_with_a_moment_in_some_trials_is_flown_for_them(sand):
    """A carrier that is certain of none in the first trial; None saturates as magnetite does."""
    setting, parameters = sand.setting(0.05, 1.5), three_machines()
    whole = four_classes()
    moment = whole.moment_A_m2_kg.copy()
    moment[0] = 0.0
    some = replace(whole, moment_A_m2_kg=moment, saturation_field_tesla=None)
    curve = replace(whole, saturation_field_tesla=np.zeros(4))
    found, wanted = separate(setting, some, parameters), separate(setting, curve, parameters)
    assert found.magnetics[1:] == pytest.approx(wanted.magnetics[1:], abs=1e-12)
    assert np.all(found.magnetics[0, 1:] < wanted.magnetics[0, 1:] - 1e-3)
    tree, other = StepTree(setting, some, parameters), StepTree(setting, curve, parameters)
    assert tree.response.total_m3_kg[1:] == pytest.approx(other.response.total_m3_kg[1:], rel=1e-12)
    assert tree.response.moment_m3_kg[1:] == pytest.approx(
        other.response.moment_m3_kg[1:], rel=1e-12
    )
    assert tree.response.moment_kinds == other.response.moment_kinds
    assert np.array_equal(tree.response.moment_m3_kg[0], np.zeros(4))
    load = tree.load(parameters.bypass, parameters.entrainment)
    taken = tree.split(tree.start(), tree.roll(setting), load)["magnetics"]
    assert tree.shares(taken) == pytest.approx(found.magnetics, abs=1e-10)


def test_loads_of_a_tree_are_told_apart_by_both_of_their_figures(sand):
    grains, parameters = four_classes(), three_machines()
    tree = StepTree(sand.setting(0.05, 1.5), grains, parameters)
    one, other = parameters.bypass, parameters.entrainment
    assert [tree.load(one, other), tree.load(one, one), tree.load(other, other)] == [0, 1, 2]
    assert [tree.load(other, other), tree.load(one, other)] == [2, 0]
    # Nothing carried is nothing of any class, in as many trials as the feed or the machine has.
    stage = tree.roll(sand.setting(0.05, 1.5))
    none = tree.split(tree.start(), stage, 0)["middlings"]
    assert np.array_equal(tree.shares(none), np.zeros((3, 4)))
    known = replace(parameters, pull_factor=np.ones(1))
    certain = StepTree(sand.setting(0.05, 1.5), four_classes(1), known)
    assert np.array_equal(certain.shares(none), np.zeros((3, 4)))


def test_each_load_of_a_tree_counts_with_its_own_machine(sand):
    """Two rolls of different bypass and entrainment: (1 - e)(1 - (1 - b) C) of each in turn."""
    setting = sand.setting(0.05, 1.5)
    grains = replace(four_classes(1), grain_ln_sd=np.zeros(4))
    one = Parameters(np.zeros(1), np.zeros(1), np.ones(1), np.full(1, 1e-8))
    tree = StepTree(setting, grains, one)
    clean = tree.load(np.zeros(1), np.zeros(1))
    dirty = tree.load(np.full(1, 0.2), np.full(1, 0.07))
    worse = tree.load(np.full(1, 0.5), np.full(1, 0.11))
    stage = tree.roll(setting)
    taken = [tree.start()]
    for _ in range(2):
        taken.append(tree.split(taken[-1], stage, clean)["magnetics"])
    once, twice = (tree.shares(each) for each in taken[1:])
    first = tree.split(tree.start(), stage, worse)["non-magnetics"]
    both = tree.shares(tree.split(first, stage, dirty)["non-magnetics"])
    wanted = 0.93 * 0.89 * (1.0 - (0.8 + 0.5) * once + 0.8 * 0.5 * twice)
    assert both == pytest.approx(wanted, abs=1e-9)


def test_air_is_blended_from_still_to_the_thickest_layer_of_the_trials(sand, monkeypatch):
    """Two flights of everything: a layer of two fifths of the thickest counts two fifths."""
    asked = []

    def flown(_setting, _grains, _parameters, flakes, air_m):
        asked.append((flakes, air_m))
        return Shares(*(np.full((3, 4), place + (0.5 if air_m else 0.0)) for place in range(4)))

    monkeypatch.setattr(passes, "_separate", flown)
    setting, grains = sand.setting(0.05, 1.5), four_classes()
    layers = np.array([0.0, 0.002, 0.005])
    found = separate(setting, grains, replace(three_machines(), air_layer_m=layers))
    assert asked == [(FlakeSpread(), 0.0), (FlakeSpread(), 0.005)]
    for place, name in enumerate(("magnetics", "middlings", "non_magnetics", "missed")):
        wanted = place + 0.5 * np.array([0.0, 0.4, 1.0])[:, None] * np.ones((3, 4))
        assert getattr(found, name) == pytest.approx(wanted, abs=1e-12)
    asked.clear()
    own = FlakeSpread(0.3, 0.0)
    separate(setting, grains, replace(three_machines(), air_layer_m=np.zeros(3)), own)
    separate(setting, grains, three_machines(), own)
    assert asked == [(own, 0.0)] * 2
