"""A roll by its name or from a person's file, and what its magnets do when they are warm."""

from __future__ import annotations

from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from feedchar.constants import REFERENCE_TEMPERATURE_C
from feedchar.errors import SettingError, UnknownNameError
from feedchar.field.harmonics import roll_harmonics
from feedchar.field.roll_file import ASSUMED, NEEDED, READING, fault, figures_of_file
from feedchar.field.roll_of_reading import roll_of_reading
from feedchar.field.setting import Roll
from feedchar.tables.names import shown_word
from feedchar.tables.rolls import roll_row, roll_rows
from feedchar.units import M_PER_MM

Array = NDArray[np.float64]

DEFAULT_ROLL = "fine-100"
"""The roll where none is named."""

REMANENCE_PER_K = -0.0011
"""Reversible change of the remanence of sintered neodymium magnets, from memory. [K⁻¹]"""

COLDEST_C, WARMEST_C = -40.0, 120.0
"""Beyond these the linear law, or the magnet itself, does not hold (from memory). [°C]"""


def read_roll(name_or_file: str) -> Roll:
    """A roll of the reference table by its name, or of a person's own from a TOML file.

    Parameters
    ----------
    name_or_file : str
        Name such as "fine-100", or path of a TOML file. [-]

    Returns
    -------
    Roll
        Construction in SI units. [SI]

    Raises
    ------
    UnknownNameError
        Neither a roll of the table nor a file.
    InputError
        A file that cannot be used: key, value, or encoding.
    SettingError
        A construction that cannot be, or beyond the table of field solutions.

    References
    ----------
    rolls.csv.
    """
    if name_or_file in roll_rows():
        return table_roll(name_or_file)
    if name_or_file.lower().endswith(".toml") or _is_file(name_or_file):
        path = Path(name_or_file)
        try:
            return _roll_of_file(path)
        except SettingError as error:
            message = f"{path.name}: {error}"
            raise SettingError(message) from None
    known = ", ".join(roll_rows())
    message = f"{shown_word(name_or_file)} is no known roll and no TOML file; choose from: {known}"
    raise UnknownNameError(message, tuple(roll_rows()))


def table_roll(name: str) -> Roll:
    """A generic roll of the reference table.

    Parameters
    ----------
    name : str
        Name, such as "fine-100". [-]

    Returns
    -------
    Roll
        Construction in SI units. [SI]

    Raises
    ------
    UnknownNameError
        No roll has this name.

    References
    ----------
    rolls.csv.
    """
    row = roll_row(name)
    return Roll(
        roll=row.roll,
        roll_radius_m=row.roll_radius_mm * M_PER_MM,
        bore_radius_m=row.bore_radius_mm * M_PER_MM,
        magnet_m=row.magnet_mm * M_PER_MM,
        steel_m=row.steel_mm * M_PER_MM,
        remanence_tesla=row.remanence_tesla,
        steel_saturation_tesla=row.steel_saturation_tesla,
        belt_thickness_m=row.belt_mm * M_PER_MM,
        source=f"generic construction, {row.status}",
    )


def warm_remanence(remanence_tesla: float, temperature_c: float) -> float:
    """Remanence of the magnets at their temperature, from that at 20 °C.

    Parameters
    ----------
    remanence_tesla : float
        At 20 °C. [T]
    temperature_c : float
        Temperature of the roll. [°C]

    Returns
    -------
    float
        Remanence. [T]

    Raises
    ------
    SettingError
        A temperature outside -40 to 120 °C, where magnets of this kind lose strength for good.

    References
    ----------
    Sintered neodymium magnets lose 0.11 % a kelvin (from memory).
    """
    if not COLDEST_C <= temperature_c <= WARMEST_C:
        message = (
            f"Roll temperature must be from {COLDEST_C:g} to {WARMEST_C:g} °C, "
            f"found {temperature_c:g}. Warmer magnets lose strength for good."
        )
        raise SettingError(message)
    return remanence_tesla * (1.0 + REMANENCE_PER_K * (temperature_c - REFERENCE_TEMPERATURE_C))


def harmonics_of(roll: Roll, temperature_c: float = REFERENCE_TEMPERATURE_C) -> Array:
    """Odd radial harmonics of a roll at its temperature; kept for the run.

    Parameters
    ----------
    roll : Roll
        Construction. [SI]
    temperature_c : float
        Temperature of the roll. [°C]

    Returns
    -------
    array, shape (N,)
        B_1, B_3, ... at the bare roll surface. [T]

    Raises
    ------
    SettingError
        A construction that cannot be, beyond the table, or too warm.

    References
    ----------
    roll_harmonics.csv, finite elements, computed by make_roll_harmonics.py.
    """
    return roll_harmonics(
        roll.magnet_m,
        roll.steel_m,
        roll.roll_radius_m,
        roll.bore_radius_m,
        warm_remanence(roll.remanence_tesla, temperature_c),
        roll.steel_saturation_tesla,
    )


def checked_roll(roll: Roll) -> Roll:
    """The same roll, refused when it cannot be built or lies beyond the table of solutions.

    Parameters
    ----------
    roll : Roll
        Construction. [SI]

    Returns
    -------
    Roll
        The same. [SI]

    Raises
    ------
    SettingError
        A figure that cannot be.

    References
    ----------
    roll_harmonics.csv for the reach of the table.
    """
    harmonics_of(roll)
    if not 0.0 < roll.belt_thickness_m < roll.pitch_m:
        message = (
            f"The belt ({1e3 * roll.belt_thickness_m:g} mm) must be thicker than 0 and thinner "
            f"than the pitch ({1e3 * roll.pitch_m:g} mm), where the pull has fallen to 0.2 %. "
            "Belts have 0.1 to 1 mm."
        )
        raise SettingError(message)
    return roll


def _is_file(text: str) -> bool:
    """Whether a text is the path of a file; what cannot be a path at all is not."""
    try:
        return Path(text).is_file()
    except (OSError, ValueError):
        return False


def _roll_of_file(path: Path) -> Roll:
    given = figures_of_file(path)
    name = str(given.pop("roll", path.stem))
    missing = [key for key in NEEDED if key not in given]
    if missing:
        raise fault(path.name, missing[0], "this key is missing", "Give it in millimetres.")
    read = [key for key in READING if key in given]
    if ("remanence_tesla" in given) == bool(read) or (read and len(read) < len(READING)):
        problem = "the strength of the magnets must be given in one way"
        remedy = f"Give remanence_tesla, or all of {', '.join(READING)}."
        raise fault(path.name, "remanence_tesla", problem, remedy)
    assumed = {"bore_radius_mm": 0.2 * given["roll_radius_mm"], **ASSUMED}
    told = [f"{key} {value:g} assumed" for key, value in assumed.items() if key not in given]
    value = {**assumed, **given}
    roll = Roll(
        roll=name,
        roll_radius_m=value["roll_radius_mm"] * M_PER_MM,
        bore_radius_m=value["bore_radius_mm"] * M_PER_MM,
        magnet_m=value["magnet_mm"] * M_PER_MM,
        steel_m=value["steel_mm"] * M_PER_MM,
        remanence_tesla=value.get("remanence_tesla", 0.0),
        steel_saturation_tesla=value["steel_saturation_tesla"],
        belt_thickness_m=value["belt_mm"] * M_PER_MM,
        source="; ".join([f"from {path.name}", *told]),
    )
    if read:
        roll = roll_of_reading(
            roll,
            value["reading_tesla"],
            value["probe_mm"] * M_PER_MM,
            value["probe_height_mm"] * M_PER_MM,
        )
    return checked_roll(roll)
