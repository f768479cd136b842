"""Pictures of the iron: by carrier and form, line by line where it stays, size by size."""

from __future__ import annotations

from typing import TYPE_CHECKING

from feedchar.report.numbers import share
from feedchar.report.picture_readings import carriers, forms_of, size_irons, stay_lines
from feedchar.report.picture_style import (
    FORM_HATCHES,
    INK,
    QUIET,
    ROLE_COLOURS,
    ROLE_WORDS,
    quiet_grid,
)
from feedchar.report.readings import MICROMETRE
from feedchar.report.words import FORM_WORDS, listing, name
from feedchar.results import Characterisation

if TYPE_CHECKING:
    from matplotlib.artist import Artist
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

ROW_INCH, MARGIN_INCH = 0.30, 1.5


def iron_height(result: Characterisation) -> float:
    """Height of the picture of carriers.

    Parameters
    ----------
    result : Characterisation
        The result. [-]

    Returns
    -------
    float
        Grows with the rows. [inch]
    """
    return MARGIN_INCH + ROW_INCH * max(3, len(carriers(result)))


def draw_iron(figure: Figure, result: Characterisation) -> None:
    """Of 100 iron, how much each carrier holds, and in which form.

    Parameters
    ----------
    figure : Figure
        Empty. [-]
    result : Characterisation
        The result. [-]
    """
    axes = figure.subplots()
    found = carriers(result)
    places = list(range(len(found)))
    left = [0.0] * len(found)
    for form in forms_of(found):
        widths = [carrier.shares.get(form, 0.0) for carrier in found]
        axes.barh(
            places,
            widths,
            left=left,
            height=0.68,
            color=[ROLE_COLOURS.get(carrier.role, ROLE_COLOURS[""]) for carrier in found],
            hatch=_hatch(form),
            edgecolor=INK,
            linewidth=0.6,
        )
        left = [before + width for before, width in zip(left, widths, strict=True)]
    for place, carrier in zip(places, found, strict=True):
        axes.text(carrier.total + 0.6, place, share(carrier.total), va="center")
    _rows(axes, [carrier.label for carrier in found])
    axes.set_xlim(0, 1.12 * max((carrier.total for carrier in found), default=1.0))
    axes.set_xlabel("of 100 iron of the bag, typical case")
    quiet_grid(axes, "x")
    roles = [role for role in ROLE_WORDS if any(carrier.role == role for carrier in found)]
    handles = [_patch(axes, ROLE_COLOURS[role], "", ROLE_WORDS[role]) for role in roles]
    handles += [
        _patch(axes, "white", _hatch(form), FORM_WORDS.get(form, name(form)))
        for form in forms_of(found)
    ]
    figure.legend(handles=handles, loc="outside lower center", ncols=3, handlelength=2.2)


def stays_height(result: Characterisation) -> float:
    """Height of the picture of the iron that stays.

    Parameters
    ----------
    result : Characterisation
        The result. [-]

    Returns
    -------
    float
        Grows with the lines. [inch]
    """
    return 1.0 + 0.46 * max(2, len(stay_lines(result)))


def draw_stays(figure: Figure, result: Characterisation) -> None:
    """The iron of the product, line by line, with what carries it.

    Parameters
    ----------
    figure : Figure
        Empty. [-]
    result : Characterisation
        The result. [-]
    """
    axes = figure.subplots()
    lines = stay_lines(result)
    most = max((ppm for _, ppm in lines), default=1.0)
    for place, (line, ppm) in enumerate(lines):
        axes.barh(
            place,
            ppm,
            height=0.6,
            color=ROLE_COLOURS["stays"],
            hatch="" if line.evidence == "measured" else "////",
            edgecolor=INK,
            linewidth=0.6,
        )
        words = f"{ppm:.0f}" if ppm >= 9.95 else f"{ppm:.1f}"
        carried = listing(line.carriers, 1)
        axes.text(ppm + 0.012 * most, place, words, va="center", fontweight="bold")
        if carried:
            axes.text(ppm + 0.14 * most, place, carried, va="center", color=QUIET, fontsize=9)
    _rows(axes, [name(line.reason) for line, _ in lines])
    axes.set_xlim(0, 1.55 * most)
    axes.set_xlabel("ppm Fe2O3 of product (hatched: assumed or fitted, not measured)")
    quiet_grid(axes, "x")


def draw_sizes(figure: Figure, result: Characterisation) -> None:
    """Size by size: where iron leaves and stays, and how many pale grains leave with it.

    Parameters
    ----------
    figure : Figure
        Empty. [-]
    result : Characterisation
        The result. [-]
    """
    upper, lower = figure.subplots(2, 1, sharex=True, height_ratios=[3, 2])
    found = size_irons(result)
    places = list(range(len(found)))
    leaves = [row.leaves for row in found]
    upper.bar(
        places,
        leaves,
        color=ROLE_COLOURS["removable"],
        edgecolor=INK,
        linewidth=0.6,
        width=0.7,
        label="leaves with the magnetics",
    )
    upper.bar(
        places,
        [row.stays for row in found],
        bottom=leaves,
        color=ROLE_COLOURS["stays"],
        edgecolor=INK,
        linewidth=0.6,
        hatch="////",
        width=0.7,
        label="does not",
    )
    for place, row in zip(places, found, strict=True):
        total = row.leaves + row.stays
        words = share(total) + ("" if row.treated > 0 else "\nnot treated")
        upper.annotate(words, (place, total), (0, 2), textcoords="offset points", ha="center")
    upper.margins(y=0.2)
    upper.set_ylabel("of 100 iron of the bag")
    upper.legend(loc="best")
    quiet_grid(upper, "y")
    lost = [row.pale_lost_pct for row in found]
    lower.bar(
        places,
        [part or 0.0 for part in lost],
        color=ROLE_COLOURS["host"],
        edgecolor=INK,
        linewidth=0.6,
        hatch="---",
        width=0.7,
    )
    for place, part in zip(places, lost, strict=True):
        words = "-" if part is None else share(part)
        lower.annotate(words, (place, part or 0.0), (0, 2), textcoords="offset points", ha="center")
    lower.margins(y=0.25)
    lower.set_ylabel("pale grains lost,\n% of this size")
    lower.set_xticks(places, [row.label for row in found])
    lower.set_xlabel(f"size, {MICROMETRE}")
    quiet_grid(lower, "y")


def _hatch(form: str) -> str:
    return FORM_HATCHES.get(form, "++")


def _patch(axes: Axes, colour: str, hatch: str, label: str) -> Artist:
    """An area without extent, for the legend."""
    return axes.fill_between(
        [], [], [], facecolor=colour, edgecolor=INK, hatch=hatch, linewidth=0.6, label=label
    )


def _rows(axes: Axes, labels: list[str]) -> None:
    """Names at the rows, the first on top."""
    axes.set_yticks(range(len(labels)), labels)
    axes.set_ylim(len(labels) - 0.4, -0.6)
    axes.tick_params(axis="y", length=0)
