"""What answers a magnet: susceptibility, ordered moments and the pull on a grain."""

from __future__ import annotations

from typing import TYPE_CHECKING

from feedchar.front_door import front_door

if TYPE_CHECKING:
    from feedchar.magnetics.paramagnetism import curie_mass_susceptibility
    from feedchar.magnetics.pull import magnetic_acceleration, sphere_average

__all__ = ["curie_mass_susceptibility", "magnetic_acceleration", "sphere_average"]

__getattr__ = front_door(
    __name__,
    {
        "curie_mass_susceptibility": "feedchar.magnetics.paramagnetism",
        "magnetic_acceleration": "feedchar.magnetics.pull",
        "sphere_average": "feedchar.magnetics.pull",
    },
)
