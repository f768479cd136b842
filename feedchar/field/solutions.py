"""The table of finite-element solutions of a roll, read once and interpolated smoothly.

All fields scale with remanence at a fixed ratio of remanence to steel saturation, and with lengths
at fixed ratios, so four ratios describe every roll.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import CubicSpline

from feedchar.errors import FeedcharError, SettingError
from feedchar.field.surface import STATIONS, harmonics_of_potential
from feedchar.tables.locate import table_path

Array = NDArray[np.float64]

TABLE = "roll_harmonics.csv"


@dataclass(frozen=True)
class Axis:
    """One of the four ratios, and the variable in which the field is smoothest."""

    column: str
    words: str
    smooth: Callable[[Array], Array]


AXES = (
    Axis("magnet_to_steel", "magnet thickness over steel thickness", np.log),
    Axis("remanence_to_saturation", "remanence over steel saturation", np.asarray),
    Axis("pitch_to_radius", "pitch over roll radius", np.log),
    Axis("bore_to_radius", "bore radius over roll radius", np.square),
)


@dataclass(frozen=True)
class SolutionTable:
    """Nodes of the four ratios and the surface potential on their grid."""

    nodes: tuple[Array, ...]
    potential: Array
    """(ratio, Br/Js, pitch/R, bore/R, station) over remanence times pitch. [-]"""


@lru_cache(maxsize=1)
def solution_table() -> SolutionTable:
    """The table of solutions.

    Returns
    -------
    SolutionTable
        Nodes and potentials. [-]

    Raises
    ------
    FeedcharError
        When the table is missing or is no full grid.

    References
    ----------
    roll_harmonics.csv, finite elements, computed by make_roll_harmonics.py.
    """
    path = table_path(TABLE)
    with path.open(encoding="utf-8") as file:
        heading = file.readline().strip().split(",")
        rows = np.loadtxt(file, delimiter=",")
    ratios = [rows[:, heading.index(axis.column)] for axis in AXES]
    nodes = tuple(np.unique(ratio) for ratio in ratios)
    shape = tuple(len(node) for node in nodes)
    if rows.shape[1] != len(heading) or len(rows) != np.prod(shape):
        message = f"the reference table {TABLE} is not a full grid: install feedchar again"
        raise FeedcharError(message)
    order = np.lexsort(ratios[::-1])
    return SolutionTable(nodes, rows[order, -STATIONS:].reshape(*shape, STATIONS))


def harmonics_over_remanence(
    magnet_to_steel: float,
    remanence_to_saturation: float,
    pitch_to_radius: float,
    bore_to_radius: float,
    count: int,
) -> Array:
    """Odd radial surface harmonics over remanence, by cubic splines along the four ratios.

    Parameters
    ----------
    magnet_to_steel : float
        Thickness of magnet over steel. [-]
    remanence_to_saturation : float
        Remanence over saturation of the steel. [-]
    pitch_to_radius : float
        Pitch over roll radius. [-]
    bore_to_radius : float
        Bore radius over roll radius. [-]
    count : int
        How many odd harmonics. [-]

    Returns
    -------
    array, shape (count,)
        B_n / Br. [-]

    Raises
    ------
    SettingError
        A ratio beyond the table; nothing is ever extrapolated.

    References
    ----------
    roll_harmonics.csv, finite elements, computed by make_roll_harmonics.py.
    """
    table = solution_table()
    point = (magnet_to_steel, remanence_to_saturation, pitch_to_radius, bore_to_radius)
    values = table.potential
    for axis, nodes, value in zip(AXES, table.nodes, point, strict=True):
        inside = float(np.clip(value, nodes[0], nodes[-1]))
        if abs(inside - value) > 1e-9 * nodes[-1]:
            message = (
                f"The roll's {axis.words} is {value:.4g}; the table of field solutions reaches "
                f"from {nodes[0]:g} to {nodes[-1]:g} and is never extrapolated. "
                "Give a roll within it, or measure its field and give the harmonics."
            )
            if axis.words.startswith("remanence") and value > nodes[-1]:
                message += " In tesla, new magnets have 1.2 to 1.4: kilogauss divided by 10."
            raise SettingError(message)
        values = CubicSpline(axis.smooth(nodes), values, axis=0)(axis.smooth(np.asarray(inside)))
    return harmonics_of_potential(np.asarray(values), magnet_to_steel, pitch_to_radius, count)
