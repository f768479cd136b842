"""A small search of the setting, when none is given; it also spans the curve of this roll."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import sqrt

import numpy as np
from numpy.typing import NDArray

from feedchar.assembly.machine import moments_as_susceptibility
from feedchar.assembly.subset import Trials, first_rows
from feedchar.field.setting import Pass, Setting
from feedchar.field.working import working_field
from feedchar.product.answer import Answer, answer
from feedchar.product.outlets import Outlets, outlets
from feedchar.results import SearchedSetting
from feedchar.sample.records import Limit
from feedchar.separation.passes import separate
from feedchar.separation.records import Shares
from feedchar.separation.stages import NON_MAGNETICS
from feedchar.uncertainty.summary import LIKELY_FROM

Array = NDArray[np.float64]

SPEEDS_M_S = (1.0, 1.5, 2.0)
"""Belt speeds tried on a roll of 50 mm radius; another radius takes the same v2/R. [m s⁻¹]"""
SPLITTERS_M = (0.005, 0.010, 0.020)
"""Edges tried. [m]"""
PASSES = (1, 2)
CHANCE_TRIALS = 200
"""Trials on which the chance of a setting is compared. [-]"""
CHANCES_LOOKED_AT = 4
"""Settings whose chance is computed, the dearest of them last. [-]"""
ACCEPTABLE_YIELD_PCT = 90.0
"""Least yield of roll feed where the limit names none (guess). [%]"""
LOSS_WORTH_A_PASS_PCT = 0.2
"""Points of yield that another pass must save to be worth its belt (guess). [%]"""


@dataclass(frozen=True)
class Tried:
    """One setting with what it does to the feed."""

    setting: Setting
    non_magnetics: Array
    """(C,) share of each class to the product, typical case. [-]"""
    Fe2O3_wt_pct: float
    yield_pct: float
    """Of the dry bag, typical case."""
    yield_of_roll_feed_pct: float
    meets: bool
    """All that is asked is met in the typical case; False when nothing is asked."""


def speeds_of(base: Setting) -> tuple[float, ...]:
    """Belt speeds tried on a roll, the slowest first.

    Parameters
    ----------
    base : Setting
        The machine. [SI]

    Returns
    -------
    tuple of float
        Rounded to a twentieth. [m s⁻¹]
    """
    scale = sqrt(working_field(base).roll_radius_m / 0.05)
    return tuple(round(speed * scale * 20.0) / 20.0 for speed in SPEEDS_M_S)


def slower(base: Setting, than_m_s: float) -> float:
    """The next slower of the speeds tried; one below the slowest where there is none.

    Parameters
    ----------
    base : Setting
        The machine. [SI]
    than_m_s : float
        Belt speed. [m s⁻¹]

    Returns
    -------
    float
        Belt speed. [m s⁻¹]
    """
    below = [speed for speed in speeds_of(base) if speed < than_m_s - 0.01]
    return below[-1] if below else round(0.8 * than_m_s, 2)


def candidate_settings(base: Setting) -> tuple[Setting, ...]:
    """The settings that are tried on one machine.

    Parameters
    ----------
    base : Setting
        Machine, size window and temperatures. [SI]

    Returns
    -------
    tuple of Setting
        Speeds outermost, so that edges and passes share the flights. [SI]
    """
    made = []
    for speed in speeds_of(base):
        for edge in SPLITTERS_M:
            for number in PASSES:
                made.append(
                    replace(base, passes=(Pass(speed, edge),) * number, retreat=NON_MAGNETICS)
                )
    return tuple(made)


def try_settings(
    settings: tuple[Setting, ...], trials: Trials, limit: Limit | None
) -> tuple[Tried, ...]:
    """What each setting does in the typical case.

    Parameters
    ----------
    settings : tuple of Setting
        Settings of one machine. [SI]
    trials : Trials
        The feed; row 0 is used. [-]
    limit : Limit or None
        What is asked. [-]

    Returns
    -------
    tuple of Tried
        In the order given. [-]
    """
    few = first_rows(trials, 1)
    found = []
    for setting in settings:
        shares, split, verdict = _run(setting, few, limit)
        found.append(
            Tried(
                setting=setting,
                non_magnetics=np.asarray(shares.non_magnetics[0]),
                Fe2O3_wt_pct=float(split.non_magnetics.oxide("Fe2O3")[0]),
                yield_pct=float(split.yield_pct()[0]),
                yield_of_roll_feed_pct=float(split.yield_of_roll_feed_pct()[0]),
                meets=bool(verdict.rows) and all(row.typical_meets for row in verdict.rows),
            )
        )
    return tuple(found)


def choose(tried: tuple[Tried, ...], trials: Trials, limit: Limit | None) -> Tried:
    """The cheapest setting that is likely to meet the limit, else the one that comes nearest.

    Cheapest is the least loss; a second pass must save `LOSS_WORTH_A_PASS_PCT`. Where no setting
    is likely to meet, the best chance among those looked at; where none meets even in the typical
    case, the least iron at a yield that can be accepted.

    Parameters
    ----------
    tried : tuple of Tried
        At least one setting. [-]
    trials : Trials
        The feed, for the chances. [-]
    limit : Limit or None
        What is asked. [-]

    Returns
    -------
    Tried
        One of them. [-]

    References
    ----------
    common practice, no source
    """
    whole = [one for one in tried if np.isfinite(one.Fe2O3_wt_pct)]
    if not whole:
        return tried[0]
    wanted = None if limit is None else limit.yield_min_pct
    accepted = [
        one
        for one in whole
        if one.yield_of_roll_feed_pct >= ACCEPTABLE_YIELD_PCT
        or (wanted is not None and one.yield_pct >= wanted)
    ] or [max(whole, key=lambda one: one.yield_pct)]
    cleanest = min(accepted, key=lambda one: (one.Fe2O3_wt_pct, -one.yield_pct))
    meeting = sorted((one for one in efficient(whole) if one.meets), key=_cost)
    if not meeting:
        return cleanest
    # From the cheapest that meets in the typical case to the cleanest, evenly spaced.
    places = np.unique(np.linspace(0, len(meeting) - 1, CHANCES_LOOKED_AT).round().astype(int))
    looked = [meeting[k] for k in places]
    few = first_rows(trials, CHANCE_TRIALS + 1)
    # Adhesion at its typical value: settings compare alike, and their tables are known already.
    typical = few.parameters.adhesion_N[:1]
    few = replace(few, parameters=replace(few.parameters, adhesion_N=typical))
    best, most = looked[0], -1.0
    for one in looked:
        chance = _run(one.setting, few, limit)[2].chance_of_meeting_limit or 0.0
        if chance >= LIKELY_FROM:
            return one
        if chance > most + 0.01:
            best, most = one, chance
    return best


def efficient(tried: list[Tried]) -> list[Tried]:
    """Settings that no other beats in both iron and cost.

    Parameters
    ----------
    tried : list of Tried
        Settings. [-]

    Returns
    -------
    list of Tried
        The cheapest first. [-]
    """
    kept: list[Tried] = []
    for one in sorted(tried, key=lambda each: (_cost(each), each.Fe2O3_wt_pct)):
        if not kept or one.Fe2O3_wt_pct < kept[-1].Fe2O3_wt_pct:
            kept.append(one)
    return kept


def _cost(one: Tried) -> float:
    return LOSS_WORTH_A_PASS_PCT * len(one.setting.passes) - one.yield_pct


def _run(setting: Setting, few: Trials, limit: Limit | None) -> tuple[Shares, Outlets, Answer]:
    # A chance is needed to compare settings, also where the report may not state one.
    open_case = replace(few.mineralogy, data_disagree=False, assay_needed=False)
    grains = moments_as_susceptibility(few.grains, setting)
    shares = separate(setting, grains, few.parameters)
    window = (setting.treated_passing_um, setting.treated_retained_um)
    split = outlets(few.classes, shares, open_case, *window)
    return shares, split, answer(split, limit, open_case)


def searched_results(tried: tuple[Tried, ...], chosen: Tried) -> tuple[SearchedSetting, ...]:
    """What was tried, as records.

    Parameters
    ----------
    tried : tuple of Tried
        All settings. [-]
    chosen : Tried
        The one taken. [-]

    Returns
    -------
    tuple of SearchedSetting
        Typical case. [-]
    """
    best = efficient([one for one in tried if np.isfinite(one.Fe2O3_wt_pct)])
    return tuple(
        SearchedSetting(
            belt_speed_m_s=one.setting.passes[0].belt_speed_m_s,
            splitter_m=one.setting.passes[0].splitter_m,
            passes=len(one.setting.passes),
            Fe2O3_wt_pct=one.Fe2O3_wt_pct,
            yield_pct=one.yield_pct,
            chosen=one is chosen,
            efficient=any(one is other for other in best),
        )
        for one in tried
        if np.isfinite(one.Fe2O3_wt_pct)
    )
