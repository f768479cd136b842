"""How pictures look: colours by role, hatching by form, markers by line; all legible in grey."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from matplotlib.axes import Axes

INK, QUIET, GRID = "#1a1a1a", "#4d4d4d", "#d9d9d9"

ROLE_COLOURS = {
    "removable": "#56b4e9",
    "stays": "#d55e00",
    "host": "#e6e0c8",
    "": "#b3b3b3",
}
"""Colour-blind-safe palette of Okabe and Ito (2008), from memory, but for the sand tone. The
lightness differs too, and words stand beside every colour."""

ROLE_WORDS = {
    "removable": "dark, a magnet can take it",
    "stays": "dark or unseen, mostly stays",
    "host": "pale grains",
    "": "others",
}

FORM_HATCHES = {
    "free": "",
    "joined": "///",
    "inclusion": "xxx",
    "stain": "|||",
    "inside": "---",
    "not found": "\\\\\\",
}
"""Lines only: dots and rings make a picture a hundred times as large."""

LINE_COLOURS = ("#0072b2", "#d55e00", "#009e73", "#cc79a7", "#1a1a1a", "#e69f00", "#56b4e9")
LINE_DASHES = ("-", "--", "-.", ":")
MARKERS = ("o", "s", "^", "D", "v", "P", "X", "*")

SETTINGS: dict[Any, Any] = {
    "axes.edgecolor": QUIET,
    "axes.labelcolor": INK,
    "axes.labelsize": 10,
    "axes.spines.right": False,
    "axes.spines.top": False,
    "axes.titlesize": 10,
    "font.family": ["DejaVu Sans"],
    "font.size": 10,
    "hatch.linewidth": 0.7,
    "legend.fontsize": 9,
    "legend.frameon": False,
    "svg.fonttype": "none",
    "text.color": INK,
    "text.parse_math": False,
    "xtick.color": QUIET,
    "xtick.labelcolor": INK,
    "ytick.color": QUIET,
    "ytick.labelcolor": INK,
}
"""Of the plotting library; text stays text, so a name with a dollar sign is no formula."""


def bare_number(value: float) -> str:
    """Label of a tick without exponent.

    Parameters
    ----------
    value : float
        Value of the tick. [any]

    Returns
    -------
    str
        At most three significant digits. [-]
    """
    text = f"{value:.3g}"
    return f"{value:.0f}" if "e" in text and abs(value) >= 1 else text


def quiet_grid(axes: Axes, along: str) -> None:
    """Thin lines behind the data.

    Parameters
    ----------
    axes : Axes
        Where. [-]
    along : str
        x | y | both. [-]
    """
    axes.grid(axis=along, color=GRID, linewidth=0.6)  # type: ignore[arg-type]
    axes.set_axisbelow(True)
