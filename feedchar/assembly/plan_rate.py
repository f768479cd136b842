"""The feed rate of the bench roll that loads its belt as the plant loads its own."""

from __future__ import annotations

import numpy as np

from feedchar.assembly.subset import Trials
from feedchar.errors import SettingError
from feedchar.field.setting import Setting
from feedchar.plant.belts import Lay, lay_of, units_of
from feedchar.product.outlets import treated_share
from feedchar.results.plan import PlanRate
from feedchar.sample.records import Sample


def bench_feed_kg_h(feed_t_h: float, plant_belt_m: float, bench_belt_m: float) -> float:
    """Feed of a bench belt that carries as much per metre as the plant's.

    Parameters
    ----------
    feed_t_h : float
        Dry feed of the plant. [t h⁻¹]
    plant_belt_m : float
        Belt over which it is spread, all rolls of the pass side by side. [m]
    bench_belt_m : float
        Width of the layer on the bench. [m]

    Returns
    -------
    float
        Feed of the bench. [kg h⁻¹]

    Examples
    --------
    >>> bench_feed_kg_h(5.0, 2.5, 0.1)
    200.0
    """
    return 1000.0 * feed_t_h / plant_belt_m * bench_belt_m


def layer_of(trials: Trials, used: Setting) -> Lay:
    """How the roll feed lies on a belt, typical case.

    Parameters
    ----------
    trials : Trials
        The feed. [-]
    used : Setting
        With its window treated. [um]

    Returns
    -------
    Lay
        Sauter mean and density. [SI]
    """
    window = (used.treated_passing_um, used.treated_retained_um)
    inside = treated_share(trials.classes.sizes, *window)[trials.classes.size]
    return lay_of(np.asarray(trials.classes.mass[0] * inside), trials.grains)


def rate_of(
    sample: Sample,
    trials: Trials,
    used: Setting,
    feed_t_h: float | None,
    plant_belt_m: float | None,
    bench_belt_m: float,
) -> PlanRate:
    """The feed rate of the bench roll.

    Parameters
    ----------
    sample : Sample
        For the feed rate of its plant. [-]
    trials : Trials
        The feed. [-]
    used : Setting
        As assessed. [SI]
    feed_t_h : float or None
        Dry feed; None: that of the sample. [t h⁻¹]
    plant_belt_m : float or None
        Belt of the plant; None: usual widths that carry the feed one grain deep. [m]
    bench_belt_m : float
        Width of the layer on the bench. [m]

    Returns
    -------
    PlanRate
        Without a feed rate the belt of the bench is filled one grain deep. [-]

    Raises
    ------
    SettingError
        A belt of the plant without a feed rate.
    """
    rate = sample.feed_t_h if feed_t_h is None else feed_t_h
    full = layer_of(trials, used).capacity_t_h_m(used.passes[0].belt_speed_m_s)
    if rate is None:
        if plant_belt_m is not None:
            message = "--plant-belt-m needs the feed: give --feed-t-h, or t_h under [feed]"
            raise SettingError(message)
        kg_h = 1000.0 * full * bench_belt_m
        how = "a full single layer, as no plant rate is given"
        return PlanRate(None, None, full, bench_belt_m, kg_h, full, how)
    how = "the plant rate on the belt given"
    belt = plant_belt_m
    if belt is None:
        count, width = units_of(rate / full)
        belt = count * width
        how = f"the plant rate on {count} x {width:g} m of belt, which carry it one grain deep"
    return PlanRate(
        plant_t_h=rate,
        plant_belt_m=belt,
        plant_t_h_m=rate / belt,
        bench_belt_m=bench_belt_m,
        bench_kg_h=bench_feed_kg_h(rate, belt, bench_belt_m),
        single_layer_t_h_m=full,
        how=how,
    )
