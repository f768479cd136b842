"""Refusals of the field room: a machine figure that cannot be, said with what would be right."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from feedchar.errors import SettingError

Array = NDArray[np.float64]


def positive(name: str, value: ArrayLike, right: str) -> Array:
    """A figure that must be finite and greater than zero, as a float array.

    Parameters
    ----------
    name : str
        What the figure is, in words, for the message. [-]
    value : array_like
        The figure. [any]
    right : str
        What would be right, with an example. [-]

    Returns
    -------
    array
        The same figure. [as given]

    Raises
    ------
    SettingError
        Not finite, zero or negative.

    References
    ----------
    Definition.
    """
    return _within(name, value, right, lambda figure: figure > 0, "greater than 0")


def not_negative(name: str, value: ArrayLike, right: str) -> Array:
    """A figure that must be finite and not below zero, as a float array.

    Parameters
    ----------
    name : str
        What the figure is, in words, for the message. [-]
    value : array_like
        The figure. [any]
    right : str
        What would be right, with an example. [-]

    Returns
    -------
    array
        The same figure. [as given]

    Raises
    ------
    SettingError
        Not finite or negative.

    References
    ----------
    Definition.
    """
    return _within(name, value, right, lambda figure: figure >= 0, "0 or more")


def finite(name: str, value: ArrayLike, right: str) -> Array:
    """A figure that must be finite, as a float array.

    Parameters
    ----------
    name : str
        What the figure is, in words, for the message. [-]
    value : array_like
        The figure. [any]
    right : str
        What would be right, with an example. [-]

    Returns
    -------
    array
        The same figure. [as given]

    Raises
    ------
    SettingError
        Not finite.

    References
    ----------
    Definition.
    """
    return _within(name, value, right, np.isfinite, "a finite number")


def number(value: ArrayLike) -> Any:
    """A plain number for a single value, an array otherwise.

    Parameters
    ----------
    value : array_like
        Result of a calculation over arrays. [any]

    Returns
    -------
    float or array
        The same. [as given]

    References
    ----------
    Definition.
    """
    found = np.asarray(value, dtype=float)
    return float(found) if found.ndim == 0 else found


def _within(
    name: str, value: ArrayLike, right: str, holds: Callable[[Array], Any], must: str
) -> Array:
    figure = np.asarray(value, dtype=float)
    bad = ~(np.isfinite(figure) & holds(figure))
    if np.any(bad):
        found = float(figure[bad].flat[0])
        message = f"{name} must be {must}, found {found:g}. {right}"
        raise SettingError(message)
    return figure
