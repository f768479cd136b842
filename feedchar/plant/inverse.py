"""The questions asked backwards: roots of the model, always with the same random numbers."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
from scipy.optimize import brentq

from feedchar.chemistry.mineralogy import Mineralogy
from feedchar.particles.iron import FE2O3
from feedchar.plant.circuit import ROLL, Circuit
from feedchar.product.outlets import OUTLETS, Outlet, Outlets

EDGES = (0.2, 4.0)
"""How far the edges may move, over where they stand. [-]"""
DIRTIEST = 1e3
"""Largest multiple of the dark phases that is tried. [-]"""


def root(function: Callable[[float], float], low: float, high: float, xtol: float) -> float | None:
    """Where a function crosses zero.

    Parameters
    ----------
    function : callable
        Of one number; the same random numbers at each call. [any]
    low, high : float
        Ends of the search. [any]
    xtol : float
        Width at which the search stops. [any]

    Returns
    -------
    float or None
        None where both ends lie on one side, or an end is undefined. [any]

    References
    ----------
    Brent's method, as `scipy.optimize.brentq` has it.
    """
    first, last = function(low), function(high)
    if not np.isfinite(first * last) or first * last > 0.0:
        return None
    return float(brentq(function, low, high, xtol=xtol))


def highest_passing(
    chance: Callable[[float], float], low: float, high: float, wanted: float, xtol: float
) -> float | None:
    """The highest value at which something still passes often enough.

    Parameters
    ----------
    chance : callable
        Chance of passing, falling with its argument. [-]
    low, high : float
        Ends of the search. [any]
    wanted : float
        Least chance. [-]
    xtol : float
        Width at which the search stops. [any]

    Returns
    -------
    float or None
        `high` where all pass, None where not even `low` does. [any]

    References
    ----------
    Brent's method, as `scipy.optimize.brentq` has it.
    """
    if chance(low) < wanted:
        return None
    if chance(high) >= wanted:
        return high
    # Half a trial below what is wanted, so that equality passes.
    return float(brentq(lambda x: chance(x) - wanted + 1e-9, low, high, xtol=xtol))


def dirtier(outlets: Outlets, mineralogy: Mineralogy, factor: float) -> Outlets:
    """The same circuit fed with more of all dark phases, in the same sizes and forms.

    Parameters
    ----------
    outlets : Outlets
        Of the feed as it is. [-]
    mineralogy : Mineralogy
        Composition of each phase. [wt %]
    factor : float
        Multiplies the mass of every phase that is not pale. [-]

    Returns
    -------
    Outlets
        Fractions of the dirtier feed. [-]

    References
    ----------
    computed_here (mass balance)
    """
    times = np.where(outlets.is_pale, 1.0, factor)[None, :, None]
    parts = {name: getattr(outlets, name).phase_size * times for name in OUTLETS}
    whole = sum(part.sum(axis=(1, 2)) for part in parts.values())
    made = {}
    for name, part in parts.items():
        share = part / whole[:, None, None]
        oxide = (share.sum(axis=2)[:, None, :] @ mineralogy.oxides_wt_pct)[:, 0, :]
        made[name] = Outlet(share, oxide)
    return replace(
        outlets,
        non_magnetics=made["non_magnetics"],
        middlings=made["middlings"],
        magnetics=made["magnetics"],
        untreated=made["untreated"],
    )


def feed_iron_wt_pct(outlets: Outlets) -> float:
    """Iron of the feed, typical case.

    Parameters
    ----------
    outlets : Outlets
        All that leaves, which is the feed. [-]

    Returns
    -------
    float
        As Fe2O3. [wt %]

    References
    ----------
    computed_here (mass balance)
    """
    return float(sum(getattr(outlets, name).oxide_mass[0, FE2O3] for name in OUTLETS))


def dirtiest_factor(chance: Callable[[float], float], wanted: float) -> float | None:
    """How many times the dark phases may grow before the product fails too often.

    Parameters
    ----------
    chance : callable
        Chance of passing at a factor. [-]
    wanted : float
        Least chance. [-]

    Returns
    -------
    float or None
        None where not even a feed without dark phases passes. [-]

    References
    ----------
    Brent's method, as `scipy.optimize.brentq` has it.
    """
    return highest_passing(chance, 0.0, DIRTIEST, wanted, 1e-4)


def with_edges(circuit: Circuit, factor: float) -> Circuit:
    """The same circuit with every edge moved in proportion.

    Parameters
    ----------
    circuit : Circuit
        As it stands. [-]
    factor : float
        Multiplies the distance of every edge from the roll. [-]

    Returns
    -------
    Circuit
        Steps without a roll are unchanged. [-]

    References
    ----------
    computed_here
    """
    steps = []
    for step in circuit.steps:
        if step.kind == ROLL:
            one = step.machine
            second = None if one.splitter_2_m is None else factor * one.splitter_2_m
            machine = replace(one, splitter_m=factor * one.splitter_m, splitter_2_m=second)
            steps.append(replace(step, machine=machine))
        else:
            steps.append(step)
    return replace(circuit, steps=tuple(steps))


def with_speeds(circuit: Circuit, factor: float) -> Circuit:
    """The same circuit with every belt faster or slower in proportion.

    Parameters
    ----------
    circuit : Circuit
        As it stands. [-]
    factor : float
        Multiplies every belt speed. [-]

    Returns
    -------
    Circuit
        Steps without a roll are unchanged. [-]

    References
    ----------
    computed_here
    """
    return replace(
        circuit,
        steps=tuple(
            replace(
                step,
                machine=replace(step.machine, belt_speed_m_s=factor * step.machine.belt_speed_m_s),
            )
            if step.kind == ROLL
            else step
            for step in circuit.steps
        ),
    )
