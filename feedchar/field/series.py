"""The field outside a roll from its harmonics: Laplace's equation solved term by term.

Outside the roll the flux density is a sum over n = 1, 3, 5, ... with k = pi / pitch:

    B_r = sum B_n K1(n k (R + y)) / K1(n k R) sin(n k z)
    B_z = sum B_n K0(n k (R + y)) / K1(n k R) cos(n k z)

y is the height above the bare roll, z the distance from the middle of a magnet; the middle of the
steel, the mid-pole, is at z = pitch / 2. B_z is counted positive over the middle of the magnet,
that is against z where B_r is outward at z = pitch / 2: div B = 0 holds for (B_r, -B_z) along
(r, z).
"""

from __future__ import annotations

from math import pi

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import kve

from feedchar.field.checked import finite, not_negative, positive

Array = NDArray[np.float64]

LARGEST_ARGUMENT = 1e7
"""Beyond this two terms of the asymptotic series are exact to the last digit. [-]"""


def radial_decay(
    count: int, pitch_m: ArrayLike, roll_radius_m: ArrayLike, height_m: ArrayLike
) -> tuple[Array, Array, Array]:
    """How each odd harmonic has decayed at a height: K1 and K0 of the distance over K1 of R.

    Parameters
    ----------
    count : int
        How many odd harmonics, N. [-]
    pitch_m : array_like
        Magnet plus steel. [m]
    roll_radius_m : array_like
        Radius of the bare roll. [m]
    height_m : array_like
        Height above the bare roll. [m]

    Returns
    -------
    wave_number : array, shape (..., N)
        n k = n pi / pitch. [m⁻¹]
    radial, axial : array, shape (..., N)
        K1(nk(R+y))/K1(nkR) and K0(nk(R+y))/K1(nkR), by scaled Bessel functions, so that nothing
        overflows and far harmonics fall quietly to zero. [-]

    Raises
    ------
    SettingError
        A length that cannot be.

    References
    ----------
    Laplace's equation outside a cylinder, separation of variables (from memory).
    """
    pitch = positive("Pitch", pitch_m, "Give metres, such as 0.005.")[..., None]
    radius = positive("Radius of the roll", roll_radius_m, "Give metres, such as 0.05.")[..., None]
    height = not_negative("Height above the roll", height_m, "Give metres, such as 0.00035.")
    height = height[..., None]
    nk = (2.0 * np.arange(count) + 1.0) * pi / pitch
    fall = np.exp(-nk * height) / _scaled_k(1, nk * radius)
    distance = nk * (radius + height)
    return nk, _scaled_k(1, distance) * fall, _scaled_k(0, distance) * fall


def roll_flux_density(
    harmonics: ArrayLike,
    pitch_m: ArrayLike,
    roll_radius_m: ArrayLike,
    height_m: ArrayLike,
    axial_m: ArrayLike,
) -> tuple[Array, Array]:
    """Radial and axial flux density above a roll.

    Parameters
    ----------
    harmonics : array_like, shape (..., N)
        Odd radial harmonics at the bare roll surface. [T]
    pitch_m : array_like, shape (...)
        Magnet plus steel. [m]
    roll_radius_m : array_like, shape (...)
        Radius of the bare roll. [m]
    height_m : array_like, shape (...)
        Height above the bare roll. [m]
    axial_m : array_like, shape (...)
        Distance along the axis from the middle of a magnet. [m]

    Returns
    -------
    radial, axial : array, shape (...)
        Flux density; all arguments broadcast. Axial is positive over mid-magnet (see above). [T]

    Raises
    ------
    SettingError
        A length that cannot be.

    References
    ----------
    Laplace's equation outside a cylinder, separation of variables (from memory).
    """
    amplitude = finite("A harmonic", harmonics, "Give teslas, first harmonic first.")
    nk, radial, axial = radial_decay(amplitude.shape[-1], pitch_m, roll_radius_m, height_m)
    along = finite("Distance along the axis", axial_m, "Give metres from mid-magnet.")[..., None]
    b_radial = (amplitude * radial * np.sin(nk * along)).sum(axis=-1)
    b_axial = (amplitude * axial * np.cos(nk * along)).sum(axis=-1)
    return b_radial, b_axial


def _scaled_k(order: int, x: Array) -> Array:
    """K of an order times e^x; by its first asymptotic terms where the library gives up."""
    far = np.sqrt(pi / (2.0 * x)) * (1.0 + (4.0 * order**2 - 1.0) / (8.0 * x))
    return np.where(x > LARGEST_ARGUMENT, far, kve(order, np.minimum(x, LARGEST_ARGUMENT)))
