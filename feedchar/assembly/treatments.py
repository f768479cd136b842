"""What else could be done to the bag, typical case: scrub, deslime, another pass, a grind."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from feedchar.assembly.machine import grains_for, moments_as_susceptibility
from feedchar.assembly.search import slower
from feedchar.assembly.subset import Trials, first_rows
from feedchar.field.setting import Setting
from feedchar.particles.classes import ParticleClasses
from feedchar.product.grinding import ground
from feedchar.product.outlets import outlets
from feedchar.product.scenarios import deslimed, scrubbed
from feedchar.separation.passes import separate

SLIMES_BELOW_UM = 75.0
"""Cut of the desliming tried: where adhesion takes over on a dry roll. [um]"""
GROUND_SHARE = 0.5
"""Top size of the grind tried, as a share of the feed's top size. [-]"""


def other_treatments(
    setting: Setting, trials: Trials, feed_temperature_c: float, crushed_rock: bool
) -> tuple[tuple[str, float, float], ...]:
    """Product iron and yield of the typical case after what else could be done.

    Parameters
    ----------
    setting : Setting
        The machine as assessed. [SI]
    trials : Trials
        The feed; row 0 is used. [-]
    feed_temperature_c : float
        Temperature of the grains. [°C]
    crushed_rock : bool
        Whether a finer grind is a thing to think of. [-]

    Returns
    -------
    tuple of (str, float, float)
        Treatment, Fe2O3 of product [wt %] and yield of the dry bag [%]; without magnets first. [-]
    """
    few = first_rows(trials, 1)
    plain = few.classes
    again = replace(
        setting,
        passes=(
            *setting.passes,
            replace(
                setting.passes[-1],
                belt_speed_m_s=slower(setting, setting.passes[-1].belt_speed_m_s),
            ),
        ),
    )
    clean = deslimed(scrubbed(plain), SLIMES_BELOW_UM)
    speed = again.passes[-1].belt_speed_m_s
    cases: list[tuple[str, ParticleClasses, Setting]] = [
        ("scrubbed, -75 um washed off, same setting", clean, setting),
        (f"one more pass at {speed:g} m/s", plain, again),
        (f"scrubbed, -75 um washed off, one more pass at {speed:g} m/s", clean, again),
    ]
    if crushed_rock:
        density = np.array([phase.density_kg_m3 for phase in few.mineralogy.phases])
        top = GROUND_SHARE * float(plain.sizes.passing_um.max())
        cases.append(
            (f"ground to pass {top:.0f} um, same setting", ground(plain, density, top), setting)
        )
    found = []
    for words, classes, machine in cases:
        grains = grains_for(classes, few.mineralogy, feed_temperature_c)
        grains = moments_as_susceptibility(grains, machine)
        shares = separate(machine, grains, few.parameters)
        window = (machine.treated_passing_um, machine.treated_retained_um)
        split = outlets(classes, shares, few.mineralogy, *window)
        iron = float(split.non_magnetics.oxide("Fe2O3")[0])
        if np.isfinite(iron):
            found.append((words, iron, float(split.yield_pct()[0])))
    return tuple(found)
