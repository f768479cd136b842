"""The same feed at settings round the one assessed, for the panel of the page."""

from __future__ import annotations

from dataclasses import replace

from feedchar.assembly.checks import loaded_parameters
from feedchar.assembly.search import SPLITTERS_M, speeds_of
from feedchar.assembly.subset import Trials, first_rows
from feedchar.field.setting import Pass, Setting
from feedchar.product.answer import answer
from feedchar.product.outlets import outlets
from feedchar.product.specks import specks
from feedchar.results.what_if import WhatIf, WhatIfPoint
from feedchar.sample.records import Limit
from feedchar.separation.repeated import Repeated, repeated
from feedchar.uncertainty.summary import summarise

GRID_TRIALS = 200
"""Trials behind each point; the chance is then known to about 3 in 100. [-]"""
PASSES = (1, 2, 3)
LOWER_CUTS_UM = (0.0, 75.0, 106.0)
"""Fines treated, or screened out where adhesion takes over, or a class above. [um]"""


def what_if(used: Setting, everything: Trials, limit: Limit | None, seed: int) -> WhatIf | None:
    """Product of every combination of belt speed, edge, passes and lower cut.

    Parameters
    ----------
    used : Setting
        The setting assessed; its own values are in the grid. [SI]
    everything : Trials
        The feed. [-]
    limit : Limit or None
        What is asked. [-]
    seed : int
        Seed of the streams of dark grains. [-]

    Returns
    -------
    WhatIf or None
        None for an electromagnet's roll, and where passes differ from each other. [-]
    """
    if used.machine != "permanent-roll" or len(set(used.passes)) != 1:
        return None
    first, few = used.passes[0], first_rows(everything, GRID_TRIALS + 1)
    speeds = sorted({*speeds_of(used), first.belt_speed_m_s})
    edges = sorted({*SPLITTERS_M, first.splitter_m})
    if first.splitter_2_m is not None:
        edges = [edge for edge in edges if edge < first.splitter_2_m]
    counts = sorted({*PASSES, len(used.passes)})
    cuts = sorted({*LOWER_CUTS_UM, used.treated_retained_um or 0.0})
    top = used.treated_passing_um
    cuts = [cut for cut in cuts if top is None or cut < top]
    points: list[WhatIfPoint] = []
    for speed in speeds:
        for edge in edges:
            one = replace(used, passes=(Pass(speed, edge, first.splitter_2_m),))
            machine = repeated(one, few.grains, few.parameters, max(counts))
            for count in counts:
                points += _points(machine, count, few, limit, seed, cuts)
    return WhatIf(tuple(points), len(few.classes.mass) - 1)


def _points(
    machine: Repeated,
    count: int,
    few: Trials,
    limit: Limit | None,
    seed: int,
    cuts_um: list[float],
) -> list[WhatIfPoint]:
    """One setting at every lower cut; the cut is made before the machine, so grains fly once."""
    shares = machine.shares(count, few.parameters)
    made = []
    for cut in cuts_um:
        window = (machine.setting.treated_passing_um, cut or None)
        used = shares
        split = outlets(few.classes, used, few.mineralogy, *window)
        buried = loaded_parameters(split, few.parameters)
        if buried is not None:
            used = machine.shares(count, buried[0])
            split = outlets(few.classes, used, few.mineralogy, *window)
        dark = None
        if limit is not None and limit.specks_per_100_g_max is not None:
            dark = specks(few.classes, used, few.mineralogy, seed, "non_magnetics", *window).dark
        verdict = answer(split, limit, few.mineralogy, dark)
        made.append(
            WhatIfPoint(
                belt_speed_m_s=machine.setting.passes[0].belt_speed_m_s,
                splitter_m=machine.setting.passes[0].splitter_m,
                passes=count,
                treated_retained_um=cut,
                Fe2O3_wt_pct=summarise(split.non_magnetics.oxide("Fe2O3")),
                yield_pct=summarise(split.yield_pct()),
                chance_of_meeting_limit=verdict.chance_of_meeting_limit,
            )
        )
    return made
