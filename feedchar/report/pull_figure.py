"""The picture of the calculator: field lines above the roll, paths of grains beside it.

Drawn on a canvas of its own, without the global state of the plotting library.
"""

from __future__ import annotations

from io import BytesIO
from typing import TYPE_CHECKING, Any

import numpy as np

from feedchar.report.figures import svg_of
from feedchar.report.words import name
from feedchar.results.pull import PullResult
from feedchar.results.pull_picture import PullPicture

if TYPE_CHECKING:
    from matplotlib.axes import Axes

DPI = 150
WIDTH_INCH, FIELD_INCH = 10.0, 5.2
PAGE_WIDTH_INCH, PAGE_FIELD_INCH = 7.4, 4.4
"""In a page, where letters keep their size and pictures are narrower."""
BAR_MM = 4.0
"""Distance between the bars of landing ranges. [mm]"""
COLOURS = ("#0072B2", "#D55E00", "#009E73", "#CC79A7", "#56B4E9", "#E69F00", "#000000")
"""Colour-blind-safe palette of Okabe and Ito (2008), from memory; the names stand in the legend
and the dashes tell the sizes, so that colour carries nothing alone."""
DASHES = ("-", "--", ":", "-.")
MARKERS = ("o", "s", "^", "D", "v", "P", "X", "*", "<", ">", "h", "p")


def pull_png(result: PullResult, picture: PullPicture) -> bytes:
    """The picture as a PNG file.

    Parameters
    ----------
    result : PullResult
        What the calculator gave. [-]
    picture : PullPicture
        Field and paths. [SI]

    Returns
    -------
    bytes
        The same result gives the same bytes with the same libraries. [-]
    """
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    speeds = list(dict.fromkeys(path.belt_speed_m_s for path in picture.paths))
    reach = _reach(result, picture)
    tall = WIDTH_INCH * (reach[3] - reach[2]) / (reach[1] - reach[0]) + 0.8
    heights = [FIELD_INCH, *[min(tall, 6.0)] * len(speeds)]
    figure = Figure(figsize=(WIDTH_INCH, sum(heights) + 0.8), layout="constrained")
    canvas = FigureCanvasAgg(figure)
    rows = figure.subplots(len(heights), 1, squeeze=False, height_ratios=heights)[:, 0]
    _draw_field(rows[0], result, picture)
    for axes, speed in zip(rows[1:], speeds, strict=True):
        _draw_panel(axes, result, picture, speed, reach)
    if speeds:
        handles, labels = rows[1].get_legend_handles_labels()
        figure.legend(handles, labels, loc="outside lower center", ncols=4, fontsize=8)
    page = BytesIO()
    canvas.print_figure(page, dpi=DPI, format="png", metadata={"Software": None})
    return page.getvalue()


def field_svg(result: PullResult, picture: PullPicture) -> str:
    """Field lines over the roll, for a page.

    Parameters
    ----------
    result : PullResult
        What the calculator gave. [-]
    picture : PullPicture
        The field. [SI]

    Returns
    -------
    str
        SVG element. [-]
    """
    from matplotlib.figure import Figure

    made = Figure(figsize=(PAGE_WIDTH_INCH, PAGE_FIELD_INCH), layout="constrained")
    _draw_field(made.subplots(), result, picture)
    return svg_of(made, "pullfield")


def paths_svg(result: PullResult, picture: PullPicture, speed: float, place: int) -> str:
    """Paths of grains at one belt speed, for a page.

    Parameters
    ----------
    result : PullResult
        What the calculator gave. [-]
    picture : PullPicture
        The paths. [SI]
    speed : float
        Belt speed. [m s⁻¹]
    place : int
        Number of the speed in the page. [-]

    Returns
    -------
    str
        SVG element. [-]
    """
    from matplotlib.figure import Figure

    reach = _reach(result, picture)
    tall = min(6.0, PAGE_WIDTH_INCH * (reach[3] - reach[2]) / (reach[1] - reach[0]))
    made = Figure(figsize=(PAGE_WIDTH_INCH, tall + 0.8), layout="constrained")
    axes = made.subplots()
    _draw_panel(axes, result, picture, speed, reach)
    handles, labels = axes.get_legend_handles_labels()
    made.legend(handles, labels, loc="outside lower center", ncols=3, fontsize=9)
    return svg_of(made, f"pullpaths{place}")


