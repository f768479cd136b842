"""Streams of a circuit with its recycles, for every grain node at once.

A grain is a walker: each step sends it on with chances that belong to it for good, except those of
the bypass, the sand carried and the place on the belt, which are drawn anew at each visit. The
expected number of visits solves a linear system, one for each node. States are taken out one by
one with sums of what leaves in place of one minus what stays, so nothing is ever subtracted.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from feedchar.errors import SettingError
from feedchar.plant.circuit import ENDS, Circuit

Array = NDArray[np.float64]
Link = tuple[str, str]
"""A step and one of its outlets."""

CLOSURE = 1e-9
"""Largest part of the feed that may be lost or made by the solution. [-]"""


@dataclass(frozen=True)
class Flows:
    """Streams over a feed of 1, any shape that the splits have."""

    feed: dict[str, Array]
    """Into each step, recycles included. [-]"""
    links: dict[Link, Array]
    """Out of each outlet of each step. [-]"""
    ends: dict[str, Array]
    """Product, reject and dust. [-]"""
    closure: float
    """Largest imbalance over all steps and over the whole circuit. [-]"""


def solve_flows(circuit: Circuit, splits: Mapping[Link, Array]) -> Flows:
    """Solve the streams of a circuit.

    Parameters
    ----------
    circuit : Circuit
        Steps and routes, checked. [-]
    splits : mapping of (step, outlet) to array
        Share of a step's feed that leaves by each outlet; the shares of a step sum to 1. [-]

    Returns
    -------
    Flows
        For a feed of 1. [-]

    Raises
    ------
    SettingError
        Something never leaves, or the balance does not close to 1e-9.

    References
    ----------
    Grassmann, Taksar and Heyman's elimination of states (from memory); derived here for nodes.
    """
    names = [step.name for step in circuit.steps]
    order = [circuit.entry, *[name for name in names if name != circuit.entry]]
    moves: dict[Link, Array] = {}
    for step in circuit.steps:
        for outlet, target in step.routes.items():
            _add(moves, (step.name, target), splits[step.name, outlet])
    leaving: dict[str, Array] = {}
    incoming: dict[str, dict[str, Array]] = {}
    left = list(order)
    for name in reversed(order):
        left.remove(name)
        out = {
            target: share
            for (source, target), share in moves.items()
            if source == name and target != name
        }
        total = sum(out.values(), np.zeros(1))
        if not np.all(total > 0.0):
            message = f'Some grains never leave the step "{name}": check its routes and edges'
            raise SettingError(message)
        leaving[name] = total
        into = {source: moves.pop((source, name)) for source in left if (source, name) in moves}
        incoming[name] = into
        for source, share in into.items():
            for target, onward in out.items():
                _add(moves, (source, target), share * onward / total)
        for key in [key for key in moves if name in key]:
            del moves[key]
    feed: dict[str, Array] = {}
    for name in order:
        arriving = np.ones(1) if name == circuit.entry else np.zeros(1)
        for source, share in incoming[name].items():
            arriving = arriving + feed[source] * share
        feed[name] = arriving / leaving[name]
    links = {link: feed[link[0]] * share for link, share in splits.items()}
    ends: dict[str, Array] = {name: np.zeros(1) for name in ENDS}
    back: dict[str, Array] = {name: np.zeros(1) for name in names}
    back[circuit.entry] = np.ones(1)
    for step in circuit.steps:
        for outlet, target in step.routes.items():
            place = ends if target in ENDS else back
            place[target] = place[target] + links[step.name, outlet]
    worst = max(
        float(np.max(np.abs(sum(ends.values(), np.zeros(1)) - 1.0))),
        *(float(np.max(np.abs(back[n] - feed[n]) / np.maximum(feed[n], 1.0))) for n in names),
    )
    if not worst <= CLOSURE:
        message = (
            f"The streams of the circuit {circuit.name} do not close: {worst:.1e} of the feed is "
            "unaccounted for. Too much is sent back; give more a way out."
        )
        raise SettingError(message)
    return Flows(feed, links, ends, worst)


def _add(moves: dict[Link, Array], key: Link, share: Array) -> None:
    moves[key] = moves[key] + share if key in moves else share
