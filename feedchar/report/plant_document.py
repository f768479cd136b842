"""The JSON document of circuits at full size, schema `feedchar-scale-up/1`."""

from __future__ import annotations

from typing import Any

from feedchar import __version__
from feedchar.report.document import dump, plain
from feedchar.results.plant import ScaleUp

SCHEMA = "feedchar-scale-up/1"


def scale_up_json(result: ScaleUp) -> str:
    """JSON document of a comparison of circuits; the same result gives the same bytes.

    Parameters
    ----------
    result : ScaleUp
        The result. [-]

    Returns
    -------
    str
        ASCII text ending in a line end; floats with 6 significant digits, undefined as null. [-]
    """
    head: dict[str, Any] = {"schema": SCHEMA, "feedchar_version": __version__}
    body: dict[str, Any] = plain(result)
    return dump(head | body)
