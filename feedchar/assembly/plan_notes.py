"""What a plan must warn of: too little sand, too few grains, a belt too deep."""

from __future__ import annotations

from collections.abc import Iterable

from feedchar.assembly.plan_rate import layer_of
from feedchar.assembly.plan_sampling import joined_share
from feedchar.assembly.plan_trials import speeds_run
from feedchar.assembly.subset import Trials
from feedchar.field.setting import Setting
from feedchar.results.plan import PlanGrains, PlanMass, PlanRate
from feedchar.sample.records import Note
from feedchar.testwork.plan import Weighed
from feedchar.testwork.poisson_limits import poisson_lower_limit, poisson_upper_limit

FEW_GRAINS = 25.0
"""Fewer are known worse than 20 %, and no longer follow the normal law. [-]"""
DEEP = 1.05
"""Layers above which a belt is said to be too deep. [-]"""
WORTH_VARIANCE = 0.05
"""Phases that add less to the sampling variance need no warning. [-]"""


def plan_notes(
    trials: Trials,
    lines: tuple[PlanGrains, ...],
    rate: PlanRate,
    used: Setting,
    dry_kg: float | None,
    take_kg: float,
    charge: PlanMass,
    weighed: Iterable[Weighed],
    wanted: float,
) -> tuple[Note, ...]:
    """Warnings and notes of a plan.

    Parameters
    ----------
    trials : Trials
        The feed. [-]
    lines : tuple of PlanGrains
        Phases by number of grains. [-]
    rate : PlanRate
        Feed of the bench. [-]
    used : Setting
        As assessed. [SI]
    dry_kg, take_kg : float
        Dry sand received (None: not told), and needed. [kg]
    charge : PlanMass
        Of one run. [g]
    weighed : iterable of Weighed
        The programme. [-]
    wanted : float
        Relative sd asked for. [-]

    Returns
    -------
    tuple of Note
        Warnings first. [-]
    """
    made = []
    if dry_kg is not None and dry_kg < take_kg:
        text = (
            f"{dry_kg:.1f} kg dry came and {take_kg:.1f} kg are needed with a quarter kept: ask "
            f"for {take_kg - dry_kg:.1f} kg more, or leave the last runs out"
        )
        made.append(Note("sand-short", text, "warning"))
    if charge.relative_sd > wanted:
        told = f"{100.0 * charge.relative_sd:.0f} %"
        text = f"charges of {charge.kept_g:.0f} g alone give {told} by sampling"
        made.append(Note("charge-small", text, "warning"))
    for line in lines:
        found = line.grains_in_split
        if line.sampling_variance_share < WORTH_VARIANCE or found >= FEW_GRAINS:
            continue
        count = round(found)
        low, high = (
            float(limit(count, 0.95)) for limit in (poisson_lower_limit, poisson_upper_limit)
        )
        text = (
            f"{line.mineral}: about {found:.2g} grains that count in the pulverised split, so "
            f"{low:.2g} to {high:.2g} by chance: count grains in the whole bag instead"
        )
        made.append(Note("few-grains", text, "warning"))
    lay = layer_of(trials, used)
    for speed in speeds_run(used):
        depth = rate.plant_t_h_m / lay.capacity_t_h_m(speed)
        if depth > DEEP:
            text = (
                f"at {speed:g} m/s this feed lies {depth:.1f} layers deep: a slower run then shows "
                "overfeeding as well as speed"
            )
            made.append(Note("belt-deep", text, "warning"))
    short = [one.work.name for one in weighed if one.why == "no sand"]
    if short:
        text = f"left out for want of sand: {'; '.join(short[:3])}"
        made.append(Note("work-left-out", text, "note"))
    locked = joined_share(trials)
    text = (
        f"{100.0 * locked:.0f} % of the feed's iron sits in joined grains and inclusions: each "
        "class is counted with the size and content of its whole grains"
    )
    made.append(Note("joined-grains", text, "note"))
    return tuple(made)
