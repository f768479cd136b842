"""What a setting does: hold, flight, capture, passes."""

from __future__ import annotations

from typing import TYPE_CHECKING

from feedchar.front_door import front_door

if TYPE_CHECKING:
    from feedchar.separation.capacity import single_layer_capacity
    from feedchar.separation.drag import terminal_velocity
    from feedchar.separation.flight import landing_position
    from feedchar.separation.hold import detachment_angle, flux_density_to_hold

__all__ = [
    "detachment_angle",
    "flux_density_to_hold",
    "landing_position",
    "single_layer_capacity",
    "terminal_velocity",
]

__getattr__ = front_door(
    __name__,
    {
        "detachment_angle": "feedchar.separation.hold",
        "flux_density_to_hold": "feedchar.separation.hold",
        "landing_position": "feedchar.separation.flight",
        "single_layer_capacity": "feedchar.separation.capacity",
        "terminal_velocity": "feedchar.separation.drag",
    },
)
