"""Drums: cylinders of alternating poles along their circumference; hand magnets among them.

With p pole pairs the fundamental of the potential outside falls as r^-p, so both components of
the flux density fall as (R/r)^(p+1), the size of the flux density is the same all around, and the
force is radial.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import pi
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from feedchar.errors import UnknownNameError
from feedchar.field.checked import finite, not_negative, number, positive

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Drum:
    """A drum by its poles; the flux density is that at the outside of the shell."""

    name: str
    drum_radius_m: float
    """Outside of the shell."""
    pitch_m: float
    """From pole to pole along the circumference of the shell."""
    surface_flux_density_tesla: float
    """First harmonic at the shell."""
    source: str = ""
    shell_speed_m_s: float = 1.0
    """Speed of the shell past the sand (guess)."""
    hold_ln_sd: float = 0.3
    """Spread of the hold: bed, air, uneven poles (guess). [-]"""

    @property
    def pole_pairs(self) -> float:
        """Pole pairs around a full circle. [-]"""
        return pi * self.drum_radius_m / self.pitch_m


WEAK_DRUM = Drum("weak", 0.30, 0.17, 0.15, "ferrite drum, order of magnitude, from memory")
STRONG_DRUM = Drum("strong", 0.30, 0.07, 0.70, "rare-earth drum, order of magnitude, from memory")
HAND_MAGNET = Drum(
    "hand magnet", 0.05, 0.05, 0.10,
    "ferrite or steel magnet under paper, order of magnitude, from memory", 0.1, 0.7,
)  # fmt: skip
STRONG_HAND_MAGNET = Drum(
    "strong hand magnet", 0.05, 0.05, 0.35,
    "rare-earth magnet under paper, order of magnitude, from memory", 0.1, 0.7,
)  # fmt: skip
"""Held over sand and moved slowly: poles of a block 50 mm long, of which one knows neither the
strength nor the distance, so that what they just hold spreads over a factor of two to each side."""
DRUMS = {drum.name: drum for drum in (WEAK_DRUM, STRONG_DRUM)}


def drum_of(name: str) -> Drum:
    """A generic drum by its name.

    Parameters
    ----------
    name : str
        weak | strong. [-]

    Returns
    -------
    Drum
        Its poles. [SI]

    Raises
    ------
    UnknownNameError
        No drum has this name.

    References
    ----------
    Orders of magnitude of ferrite and rare-earth drums, from memory.
    """
    if name not in DRUMS:
        message = f'"{name[:60]}" is no known drum; choose from: {", ".join(DRUMS)}'
        raise UnknownNameError(message, tuple(DRUMS))
    return DRUMS[name]


def drum_flux_density(drum: Drum, height_m: ArrayLike, along_m: ArrayLike) -> tuple[Any, Any]:
    """Radial and tangential flux density above the shell of a drum.

    Parameters
    ----------
    drum : Drum
        Its poles. [SI]
    height_m : array_like
        Height above the shell. [m]
    along_m : array_like
        Distance along the shell from the middle of a pole. [m]

    Returns
    -------
    radial, tangential : float or array
        Flux density, the arguments broadcast. [T]

    Raises
    ------
    SettingError
        A figure that cannot be.

    References
    ----------
    Laplace's equation outside a cylinder, fundamental alone, derived here.
    """
    height = not_negative("Height above the shell", height_m, "Give metres, such as 0.001.")
    along = finite("Distance along the shell", along_m, "Give metres from mid-pole.")
    angle = pi * along / positive("Pitch", drum.pitch_m, "Give metres, such as 0.17.")
    radius = positive("Radius of the drum", drum.drum_radius_m, "Give metres, such as 0.3.")
    fall = (radius / (radius + height)) ** (drum.pole_pairs + 1.0)
    size = drum.surface_flux_density_tesla * fall
    return number(size * np.cos(angle)), number(size * np.sin(angle))


def drum_force_product(drum: Drum, height_m: ArrayLike) -> Any:
    """Force product above the shell of a drum, towards it, the same all around.

    -(1/2) d|B|^2/dr = (p + 1)/r B1^2 (R/r)^(2p+2).

    Parameters
    ----------
    drum : Drum
        Its poles. [SI]
    height_m : array_like
        Height above the shell. [m]

    Returns
    -------
    float or array
        B dB/dr. [T² m⁻¹]

    Raises
    ------
    SettingError
        A figure that cannot be.

    References
    ----------
    Laplace's equation outside a cylinder, fundamental alone, derived here.
    """
    height = not_negative("Height above the shell", height_m, "Give metres, such as 0.001.")
    radius = positive("Radius of the drum", drum.drum_radius_m, "Give metres, such as 0.3.")
    distance = radius + height
    steepness = (drum.pole_pairs + 1.0) / distance
    square = drum.surface_flux_density_tesla**2 * (radius / distance) ** (
        2.0 * drum.pole_pairs + 2.0
    )
    return number(steepness * square)
