"""A roll by its name or from a person's file, and what its magnets do when they are warm."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from feedchar.errors import InputError, SettingError, UnknownNameError
from feedchar.field.harmonics import roll_harmonics
from feedchar.field.reading import roll_of_reading
from feedchar.field.setting import Roll
from feedchar.sample.names import closest
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

NEEDED = ("roll_radius_mm", "magnet_mm", "steel_mm")
ASSUMED = {"steel_saturation_tesla": 2.1, "belt_mm": 0.2}
READING = ("reading_tesla", "probe_mm", "probe_height_mm")
KEYS = ("roll", *NEEDED, "bore_radius_mm", "remanence_tesla", *ASSUMED, *READING)
FILE_MAX_BYTES = 100_000


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
        return _roll_of_file(Path(name_or_file))
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
    return remanence_tesla * (1.0 + REMANENCE_PER_K * (temperature_c - 20.0))


def harmonics_of(roll: Roll, temperature_c: float = 20.0) -> Array:
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
    given = _numbers(path.name, _read_toml(path))
    name = str(given.pop("roll", path.stem))
    missing = [key for key in NEEDED if key not in given]
    if missing:
        raise _fault(path.name, missing[0], "this key is missing", "Give it in millimetres.")
    read = [key for key in READING if key in given]
    if ("remanence_tesla" in given) == bool(read) or (read and len(read) < len(READING)):
        problem = "the strength of the magnets must be given in one way"
        remedy = f"Give remanence_tesla, or all of {', '.join(READING)}."
        raise _fault(path.name, "remanence_tesla", problem, remedy)
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


def _read_toml(path: Path) -> dict[str, Any]:
    try:
        if path.stat().st_size > FILE_MAX_BYTES:
            problem = f"the file is larger than {FILE_MAX_BYTES // 1000} kB"
            raise InputError(problem, file=path.name, remedy="A roll takes a dozen lines.")
        text = path.read_bytes().decode("utf-8-sig")
    except UnicodeDecodeError as error:
        problem = f"byte {error.start} is not UTF-8"
        raise InputError(problem, file=path.name, remedy="Save the file as UTF-8.") from error
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or "this is no path"
        problem = f"the file cannot be read: {reason}"
        raise InputError(problem, file=path.name[:60]) from error
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        problem = f"this is no TOML: {error}"
        raise InputError(
            problem, file=path.name, remedy="Lines look like: magnet_mm = 4"
        ) from error


def _numbers(file: str, table: dict[str, Any]) -> dict[str, Any]:
    """Keys that are known, values that are numbers."""
    for key, value in table.items():
        if key not in KEYS:
            problem = f"{shown_word(key)} is no key of a roll"
            raise InputError(problem, file=file, remedy=closest(key, KEYS))
        if key == "roll":
            if not isinstance(value, str) or not value.strip():
                raise _fault(file, key, "this must be a name in quotes", 'As in roll = "mine".')
        elif isinstance(value, bool) or not isinstance(value, int | float):
            raise _fault(file, key, f"{shown_word(str(value))} is not a number", "As in 4 or 4.0.")
        elif not np.isfinite(value):
            raise _fault(file, key, f"{value} is not a finite number", "As in 4 or 4.0.")
    return {key: value if key == "roll" else float(value) for key, value in table.items()}


def _fault(file: str, key: str, problem: str, remedy: str) -> InputError:
    return InputError(problem, file=file, column=key, remedy=remedy)
