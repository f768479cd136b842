"""A roll of a person's own: keys and figures of its TOML file, before a roll is made of them."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np

from feedchar.errors import InputError
from feedchar.sample.names import closest
from feedchar.sample.plain_toml import plain_toml
from feedchar.tables.names import shown_word

NEEDED = ("roll_radius_mm", "magnet_mm", "steel_mm")
ASSUMED = {"steel_saturation_tesla": 2.1, "belt_mm": 0.2}
READING = ("reading_tesla", "probe_mm", "probe_height_mm")
KEYS = ("roll", *NEEDED, "bore_radius_mm", "remanence_tesla", *ASSUMED, *READING)
FILE_MAX_BYTES = 100_000
LARGEST = 1e9
"""No length in millimetres or flux density reaches it, and a longer whole number has no float."""


def figures_of_file(path: Path) -> dict[str, Any]:
    """Name and figures of a roll as written.

    Parameters
    ----------
    path : Path
        TOML file. [-]

    Returns
    -------
    dict
        Text under `roll`, numbers as floats under the other keys. [as the keys say]

    Raises
    ------
    InputError
        For what is no TOML file, unknown keys, and values that are no finite numbers.

    References
    ----------
    Derived here.
    """
    return _numbers(path.name, _read_toml(path))


def fault(file: str, key: str, problem: str, remedy: str) -> InputError:
    """Error that names the key of a roll's file.

    Parameters
    ----------
    file, key : str
        Base name and key. [-]
    problem, remedy : str
        What is wrong, what would be right. [-]

    Returns
    -------
    InputError
        To be raised. [-]

    References
    ----------
    Derived here.
    """
    return InputError(problem, file=file, column=key, remedy=remedy)


def _read_toml(path: Path) -> dict[str, Any]:
    try:
        if path.exists() and not path.is_file():
            problem = "this is a folder, a device or a pipe"
            raise InputError(problem, file=path.name[:60], remedy="Give a TOML file of a roll.")
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
        return plain_toml(text)
    except ValueError as error:
        problem = f"this is no TOML: {str(error)[:80]}"
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
                raise fault(file, key, "this must be a name in quotes", 'As in roll = "mine".')
        elif isinstance(value, bool) or not isinstance(value, int | float):
            raise fault(file, key, f"{shown_word(str(value))} is not a number", "As in 4 or 4.0.")
        elif not abs(value) < LARGEST:
            finite = "too large" if isinstance(value, int) or np.isfinite(value) else "not finite"
            problem = f"the number is {finite}"
            raise fault(file, key, problem, "As in 4 or 4.0.")
    return {key: value if key == "roll" else float(value) for key, value in table.items()}
