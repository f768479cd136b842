"""Every test that could be run, as the trials see it: what it would weigh and assay."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from feedchar.assembly.machine import moments_as_susceptibility
from feedchar.assembly.search import SPLITTERS_M, speeds_of
from feedchar.assembly.subset import Trials
from feedchar.field.setting import Pass, Setting
from feedchar.product.candidates import (
    WEIGHED_RELATIVE_SD,
    WEIGHED_SD_PCT,
)
from feedchar.product.outlets import Outlets, outlets
from feedchar.sample.assay_error import IRON_RELATIVE_SD, IRON_SD_WT_PCT
from feedchar.separation.passes import separate
from feedchar.uncertainty.streams import stream

Array = NDArray[np.float64]

RUN_LN_SD = 0.05
"""Run to run of one setting, in ln of a product's iron or mass (guess). [-]"""
SETTING_LN_SD = 0.15
"""What the model does not know of a setting, in ln of product iron: a run at one setting does not
tell another better than this (guess). [-]"""
OWN_WEIGHT = 0.5
"""Weight of the setting assessed among the targets; the other settings share the rest (guess)."""


@dataclass(frozen=True)
class Run:
    """One pass over the roll as a test of its own, or the next pass of one."""

    name: str
    setting: Setting
    split: Outlets
    is_main: bool = False


def main_setting(used: Setting) -> Setting:
    """The setting assessed as a bench runs it first: with a second edge, so that one run tells two.

    Parameters
    ----------
    used : Setting
        As assessed. [SI]

    Returns
    -------
    Setting
        One pass. [SI]
    """
    first = used.passes[0]
    second = first.splitter_2_m
    if second is None:
        wider = [edge for edge in SPLITTERS_M if edge > first.splitter_m + 1e-6]
        second = wider[0] if wider else 1.5 * first.splitter_m
    return replace(used, passes=(replace(first, splitter_2_m=second),), retreat="non-magnetics")


def speeds_run(used: Setting) -> tuple[float, ...]:
    """Three belt speeds, that of the setting assessed among them.

    Parameters
    ----------
    used : Setting
        As assessed. [SI]

    Returns
    -------
    tuple of float
        Slowest first. [m s⁻¹]
    """
    own = used.passes[0].belt_speed_m_s
    speeds = list(speeds_of(used))
    nearest = int(np.argmin([abs(speed - own) for speed in speeds]))
    speeds[nearest] = own
    return tuple(sorted(set(speeds)))


def settings_compared(used: Setting) -> dict[str, Setting]:
    """Settings whose product is to be known: three speeds, two edges, one and two passes.

    Parameters
    ----------
    used : Setting
        As assessed. [SI]

    Returns
    -------
    dict of str to Setting
        By name; `own` first, the others in the order of their names' making. [SI]
    """
    own = replace(used.passes[0], splitter_2_m=None)
    made = {}
    for speed in speeds_run(used):
        made[f"{speed:g} m/s"] = replace(used, passes=(replace(own, belt_speed_m_s=speed),))
    edge = main_setting(used).passes[0].splitter_2_m
    if edge is not None:
        made["second edge"] = replace(used, passes=(Pass(own.belt_speed_m_s, edge),))
    count = max(2, len(used.passes))
    made["more passes"] = replace(used, passes=(own,) * count)
    return made


def run_outlets(trials: Trials, setting: Setting) -> Outlets:
    """Where the feed goes at a setting.

    Parameters
    ----------
    trials : Trials
        The feed and the machine. [-]
    setting : Setting
        The setting. [SI]

    Returns
    -------
    Outlets
        Fractions of the dry bag. [-]
    """
    grains = moments_as_susceptibility(trials.grains, setting)
    shares = separate(setting, grains, trials.parameters)
    window = (setting.treated_passing_um, setting.treated_retained_um)
    return outlets(trials.classes, shares, trials.mineralogy, *window)


class Bench:
    """Figures that a test would give, with the errors of run, balance and laboratory."""

    def __init__(self, seed: int, sampling_sd: float) -> None:
        self.seed, self.sampling_sd = seed, sampling_sd

    def truth(self, name: str, product_wt_pct: Array) -> Array:
        """Product iron of a setting with what no model knows of it. (N,) [ln wt %]"""
        values = np.log(np.maximum(product_wt_pct[1:], 1e-9))
        noise = stream(self.seed, f"plan/setting/{name}").standard_normal(len(values))
        return np.asarray(values + SETTING_LN_SD * noise)

    def assay(self, name: str, truth_ln: Array) -> Array:
        """Assay of a product. (N,) [ln wt %]"""
        content = np.exp(truth_ln)
        laboratory = IRON_RELATIVE_SD + IRON_SD_WT_PCT / np.maximum(content, 1e-9)
        error = np.sqrt(RUN_LN_SD**2 + self.sampling_sd**2 + laboratory**2)
        noise = stream(self.seed, f"plan/assay/{name}").standard_normal(len(content))
        return np.asarray(truth_ln + error * noise)

    def weight(self, name: str, percent: Array, extra_ln_sd: float = 0.0) -> Array:
        """Weight of a bag. (N,) [ln %]"""
        values = np.maximum(percent[1:], 1e-6)
        relative = np.sqrt(WEIGHED_RELATIVE_SD**2 + RUN_LN_SD**2 + extra_ln_sd**2)
        noise = stream(self.seed, f"plan/weight/{name}").standard_normal(len(values))
        other = stream(self.seed, f"plan/balance/{name}").standard_normal(len(values))
        found = values * np.exp(relative * noise) + WEIGHED_SD_PCT * other
        return np.asarray(np.log(np.maximum(found, 0.01 * WEIGHED_SD_PCT)))


def target_weights(names: Sequence[str], own: str) -> Array:
    """Weight of each setting's product among what is to be known.

    Parameters
    ----------
    names : sequence of str
        Settings compared. [-]
    own : str
        The one assessed. [-]

    Returns
    -------
    array, shape (K,)
        Weights, sum 1. [-]
    """
    rest = (1.0 - OWN_WEIGHT) / max(len(names) - 1, 1)
    weights = np.array([OWN_WEIGHT if name == own else rest for name in names])
    return np.asarray(weights / weights.sum())