def _draw_panel(
    axes: Axes,
    result: PullResult,
    picture: PullPicture,
    speed: float,
    reach: tuple[float, float, float, float],
) -> None:
    """Paths at one speed, between the ends that all speeds share."""
    _draw_paths(axes, result, picture, speed)
    axes.set_xlim(reach[0], reach[1])
    axes.set_ylim(reach[2], reach[3])
    plane = -1e3 * result.plane_below_axis_m  # below it bars stand, no heights
    axes.set_yticks([tick for tick in axes.get_yticks() if plane <= tick <= reach[3]])


def _draw_field(axes: Axes, result: PullResult, picture: PullPicture) -> None:
    """Field lines over the discs, with lines of equal flux density."""
    machine = result.machine
    z, y = 1e3 * picture.axial_m, 1e3 * picture.height_m
    size = np.hypot(picture.axial_tesla, picture.radial_tesla)
    axes.streamplot(
        z, y, picture.axial_tesla, picture.radial_tesla,
        density=(2.2, 1.0), color="#444444", linewidth=0.8, arrowsize=0.8,
    )  # fmt: skip
    levels = [level for level in (0.1, 0.2, 0.4, 0.6, 0.8, 1.0, 1.2, 1.4) if level < size.max()]
    if levels and levels[-1] > size.min():
        drawn = axes.contour(z, y, size, levels=levels, colors=COLOURS[0], linewidths=1.2)
        axes.clabel(drawn, fmt="%g T", fontsize=8)
    depth = 0.22 * y[-1]
    if machine.magnet_m is not None and machine.steel_m is not None:
        _draw_discs(axes, 1e3 * machine.magnet_m, 1e3 * machine.steel_m, depth)
    else:
        _draw_teeth(axes, 1e3 * machine.pitch_m, depth)
    belt = 1e3 * machine.belt_thickness_m
    if belt > 0.0:
        axes.axhspan(0.0, belt, facecolor="#999999", alpha=0.45, hatch="///", zorder=3)
        axes.annotate(
            "belt", (z[-1], 0.5 * belt), xytext=(4, 0), textcoords="offset points",
            va="center", fontsize=8, annotation_clip=False,
        )  # fmt: skip
    axes.set_xlim(z[0], z[-1])
    axes.set_ylim(-depth, y[-1])
    axes.set_aspect("equal")
    axes.set_xlabel("along the axis, mm")
    axes.set_ylabel("above the roll, mm")
    # A roll is named by its user: letters the font may lack become escapes, and $ is no formula.
    roll = name(machine.roll).encode("ascii", "backslashreplace").decode()
    title = f"{roll}: field lines, and lines of equal flux density"
    title = f"{title} (B1 {result.field.surface_flux_density_tesla:.2f} T)"
    axes.set_title(title, fontsize=10, parse_math=False)


def _draw_discs(axes: Axes, magnet: float, steel: float, depth: float) -> None:
    """A magnet in the middle, and what lies beside it to the ends of the picture."""
    from matplotlib.patches import Rectangle

    pitch = magnet + steel
    for turn in (-1, 0, 1):
        middle = turn * pitch
        seen = middle - turn * magnet / 4  # the outer magnets are cut in half by the picture
        axes.add_patch(
            Rectangle((middle - magnet / 2, -depth), magnet, depth, facecolor="#E8E8E8",
                      edgecolor="black", linewidth=0.8)
        )  # fmt: skip
        # Magnetised towards +z in the middle disc: its flux leaves the steel on that side.
        way = 1.0 if turn == 0 else -1.0
        half = magnet * (0.15 if turn else 0.3)
        axes.annotate(
            "", (seen + way * half, -depth / 2), xytext=(seen - way * half, -depth / 2),
            arrowprops={"arrowstyle": "->", "color": "black"},
        )  # fmt: skip
        axes.text(seen, -0.82 * depth, "magnet", ha="center", va="center", fontsize=7)
        for side in (-1, 1):
            left = middle + side * pitch / 2 - steel / 2
            axes.add_patch(
                Rectangle((left, -depth), steel, depth, facecolor="#707070", edgecolor="black",
                          linewidth=0.8)
            )  # fmt: skip
    for place in (-0.5 * pitch, 0.5 * pitch):
        axes.text(
            place, -depth / 2, "steel", ha="center", va="center", fontsize=7,
            color="white", rotation=90,
        )  # fmt: skip


