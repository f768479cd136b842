"""Streams of any circuit close, and are those of the textbook where the textbook has them."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from feedchar.errors import SettingError
from feedchar.field.setting import Pass
from feedchar.plant.circuit import ENDS, Circuit, Step, check_circuit
from feedchar.plant.flow import solve_flows
from feedchar.plant.standard import STANDARD, standard_circuits

NODES = 7


def drum(name: str, magnetics: str, non_magnetics: str) -> Step:
    return Step(name, "drum", {"magnetics": magnetics, "non_magnetics": non_magnetics})


def roll(name: str, magnetics: str, middlings: str, non_magnetics: str) -> Step:
    routes = {"magnetics": magnetics, "middlings": middlings, "non_magnetics": non_magnetics}
    return Step(name, "roll", routes, machine=Pass(1.5, 0.01, 0.02))


@st.composite
def circuits(draw: st.DrawFn) -> Circuit:
    """Any circuit of up to six steps that can be built."""
    count = draw(st.integers(1, 6))
    names = [f"s{k}" for k in range(count)]
    anywhere = st.sampled_from([*names, *ENDS])
    steps = []
    for name in names:
        if draw(st.booleans()):
            steps.append(drum(name, draw(anywhere), draw(anywhere)))
        else:
            steps.append(roll(name, draw(anywhere), draw(anywhere), draw(anywhere)))
    return Circuit("drawn", tuple(steps))


@given(circuits(), st.integers(0, 2**32 - 1))
@settings(max_examples=150, deadline=None)
def test_mass_and_every_oxide_close_over_random_circuits(circuit, seed):
    try:
        check_circuit(circuit)
    except SettingError:
        return
    random = np.random.default_rng(seed)
    splits = {}
    for step in circuit.steps:
        shares = random.dirichlet(np.full(len(step.outlets), 0.3), NODES) + 1e-3
        shares /= shares.sum(axis=1, keepdims=True)
        splits |= {(step.name, outlet): shares[:, k] for k, outlet in enumerate(step.outlets)}
    flows = solve_flows(circuit, splits)
    tonnes = 100.0 * random.dirichlet(np.ones(NODES))
    oxides = random.dirichlet(np.ones(5), NODES)
    out = sum(tonnes * end for end in flows.ends.values())
    assert abs(out.sum() - 100.0) < 1e-9
    assert np.abs(out @ oxides - tonnes @ oxides).max() < 1e-9
    # The same by a dense linear solve, node by node.
    names = [step.name for step in circuit.steps]
    for node in range(NODES):
        matrix = np.eye(len(names))
        for step in circuit.steps:
            for outlet, target in step.routes.items():
                if target in names:
                    column = names.index(step.name)
                    matrix[names.index(target), column] -= splits[step.name, outlet][node]
        fed = np.linalg.solve(matrix, [float(name == circuit.entry) for name in names])
        ours = [np.broadcast_to(flows.feed[name], NODES)[node] for name in names]
        assert ours == pytest.approx(fed, rel=1e-8, abs=1e-12)


def test_a_cleaner_whose_rejects_go_back_recovers_what_the_textbook_says():
    # Circuit analysis of a rougher and a cleaner: R = r c / (1 - r (1 - c)); from memory.
    rougher, cleaner = 0.8, 0.6
    circuit = Circuit(
        "rougher and cleaner",
        (drum("rougher", "reject", "cleaner"), drum("cleaner", "rougher", "product")),
    )
    flows = solve_flows(
        circuit,
        {
            ("rougher", "non_magnetics"): np.array([rougher]),
            ("rougher", "magnetics"): np.array([1.0 - rougher]),
            ("cleaner", "non_magnetics"): np.array([cleaner]),
            ("cleaner", "magnetics"): np.array([1.0 - cleaner]),
        },
    )
    expected = rougher * cleaner / (1.0 - rougher * (1.0 - cleaner))
    assert flows.ends["product"][0] == pytest.approx(expected, rel=1e-14)


@pytest.mark.parametrize("stays", [0.5, 0.99, 1.0 - 1e-6, 1.0 - 1e-12])
def test_a_stream_sent_back_a_million_times_still_closes(stays):
    circuit = Circuit("loop", (drum("a", "a", "product"),))
    splits = {("a", "magnetics"): np.array([stays]), ("a", "non_magnetics"): np.array([1 - stays])}
    flows = solve_flows(circuit, splits)
    assert flows.ends["product"][0] == pytest.approx(1.0, abs=1e-12)
    assert flows.feed["a"][0] == pytest.approx(1.0 / (1.0 - stays), rel=1e-12)


def test_grains_that_never_leave_are_refused():
    circuit = Circuit("loop", (drum("a", "a", "product"),))
    splits = {("a", "magnetics"): np.ones(1), ("a", "non_magnetics"): np.zeros(1)}
    with pytest.raises(SettingError, match="never leave"):
        solve_flows(circuit, splits)


@pytest.mark.parametrize(
    ("steps", "message"),
    [
        ((), "1 to 20 steps"),
        ((drum("a", "reject", "b"),), "which is no step"),
        ((drum("a", "reject", "product"), drum("a", "reject", "product")), "own name"),
        ((drum("a", "reject", "product"), drum("b", "reject", "product")), "No feed reaches"),
        ((drum("a", "b", "product"), drum("b", "b", "b")), "ever leaves"),
        ((drum("a", "reject", "dust"),), "Nothing goes to the product"),
        ((Step("a", "drum", {"magnetics": "reject"}),), "needs a route"),
        ((Step("a", "mill", {}),), "not known"),
        ((Step("a", "split", {"coarse": "product", "fine": "dust"}),), "size to cut"),
        (
            (Step("a", "split", {"coarse": "product", "fine": "dust"}, at_um=5.0),),
            "a cut must be from 20 um",
        ),
    ],
)
def test_a_circuit_that_cannot_be_built_is_refused(steps, message):
    with pytest.raises(SettingError, match=message):
        check_circuit(Circuit("bad", steps))


def test_the_standard_circuits_can_be_built_with_and_without_a_screen():
    for window in ((None, None), (600.0, 75.0), (None, 75.0)):
        made = standard_circuits(Pass(), 250.0, window)
        assert tuple(made) == STANDARD
        for circuit in made.values():
            check_circuit(circuit)
    assert made["magnetics retreated"].recycles
    assert not made["two passes"].recycles
