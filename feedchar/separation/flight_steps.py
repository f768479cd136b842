"""One step of many grains in flight: by pull, weight and drag, or by weight and drag alone.

In the field the drag rate is a constant over a step, and its decay is exact: dust stays stable.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from feedchar.constants import GRAVITY_M_S2

Array = NDArray[np.float64]

WEIGHT = np.array([[0.0], [-GRAVITY_M_S2], [0.0]])


def in_field(
    push: Callable[[Array], Array],
    first: Array,
    place: Array,
    velocity: Array,
    drag: Array,
    dt: Array,
) -> tuple[Array, Array]:
    """A step of fourth order under an acceleration that depends on the place.

    Parameters
    ----------
    push : callable
        Acceleration at a place, (3, N) each; its result may be written to. [m s⁻²]
    first : array, shape (3, N)
        Acceleration at the start; written to. [m s⁻²]
    place : array, shape (3, N)
        Place. [m]
    velocity : array, shape (3, N)
        Velocity. [m s⁻¹]
    drag : array, shape (N,)
        Drag rate. [s⁻¹]
    dt : array, shape (N,)
        Length of the step. [s]

    Returns
    -------
    tuple of array
        Place and velocity after it. [m, m s⁻¹]

    References
    ----------
    Nystroem's method of three stages (from memory), its weights carried over to exponential decay
    here; of fourth order without drag.
    """
    kept = np.exp(-0.5 * dt * drag)
    # Way in half a step and in a whole one over the speed at its start.
    way = (1.0 - kept) / drag
    whole = way * (1.0 + kept)
    point = (0.25 * dt * way) * first
    point += way * velocity
    point += place
    second = push(point)
    np.multiply(0.5 * dt * whole, second, out=point)
    after = whole * velocity
    after += place
    point += after
    third = push(point)
    part = dt / 6.0
    second *= 4.0 * part
    first *= part
    third *= part
    after += whole * first
    after += way * second
    first += velocity
    first *= kept
    first += second
    first *= kept
    first += third
    return after, first


def in_air(
    drag_rate: Callable[[Array], Array], place: Array, velocity: Array, dt: Array
) -> tuple[Array, Array, Array]:
    """A step of fourth order under weight and drag alone.

    Parameters
    ----------
    drag_rate : callable
        Drag rate at a velocity. [s⁻¹]
    place : array, shape (3, N)
        Place. [m]
    velocity : array, shape (3, N)
        Velocity. [m s⁻¹]
    dt : array, shape (N,)
        Length of the step. [s]

    Returns
    -------
    tuple of array
        Place and velocity after it, drag rate at its last stage. [m, m s⁻¹, s⁻¹]

    References
    ----------
    The classical method of Runge and Kutta (from memory).
    """
    half = 0.5 * dt
    first = WEIGHT - drag_rate(velocity) * velocity
    speed = velocity + half * first
    second = WEIGHT - drag_rate(speed) * speed
    speed = velocity + half * second
    third = WEIGHT - drag_rate(speed) * speed
    speed = velocity + dt * third
    drag = drag_rate(speed)
    inner = first + second + third
    after = place + dt * velocity + (dt * dt / 6.0) * inner
    inner += second
    inner += third
    inner += WEIGHT - drag * speed
    return after, velocity + (dt / 6.0) * inner, drag


def cubic(
    part: Array | float, start: Array, start_slope: Array, end: Array, end_slope: Array
) -> tuple[Array, Array]:
    """Value and slope of the cubic through two ends and their slopes, at a part of the way.

    Parameters
    ----------
    part : array or float
        Part of the way. [-]
    start, end : array
        Values at the ends. [any]
    start_slope, end_slope : array
        Slopes there, per whole way. [any]

    Returns
    -------
    tuple of array
        Value, slope. [any]

    References
    ----------
    Hermite's cubic, closed form.
    """
    rise = end - start
    bend = 3.0 * rise - 2.0 * start_slope - end_slope
    twist = start_slope + end_slope - 2.0 * rise
    value = start + part * (start_slope + part * (bend + part * twist))
    return value, start_slope + part * (2.0 * bend + 3.0 * part * twist)
