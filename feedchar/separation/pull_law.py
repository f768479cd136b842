"""How a grain answers a field: a susceptibility and an ordered moment, as one number a field."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from feedchar.constants import VACUUM_PERMEABILITY_T_M_A
from feedchar.field.checked import number
from feedchar.magnetics.moment import ordered_fraction


@dataclass(frozen=True)
class PullLaw:
    """Magnetic character of one grain."""

    susceptibility_m3_kg: float
    """Linear part."""
    moment_A_m2_kg: float = 0.0
    """Ordered moment at saturation."""
    order: int = 0
    """0 none, 1 canted (moment constant with field), 2 ferrimagnetic."""
    saturation_field_tesla: float = 0.0
    """Field that saturates a ferrimagnetic grain as a sphere; 0: magnetite's measured curve."""

    def per_force_product(
        self, flux_density_tesla: ArrayLike, background_tesla: float = 0.0
    ) -> Any:
        """Pull over force product at a flux density.

        chi/mu0 + M/B: a moment is pulled by the gradient of B, and B dB/dy over B is that.

        Parameters
        ----------
        flux_density_tesla : array_like
            Size of the flux density of the field that falls away, above 0. [T]
        background_tesla : float
            Flux density beside it that magnetises and does not fall: an induced roll's gap. [T]

        Returns
        -------
        float or array
            Pull over force product. [m² T⁻² s⁻²]

        References
        ----------
        Force on a weakly magnetic grain and on a moment (from memory).
        """
        magnetising = np.maximum(flux_density_tesla, background_tesla)
        linear = self.susceptibility_m3_kg / VACUUM_PERMEABILITY_T_M_A
        if self.moment_A_m2_kg <= 0.0:
            return number(np.full(np.shape(magnetising), linear))
        share = ordered_fraction(self.order, magnetising, self.saturation_field_tesla)
        return number(linear + self.moment_A_m2_kg * share / magnetising)
