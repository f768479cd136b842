"""Pictures of the product: iron against yield, the spread of the trials, the field needed."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from feedchar.report.could_be_block import CURVES
from feedchar.report.numbers import weight
from feedchar.report.picture_readings import fields_needed
from feedchar.report.picture_style import (
    INK,
    LINE_COLOURS,
    LINE_DASHES,
    MARKERS,
    ROLE_COLOURS,
    bare_number,
    quiet_grid,
)
from feedchar.report.product_readings import (
    curve_at,
    curve_points,
    iron_limit,
    product_bins,
    product_trials,
)
from feedchar.report.readings import MICROMETRE, likely, size_class
from feedchar.results import Characterisation

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

YIELD_BELOW_PCT = 20.0
"""How far below the yield of this setting the curves are drawn at least. [%]"""
STEEP_END = 3.0
"""Iron shown, as a multiple of the greater of limit and this setting. [-]"""

_WIDTHS = {"every_grain_sorted": 1.8, "ideal_magnet": 3.2, "this_roll": 2.0}
"""Where two lines fall together the thin one lies on the thick one. [point]"""

_DASHES = {"every_grain_sorted": ":", "ideal_magnet": "--", "this_roll": "-"}


def draw_curves(figure: Figure, result: Characterisation) -> None:
    """Product iron against yield: sorted by hand, an ideal magnet, this machine.

    Parameters
    ----------
    figure : Figure
        Empty. [-]
    result : Characterisation
        The result. [-]
    """
    axes = figure.subplots()
    drawn = False
    lowest = 100.0
    for place, (key, label) in enumerate(CURVES):
        kept, iron = curve_points(result, key)
        if len(kept) == 0:
            continue
        drawn = True
        lowest = min(lowest, float(kept[0]))
        axes.plot(
            kept,
            iron,
            color=LINE_COLOURS[place],
            linestyle=_DASHES[key],
            linewidth=_WIDTHS[key],
            zorder=4 - place,
            marker=MARKERS[place],
            markersize=5,
            markevery=max(1, len(kept) // 9),
            label=label,
        )
    limit = iron_limit(result)
    if limit is not None:
        axes.axhline(limit, color=INK, linewidth=1.0, dashes=(6, 3))
        axes.annotate(
            f"limit {weight(limit)}",
            (0.01, limit),
            (0, 3),
            xycoords=("axes fraction", "data"),
            textcoords="offset points",
        )
    iron_here = None
    kept_here = result.product.non_magnetics.yield_pct.typical
    if kept_here is not None:
        iron_here = curve_at(result, "this_roll", kept_here)
        if iron_here is None:
            iron_here = result.product.non_magnetics.assay_wt_pct["Fe2O3"].typical
        if iron_here is not None:
            axes.plot(
                [kept_here],
                [iron_here],
                marker="o",
                markersize=12,
                markerfacecolor="none",
                markeredgewidth=2,
                markeredgecolor=INK,
                linestyle="none",
                label="this setting",
                zorder=5,
            )
    if drawn:
        axes.legend(loc="upper left")
    axes.set_xlim(_lowest_yield_shown(lowest, kept_here), 100.4)
    axes.set_xlabel("yield, % of dry bag")
    axes.set_ylabel("Fe2O3 of product, wt %, typical case")
    axes.set_ylim(0, _most_iron_shown(result, iron_here, limit))
    quiet_grid(axes, "both")


def _lowest_yield_shown(lowest: float, kept_here: float | None) -> float:
    """Where this machine's curve begins, and some way below this setting."""
    seen = lowest if kept_here is None else min(kept_here - YIELD_BELOW_PCT, 95.0)
    return float(np.clip(5.0 * np.floor(seen / 5.0), 50.0, 90.0))


def _most_iron_shown(
    result: Characterisation, iron_here: float | None, limit: float | None
) -> float:
    """High enough for limit and setting; the steep end near the whole bag may leave the picture."""
    highest = max(
        (
            float(iron.max())
            for key, _ in CURVES
            for _, iron in [curve_points(result, key)]
            if len(iron)
        ),
        default=0.0,
    )
    wanted = STEEP_END * max(iron_here or 0.0, limit or 0.0)
    highest = min(highest, wanted) if highest and wanted else max(highest, wanted)
    return 1.05 * highest or 1.0


