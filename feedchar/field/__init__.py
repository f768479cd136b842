"""What the machine offers: the field and the force of a roll."""

from __future__ import annotations

from typing import TYPE_CHECKING

from feedchar.front_door import front_door

if TYPE_CHECKING:
    from feedchar.field.force import mean_force_product
    from feedchar.field.harmonics import roll_harmonics
    from feedchar.field.series import roll_flux_density

__all__ = ["mean_force_product", "roll_flux_density", "roll_harmonics"]

__getattr__ = front_door(
    __name__,
    {
        "mean_force_product": "feedchar.field.force",
        "roll_flux_density": "feedchar.field.series",
        "roll_harmonics": "feedchar.field.harmonics",
    },
)
