"""The questions asked backwards: how dirty may the feed get."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from feedchar.chemistry.mineralogy import OXIDES, Mineralogy
from feedchar.product.outlets import OUTLETS, Outlets

Array = NDArray[np.float64]


def dirtiest_feed(
    outlets: Outlets, mineralogy: Mineralogy, limit_wt_pct: float, oxide: str = "Fe2O3"
) -> Array:
    """Content of a feed whose product just meets a limit at this setting.

    The feed gets dirtier by more of all its dark phases and unseen iron in the same proportions,
    sizes and forms; the pale minerals stay as they are.

    Parameters
    ----------
    outlets : Outlets
        Where this bag goes. [-]
    mineralogy : Mineralogy
        Composition of each phase. [wt %]
    limit_wt_pct : float
        Most that the product may hold. [wt %]
    oxide : str
        One of OXIDES. [-]

    Returns
    -------
    array, shape (T,)
        Content of the dry feed; NaN where the pale minerals alone break the limit, infinite
        where no amount of dark phases does. [wt %]

    References
    ----------
    computed_here (mass balance)
    """
    content = mineralogy.oxides_wt_pct[:, :, OXIDES.index(oxide)]
    pale = outlets.is_pale
    product = outlets.non_magnetics.phase_mass
    bag = sum((getattr(outlets, name).phase_mass for name in OUTLETS), np.zeros_like(product))
    carried, held = product * content, bag * content
    # (pale + s dark) carried = limit x (pale + s dark) mass, solved for s.
    spare = limit_wt_pct * product[:, pale].sum(axis=1) - carried[:, pale].sum(axis=1)
    load = carried[:, ~pale].sum(axis=1) - limit_wt_pct * product[:, ~pale].sum(axis=1)
    factor = np.divide(spare, load, out=np.full_like(load, np.inf), where=load > 0.0)
    factor = np.where(spare < 0.0, np.nan, factor)
    finite = np.where(np.isfinite(factor), factor, 0.0)
    iron = held[:, pale].sum(axis=1) + finite * held[:, ~pale].sum(axis=1)
    mass = bag[:, pale].sum(axis=1) + finite * bag[:, ~pale].sum(axis=1)
    return np.asarray(np.where(np.isfinite(factor), iron / mass, factor))


def feed_that_passes(dirtiest_wt_pct: Array, chance: float = 0.9) -> float | None:
    """Dirtiest feed that still passes in a wanted share of the trials.

    Parameters
    ----------
    dirtiest_wt_pct : array, shape (T,)
        From `dirtiest_feed`; row 0, the typical case, is left out. [wt %]
    chance : float
        Share of the trials that must pass. [-]

    Returns
    -------
    float or None
        Content of the feed; None where no feed passes so often, or without trials. [wt %]

    References
    ----------
    computed_here
    """
    draws = np.sort(np.nan_to_num(dirtiest_wt_pct[1:], nan=-1.0, posinf=np.inf))
    if len(draws) == 0:
        return None
    value = float(draws[min(int((1.0 - chance) * len(draws)), len(draws) - 1)])
    return value if 0.0 <= value < np.inf else None
