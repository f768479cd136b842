"""The JSON document of a characterisation, schema `feedchar/1`.

The records of `feedchar.results` are declared in the order of the contract, so the document is
their plain walk: every field a key, every tuple a list. Keys may be added at the end of an
object; none changes its meaning.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import fields, is_dataclass
from math import isfinite
from typing import Any

import numpy as np

from feedchar import __version__
from feedchar.results import BestPossible, Characterisation

SCHEMA = "feedchar/1"

_LEFT_OUT = {"trial_values", "what_if"}
"""Trial arrays serve those who compute on; the document holds their summaries. Settings round the
one assessed are computed for the page alone, and the document is the same with or without it."""
_ONLY_WHERE_TOLD = {"tests_taught", "past_tests"}
"""What was not asked for, or has nothing to tell, is no key of the document."""


class UndefinedNumberError(ArithmeticError):
    """A result holds NaN or infinity where None and a note belong: a fault of the program."""


def to_json(characterisation: Characterisation) -> str:
    """JSON document of a characterisation; the same result gives the same bytes.

    Parameters
    ----------
    characterisation : Characterisation
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
    return dump(document(characterisation))


def document(characterisation: Characterisation) -> dict[str, Any]:
    """The document as plain dictionaries and lists, for templates and workbooks.

    Parameters
    ----------
    characterisation : Characterisation
        The result. [-]

    Returns
    -------
    dict
        Keys as in the contract, each with its unit in its name. [-]

    Raises
    ------
    UndefinedNumberError
        When a number of the result is NaN or infinite.
    """
    head: dict[str, Any] = {"schema": SCHEMA, "feedchar_version": __version__}
    body: dict[str, Any] = plain(characterisation)
    return head | body


def dump(tree: Mapping[str, Any]) -> str:
    """Text of a document of plain values.

    Parameters
    ----------
    tree : mapping
        What `plain` returns. [-]

    Returns
    -------
    str
        ASCII JSON, two spaces of indent, ending in a line end. [-]
    """
    return json.dumps(tree, indent=2, ensure_ascii=True, allow_nan=False) + "\n"


def plain(value: Any, where: str = "") -> Any:
    """Plain dictionaries, lists, numbers and texts of a record.

    Parameters
    ----------
    value : object
        Record, mapping, sequence, number, text or None. [any]
    where : str
        Path of the value, for the message of a fault. [-]

    Returns
    -------
    object
        The same as JSON knows it, floats rounded to 6 significant digits. [any]

    Raises
    ------
    UndefinedNumberError
        When a number is NaN or infinite.
    TypeError
        When a value has no place in a document.
    """
    if value is None or isinstance(value, str | bool):
        return value
    if isinstance(value, np.bool_):
        return bool(value)
    if isinstance(value, int | np.integer):
        return int(value)
    if isinstance(value, float | np.floating):
        return _rounded(float(value), where)
    if is_dataclass(value) and not isinstance(value, type):
        return {
            field.name: _field(value, field.name, f"{where}.{field.name}")
            for field in fields(value)
            if field.name not in _LEFT_OUT
            and not (field.name in _ONLY_WHERE_TOLD and getattr(value, field.name) is None)
        }
    if isinstance(value, Mapping):
        return {str(key): plain(item, f"{where}.{key}") for key, item in value.items()}
    if isinstance(value, tuple | list):
        return [plain(item, f"{where}[{place}]") for place, item in enumerate(value)]
    message = f"{where.lstrip('.')} is a {type(value).__name__}: no place in a document"
    raise TypeError(message)


def _field(record: Any, field: str, where: str) -> Any:
    value = getattr(record, field)
    if isinstance(record, BestPossible) and field == "other_treatments":
        keys = ("treatment", "Fe2O3_wt_pct", "yield_pct")
        value = [dict(zip(keys, entry, strict=True)) for entry in value]
    return plain(value, where)


def _rounded(value: float, where: str) -> float:
    if not isfinite(value):
        message = f"{where.lstrip('.')} is {value}; what is undefined is None"
        raise UndefinedNumberError(message)
    return float(f"{value:.6g}") + 0.0  # adding zero turns -0.0 into 0.0
