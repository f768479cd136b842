"""The induced roll: an electromagnet's gap with a toothed roll, as an equivalent harmonic field.

Between the pole piece and a toothed roll the flux density is a background B0 and, near the teeth,
a harmonic b cos(q z) e^(-q y) with q = 2 pi / tooth pitch. The force product is then
q B0 b cos(q z) e^(-q y) + q b^2 e^(-2 q y): it attracts above the tips and repels above the
valleys, from where grains slide to the tips. The separation room knows alternating rolls only,
whose fundamental pulls with k B1^2 e^(-2 k y). With the tooth pitch as the pitch, k = q / 2, the
decay is that of the first term, and B1^2 = (4/pi) B0 b + 2 b^2 e^(-q y0) gives the mean over the
half of the surface that attracts, exactly at the height y0 of a grain of 0.3 mm on the teeth.

What this leaves out: the shape and rounding of the teeth, the fall of the field around the roll
away from the pole piece, and that the true flux density at a grain is B0 and not that of the
equivalent field, which matters to grains with a saturating moment: `background_tesla` tells it.
The figures of the construction are guesses; take the answer as an order of magnitude.
"""

from __future__ import annotations

from math import pi
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from feedchar.errors import SettingError
from feedchar.field.checked import not_negative, number, positive
from feedchar.field.setting import InducedRoll

Array = NDArray[np.float64]

MATCHED_HEIGHT_M = 1.5e-4
"""Height at which the equivalent field pulls exactly as the teeth do: a grain of 0.3 mm. [m]"""
FINEST_TEETH_M = 1e-4
"""No teeth are cut finer, and their field would be gone within a grain (common practice)."""


def gap_flux_density(
    current_a: ArrayLike, saturation_current_a: ArrayLike, saturation_tesla: ArrayLike = 2.0
) -> Any:
    """Background flux density in the gap of an electromagnet at a current.

    In proportion to the current at first, as the gap takes the magnetomotive force, and not
    above saturation: B0 = Bs tanh(I / Is).

    Parameters
    ----------
    current_a : array_like
        Coil current. [A]
    saturation_current_a : array_like
        Current where the straight first part would reach saturation. [A]
    saturation_tesla : array_like
        Flux density that no current exceeds. [T]

    Returns
    -------
    float or array
        Flux density. [T]

    Raises
    ------
    SettingError
        A current below zero, or another figure that is not positive.

    References
    ----------
    Shape of the knee: a guess, no source; saturation near 2 T: common practice, no source.
    """
    current = not_negative("Current", current_a, "Give amperes, such as 4.")
    knee = positive("Saturation current", saturation_current_a, "Give amperes, such as 4.")
    limit = positive("Saturation of the gap", saturation_tesla, "Give teslas, such as 2.")
    return number(limit * np.tanh(current / knee))


def tooth_harmonic(
    gap_tesla: ArrayLike,
    tooth_modulation: float,
    tooth_pitch_m: float,
    tooth_depth_m: float,
    steel_saturation_tesla: float = 2.1,
) -> Any:
    """First harmonic that the teeth add at their tips.

    A share of the background at first; saturated teeth as wide as the valleys cannot add more
    than their polarisation gives, Js/pi (1 - e^(-q depth)).

    Parameters
    ----------
    gap_tesla : array_like
        Background flux density. [T]
    tooth_modulation : float
        Harmonic over background before the teeth saturate. [-]
    tooth_pitch_m : float
        From tooth to tooth. [m]
    tooth_depth_m : float
        Depth of the valleys. [m]
    steel_saturation_tesla : float
        Saturation polarisation of the teeth. [T]

    Returns
    -------
    float or array
        First harmonic at the tips. [T]

    Raises
    ------
    SettingError
        A figure that cannot be.

    References
    ----------
    Limit: Fourier series of the charge on square teeth, derived here; the way to it is a guess.
    """
    background = not_negative("Flux density of the gap", gap_tesla, "Give teslas, such as 1.5.")
    share = positive("Modulation of the teeth", tooth_modulation, "Give a share, such as 0.35.")
    q = 2.0 * pi / positive("Pitch of the teeth", tooth_pitch_m, "Give metres, such as 0.006.")
    depth = positive("Depth of the teeth", tooth_depth_m, "Give metres, such as 0.004.")
    steel = positive("Saturation of the teeth", steel_saturation_tesla, "Steel has 2.1 T.")
    most = steel / pi * -np.expm1(-q * depth)
    linear = share * background
    return number(linear / np.hypot(1.0, linear / most))


