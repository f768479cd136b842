"""What each step of a circuit does to each grain node."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from math import ceil, floor, log

import numpy as np
from numpy.typing import NDArray

from feedchar.field.drum import drum_of
from feedchar.field.setting import Setting
from feedchar.field.working import working_field
from feedchar.plant.circuit import (
    COARSE,
    DRUM,
    FINE,
    MAGNETICS,
    MIDDLE,
    MIDDLINGS,
    NON_MAGNETICS,
    ROLL,
    Circuit,
    Step,
)
from feedchar.plant.flow import Link
from feedchar.separation.capture import Reference, capture_table
from feedchar.separation.drum_stage import drum_capture
from feedchar.separation.grain_nodes import (
    ClassSpread,
    FlakeSpread,
    grain_nodes,
    spread_over_nodes,
)
from feedchar.separation.magnetic_response import MagneticResponse, magnetic_response
from feedchar.separation.passes import ADHESION_RATIO, ADHESION_RUNG_N
from feedchar.separation.records import Grains, Parameters
from feedchar.separation.setting_checks import check_setting
from feedchar.separation.thrower import Thrower

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Load:
    """What a full belt does to one step, on top of the parameters of the machine."""

    met_factor: float = 1.0
    """Multiplies 1 - bypass. [-]"""
    carried_factor: float = 1.0
    """Multiplies the sand carried. [-]"""


CARRIED_AT_MOST = 0.5


@dataclass(frozen=True)
class Model:
    """A circuit on the grain nodes of a feed; nothing in it depends on bypass or sand carried."""

    circuit: Circuit
    spread: ClassSpread
    reference: Reference
    adhesions_N: tuple[float, ...]
    captures: dict[str, tuple[Array, Array | None]]
    """By step: share taken, and share to the middlings; (P, A, F, U). Sizes: 1 where coarser than
    the upper cut, and 1 where finer than the lower; (P, 1, 1, 1)."""
    total: Array
    """(T, C) susceptibility with the moment counted in. [m³ kg⁻¹]"""
    moment: Array
    """(T, C) the moment's part of it. [m³ kg⁻¹]"""
    grain_ln_sd: Array


def model_of(circuit: Circuit, setting: Setting, grains: Grains, parameters: Parameters) -> Model:
    """Tables of every step on the grain nodes of a feed.

    Parameters
    ----------
    circuit : Circuit
        Steps and routes, checked. [-]
    setting : Setting
        Machine and temperatures; speeds and edges are those of the steps. [SI]
    grains : Grains
        C classes over T trials, none of them across a cut of the circuit. [SI]
    parameters : Parameters
        For the ladder of adhesion, and the pull. [SI]

    Returns
    -------
    Model
        For `outlet_shares` and `link_shares`. [-]

    Raises
    ------
    SettingError
        A step whose speed or edges cannot be.

    References
    ----------
    Derived here; the tables are those of a single setting.
    """
    rolls = circuit.rolls
    speed = rolls[0].machine.belt_speed_m_s if rolls else 1.5
    spread = spread_over_nodes(grains, FlakeSpread())
    drums = any(step.kind == DRUM for step in circuit.steps)
    response = magnetic_response(
        working_field(setting), speed, grains, spread, parameters, other_fields=drums
    )
    adhesions = adhesion_ladder(parameters.adhesion_N)
    captures = {
        step.name: _capture(step, setting, spread, response, adhesions) for step in circuit.steps
    }
    return Model(
        circuit,
        spread,
        response.reference,
        adhesions,
        captures,
        response.total_m3_kg,
        response.moment_m3_kg,
        grains.grain_ln_sd,
    )


def splits_at(
    model: Model, bypass: float, entrainment: float, loads: Mapping[str, Load]
) -> dict[Link, Array]:
    """Share of every node to every outlet of every step.

    Parameters
    ----------
    model : Model
        Tables. [-]
    bypass, entrainment : float
        Of a pass in a dry single layer. [-]
    loads : mapping of str to Load
        By step; a step left out runs one grain deep. [-]

    Returns
    -------
    dict of (step, outlet) to array
        The shares of a step sum to 1. [-]

    References
    ----------
    Derived here.
    """
    splits: dict[Link, Array] = {}
    for step in model.circuit.steps:
        taken, second = model.captures[step.name]
        if step.kind not in (DRUM, ROLL):
            parts = {COARSE: taken, FINE: taken if second is None else second}
            if step.kind == "split":
                parts[FINE] = 1.0 - taken
            else:
                parts[MIDDLE] = 1.0 - taken - parts[FINE]
            splits |= {(step.name, outlet): parts[outlet] for outlet in step.outlets}
            continue
        load = loads.get(step.name, Load())
        met = (1.0 - bypass) * load.met_factor
        carried = min(entrainment * load.carried_factor, CARRIED_AT_MOST)
        kept = 1.0 - carried
        middle = 0.0 if second is None else second
        splits[step.name, NON_MAGNETICS] = kept * (1.0 - met * taken)
        splits[step.name, MAGNETICS] = carried + kept * met * (taken - middle)
        if second is not None:
            splits[step.name, MIDDLINGS] = kept * met * second
    return splits


