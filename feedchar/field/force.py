"""The force product of a roll: B dB/dr, which times susceptibility over mu0 is the pull."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from feedchar.field.checked import finite
from feedchar.field.series import radial_decay

Array = NDArray[np.float64]


def mean_force_product(
    harmonics: ArrayLike, pitch_m: ArrayLike, roll_radius_m: ArrayLike, height_m: ArrayLike
) -> Array:
    """Axial mean of the force product above a roll, positive towards the roll.

    The mean of -(1/2) d|B|^2/dr over the axis, both components in: harmonics do not mix, and
    with a = K1(nk(R+y))/K1(nkR), c = K0(nk(R+y))/K1(nkR) it is
    sum B_n^2 (n k a c + a^2 / (2 (R + y))), exact for the field of the cylinder.

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

    Returns
    -------
    array, shape (...)
        Force product. [T² m⁻¹]

    Raises
    ------
    SettingError
        A length that cannot be.

    References
    ----------
    Derived here from the field of the cylinder; the planar limit is the sum of n k B_n^2 e^(-2nky).
    """
    amplitude = finite("A harmonic", harmonics, "Give teslas, first harmonic first.")
    nk, radial, axial = radial_decay(amplitude.shape[-1], pitch_m, roll_radius_m, height_m)
    distance = np.asarray(roll_radius_m, dtype=float) + np.asarray(height_m, dtype=float)
    terms = nk * radial * axial + radial**2 / (2.0 * distance[..., None])
    return (amplitude**2 * terms).sum(axis=-1)


def local_force_product(
    harmonics: ArrayLike,
    pitch_m: ArrayLike,
    roll_radius_m: ArrayLike,
    height_m: ArrayLike,
    axial_m: ArrayLike,
) -> tuple[Array, Array]:
    """Force product at one place: towards the roll, and along its axis.

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
    towards_roll, along_axis : array, shape (...)
        -(1/2) d|B|^2/dr and (1/2) d|B|^2/dz. [T² m⁻¹]

    Raises
    ------
    SettingError
        A length that cannot be.

    References
    ----------
    Derivatives of the field of the cylinder, term by term.
    """
    amplitude = finite("A harmonic", harmonics, "Give teslas, first harmonic first.")
    nk, radial, axial = radial_decay(amplitude.shape[-1], pitch_m, roll_radius_m, height_m)
    along = finite("Distance along the axis", axial_m, "Give metres from mid-magnet.")[..., None]
    distance = np.asarray(roll_radius_m, dtype=float) + np.asarray(height_m, dtype=float)
    sine, cosine = np.sin(nk * along), np.cos(nk * along)
    b_r = (amplitude * radial * sine).sum(axis=-1)
    b_z = -(amplitude * axial * cosine).sum(axis=-1)  # along +z, so that div B = 0
    # K1' = -K0 - K1/x and K0' = -K1; the field has no curl, so dB_z/dr = dB_r/dz.
    db_r_dr = -(amplitude * nk * axial * sine).sum(axis=-1) - b_r / distance
    db_z_dr = (amplitude * nk * radial * cosine).sum(axis=-1)
    db_z_dz = (amplitude * nk * axial * sine).sum(axis=-1)
    return -(b_r * db_r_dr + b_z * db_z_dr), b_r * db_z_dr + b_z * db_z_dz