def draw_product(figure: Figure, result: Characterisation) -> None:
    """How the trials spread: product iron, with the limit.

    Parameters
    ----------
    figure : Figure
        Empty. [-]
    result : Characterisation
        The result. [-]
    """
    axes = figure.subplots()
    trials, limit = product_trials(result), iron_limit(result)
    axes.set_xscale("log")
    if len(trials) > 1 and np.ptp(trials) > 0:
        edges, parts = product_bins(trials, limit)
        middle = np.sqrt(edges[1:] * edges[:-1])
        for inside, colour, hatch, words in (
            (True, ROLE_COLOURS["removable"], "", "no more iron than the limit"),
            (False, ROLE_COLOURS["stays"], "////", "more"),
        ):
            chosen = (middle <= limit if limit is not None else middle > 0) == inside
            if not chosen.any():
                continue
            axes.bar(
                edges[:-1][chosen],
                parts[chosen],
                np.diff(edges)[chosen],
                align="edge",
                color=colour,
                hatch=hatch,
                edgecolor=INK,
                linewidth=0.5,
                label=words if limit is not None else None,
            )
        axes.set_ylabel("of 100 trials")
        axes.set_ylim(0, 1.4 * parts.max())
        if limit is not None:
            figure.legend(loc="outside lower center", ncols=2)
    else:
        axes.set_yticks([])
    _mark_range(axes, result)
    if limit is not None:
        axes.axvline(limit, ymax=0.9, color=INK, linewidth=1.6, dashes=(6, 3))
        on_the_left = len(trials) > 0 and limit <= trials.min()
        axes.annotate(
            f"limit {weight(limit)}",
            (limit, 0.84),
            (4, 0) if on_the_left else (-4, 0),
            xycoords=("data", "axes fraction"),
            textcoords="offset points",
            ha="left" if on_the_left else "right",
        )
    _plain_log(axes, "x")
    axes.set_xlabel("Fe2O3 of product, wt %")
    quiet_grid(axes, "x")


def _mark_range(axes: Axes, result: Characterisation) -> None:
    """Likely value and nine in ten, above the bars."""
    iron = result.product.non_magnetics.assay_wt_pct.get("Fe2O3")
    middle = likely(iron)
    if iron is None or middle is None:
        return
    across = axes.get_xaxis_transform()
    if iron.p05 is not None and iron.p95 is not None:
        axes.plot([iron.p05, iron.p95], [0.78, 0.78], color=INK, linewidth=2, transform=across)
        axes.plot(
            [iron.p05, iron.p95],
            [0.78, 0.78],
            color=INK,
            marker="|",
            markersize=10,
            linestyle="none",
            transform=across,
        )
    axes.plot([middle], [0.78], color=INK, marker="D", markersize=6, transform=across)
    words = f"likely {weight(middle)}"
    if iron.p05 is not None:
        words += f", 9 in 10 from {weight(iron.p05)} to {weight(iron.p95)}"
    axes.annotate(
        words,
        (0.01, 0.94),
        xycoords="axes fraction",
        fontweight="bold",
    )


def draw_field(figure: Figure, result: Characterisation) -> None:
    """Flux density that each phase needs by size, against what the machine offers.

    Parameters
    ----------
    figure : Figure
        Empty. [-]
    result : Characterisation
        The result. [-]
    """
    axes = figure.subplots()
    found = fields_needed(result)
    sizes = sorted({size for phase in found for size in phase.sizes}, reverse=True)
    for place, phase in enumerate(found):
        axes.plot(
            [sizes.index(size) for size in phase.sizes],
            phase.tesla,
            color=LINE_COLOURS[place % len(LINE_COLOURS)],
            linestyle=LINE_DASHES[place % len(LINE_DASHES)],
            marker=MARKERS[place % len(MARKERS)],
            markersize=6,
            linewidth=1.6,
            label=phase.label,
        )
    offered = result.setting.surface_flux_density_tesla
    axes.set_yscale("log")
    top = max([offered, *(max(phase.tesla) for phase in found)])
    low = min([offered, *(min(phase.tesla) for phase in found)])
    axes.set_ylim(low / 1.5, top * 1.6)
    axes.axhspan(low / 1.5, offered, color=ROLE_COLOURS["host"], alpha=0.5, linewidth=0)
    axes.axhline(offered, color=INK, linewidth=2.4, label=f"this machine offers {offered:.2f}")
    _plain_log(axes, "y")
    axes.set_xticks(range(len(sizes)), [size_class(*size) for size in sizes])
    axes.set_xlim(-0.4, max(0.4, len(sizes) - 0.6))
    axes.set_xlabel(f"size, {MICROMETRE}")
    axes.set_ylabel("field needed, T at the roll face")
    if found:
        figure.legend(loc="outside right upper", handlelength=3.5)
    quiet_grid(axes, "y")


def _plain_log(axes: Axes, which: str) -> None:
    """Ticks at 1, 2, 5 without exponents, within the limits as they are."""
    low, high = axes.get_xlim() if which == "x" else axes.get_ylim()
    powers = range(int(np.floor(np.log10(low))), int(np.ceil(np.log10(high))) + 1)
    ticks = [step * 10.0**power for power in powers for step in (1, 2, 5)]
    ticks = [tick for tick in ticks if low <= tick <= high]
    if len(ticks) < 3:
        ticks = [float(f"{tick:.2g}") for tick in np.geomspace(low, high, 6)[1:-1]]
    set_ticks = axes.set_xticks if which == "x" else axes.set_yticks
    set_ticks(ticks, [bare_number(tick) for tick in ticks])
    set_ticks([], minor=True)
