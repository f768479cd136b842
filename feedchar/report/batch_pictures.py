"""Pictures of a table of samples: how product iron is spread, and which feeds answer alike."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from feedchar.report.blocks import Column, Row, Table
from feedchar.report.numbers import share, spread, weight
from feedchar.report.picture_style import (
    INK,
    LINE_COLOURS,
    MARKERS,
    ROLE_COLOURS,
    bare_number,
    quiet_grid,
)
from feedchar.report.pictures import Picture
from feedchar.report.words import NO_BREAK
from feedchar.results.batch import BatchSummary

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

SPREAD_INCH, GROUPS_INCH = 3.0, 4.2


def spread_words(summary: BatchSummary) -> Picture | None:
    """Words and table of the spread of product iron over the rows.

    Parameters
    ----------
    summary : BatchSummary
        The table. [-]

    Returns
    -------
    Picture or None
        None with too few rows. [-]
    """
    if not summary.bins:
        return None
    rows = tuple(Row((spread(weight(a), weight(b)), share(part))) for a, b, part in summary.bins)
    limit = summary.limit.get("Fe2O3_max_pct")
    caption = "One likely figure a row; how sure each is stands in the table of samples."
    if limit is not None:
        inside = sum(part for _, b, part in summary.bins if b <= limit * (1.0 + 1e-9))
        caption += f" In {share(inside)} of 100 rows it lies within {limit:g}{NO_BREAK}%, "
        caption += "whatever its chance to stay there."
    columns = (Column("Fe2O3 of product, wt %"), Column("of 100 rows", "number"))
    return Picture("spread", "Product iron over the rows", caption, Table(columns, rows))


def draw_spread(figure: Figure, summary: BatchSummary) -> None:
    """Rows by product iron, with the limit.

    Parameters
    ----------
    figure : Figure
        Empty. [-]
    summary : BatchSummary
        The table. [-]
    """
    axes = figure.subplots()
    low, high, parts = (np.array(column) for column in zip(*summary.bins, strict=True))
    limit = summary.limit.get("Fe2O3_max_pct")
    middle = np.sqrt(low * high)
    axes.set_xscale("log")
    for inside, colour, hatch, words in (
        (True, ROLE_COLOURS["removable"], "", "no more iron than the limit"),
        (False, ROLE_COLOURS["stays"], "////", "more"),
    ):
        chosen = (middle <= limit if limit is not None else middle > 0) == inside
        if chosen.any():
            axes.bar(
                low[chosen], parts[chosen], (high - low)[chosen], align="edge", color=colour,
                hatch=hatch, edgecolor=INK, linewidth=0.5, label=words,
            )  # fmt: skip
    axes.set_ylabel("of 100 rows")
    axes.set_ylim(0, 1.25 * parts.max())
    if limit is not None:
        axes.axvline(limit, ymax=0.88, color=INK, linewidth=1.6, dashes=(6, 3))
        axes.text(limit, 1.13 * parts.max(), f"limit {limit:g}", ha="center")
        figure.legend(loc="outside lower center", ncols=2)
    _plain_log(axes)


def groups_words(summary: BatchSummary) -> Picture | None:
    """Words and table of the groups of feeds.

    Parameters
    ----------
    summary : BatchSummary
        The table. [-]

    Returns
    -------
    Picture or None
        None without groups. [-]
    """
    found = summary.groups
    if found is None:
        return None
    rows = tuple(
        Row(
            (
                str(number),
                weight(group.representative.product_Fe2O3_wt_pct),
                share(group.representative.yield_pct),
                str(group.rows),
            )
        )
        for number, group in enumerate(found.groups, start=1)
    )
    columns = (
        Column("group", "number"),
        Column("Fe2O3 of product of its sample, wt %", "number"),
        Column("yield, %", "number"),
        Column("rows", "number"),
    )
    caption = f"Small marks are rows ({len(found.points)} of {summary.rows}), large numbered ones "
    caption += "the samples to test. Marks of one shape answer the machine alike; groups that lie "
    caption += "over each other here differ in the share of iron removed or unseen."
    return Picture("groups", "Feeds that answer alike", caption, Table(columns, rows))


def draw_groups(figure: Figure, summary: BatchSummary) -> None:
    """Product iron against yield, a mark for each group.

    Parameters
    ----------
    figure : Figure
        Empty. [-]
    summary : BatchSummary
        The table; it has groups. [-]
    """
    found = summary.groups
    axes = figure.subplots()
    axes.set_xscale("log")
    for place, group in enumerate(found.groups if found else ()):
        colour = LINE_COLOURS[place % len(LINE_COLOURS)]
        marker = MARKERS[place % len(MARKERS)]
        own = [(iron, kept) for at, iron, kept in (found.points if found else ()) if at == place]
        if own:
            iron, kept = zip(*own, strict=True)
            axes.plot(
                iron, kept, linestyle="", marker=marker, color=colour, markersize=4, alpha=0.5,
                markeredgewidth=0,
            )  # fmt: skip
        chosen = group.representative
        axes.plot(
            [chosen.product_Fe2O3_wt_pct or np.nan], [chosen.yield_pct or np.nan], linestyle="",
            marker=marker, color=colour, markersize=11, markeredgecolor=INK, markeredgewidth=1.4,
        )  # fmt: skip
        axes.annotate(
            str(place + 1), (chosen.product_Fe2O3_wt_pct or 1.0, chosen.yield_pct or 0.0), (8, 5),
            textcoords="offset points", fontweight="bold",
        )  # fmt: skip
    axes.set_ylabel("yield, % of dry bag")
    _plain_log(axes)


def _plain_log(axes: Axes) -> None:
    """Ticks of a logarithmic axis as plain numbers, a few of them."""
    low, high = axes.get_xlim()
    steps = (1.0, 2.0, 5.0) if high / low > 4.0 else (1.0, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 8.0)
    powers = range(int(np.floor(np.log10(low))), int(np.ceil(np.log10(high))) + 1)
    ticks = [s * 10.0**p for p in powers for s in steps if low <= s * 10.0**p <= high]
    if len(ticks) < 2:
        ticks = [float(f"{x:.3g}") for x in np.geomspace(low, high, 6)[1:-1]]
    axes.set_xticks(ticks, [bare_number(tick) for tick in ticks])
    axes.minorticks_off()
    axes.set_xlim(low, high)
    axes.set_xlabel("Fe2O3 of product, wt %")
    quiet_grid(axes, "both")
