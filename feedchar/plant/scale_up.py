"""A feed through a circuit at full size: streams, belts, loads, and what comes out."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from feedchar.plant.belts import Lay, lay_of, units_of
from feedchar.plant.circuit import MAGNETICS, ROLL, Circuit, Step
from feedchar.plant.nodes import Load, Model, typical_model
from feedchar.plant.shares import link_shares, outlet_shares
from feedchar.plant.streams import Feed, Streams, first_rows, streams_of
from feedchar.product.outlets import Outlets, outlets
from feedchar.separation.load import MAGNETICS_LIMIT, UPPER_LAYER_MISSED
from feedchar.separation.records import Shares

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Belt:
    """One pass at full size, typical case."""

    step: Step
    feed_t_h: float
    lay: Lay
    capacity_t_h_m: float
    metres: float
    """Belt that carries the feed one grain deep. [m]"""
    units: int
    width_m: float
    magnetics_share: float
    """Of the mass on the belt. [-]"""

    @property
    def installed_m(self) -> float:
        """Belt of the units. [m]"""
        return self.units * self.width_m


@dataclass(frozen=True)
class Run:
    """A circuit with what it does."""

    circuit: Circuit
    model: Model
    feed_t_h: float
    streams: Streams
    belts: tuple[Belt, ...]
    shares: Shares
    outlets: Outlets
    """Product as non_magnetics, dust as middlings, reject as magnetics."""
    closure: float
    loads: dict[str, Load] = field(default_factory=dict)

    @property
    def metres(self) -> float:
        """Belt of all passes, one grain deep. [m]"""
        return sum(belt.metres for belt in self.belts)

    @property
    def lost_t_h(self) -> Array:
        """Feed that is not product. (T,) [t h⁻¹]"""
        return self.feed_t_h * (1.0 - self.outlets.non_magnetics.mass)


def run_circuit(
    model: Model, feed: Feed, feed_t_h: float, installed: Mapping[str, float] | None = None
) -> Run:
    """Run a feed through a circuit.

    Parameters
    ----------
    model : Model
        The circuit on the nodes of this feed. [-]
    feed : Feed
        T trials. [-]
    feed_t_h : float
        Dry feed. [t h⁻¹]
    installed : mapping of str to float or None
        Metres of belt of each pass; None: as much as carries the feed one grain deep. [m]

    Returns
    -------
    Run
        Streams and belts of the typical case, outlets of all trials. [-]

    References
    ----------
    Derived here; what a deep bed and many magnetics do are guesses.
    """
    typical = first_rows(feed, 1)
    alone = typical_model(model, float(feed.parameters.adhesion_N[0]))
    loads: dict[str, Load] = {}
    links, closure = link_shares(alone, typical.parameters, loads)
    streams = streams_of(model.circuit, links, typical, feed_t_h)
    belts = _belts(model.circuit, streams, typical, feed_t_h)
    loads = {belt.step.name: load_of(belt, (installed or {}).get(belt.step.name)) for belt in belts}
    loads = {name: load for name, load in loads.items() if load != Load()}
    if loads:
        links, closure = link_shares(alone, typical.parameters, loads)
        streams = streams_of(model.circuit, links, typical, feed_t_h)
        belts = _belts(model.circuit, streams, typical, feed_t_h)
    shares = outlet_shares(model, feed.parameters, loads)
    split = outlets(feed.classes, shares, feed.mineralogy)
    return Run(model.circuit, model, feed_t_h, streams, belts, shares, split, closure, loads)


def load_of(belt: Belt, installed_m: float | None = None) -> Load:
    """What the depth of the bed and the magnetics on it do to a pass.

    Parameters
    ----------
    belt : Belt
        The pass. [-]
    installed_m : float or None
        Metres of belt there are; None: as much as it needs. [m]

    Returns
    -------
    Load
        Nothing for a single layer with few magnetics. [-]

    References
    ----------
    Directions: common practice, no source; all amounts are guesses (as for one setting).
    """
    layers = 1.0 if installed_m is None else belt.metres / installed_m
    met, carried = 1.0, 1.0
    if layers > 1.0 + 1e-9:
        met *= 1.0 - UPPER_LAYER_MISSED * (1.0 - 1.0 / layers)
        carried *= layers
    if belt.magnetics_share > MAGNETICS_LIMIT:
        room = MAGNETICS_LIMIT / belt.magnetics_share
        met *= room**UPPER_LAYER_MISSED
        carried /= room
    return Load(met, carried)


def iron_removal_pct(run: Run) -> Array:
    """Iron of the feed that is not in the product.

    Parameters
    ----------
    run : Run
        The circuit. [-]

    Returns
    -------
    array, shape (T,)
        NaN for a feed without iron. [%]

    References
    ----------
    computed_here (mass balance)
    """
    split = run.outlets.iron_split_pct()
    return np.asarray(100.0 - split["non_magnetics"])


def sand_lost_pct(run: Run) -> Array:
    """Pale minerals of the feed that are not in the product.

    Parameters
    ----------
    run : Run
        The circuit. [-]

    Returns
    -------
    array, shape (T,)
        Dust and reject together. [%]

    References
    ----------
    computed_here (mass balance)
    """
    pale = run.outlets.is_pale
    kept = run.outlets.non_magnetics.phase_mass[:, pale].sum(axis=1)
    lost = run.outlets.magnetics.phase_mass[:, pale] + run.outlets.middlings.phase_mass[:, pale]
    whole = kept + lost.sum(axis=1)
    none = np.full_like(whole, np.nan)
    return 100.0 * np.divide(whole - kept, whole, out=none, where=whole > 0.0)


def _belts(circuit: Circuit, streams: Streams, feed: Feed, feed_t_h: float) -> tuple[Belt, ...]:
    made = []
    for step in circuit.steps:
        if step.kind != ROLL:
            continue
        mass = streams.feed[step.name]
        lay = lay_of(mass, feed.grains)
        capacity = lay.capacity_t_h_m(step.machine.belt_speed_m_s)
        rate = feed_t_h * float(mass.sum())
        metres = rate / capacity
        taken = float(streams.mass[step.name, MAGNETICS].sum())
        share = taken / float(mass.sum()) if mass.sum() > 0.0 else 0.0
        made.append(Belt(step, rate, lay, capacity, metres, *units_of(metres), share))
    return tuple(made)
