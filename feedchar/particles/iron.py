"""Where the iron is: Fe2O3 by mineral, form and size."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from feedchar.chemistry.mineralogy import OXIDES, Mineralogy
from feedchar.particles.classes import FORMS, ParticleClasses
from feedchar.particles.reduction import host_part, sum_matrix, summed

Array = NDArray[np.float64]
Index = NDArray[np.intp]

FE2O3 = OXIDES.index("Fe2O3")


@dataclass(frozen=True)
class IronTable:
    """Fe2O3 by mineral x form x size, R rows that hold any iron, over T trials."""

    mineral: tuple[str, ...]
    form: tuple[str, ...]
    """Names of FORMS; the iron of a pale mineral itself is `inside`."""
    size: Index
    """(R,) index into the size classes."""
    of_feed_wt_pct: Array
    """(T, R) Fe2O3, wt % of the dry bag."""

    @property
    def of_iron_pct(self) -> Array:
        """Share of all iron, each trial summing to 100. (T, R) [%]"""
        total = self.of_feed_wt_pct.sum(axis=1, keepdims=True)
        zero = np.zeros_like(self.of_feed_wt_pct)
        return 100.0 * np.divide(self.of_feed_wt_pct, total, out=zero, where=total > 0.0)


def iron_table(classes: ParticleClasses, mineralogy: Mineralogy) -> IronTable:
    """Fe2O3 by mineral, form and size.

    Parameters
    ----------
    classes : ParticleClasses
        C classes over T trials. [-]
    mineralogy : Mineralogy
        Composition of each phase in each trial. [wt %]

    Returns
    -------
    IronTable
        Rows in the order of phases, forms and sizes. [wt %]

    References
    ----------
    computed_here
    """
    iron = mineralogy.oxides_wt_pct[:, :, FE2O3]
    pale = np.array([phase.role == "host" for phase in mineralogy.phases])
    inside = FORMS.index("inside")
    forms, sizes = len(FORMS), len(classes.sizes)
    own_form = np.where(pale[classes.mineral] & (classes.form == 0), inside, classes.form)
    own = (classes.mineral * forms + own_form) * sizes + classes.size
    hosts = host_part(classes)
    on_host = np.flatnonzero(hosts > 0.0)
    host = classes.host[on_host]
    host_form = np.where(pale[host], inside, classes.form[on_host])
    other = (host * forms + host_form) * sizes + classes.size[on_host]
    keys = np.unique(np.concatenate([own, other]))
    phase = keys // (forms * sizes)
    matrix = sum_matrix(
        np.searchsorted(keys, np.concatenate([own, other])),
        np.concatenate([np.arange(len(own)), on_host]),
        np.concatenate([1.0 - hosts, hosts[on_host]]),
        (len(keys), len(own)),
    )
    table = summed(matrix, classes.mass) * iron[:, phase]
    keep = table.max(axis=0) > 0.0
    names, keys = classes.phase_names, keys[keep]
    return IronTable(
        mineral=tuple(names[k] for k in phase[keep]),
        form=tuple(FORMS[k] for k in keys // sizes % forms),
        size=keys % sizes,
        of_feed_wt_pct=table[:, keep],
    )
