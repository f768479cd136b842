"""The best that could be made of a bag: by hand, by an ideal magnet, by this machine."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from feedchar.chemistry.mineralogy import Mineralogy
from feedchar.particles.classes import ParticleClasses
from feedchar.product.curves import (
    grade_at_yield,
    never_worse_with_less,
    roll_curve,
    roll_hull,
    roll_points,
    yield_grid_pct,
)
from feedchar.product.grains import every_grain_sorted, ideal_magnet, sortable_grains

Array = NDArray[np.float64]


@dataclass(frozen=True)
class BestPossible:
    """The three curves on one grid of yields, typical case."""

    yields_pct: Array
    """(N,) of the dry bag. [%]"""
    every_grain_sorted: Array
    """(N,) Fe2O3. [wt %]"""
    ideal_magnet: Array
    """(N,) [wt %]"""
    this_roll: Array
    """(N,) [wt %]"""
    settings_yield_pct: Array
    """(R,) yield of each setting given. [%]"""
    settings_fe2o3_wt_pct: Array
    """(R,) Fe2O3 of its product. [wt %]"""
    roll_yield_pct: Array
    """(H,) yields of the settings (and of no treatment) that bound the roll's curve. [%]"""
    roll_iron_wt_pct: Array
    """(H,) Fe2O3 that their products carry, wt % of the dry bag. [wt %]"""

    def at_yield(self, curve: str, wanted_pct: float) -> float | None:
        """Product Fe2O3 of a curve, by its name, at any yield; None out of reach. [wt %]"""
        if curve != "this_roll":
            return grade_at_yield(getattr(self, curve), self.yields_pct, wanted_pct)
        x = self.roll_yield_pct
        if not x[0] * (1.0 - 1e-9) <= wanted_pct <= x[-1] * (1.0 + 1e-9):
            return None
        more = x > wanted_pct
        here = np.interp(wanted_pct, x, self.roll_iron_wt_pct) / wanted_pct
        return 100.0 * float(min([here, *(self.roll_iron_wt_pct[more] / x[more])]))


def best_possible(
    classes: ParticleClasses,
    mineralogy: Mineralogy,
    response: Array,
    settings: Sequence[Array],
    treated_passing_um: float | None = None,
    treated_retained_um: float | None = None,
) -> BestPossible:
    """Curves of product Fe2O3 against yield in the typical case.

    Parameters
    ----------
    classes : ParticleClasses
        C classes. [-]
    mineralogy : Mineralogy
        Composition of each phase. [wt %]
    response : array, shape (C,)
        Pull for its mass of each class, typical case. [any]
    settings : sequence of array, shape (C,)
        Share to the non-magnetics at each setting of the roll, typical case. [-]
    treated_passing_um, treated_retained_um : float or None
        Size window that goes to the machine. [um]

    Returns
    -------
    BestPossible
        In % of the dry bag. [%]

    References
    ----------
    common practice, no source (envelope of grade and yield)
    """
    grains = sortable_grains(classes, mineralogy, treated_passing_um, treated_retained_um)
    grid = yield_grid_pct()
    yields, iron = roll_points(grains, settings)
    nothing = np.full_like(yields, np.nan)
    corners = roll_hull(yields, iron, grains)
    return BestPossible(
        yields_pct=grid,
        every_grain_sorted=every_grain_sorted(grains, grid),
        ideal_magnet=never_worse_with_less(ideal_magnet(grains, response, grid)),
        this_roll=never_worse_with_less(roll_curve(yields, iron, grains, grid)),
        settings_yield_pct=100.0 * yields,
        settings_fe2o3_wt_pct=np.divide(iron, yields, out=nothing, where=yields > 0.0),
        roll_yield_pct=100.0 * corners[0],
        roll_iron_wt_pct=corners[1],
    )