def typical_model(model: Model, adhesion_N: float) -> Model:
    """The model of the typical case alone, at one median adhesion.

    Parameters
    ----------
    model : Model
        Over T trials. [-]
    adhesion_N : float
        Median adhesion, within the ladder. [N]

    Returns
    -------
    Model
        First row, tables interpolated to one rung. [-]

    References
    ----------
    Derived here.
    """
    ladder = np.log(model.adhesions_N)
    place = float(np.interp(log(adhesion_N), ladder, np.arange(len(ladder), dtype=float)))
    low = min(int(place), len(ladder) - 1)
    high = min(low + 1, len(ladder) - 1)

    part = place - low

    def one(table: Array) -> Array:
        if table.shape[1] == 1:
            return table
        return (1.0 - part) * table[:, low : low + 1] + part * table[:, high : high + 1]

    captures = {
        name: (one(taken), None if second is None else one(second))
        for name, (taken, second) in model.captures.items()
    }
    return replace(
        model,
        adhesions_N=(adhesion_N,),
        captures=captures,
        total=model.total[:1],
        moment=model.moment[:1],
    )


def adhesion_ladder(adhesion_N: Array) -> tuple[float, ...]:
    """Median adhesions at which tables are made, those of the trials between them.

    Parameters
    ----------
    adhesion_N : array, shape (T,)
        Of the trials. [N]

    Returns
    -------
    tuple of float
        One value where all trials have the same. [N]

    References
    ----------
    Derived here.
    """
    low, high = float(np.min(adhesion_N)), float(np.max(adhesion_N))
    if high <= low * (1.0 + 1e-9):
        return (low,)
    step = log(ADHESION_RATIO)
    first = floor(log(low / ADHESION_RUNG_N) / step)
    last = ceil(log(high / ADHESION_RUNG_N) / step)
    return tuple(ADHESION_RUNG_N * ADHESION_RATIO**rung for rung in range(first, last + 1))


def _capture(
    step: Step,
    setting: Setting,
    spread: ClassSpread,
    response: MagneticResponse,
    adhesions: tuple[float, ...],
) -> tuple[Array, Array | None]:
    nodes = grain_nodes(spread.kinds, spread.diameters_m)
    if step.kind == DRUM:
        drum = drum_of(step.drum)
        reference, moves = response.reference, response.with_moment
        return drum_capture(drum, nodes, reference, len(adhesions), moves), None
    if step.kind != ROLL:
        size_um = nodes.diameter_m[:, None, None, None] * 1e6
        top = step.at_um if step.at_um is not None else step.passing_um
        coarse = size_um > (np.inf if top is None else top)
        fine = size_um <= (step.retained_um or 0.0)
        return coarse.astype(float), fine.astype(float)
    own = replace(setting, passes=(step.machine,), drum_first=None, retreat="non-magnetics")
    if step.roll is not None:
        own = replace(own, roll=step.roll)
    check_setting(own)
    field = working_field(own)
    one = step.machine
    thrower = Thrower(
        field.roll_radius_m, field.belt_thickness_m, field.pitch_m, one.belt_speed_m_s, 0.0
    )

    def inside(edge_m: float) -> Array:
        return capture_table(
            field.amplitudes,
            thrower,
            spread.kinds,
            spread.diameters_m,
            edge_m=field.roll_radius_m + edge_m,
            adhesions_N=adhesions,
            reference=response.reference,
            with_moment=response.with_moment,
            moment_kinds=response.flown_kinds,
        )

    first = inside(one.splitter_m)
    if one.splitter_2_m is None:
        return first, None
    second = np.maximum(inside(one.splitter_2_m), first)
    return second, second - first
