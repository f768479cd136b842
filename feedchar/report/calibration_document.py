"""The JSON document of a calibration, schema `feedchar-calibrate/1`."""

from __future__ import annotations

from typing import Any

from feedchar import __version__
from feedchar.report.document import dump, plain
from feedchar.results.calibration import CalibrationResult

SCHEMA = "feedchar-calibrate/1"


def calibration_json(result: CalibrationResult) -> str:
    """JSON document of a calibration; the same result gives the same bytes.

    Parameters
    ----------
    result : CalibrationResult
        The result. [-]

    Returns
    -------
    str
        ASCII text ending in a line end; floats with 6 significant digits, undefined as null. [-]
    """
    head: dict[str, Any] = {"schema": SCHEMA, "feedchar_version": __version__}
    body: dict[str, Any] = plain(result)
    return dump(head | body)
