"""What is asked of a product, line by line: the figure asked, its trials, its chance."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from feedchar.chemistry.mineralogy import OXIDES
from feedchar.errors import UnknownNameError
from feedchar.product.outlets import Outlets
from feedchar.sample.records import Limit
from feedchar.uncertainty.summary import Uncertain

Array = NDArray[np.float64]


UNKNOWN = Uncertain(None, None, None, None, None, None)


@dataclass(frozen=True)
class LimitRow:
    """One thing that is asked of the product."""

    quantity: str
    """An oxide (or a sum such as K2O+Na2O), `yield` or `specks`."""
    unit: str
    """wt_pct | pct_of_dry_bag | per_100_g"""
    bound: str
    """max | min"""
    asked: float
    value: Uncertain
    """All None where no phase of the list carries the oxide."""
    chance: float | None
    """Share of the trials that meet it; None where no chance may be given."""
    typical_meets: bool
    """As far as anything is known."""
    words: str
    """likely | unlikely | uncertain | not known"""


def oxide_values(outlets: Outlets, name: str) -> Array:
    """An oxide of the product, or a sum of oxides joined by `+`.

    Parameters
    ----------
    outlets : Outlets
        Where the bag goes. [-]
    name : str
        Such as `Fe2O3` or `K2O+Na2O`. [-]

    Returns
    -------
    array, shape (T,)
        Content of the non-magnetics. [wt %]

    Raises
    ------
    UnknownNameError
        When an oxide is not one of OXIDES.

    References
    ----------
    computed_here
    """
    parts = [part.strip() for part in name.split("+")]
    for part in parts:
        if part not in OXIDES:
            msg = f"the limit names {part}, which is not computed"
            raise UnknownNameError(msg, OXIDES)
    return np.asarray(sum(outlets.non_magnetics.oxide(part) for part in parts))


def chance_of(meets: NDArray[np.bool_]) -> float | None:
    """Share of the trials that meet something, the typical row left out.

    Parameters
    ----------
    meets : array of bool, shape (T,)
        Row 0 is the typical case. [-]

    Returns
    -------
    float or None
        None when there are no trials. [-]

    References
    ----------
    computed_here
    """
    return float(meets[1:].mean()) if len(meets) > 1 else None


def figures_asked(
    outlets: Outlets, limit: Limit, specks_per_100_g: Array | None
) -> list[tuple[str, str, str, float, Array]]:
    """All that is asked of the product, beside the trials that it is asked of.

    Parameters
    ----------
    outlets : Outlets
        Where the bag goes. [-]
    limit : Limit
        What is asked. [-]
    specks_per_100_g : array, shape (T,) or None
        Dark grains of the product; None leaves them out. [100 g⁻¹]

    Returns
    -------
    list of tuple
        Quantity, unit, bound, figure asked and its trials, shape (T,). [as the unit says]

    References
    ----------
    By definition of the limit.
    """
    asked: list[tuple[str, str, str, float, Array]] = []
    for bound, figures in (("max", limit.max_wt_pct), ("min", limit.min_wt_pct)):
        for name in sorted(figures, key=lambda key: (key != "Fe2O3", key)):
            asked.append((name, "wt_pct", bound, figures[name], oxide_values(outlets, name)))
    if limit.yield_min_pct is not None:
        asked.append(("yield", "pct_of_dry_bag", "min", limit.yield_min_pct, outlets.yield_pct()))
    if limit.specks_per_100_g_max is not None and specks_per_100_g is not None:
        asked.append(("specks", "per_100_g", "max", limit.specks_per_100_g_max, specks_per_100_g))
    return asked