def induced_force_product(induced: InducedRoll, height_m: ArrayLike, axial_m: ArrayLike) -> Any:
    """Force product above a toothed roll, positive towards it, both terms.

    Parameters
    ----------
    induced : InducedRoll
        Construction and current. [SI]
    height_m : array_like
        Height above the tips. [m]
    axial_m : array_like
        Distance along the axis from the middle of a tip. [m]

    Returns
    -------
    float or array
        q B0 b cos(q z) e^(-q y) + q b^2 e^(-2 q y). [T² m⁻¹]

    Raises
    ------
    SettingError
        A figure that cannot be.

    References
    ----------
    Derived here from a background and one harmonic, planar.
    """
    background, tooth = induced_amplitudes(induced)
    q = 2.0 * pi / induced.tooth_pitch_m
    height = not_negative("Height above the teeth", height_m, "Give metres, such as 0.0002.")
    fall = tooth * np.exp(-q * height)
    return number(q * fall * (background * np.cos(q * np.asarray(axial_m, dtype=float)) + fall))


def induced_amplitudes(induced: InducedRoll) -> tuple[float, float]:
    """Background and first tooth harmonic at the current that is set.

    Parameters
    ----------
    induced : InducedRoll
        Construction and current. [SI]

    Returns
    -------
    background, tooth : float
        B0 and b. [T]

    Raises
    ------
    SettingError
        A figure that cannot be.

    References
    ----------
    Derived here; see `gap_flux_density` and `tooth_harmonic`.
    """
    background = gap_flux_density(
        induced.current_a, induced.saturation_current_a, induced.saturation_tesla
    )
    tooth = tooth_harmonic(
        background,
        induced.tooth_modulation,
        induced.tooth_pitch_m,
        induced.tooth_depth_m,
        induced.steel_saturation_tesla,
    )
    return float(background), float(tooth)


def equivalent_harmonics(induced: InducedRoll) -> Array:
    """The alternating roll that pulls as the toothed roll does, with the tooth pitch as pitch.

    Parameters
    ----------
    induced : InducedRoll
        Construction and current. [SI]

    Returns
    -------
    array, shape (1,)
        The one harmonic. [T]

    Raises
    ------
    SettingError
        A figure that cannot be, or teeth wider than the roll radius.

    References
    ----------
    Derived here: mean over the half of the surface that attracts, both terms, at MATCHED_HEIGHT_M.
    """
    if induced.tooth_pitch_m < FINEST_TEETH_M:
        message = (
            f"The pitch of the teeth ({1e3 * induced.tooth_pitch_m:g} mm) is below "
            f"{1e3 * FINEST_TEETH_M:g} mm. Teeth have 3 to 15 mm."
        )
        raise SettingError(message)
    if induced.tooth_pitch_m > induced.roll_radius_m:
        message = (
            f"The pitch of the teeth ({1e3 * induced.tooth_pitch_m:g} mm) is larger than the roll "
            f"radius ({1e3 * induced.roll_radius_m:g} mm). Teeth have 3 to 15 mm."
        )
        raise SettingError(message)
    background, tooth = induced_amplitudes(induced)
    fall = np.exp(-2.0 * pi / induced.tooth_pitch_m * MATCHED_HEIGHT_M)
    return np.array([np.sqrt(4.0 / pi * background * tooth + 2.0 * tooth**2 * fall)])


def induced_top_size(gap_m: ArrayLike) -> Any:
    """Largest grain that passes the gap without bridging: half of it.

    Parameters
    ----------
    gap_m : array_like
        Between the tips and the pole piece. [m]

    Returns
    -------
    float or array
        Top size. [m]

    Raises
    ------
    SettingError
        A gap that is not positive.

    References
    ----------
    Common practice, no source.
    """
    return number(0.5 * positive("The gap", gap_m, "Give metres, such as 0.004."))


def surface_speed(revolutions_per_minute: ArrayLike, roll_radius_m: ArrayLike) -> Any:
    """Speed of the face of a roll without a belt.

    Parameters
    ----------
    revolutions_per_minute : array_like
        Rotation. [min⁻¹]
    roll_radius_m : array_like
        Radius of the roll. [m]

    Returns
    -------
    float or array
        Surface speed. [m s⁻¹]

    Raises
    ------
    SettingError
        A figure that is not positive.

    References
    ----------
    Definition.
    """
    turns = positive("Rotation", revolutions_per_minute, "Give turns a minute, such as 150.")
    radius = positive("Radius of the roll", roll_radius_m, "Give metres, such as 0.05.")
    return number(2.0 * pi * radius * turns / 60.0)
