"""What to measure next, as result records."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from feedchar.assembly.machine import moments_as_susceptibility
from feedchar.assembly.search import speeds_of
from feedchar.assembly.subset import Trials
from feedchar.field.setting import Setting
from feedchar.product.candidates import candidates_of
from feedchar.product.measure import Candidate, best_pair, measure_next
from feedchar.product.outlets import Outlets, outlets
from feedchar.results import BestPair, MeasureNext
from feedchar.separation.passes import separate

Array = NDArray[np.float64]

LEAST_SHARE = 0.005
"""Measurements that would remove less of the variance are not worth a line. [-]"""


def orders_of(trials: Trials, setting: Setting, split: Outlets, seed: int) -> tuple[Candidate, ...]:
    """Measurements that one can order for this bag, a slow and a fast run of the roll among them.

    Parameters
    ----------
    trials : Trials
        The feed and the machine. [-]
    setting : Setting
        As assessed. [SI]
    split : Outlets
        What the setting does. [-]
    seed : int
        The run's seed. [-]

    Returns
    -------
    tuple of Candidate
        Empty without trials: nothing then tells what a measurement would narrow. [-]
    """
    if len(trials.classes.mass) < 3:
        return ()
    first = setting.passes[0]
    window = (setting.treated_passing_um, setting.treated_retained_um)
    pulled = {}
    tried = speeds_of(setting)
    for speed in (tried[0], tried[-1]):
        test = replace(setting, passes=(replace(first, belt_speed_m_s=speed),), drum_first=None)
        grains = moments_as_susceptibility(trials.grains, test)
        shares = separate(test, grains, trials.parameters)
        run = outlets(trials.classes, shares, trials.mineralogy, *window)
        pulled[speed] = run.yield_of_roll_feed_pct("magnetics")
    return candidates_of(
        trials.mineralogy,
        trials.classes,
        split,
        magnetics_at_speeds_pct=pulled,
        parameters=trials.parameters,
        seed=seed,
    )


def best_pair_result(
    candidates: tuple[Candidate, ...], product_wt_pct: Array, seed: int
) -> BestPair | None:
    """The two measurements that together remove most of the variance of product iron.

    Parameters
    ----------
    candidates : tuple of Candidate
        What one can order. [-]
    product_wt_pct : array, shape (T,)
        Fe2O3 of the product. [wt %]
    seed : int
        The run's seed. [-]

    Returns
    -------
    BestPair or None
        None without trials, or with fewer than two measurements. [-]
    """
    if len(candidates) < 2:
        return None
    found = best_pair(candidates, product_wt_pct, seed)
    return None if found is None else BestPair(*found)


def measure_next_results(
    candidates: tuple[Candidate, ...], product_wt_pct: Array, seed: int
) -> tuple[MeasureNext, ...]:
    """Measurements by the share of the variance of product iron that each would remove.

    Parameters
    ----------
    candidates : tuple of Candidate
        What one can order. [-]
    product_wt_pct : array, shape (T,)
        Fe2O3 of the product. [wt %]
    seed : int
        The run's seed. [-]

    Returns
    -------
    tuple of MeasureNext
        Empty without trials. [-]
    """
    if len(product_wt_pct) < 3:
        return ()
    return tuple(
        MeasureNext(
            measurement=ranked.measurement,
            unit=ranked.unit,
            assumed_sd=ranked.assumed_sd,
            variance_removed_share=ranked.variance_removed_share,
            hours=ranked.hours,
        )
        for ranked in measure_next(candidates, product_wt_pct, seed)
        if ranked.variance_removed_share >= LEAST_SHARE
    )
