"""The calibration file: what tests taught of one machine.

Format `feedchar-calibration`, version 1, a sealed TOML. The draws are equally likely machines
after the tests; the tables above them are for the reader.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from math import isfinite
from typing import Any

import numpy as np
from numpy.typing import NDArray

from feedchar.errors import FeedcharError
from feedchar.separation.parameters import Calibration, draw_parameters
from feedchar.testwork.counted import CountedTest
from feedchar.testwork.scores import NAMES
from feedchar.testwork.sealed_file import damaged, sealed, unsealed
from feedchar.testwork.toml_text import toml_number, toml_numbers, toml_string

Array = NDArray[np.float64]

FORMAT, VERSION = "feedchar-calibration", 1
MOST_DRAWS = 400
"""Draws that a file holds; a mean is then known to a twentieth of its spread. [-]"""
_QUANTILES = (0.05, 0.5, 0.95)
_WHAT, _REMEDY = "calibration", "Make it anew with feedchar calibrate"


@dataclass(frozen=True)
class CalibrationFile:
    """What a calibration file holds."""

    tests: tuple[CountedTest, ...]
    calibration: Calibration
    """Draws after the tests; names machine and roll."""
    prior: Calibration | None
    """Draws before the tests of this file; None once read."""
    method: str
    """weights | Metropolis"""
    effective: float
    discrepancy_ln: float


def calibration_text(made: CalibrationFile) -> str:
    """Text of a calibration file; the same tests and seed give the same bytes.

    Parameters
    ----------
    made : CalibrationFile
        What to write. [-]

    Returns
    -------
    str
        TOML that closes with the checksum of everything above. [-]

    References
    ----------
    Definition.
    """
    after = made.calibration
    lines = [
        "# What tests taught of one machine; feedchar reads it with --calibration.",
        "# The checksum at the end tells a file that was changed: make it anew instead.",
        f'format = "{FORMAT}"',
        f"version = {VERSION}",
        f"machine = {toml_string(after.machine)}",
        f"roll = {toml_string(after.roll)}",
        f"method = {toml_string(made.method)}",
        f"effective_trials = {toml_number(made.effective)}",
        f"discrepancy_ln = {toml_number(made.discrepancy_ln)}",
    ]
    for test in made.tests:
        lines += [
            "",
            "[[tests]]",
            f"sample = {toml_string(test.sample)}",
            f"test = {toml_string(test.test)}",
            f"sha256 = {toml_string(test.sha256)}",
        ]
    lines += ["", "# 5, 50 and 95 % before and after these tests: shares 0 to 1, adhesion in N."]
    for name in NAMES:
        lines.append(f"[{name}]")
        for when, draws in (("before", made.prior), ("after", after)):
            if draws is not None:
                lines += toml_numbers(when, list(np.quantile(getattr(draws, name), _QUANTILES)))
        lines.append("")
    lines += ["# Machines after the tests, all equally likely, one a column.", "[draws]"]
    for name in NAMES:
        lines += toml_numbers(name, list(thinned(getattr(after, name))))
    return sealed(lines)


def read_calibration(path: str) -> CalibrationFile:
    """Read a calibration file.

    Parameters
    ----------
    path : str
        Where it is. [-]

    Returns
    -------
    CalibrationFile
        Its draws with the checksums of the tests. [-]

    Raises
    ------
    InputError
        No such file, another format or version, or a file that was changed or cut.

    References
    ----------
    Definition.
    """
    data = unsealed(path, FORMAT, VERSION, _WHAT, _REMEDY)
    try:
        return _made(data)
    except (KeyError, TypeError, ValueError, OverflowError, AttributeError, FeedcharError):
        raise damaged(path, _WHAT, _REMEDY) from None


def thinned(draws: Array, most: int = MOST_DRAWS) -> Array:
    """Evenly taken draws, at most so many.

    Parameters
    ----------
    draws : array, shape (N,)
        Draws in any order. [any]
    most : int
        How many are kept. [-]

    Returns
    -------
    array, shape (min(N, most),)
        The same places of every array of one length. [as draws]

    References
    ----------
    Definition.
    """
    count = min(len(draws), most)
    return np.asarray(draws)[(np.arange(count) * len(draws)) // max(count, 1)]


def source_words(tests: Iterable[CountedTest]) -> str:
    """The tests of a calibration in words.

    Parameters
    ----------
    tests : iterable of CountedTest
        In any order. [-]

    Returns
    -------
    str
        Such as `3 tests of GS-05`. [-]

    References
    ----------
    Definition.
    """
    rows = list(tests)
    samples = sorted({row.sample for row in rows})
    named = ", ".join(samples[:3]) + (" and others" if len(samples) > 3 else "")
    return f"{len(rows)} test{'' if len(rows) == 1 else 's'} of {named}"


def _made(data: dict[str, Any]) -> CalibrationFile:
    columns = {name: np.array(data["draws"][name], dtype=float) for name in NAMES}
    tests = tuple(
        CountedTest(str(row["sample"]), str(row["test"]), str(row["sha256"]))
        for row in data["tests"]
    )
    calibration = Calibration(
        **columns,
        source=source_words(tests),
        machine=str(data["machine"]),
        roll=str(data["roll"]),
        tests=tuple(test.sha256 for test in tests),
    )
    draw_parameters(0, 0, calibration)  # refuses draws that no machine has
    effective, discrepancy_ln = float(data["effective_trials"]), float(data["discrepancy_ln"])
    if not (isfinite(effective) and isfinite(discrepancy_ln)):
        raise ValueError
    return CalibrationFile(
        tests=tests,
        calibration=calibration,
        prior=None,
        method=str(data["method"]),
        effective=effective,
        discrepancy_ln=discrepancy_ln,
    )
