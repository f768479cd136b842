"""The table of finite-element solutions of a roll, read once and interpolated smoothly.

All fields scale with remanence at a fixed ratio of remanence to steel saturation, and with lengths
at fixed ratios, so four ratios describe every roll.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import CubicSpline

from feedchar.errors import SettingError
from feedchar.tables.locate import table_path

Array = NDArray[np.float64]

TABLE = "roll_harmonics.csv"
AXES = ("magnet_to_steel", "remanence_to_saturation", "pitch_to_radius", "bore_to_radius")
WORDS = (
    "magnet thickness over steel thickness",
    "remanence over steel saturation",
    "pitch over roll radius",
    "bore radius over roll radius",
)


@dataclass(frozen=True)
class SolutionTable:
    """Nodes of the four ratios and the harmonics over remanence on their grid."""

    nodes: tuple[Array, Array, Array, Array]
    values: Array
    """(ratio, Br/Js, pitch/R, bore/R, N) [-]"""


@lru_cache(maxsize=1)
def solution_table() -> SolutionTable:
    """The table of solutions.

    Returns
    -------
    SolutionTable
        Nodes and harmonics over remanence. [-]

    References
    ----------
    roll_harmonics.csv, made by make_roll_harmonics.py.
    """
    rows = np.loadtxt(table_path(TABLE), delimiter=",", skiprows=1)
    nodes = tuple(np.unique(rows[:, axis]) for axis in range(4))
    order = np.lexsort(tuple(rows[:, axis] for axis in (3, 2, 1, 0)))
    values = rows[order, 4:].reshape(*(len(node) for node in nodes), -1)
    return SolutionTable((nodes[0], nodes[1], nodes[2], nodes[3]), values)


def harmonics_over_remanence(
    magnet_to_steel: float,
    remanence_to_saturation: float,
    pitch_to_radius: float,
    bore_to_radius: float,
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

    Returns
    -------
    array, shape (N,)
        B_n / Br. [-]

    Raises
    ------
    SettingError
        A ratio beyond the table; nothing is ever extrapolated.

    References
    ----------
    roll_harmonics.csv, made by make_roll_harmonics.py.
    """
    table = solution_table()
    point = (magnet_to_steel, remanence_to_saturation, pitch_to_radius, bore_to_radius)
    for nodes, value, words in zip(table.nodes, point, WORDS, strict=True):
        if not nodes[0] * (1 - 1e-9) <= value <= nodes[-1] * (1 + 1e-9):
            message = (
                f"The roll's {words} is {value:.4g}; the table of field solutions reaches from "
                f"{nodes[0]:g} to {nodes[-1]:g} and is not extrapolated. "
                "Give a roll within it, or scale one from a gaussmeter reading."
            )
            raise SettingError(message)
    values = table.values
    for axis, (nodes, value) in enumerate(zip(table.nodes, point, strict=True)):
        stretch = np.log if axis == 0 else np.asarray
        values = CubicSpline(stretch(nodes), values, axis=0)(stretch(value))
    return np.asarray(values)
