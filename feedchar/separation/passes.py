"""A setting applied to grain classes: the share of every class to each outlet, trial by trial."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from math import ceil, floor, log

import numpy as np
from numpy.typing import NDArray

from feedchar.constants import VACUUM_PERMEABILITY_T_M_A
from feedchar.field.drum import drum_of
from feedchar.field.force import mean_force_product
from feedchar.field.series import roll_flux_density
from feedchar.field.setting import Setting
from feedchar.field.working import WorkingField, working_field
from feedchar.magnetics.moment import ordered_fraction
from feedchar.separation.capture import Reference, capture_table
from feedchar.separation.drum_stage import drum_capture
from feedchar.separation.grain_nodes import (
    ClassSpread,
    FlakeSpread,
    Kind,
    grain_nodes,
    kinds_of,
    spread_over_nodes,
)
from feedchar.separation.landing import axial_nodes
from feedchar.separation.records import Grains, Parameters, Shares
from feedchar.separation.setting_checks import check_setting
from feedchar.separation.stages import OutletTerms, Stage, Term, outlet_terms
from feedchar.separation.thrower import Thrower
from feedchar.separation.trial_shares import shares_of_trials

Array = NDArray[np.float64]

REFERENCE_HEIGHT_M = 1e-4
"""Height above the belt at which pulls of different laws are made equal."""
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


def response_reference(field: WorkingField, belt_speed_m_s: float) -> tuple[Reference, float]:
    """How susceptibility and moment count in a field, at one height above the belt.

    Parameters
    ----------
    field : WorkingField
        What the machine offers. [SI]
    belt_speed_m_s : float
        Sets the scale of the response axis. [m s⁻¹]

    Returns
    -------
    reference : Reference
        Scale of the response axis. [SI]
    flux_density_tesla : float
        Flux density that magnetises there: of the gap, or the root mean square of the roll's. [T]

    References
    ----------
    Derived here.
    """
    height = field.belt_thickness_m + REFERENCE_HEIGHT_M
    place = (field.harmonics, field.pitch_m, field.roll_radius_m, height)
    product = float(mean_force_product(*place))
    radial, along = roll_flux_density(*place, axial_nodes(field.pitch_m))
    flux = field.background_tesla or float(np.sqrt(np.mean(radial**2 + along**2)))
    balance = belt_speed_m_s**2 / field.roll_radius_m
    scale = product / VACUUM_PERMEABILITY_T_M_A / balance
    return Reference(scale, VACUUM_PERMEABILITY_T_M_A / flux), flux


def _separate(
    setting: Setting,
    grains: Grains,
    parameters: Parameters,
    flakes: FlakeSpread,
    air_m: float,
    terms_of: Callable[[tuple[Stage, ...]], OutletTerms] = outlet_terms,
) -> Shares:
    field = working_field(setting)
    reference, flux = response_reference(field, setting.passes[0].belt_speed_m_s)
    spread = spread_over_nodes(grains, flakes)
    # In a gap of steady flux density a moment is pulled as a susceptibility is.
    has_moment = np.any(grains.moment_A_m2_kg > 0.0, axis=0) & (field.background_tesla == 0.0)
    moment_kinds = kinds_of(spread, has_moment)
    adhesions = adhesion_rungs(parameters.adhesion_N)
    stages = _stages(setting, field, spread, reference, adhesions, moment_kinds, air_m)
    saturation = grains.saturation_field_tesla
    share = ordered_fraction(grains.order, flux, 0.0 if saturation is None else saturation)
    pull = np.asarray(parameters.pull_factor, dtype=float)[:, None]
    moment = pull * share * grains.moment_A_m2_kg * reference.susceptibility_per_moment
    return shares_of_trials(
        terms_of(stages),
        spread.weight,
        grains.grain_ln_sd,
        pull * grains.susceptibility_m3_kg + moment,
        np.where(has_moment, moment, 0.0),
        parameters,
        adhesions,
        reference,
    )


def _stages(
    setting: Setting,
    field: WorkingField,
    spread: ClassSpread,
    reference: Reference,
    adhesions: tuple[float, ...],
    moment_kinds: tuple[Kind, ...],
    air_m: float,
) -> tuple[Stage, ...]:
    stages = []
    if setting.drum_first is not None:
        nodes = grain_nodes(spread.kinds, spread.diameters_m)
        drum = drum_of(setting.drum_first)
        taken = drum_capture(drum, nodes, reference, len(adhesions), bool(moment_kinds))
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
            reference=reference,
            with_moment=bool(moment_kinds),
            moment_kinds=moment_kinds,
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
