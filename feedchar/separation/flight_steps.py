"""One step of many grains in flight: by pull, weight and drag, or by weight and drag alone.

In the field the drag rate is a constant over a step, and its decay is exact: dust stays stable.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from feedchar.constants import GRAVITY_M_S2

Array = NDArray[np.float64]

TOUCH_M = 2e-6
"""A grain this far below the belt has met it."""
EARLIER_PARTS = (0.75, 0.5, 0.25)
"""Parts of a step at which a grain that ends it below the belt may have met it, last first."""
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


def first_dip(start: Array, end: Array, time: Array, radius: Array) -> Array:
    """Places of grains that end a step below the belt, at the first quarter that is below.

    Parameters
    ----------
    start, end : array, shape (6 or more, N)
        Place and velocity at both ends; what follows is not read. [m, m s⁻¹]
    time : array, shape (N,)
        Length of the step. [s]
    radius : array, shape (N,)
        Of the path of a grain on the belt. [m]

    Returns
    -------
    array, shape (3, N)
        Place, the end where no earlier quarter is below. [m]

    References
    ----------
    Hermite's cubic, as `cubic`.
    """
    place, slope, last = end[:3].copy(), time * start[3:6], time * end[3:6]
    rise = place - start[:3]
    bend = 3.0 * rise - 2.0 * slope - last
    twist = slope + last - 2.0 * rise
    touched = (radius - TOUCH_M) ** 2
    here = np.empty_like(place)
    for part in EARLIER_PARTS:
        np.multiply(part, twist, out=here)
        for inner in (bend, slope):
            here += inner
            here *= part
        here += start[:3]
        np.copyto(place, here, where=here[0] ** 2 + here[1] ** 2 < touched)
    return place
