"""The JSON document of the calculator, schema `feedchar-pull/1`."""

from __future__ import annotations

from typing import Any

from feedchar import __version__
from feedchar.report.document import dump, plain
from feedchar.results.pull import PullResult

PULL_SCHEMA = "feedchar-pull/1"


def pull_json(result: PullResult) -> str:
    """JSON document of the calculator; the same question gives the same bytes.

    Parameters
    ----------
    result : PullResult
        The result. [-]

    Returns
    -------
    str
        ASCII text ending in a line end; floats with 6 significant digits, undefined as null. [-]

    Raises
    ------
    UndefinedNumberError
        When a number of the result is NaN or infinite.
    """
    head: dict[str, Any] = {"schema": PULL_SCHEMA, "feedchar_version": __version__}
    body: dict[str, Any] = plain(result)
    return dump(head | body)
