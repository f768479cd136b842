"""A setting applied to grain classes: the share of every class to each outlet, trial by trial."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from math import ceil, floor, log

import numpy as np
from numpy.typing import NDArray

from feedchar.field.drum import drum_of
from feedchar.field.setting import Setting
from feedchar.field.working import WorkingField, working_field
from feedchar.separation.capture import capture_table
from feedchar.separation.drum_stage import drum_capture
from feedchar.separation.grain_nodes import (
    ClassSpread,
    FlakeSpread,
    grain_nodes,
    spread_over_nodes,
)
from feedchar.separation.magnetic_response import MagneticResponse, magnetic_response
from feedchar.separation.records import Grains, Parameters, Shares
from feedchar.separation.setting_checks import check_setting
from feedchar.separation.stages import OutletTerms, Stage, Term, outlet_terms
from feedchar.separation.thrower import Thrower
from feedchar.separation.trial_shares import shares_of_trials

Array = NDArray[np.float64]

ADHESION_RUNG_N = 1e-8
ADHESION_RATIO = 2.0
"""Rungs of the ladder of median adhesion; between them shares are interpolated in its logarithm."""


def separate(
    setting: Setting,
    grains: Grains,
    parameters: Parameters,
    flakes: FlakeSpread | None = None,
) -> Shares:
    """Shares of every grain class to magnetics, middlings and non-magnetics.

    Parameters
    ----------
    setting : Setting
        Roll and passes. [SI]
    grains : Grains
        C classes over T trials. [SI]
    parameters : Parameters
        Machine parameters over the trials. [SI]
    flakes : FlakeSpread or None
        How flakes of one class differ; None: the defaults. [-]

    Returns
    -------
    Shares
        (T, C) each. [-]

    Raises
    ------
    SettingError
        A setting or a grain that cannot be.

    References
    ----------
    Derived here; checked against a direct simulation of single grains in the tests.
    """
    check_setting(setting)
    if parameters.air_layer_m is None or not np.any(parameters.air_layer_m > 0.0):
        return _separate(setting, grains, parameters, flakes or FlakeSpread(), 0.0)
    # Two flights of everything, in still air and in the thickest layer, blended in between.
    thickest = float(np.max(parameters.air_layer_m))
    still = _separate(setting, grains, parameters, flakes or FlakeSpread(), 0.0)
    windy = _separate(setting, grains, parameters, flakes or FlakeSpread(), thickest)
    part = (np.asarray(parameters.air_layer_m) / thickest)[:, None]
    return Shares(
        *(
            (1.0 - part) * getattr(still, name) + part * getattr(windy, name)
            for name in ("magnetics", "middlings", "non_magnetics", "missed")
        )
    )


def taken_again_and_again(
    setting: Setting, grains: Grains, parameters: Parameters, most: int
) -> list[Array]:
    """Chance of every class to land inside the edge in each of a number of flights.

    Parameters
    ----------
    setting : Setting
        Roll and one pass without a second edge, in still air, no drum before it. [SI]
    grains : Grains
        C classes over T trials. [SI]
    parameters : Parameters
        Machine parameters over the trials. [SI]
    most : int
        Number of flights. [-]

    Returns
    -------
    list of array
        (T, C) for 1, 2 ... flights, averaged over what is permanent in the grains of a class, so
        that the second is more than the square of the first. [-]

    Raises
    ------
    SettingError
        A setting or a grain that cannot be.

    References
    ----------
    Derived here; checked against `separate` in the tests.
    """
    check_setting(setting)
    powers: list[Array] = []
    for k in range(1, most + 1, 2):

        def two(stages: tuple[Stage, ...], k: int = k) -> OutletTerms:
            inside = stages[0].taken
            again = (Term(inside ** (k + 1), 0, 0),) if k < most else ()
            return OutletTerms((Term(inside**k, 0, 0),), again)

        looked = _separate(setting, grains, parameters, FlakeSpread(), 0.0, two)
        powers += [looked.non_magnetics, looked.middlings]
    return powers[:most]


def _separate(
    setting: Setting,
    grains: Grains,
    parameters: Parameters,
    flakes: FlakeSpread,
    air_m: float,
    terms_of: Callable[[tuple[Stage, ...]], OutletTerms] = outlet_terms,
) -> Shares:
    field = working_field(setting)
    spread = spread_over_nodes(grains, flakes)
    speed = setting.passes[0].belt_speed_m_s
    response = magnetic_response(
        field, speed, grains, spread, parameters, other_fields=setting.drum_first is not None
    )
    adhesions = adhesion_rungs(parameters.adhesion_N)
    stages = _stages(setting, field, spread, response, adhesions, air_m)
    return shares_of_trials(
        terms_of(stages),
        spread.weight,
        grains.grain_ln_sd,
        response.total_m3_kg,
        response.moment_m3_kg,
        parameters,
        adhesions,
        response.reference,
    )


def _stages(
    setting: Setting,
    field: WorkingField,
    spread: ClassSpread,
    response: MagneticResponse,
    adhesions: tuple[float, ...],
    air_m: float,
) -> tuple[Stage, ...]:
    stages = []
    if setting.drum_first is not None:
        nodes = grain_nodes(spread.kinds, spread.diameters_m)
        drum = drum_of(setting.drum_first)
        taken = drum_capture(drum, nodes, response.reference, len(adhesions), response.with_moment)
        stages.append(Stage(taken, None))
    for one in setting.passes:
        thrower = Thrower(
            field.roll_radius_m, field.belt_thickness_m, field.pitch_m, one.belt_speed_m_s, air_m
        )
        inside = partial(
            capture_table,
            field.amplitudes,
            thrower,
            spread.kinds,
            spread.diameters_m,
            adhesions_N=adhesions,
            reference=response.reference,
            with_moment=response.with_moment,
            moment_kinds=response.flown_kinds,
        )
        first = inside(edge_m=field.roll_radius_m + one.splitter_m)
        if one.splitter_2_m is None:
            stages.append(Stage(first, None, setting.retreat))
        else:
            second = inside(edge_m=field.roll_radius_m + one.splitter_2_m)
            second = np.maximum(second, first)
            stages.append(Stage(second, second - first, setting.retreat))
    return tuple(stages)


def adhesion_rungs(adhesion_N: Array) -> tuple[float, ...]:
    """Median adhesions between which shares are interpolated.

    Parameters
    ----------
    adhesion_N : array, shape (T,)
        Median adhesion of every trial. [N]

    Returns
    -------
    tuple of float
        One rung where all trials have one adhesion, else rungs that enclose them. [N]

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
