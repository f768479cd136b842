"""Flight of a single grain in still air: where it lands."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from feedchar.constants import AIR_DENSITY_KG_M3, AIR_VISCOSITY_PA_S, GRAVITY_M_S2
from feedchar.errors import SettingError
from feedchar.field.checked import finite, number, positive
from feedchar.separation.drag import DENSITY_RIGHT, drag_rate
from feedchar.separation.mechanics import contact

Array = NDArray[np.float64]

LONGEST_STEP_S = 1e-3
STEP_OF_RESPONSE = 0.25
"""Step over the response time of the grain, far inside the stability of the method. [-]"""
DROP_FROM_M = 1e-6
"""A grain with less than this way to go forward falls straight down. [m]"""
TOUCH_M = 1e-9
"""Deeper than this below the belt is contact, not rounding. [m]"""


def landing_position(
    density_kg_m3: ArrayLike,
    diameter_m: ArrayLike,
    grain_speed_m_s: ArrayLike,
    roll_radius_m: ArrayLike,
    belt_thickness_m: ArrayLike,
    plane_below_axis_m: ArrayLike,
    drag: bool = True,
) -> Any:
    """Where a grain without pull, leaving level at the top of the roll, crosses a plane.

    Parameters
    ----------
    density_kg_m3 : array_like
        Grain density. [kg m⁻³]
    diameter_m : array_like
        Diameter. [m]
    grain_speed_m_s : array_like
        Speed of the grain centre as it leaves. [m s⁻¹]
    roll_radius_m : array_like
        Radius of the bare roll. [m]
    belt_thickness_m : array_like
        Belt thickness. [m]
    plane_below_axis_m : array_like
        Depth of the level plane below the roll axis. [m]
    drag : bool
        False: in a vacuum. [-]

    Returns
    -------
    float or array
        Distance from the roll axis, the arguments broadcast; NaN for a grain that meets the belt
        again, as every grain slower than sqrt(g Rc) does at once. [m]

    Raises
    ------
    SettingError
        A figure that cannot be, or a plane above the point of release.

    References
    ----------
    Schiller and Naumann 1933, Z. Ver. Dtsch. Ing. 77, 318 (from memory); Newton's law.
    """
    grain = contact(diameter_m, grain_speed_m_s, roll_radius_m, belt_thickness_m)
    density = positive("Grain density", density_kg_m3, DENSITY_RIGHT)
    plane = finite("Depth of the plane", plane_below_axis_m, "Give metres, such as 0.2.")
    top = grain.path_radius_m
    if np.any(plane <= -top):
        message = (
            "The plane must lie below the top of the roll; "
            "give its depth below the roll axis in metres, such as 0.2"
        )
        raise SettingError(message)
    density, diameter, speed, radius, plane = np.broadcast_arrays(
        density, grain.diameter_m, grain.grain_speed_m_s, top, plane
    )
    shape = density.shape
    leaves = speed**2 >= GRAVITY_M_S2 * radius
    if not drag:
        # A parabola that starts level with v^2 >= g Rc stays outside the circle of radius Rc.
        fall = np.sqrt(2.0 * (radius + plane) / GRAVITY_M_S2)
        return number(np.where(leaves, speed * fall, np.nan))
    landed = np.full(shape, np.nan).ravel()
    going = np.flatnonzero(leaves.ravel())
    if going.size:
        landed[going] = _fly(*(a.ravel()[going] for a in (density, diameter, speed, radius, plane)))
    return number(landed.reshape(shape))


def _fly(density: Array, diameter: Array, speed: Array, radius: Array, plane: Array) -> Array:
    """Landing positions by fourth-order Runge-Kutta steps, every grain with its own step."""
    stokes = 18.0 * AIR_VISCOSITY_PA_S / (density * diameter**2)
    a = 0.15 * (AIR_DENSITY_KG_M3 * diameter / AIR_VISCOSITY_PA_S) ** 0.687
    step = np.minimum(LONGEST_STEP_S, STEP_OF_RESPONSE / drag_rate(speed, density, diameter))
    landed = np.full(density.shape, np.nan)
    going = np.arange(density.size)
    state = np.stack([np.zeros_like(speed), radius, speed, np.zeros_like(speed)])

    def rate(s: Array, stokes_rate: Array, factor: Array) -> Array:
        resistance = stokes_rate * (1.0 + factor * np.hypot(s[2], s[3]) ** 0.687)
        return np.stack([s[2], s[3], -resistance * s[2], -resistance * s[3] - GRAVITY_M_S2])

    while going.size:
        h, own = step[going], (stokes[going], a[going])
        k1 = rate(state, *own)
        k2 = rate(state + 0.5 * h * k1, *own)
        k3 = rate(state + 0.5 * h * k2, *own)
        k4 = rate(state + h * k3, *own)
        new = state + h / 6.0 * (k1 + 2.0 * k2 + 2.0 * k3 + k4)
        depth = -plane[going]
        crossed = new[1] <= depth
        start, slope = state[:, crossed], k1[2, crossed]
        part = (start[1] - depth[crossed]) / (start[1] - new[1, crossed]) * h[crossed]
        # A parabola in time through both ends: x(t) with the drag of the step's start.
        landed[going[crossed]] = start[0] + part * (start[2] + 0.5 * part * slope)
        touches = ~crossed & (np.hypot(new[0], new[1]) < radius[going] - TOUCH_M)
        # What is left of the way forward is at most the speed over the Stokes rate.
        left = new[2] / own[0]
        drops = ~crossed & ~touches & (left < DROP_FROM_M)
        if drops.any():
            x = new[0] + left
            clear = (new[1] < 0.0) | (x >= radius[going])
            landed[going[drops]] = np.where(clear, x, np.nan)[drops]
        keep = ~(crossed | touches | drops)
        going, state = going[keep], new[:, keep]
    return landed
