"""What a sample says of the plant: sizes that go on, rates of its tests, water to dry away."""

from __future__ import annotations

import numpy as np

from feedchar.assembly.plant_runs import Plant
from feedchar.field.setting import Setting
from feedchar.sample.records import Limit, Sample


def window_of(setting: Setting, limit: Limit | None) -> tuple[float | None, float | None]:
    """Sizes that go on to the circuit: those of the setting, else those that are asked for.

    Parameters
    ----------
    setting : Setting
        With its window treated. [um]
    limit : Limit or None
        With the window asked of the product. [um]

    Returns
    -------
    passing_um, retained_um : float or None
        None: that end is open. [um]
    """
    if setting.treated_passing_um is not None or setting.treated_retained_um:
        return setting.treated_passing_um, setting.treated_retained_um
    return (None, None) if limit is None else (limit.passing_um, limit.retained_um)


def middle_cut_um(plant: Plant) -> float:
    """Size that parts the feed into two halves, at a bound of its size classes.

    Parameters
    ----------
    plant : Plant
        With its feed. [-]

    Returns
    -------
    float
        The bound nearest to half the mass, typical case. [um]
    """
    sizes = plant.classes.sizes
    mass = np.bincount(plant.classes.size, plant.classes.mass[0], len(sizes))
    bounds = sizes.retained_um[:-1]
    if not len(bounds):
        return float(sizes.middle_um[0])
    coarser = np.cumsum(mass)[:-1] / mass.sum()
    return float(bounds[int(np.argmin(np.abs(coarser - 0.5)))])


def bench_t_h_m(sample: Sample) -> float | None:
    """Feed per metre of belt of the tests, the middle one of several.

    Parameters
    ----------
    sample : Sample
        With its weighed bags. [-]

    Returns
    -------
    float or None
        None where no test tells both feed rate and width. [t h⁻¹ m⁻¹]
    """
    rates = [
        bag.feed_kg_h / bag.belt_width_m / 1000.0
        for bag in sample.tests
        if bag.feed_kg_h and bag.belt_width_m
    ]
    return float(np.median(rates)) if rates else None


def moisture_of(sample: Sample, feed_t_h: float) -> tuple[float | None, float | None]:
    """Wet feed, and the water to take off before the roll.

    Parameters
    ----------
    sample : Sample
        Moisture of the bag and of the roll feed; a roll feed that is not given counts as dry. [%]
    feed_t_h : float
        Dry feed. [t h⁻¹]

    Returns
    -------
    wet, water : float or None
        None where the moisture of the bag is not known. [t h⁻¹]
    """
    if sample.moisture_pct is None:
        return None, None
    held = sample.moisture_pct / (100.0 - sample.moisture_pct)
    rest = (sample.roll_feed_moisture_pct or 0.0) / (100.0 - (sample.roll_feed_moisture_pct or 0.0))
    return feed_t_h * (1.0 + held), feed_t_h * max(held - rest, 0.0)
