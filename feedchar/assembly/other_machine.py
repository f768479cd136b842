"""The other kind of roll on the same feed, typical case, in one line."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from feedchar.assembly.machine import moments_as_susceptibility
from feedchar.assembly.subset import Trials, first_rows
from feedchar.field.rolls import DEFAULT_ROLL, read_roll
from feedchar.field.setting import MACHINES, Pass, Setting
from feedchar.field.working import working_field
from feedchar.product.outlets import outlets
from feedchar.results import MachineRun, MachinesCompared
from feedchar.separation.passes import separate
from feedchar.separation.stages import NON_MAGNETICS

COMPARED_AT = Pass(1.0, 0.010)
"""Speed and edge at which the other machine is run: no search is made of it."""


def machines_compared(used: Setting, trials: Trials) -> MachinesCompared:
    """Permanent and induced roll on this feed.

    Parameters
    ----------
    used : Setting
        The machine as assessed, with its passes. [SI]
    trials : Trials
        The feed; row 0 is used. [-]

    Returns
    -------
    MachinesCompared
        The machine assessed at its setting, the other at 1 m/s, an edge of 10 mm and as many
        passes. [-]

    Raises
    ------
    SettingError
        A machine that cannot be.
    """
    few = first_rows(trials, 1)
    kind = MACHINES[1] if used.machine == MACHINES[0] else MACHINES[0]
    roll = used.roll if kind == MACHINES[1] else read_roll(DEFAULT_ROLL)
    other = replace(
        used,
        machine=kind,
        roll=roll,
        passes=(COMPARED_AT,) * len(used.passes),
        retreat=NON_MAGNETICS,
    )
    return MachinesCompared(_run(used, few), _run(other, few))


def _run(setting: Setting, few: Trials) -> MachineRun:
    grains = moments_as_susceptibility(few.grains, setting)
    shares = separate(setting, grains, few.parameters)
    window = (setting.treated_passing_um, setting.treated_retained_um)
    split = outlets(few.classes, shares, few.mineralogy, *window)
    iron = float(split.non_magnetics.oxide("Fe2O3")[0])
    lost = float(np.nan_to_num(split.sand_lost_pct[0]).sum())
    return MachineRun(
        machine=setting.machine,
        belt_speed_m_s=setting.passes[0].belt_speed_m_s,
        Fe2O3_wt_pct=iron if np.isfinite(iron) else None,
        yield_pct=float(split.yield_pct()[0]),
        sand_lost_pct=lost,
        top_size_m=working_field(setting).top_size_m,
    )
