"""Circuits on a real set of grains: what is permanent in a grain is averaged last."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from feedchar.chemistry.mineralogy import OXIDES
from feedchar.errors import SettingError
from feedchar.field.setting import Pass
from feedchar.plant.circuit import ENDS, Circuit, Step, check_circuit
from feedchar.plant.cutting import cut_classes
from feedchar.plant.inverse import dirtier, feed_iron_wt_pct, with_edges, with_speeds
from feedchar.plant.nodes import model_of
from feedchar.plant.shares import outlet_shares
from feedchar.plant.standard import APART, ONE, RETREATED, RETURNED, TWO, standard_circuits
from feedchar.product.inverse import dirtiest_feed
from feedchar.separation.passes import separate

MACHINE = Pass(1.5, 0.010)
PARTS = ("non_magnetics", "magnetics", "middlings")


def standard(name, window=(None, None)):
    return standard_circuits(MACHINE, 250.0, window)[name]


@pytest.mark.parametrize(("name", "passes"), [(ONE, 1), (TWO, 2)])
def test_passes_in_a_row_are_those_of_one_machine_with_as_many(plant, name, passes):
    feed = plant.feed(standard(name))
    setting = replace(plant.setting, passes=(MACHINE,) * passes)
    alone = separate(setting, feed.grains, feed.parameters)
    model = model_of(standard(name), plant.setting, feed.grains, feed.parameters)
    ours = outlet_shares(model, feed.parameters)
    assert np.abs(ours.non_magnetics - alone.non_magnetics).max() < 1e-11


def test_a_second_pass_is_worse_than_a_fresh_chance_for_every_grain(plant):
    # With (1 - P)^2 of class means a second pass would be too good.
    feed = plant.feed(standard(TWO), 1)
    one, two = (
        outlet_shares(
            model_of(standard(name), plant.setting, feed.grains, feed.parameters), feed.parameters
        ).non_magnetics[0]
        for name in (ONE, TWO)
    )
    half = (one > 0.2) & (one < 0.8)
    assert half.any()
    assert (two[half] > one[half] ** 2).all()
    assert (two[half] - one[half] ** 2).mean() > 0.01


@st.composite
def circuits(draw: st.DrawFn) -> Circuit:
    """Screens, splits, drums and rolls in any order, with any routes."""
    names = [f"s{k}" for k in range(draw(st.integers(1, 4)))]
    anywhere = st.sampled_from([*names, *ENDS])
    steps = []
    for name in names:
        kind = draw(st.sampled_from(["screen", "split", "drum", "roll", "roll"]))
        step = Step(
            name,
            kind,
            {},
            passing_um=draw(st.sampled_from([None, 400.0])) if kind == "screen" else None,
            retained_um=draw(st.sampled_from([60.0, 100.0])) if kind == "screen" else None,
            at_um=draw(st.sampled_from([180.0, 220.0])) if kind == "split" else None,
            machine=Pass(1.5, 0.010, draw(st.sampled_from([None, 0.020]))),
        )
        steps.append(replace(step, routes={outlet: draw(anywhere) for outlet in step.outlets}))
    return Circuit("drawn", tuple(steps))


@given(circuits())
@settings(
    max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
def test_mass_and_every_oxide_close_over_random_circuits_of_a_bag(plant, circuit):
    try:
        check_circuit(circuit)
        run = plant.run(circuit, 3, plain=True)
    except SettingError:
        return
    assert run.closure < 1e-9
    assert run.streams.closure_t_h < 1e-9
    outs = [getattr(run.outlets, part) for part in PARTS]
    assert np.abs(7.0 * (sum(out.mass for out in outs) - 1.0)).max() < 1e-9
    head = plant.mineralogy.mass_fraction[:3, None, :] @ plant.mineralogy.oxides_wt_pct[:3]
    gaps = sum(out.oxide_mass for out in outs) - head[:, 0]
    assert np.abs(7.0 * gaps / 100.0).max() < 1e-9


@pytest.mark.parametrize("name", [ONE, TWO, RETURNED, RETREATED, APART])
def test_streams_of_the_typical_case_end_where_the_outlets_say(plant, name):
    circuit = standard(name, (500.0, 75.0))
    run = plant.run(circuit, 1)
    for end, part in zip(("product", "reject", "dust"), PARTS, strict=True):
        out = getattr(run.outlets, part)
        mass, iron = 0.0, 0.0
        for step in circuit.steps:
            for outlet, target in step.routes.items():
                if target == end:
                    mass += run.streams.mass[step.name, outlet].sum()
                    iron += run.streams.oxides[step.name, outlet][OXIDES.index("Fe2O3")]
        assert mass == pytest.approx(out.mass[0], abs=1e-9)
        assert iron == pytest.approx(out.oxide_mass[0, OXIDES.index("Fe2O3")], abs=1e-9)


def test_the_polynomial_over_the_trials_meets_a_solution_of_each_trial(plant):
    circuit = standard(RETREATED)
    feed = plant.feed(circuit)
    model = model_of(circuit, plant.setting, feed.grains, feed.parameters)
    together = outlet_shares(model, feed.parameters)
    kept = feed.classes.mass * together.non_magnetics
    for row in (3, 11, 27):
        own = replace(
            feed.parameters,
            **{
                name: getattr(feed.parameters, name)[row : row + 1]
                for name in ("bypass", "entrainment", "pull_factor", "adhesion_N")
            },
        )
        alone = replace(model, total=model.total[row : row + 1], moment=model.moment[row : row + 1])
        share = outlet_shares(alone, own).non_magnetics[0]
        direct = (feed.classes.mass[row] * share).sum()
        assert kept[row].sum() == pytest.approx(direct, abs=5e-4)


def test_returned_streams_are_fed_again(plant):
    run = plant.run(standard(RETURNED), 1)
    first = next(belt for belt in run.belts if belt.step.name == "roll 1")
    back = 7.0 * run.streams.mass["roll 2", "middlings"].sum()
    assert first.feed_t_h == pytest.approx(7.0 + back, rel=1e-12)


def test_two_passes_take_more_iron_and_more_sand_than_one(plant):
    one, two = plant.run(standard(ONE), 1), plant.run(standard(TWO), 1)
    assert two.outlets.non_magnetics.oxide("Fe2O3")[0] < one.outlets.non_magnetics.oxide("Fe2O3")[0]
    assert two.outlets.yield_pct()[0] < one.outlets.yield_pct()[0]
    assert two.metres > one.metres


def test_cutting_a_class_keeps_all_mass_and_every_rider_with_its_carrier(plant):
    cut = cut_classes(plant.classes, (222.0, 60.0))
    assert cut.mass.sum(axis=1) == pytest.approx(plant.classes.mass.sum(axis=1), abs=1e-14)
    assert len(cut.sizes) == len(plant.classes.sizes) + 2
    assert (cut.size[cut.carrier] == cut.size).all()
    assert (cut.carrier[cut.carrier] == cut.carrier).all()
    assert cut_classes(plant.classes, (250.0,)) is plant.classes


def test_a_deep_bed_lets_more_iron_through(plant):
    circuit = standard(ONE)
    fed = plant.run(circuit, 1)
    metres = {belt.step.name: belt.metres for belt in fed.belts}
    deep = plant.run(circuit, 1, installed=metres, feed_t_h=14.0)
    assert deep.loads
    iron = [run.outlets.non_magnetics.oxide("Fe2O3")[0] for run in (fed, deep)]
    assert iron[1] > 1.1 * iron[0]


def test_the_dirtiest_feed_is_that_of_the_closed_form(plant):
    run = plant.run(standard(ONE), 1)
    mineralogy = plant.feed(standard(ONE), 1).mineralogy
    closed = float(dirtiest_feed(run.outlets, mineralogy, 0.04)[0])
    low, high = 0.0, 50.0
    for _ in range(80):
        middle = 0.5 * (low + high)
        product = dirtier(run.outlets, mineralogy, middle).non_magnetics.oxide("Fe2O3")[0]
        low, high = (middle, high) if product <= 0.04 else (low, middle)
    found = feed_iron_wt_pct(dirtier(run.outlets, mineralogy, low))
    assert found == pytest.approx(closed, rel=1e-9)


def test_edges_and_speeds_move_all_rolls_alike():
    circuit = standard(RETURNED)
    moved = with_speeds(with_edges(circuit, 1.5), 1.2)
    for before, after in zip(circuit.rolls, moved.rolls, strict=True):
        assert after.machine.splitter_m == pytest.approx(1.5 * before.machine.splitter_m)
        assert after.machine.belt_speed_m_s == pytest.approx(1.2 * before.machine.belt_speed_m_s)
