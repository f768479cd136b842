"""The JSON document of a plan, schema `feedchar-plan/1`."""

from __future__ import annotations

from typing import Any

from feedchar import __version__
from feedchar.report.document import dump, plain
from feedchar.results.plan import Plan

SCHEMA = "feedchar-plan/1"


def plan_json(result: Plan) -> str:
    """JSON document of a plan; the same result gives the same bytes.

    Parameters
    ----------
    result : Plan
        The result. [-]

    Returns
    -------
    str
        ASCII text ending in a line end; floats with 6 significant digits, undefined as null. [-]
    """
    head: dict[str, Any] = {"schema": SCHEMA, "feedchar_version": __version__}
    body: dict[str, Any] = plain(result)
    return dump(head | body)