def _draw_teeth(axes: Axes, pitch: float, depth: float) -> None:
    from matplotlib.patches import Rectangle

    for middle in (-1.5 * pitch, -0.5 * pitch, 0.5 * pitch, 1.5 * pitch):
        axes.add_patch(
            Rectangle((middle - pitch / 4, -depth), pitch / 2, depth, facecolor="#707070",
                      edgecolor="black", linewidth=0.8)
        )  # fmt: skip
        if abs(middle) < pitch:
            axes.text(middle, -depth / 2, "tooth", ha="center", va="center", fontsize=7,
                      color="white")  # fmt: skip


def _reach(result: PullResult, picture: PullPicture) -> tuple[float, float, float, float]:
    """Left, right, lower and upper end of the panels of paths, the same for all. [mm]"""
    radius = 1e3 * result.machine.roll_radius_m
    plane = -1e3 * result.plane_below_axis_m
    right = max([1e3 * float(path.x_m.max()) for path in picture.paths], default=radius)
    ends = [1e3 * (path.landing_greatest_m or 0.0) for path in picture.paths]
    bars = len({(path.phase, path.size_um) for path in picture.paths})
    return (
        -1.1 * radius,
        max([right, *ends, radius]) + 0.3 * radius,
        plane - BAR_MM * (bars + 1),
        1.2 * radius,
    )


def _draw_paths(axes: Axes, result: PullResult, picture: PullPicture, speed: float) -> None:
    """Roll, belt and one path a grain, seen along the axis."""
    from matplotlib.patches import Circle

    radius = 1e3 * result.machine.roll_radius_m
    belt = 1e3 * result.machine.belt_thickness_m
    plane = -1e3 * result.plane_below_axis_m
    axes.add_patch(Circle((0.0, 0.0), radius, facecolor="#E8E8E8", edgecolor="black"))
    axes.add_patch(Circle((0.0, 0.0), radius + belt, fill=False, edgecolor="#555555"))
    axes.plot([-1.1 * radius, 0.0], [radius + belt] * 2, color="#555555", linewidth=1.5)
    axes.axhline(plane, color="black", linewidth=0.8)
    axes.axvline(radius, color="black", linewidth=0.7, linestyle=(0, (1, 3)))
    phases = list(dict.fromkeys(path.phase for path in picture.paths))
    sizes = list(dict.fromkeys(path.size_um for path in picture.paths))
    here = [path for path in picture.paths if path.belt_speed_m_s == speed]
    for place, path in enumerate(here):
        which, turn = phases.index(path.phase), sizes.index(path.size_um)
        look: dict[str, Any] = {
            "color": COLOURS[which % len(COLOURS)],
            "linestyle": DASHES[turn % len(DASHES)],
            "marker": MARKERS[which % len(MARKERS)],
            "markersize": 5,
        }
        label = f"{name(path.phase)}, {path.size_um:g} \u00b5m"
        axes.plot(
            1e3 * path.x_m, 1e3 * path.y_m, linewidth=1.3, markevery=[-1], label=label, **look
        )
        if path.landing_least_m is not None and path.landing_greatest_m is not None:
            ends = [1e3 * path.landing_least_m, 1e3 * path.landing_greatest_m]
            level = plane - BAR_MM * (place + 1)
            axes.plot(ends, [level] * 2, linewidth=1.5, **look)
    axes.set_aspect("equal")
    axes.set_xlabel("from the roll axis, mm (dotted: roll face)", fontsize=8)
    axes.set_ylabel("above the axis, mm", fontsize=8)
    axes.tick_params(labelsize=8)
    told = "one path each, from a place of mean pull; below, where all places land them"
    face = "belt" if belt > 0.0 else "roll face"
    axes.set_title(f"{face} {speed:g} m/s: {told}", fontsize=9)
