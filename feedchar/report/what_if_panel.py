"""The panel of settings: its table for everybody, its numbers as plain data for the page."""

from __future__ import annotations

import json
from math import sqrt
from typing import Any

from feedchar.report.blocks import Column, Row, Table
from feedchar.report.numbers import DASH, chance_number, chance_word, share, weight
from feedchar.report.readings import MICROMETRE, likely, nine_in_ten
from feedchar.report.report import Panel, Slider
from feedchar.report.words import NO_BREAK
from feedchar.results import Characterisation
from feedchar.results.what_if import WhatIfPoint

_AXES = ("belt_speed_m_s", "splitter_m", "passes", "treated_retained_um")
_LABELS = ("belt speed", "edge beyond the roll", "passes", "lower cut of the size window")
_HEADINGS = ("belt speed, m/s", "edge, mm", "passes", f"lower cut, {MICROMETRE}")


def panel(result: Characterisation) -> Panel | None:
    """Panel of the settings round the one assessed.

    Parameters
    ----------
    result : Characterisation
        Its `what_if` holds every combination of its values; the sliders start at its setting. [-]

    Returns
    -------
    Panel or None
        None where there are no such settings, or a combination is lacking. [-]
    """
    grid = result.what_if
    if grid is None:
        return None
    axes = [sorted({getattr(point, key) for point in grid.points}) for key in _AXES]
    found = {tuple(getattr(point, key) for key in _AXES): point for point in grid.points}
    wanted = 1
    for values in axes:
        wanted *= len(values)
    if not grid.points or len(found) != wanted:
        return None
    starts = (
        result.setting.belt_speed_m_s,
        result.setting.splitter_m,
        float(result.setting.passes),
        result.setting.treated_retained_um or 0.0,
    )
    sliders = tuple(
        Slider(
            key,
            label,
            tuple(_told(key, value) for value in values),
            min(range(len(values)), key=lambda place: abs(values[place] - start)),
        )
        for key, label, values, start in zip(_AXES, _LABELS, axes, starts, strict=True)
    )
    order = [found[combination] for combination in _combinations(axes)]
    columns = (
        *(Column(heading, "number") for heading in _HEADINGS),
        Column("Fe2O3, wt %", "number"),
        Column("9 in 10 cases", "number"),
        Column("yield, % of dry bag", "number"),
        Column("9 in 10 cases", "number"),
        Column("chance", "number"),
    )
    rows = tuple(Row((*_setting(point), *shown(point))) for point in order)
    data: dict[str, Any] = {
        "sizes": [len(values) for values in axes],
        "values": [list(slider.values) for slider in sliders],
        "points": [[*shown(point), _chance_word(point)] for point in order],
    }
    return Panel(sliders, Table(columns, rows), script_json(data), _rests_on(result, grid.trials))


def shown(point: WhatIfPoint) -> tuple[str, ...]:
    """What the page tells of one point.

    Parameters
    ----------
    point : WhatIfPoint
        One setting. [-]

    Returns
    -------
    tuple of str
        Iron, its range, yield, its range, chance. [wt %, wt %, %, %, -]
    """
    chance = point.chance_of_meeting_limit
    return (
        weight(likely(point.Fe2O3_wt_pct)),
        nine_in_ten(point.Fe2O3_wt_pct, weight),
        share(likely(point.yield_pct)),
        nine_in_ten(point.yield_pct, share),
        DASH if chance is None else chance_number(chance),
    )


def script_json(data: Any) -> str:
    """JSON that cannot end the script element in which it stands.

    Parameters
    ----------
    data : object
        Plain values. [-]

    Returns
    -------
    str
        ASCII, with every sign of markup escaped. [-]
    """
    text = json.dumps(data, ensure_ascii=True, allow_nan=False, separators=(",", ":"))
    return text.replace("&", "\\u0026").replace("<", "\\u003c").replace(">", "\\u003e")


def _rests_on(result: Characterisation, trials: int) -> str:
    if trials == 0:
        return "The typical case at each setting, computed beforehand."
    few = f"the first {trials} of {result.trials}" if trials < result.trials else f"{trials}"
    text = f"Computed beforehand from {few} trials at each setting"
    chance = result.answer.chance_of_meeting_limit
    if chance is None:
        return f"{text}."
    error = 100.0 * sqrt(0.25 / trials)
    text += f", so a chance is known to about {error:.0f} in 100 either way"
    if trials < result.trials:
        text += f"; all trials give the setting of this report {chance_number(chance)}"
    return f"{text}."


def _setting(point: WhatIfPoint) -> tuple[str, ...]:
    return (
        f"{point.belt_speed_m_s:g}",
        f"{1000 * point.splitter_m:g}",
        f"{point.passes}",
        f"{point.treated_retained_um:.0f}" if point.treated_retained_um > 0 else "none",
    )


def _told(key: str, value: float) -> str:
    if key == "belt_speed_m_s":
        return f"{value:g}{NO_BREAK}m/s"
    if key == "splitter_m":
        return f"{1000 * value:g}{NO_BREAK}mm"
    if key == "passes":
        return f"{value:.0f}"
    return f"{value:.0f}{NO_BREAK}{MICROMETRE}" if value > 0 else "none, fines treated too"


def _chance_word(point: WhatIfPoint) -> str:
    chance = point.chance_of_meeting_limit
    return "" if chance is None else chance_word(chance)


def _combinations(axes: list[list[Any]]) -> list[tuple[Any, ...]]:
    made: list[tuple[Any, ...]] = [()]
    for values in axes:
        made = [(*before, value) for before in made for value in values]
    return made
