"""The iron that stays in the product, line by line, adding up exactly."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from feedchar.chemistry.mineralogy import Mineralogy
from feedchar.particles.classes import FORMS, ParticleClasses
from feedchar.particles.iron import FE2O3, host_part
from feedchar.product.outlets import BLOCK, treated_share
from feedchar.separation.records import Shares
from feedchar.units import PPM_PER_WT_PCT

Array = NDArray[np.float64]

REASONS = (
    "inside the crystal",
    "inclusion",
    "stain",
    "joined grain below the cut",
    "free but too weak",
    "free but too fine or too coarse",
    "missed by the machine",
    "not found",
)
(INSIDE, INCLUSION, STAIN, JOINED, WEAK, SIZE, MISSED, NOT_FOUND) = range(len(REASONS))


@dataclass(frozen=True)
class IronThatStays:
    """Iron of the product by reason, over T trials."""

    ppm: Array
    """(T, 8) ppm Fe2O3 of product, columns REASONS; a row sums to the product's Fe2O3."""
    carriers: tuple[tuple[tuple[str, float], ...], ...]
    """For each reason its largest carriers in the typical case, (words, ppm)."""

    @property
    def typical_ppm(self) -> Array:
        """Typical case. (8,) [ppm]"""
        return self.ppm[0]

    @property
    def mean_ppm(self) -> Array:
        """Mean of the trials; the typical case where there are none. (8,) [ppm]"""
        draws = self.ppm[1:] if len(self.ppm) > 1 else self.ppm
        return np.asarray(np.nanmean(draws, axis=0))

    @property
    def share_pct(self) -> Array:
        """Share of the product's iron, typical case. (8,) [%]"""
        total = float(self.ppm[0].sum())
        return 100.0 * self.ppm[0] / total if total > 0.0 else np.zeros(len(REASONS))


def best_size_leaves(classes: ParticleClasses, stay: Array, sized: NDArray[np.bool_]) -> Array:
    """Least share of free grains left behind over the sizes, of each phase in each trial.

    Parameters
    ----------
    classes : ParticleClasses
        C classes. [-]
    stay : array, shape (B, C)
        Share to the non-magnetics, what the machine missed left out. [-]
    sized : array of bool, shape (C,)
        Free classes that count (those inside the treated window). [-]

    Returns
    -------
    array, shape (B, M)
        Share that even the best size leaves; 1 where the phase has no free grain. [-]

    References
    ----------
    computed_here
    """
    least = np.ones((len(stay), len(classes.phase_names)))
    for phase in np.unique(classes.mineral[sized]):
        least[:, phase] = stay[:, sized & (classes.mineral == phase)].min(axis=1)
    return least


def _own_reason(classes: ParticleClasses, pale: NDArray[np.bool_]) -> NDArray[np.intp]:
    """Reason of a class whose iron stays whatever the machine does; -1 where it may be taken."""
    form = np.array(FORMS)[classes.form]
    reason = np.full(len(form), -1)
    reason[form == "inclusion"] = INCLUSION
    reason[form == "stain"] = STAIN
    reason[form == "inside"] = INSIDE
    reason[form == "not found"] = NOT_FOUND
    reason[(form == "free") & pale[classes.mineral]] = INSIDE
    return reason


def iron_that_stays(
    classes: ParticleClasses,
    shares: Shares,
    mineralogy: Mineralogy,
    treated_passing_um: float | None = None,
    treated_retained_um: float | None = None,
    most_carriers: int = 3,
) -> IronThatStays:
    """Product iron split by the reason why it stays.

    Of a free dark grain that the machine did not miss, what its best size would also have left
    behind is too weak; the rest is too fine or too coarse.

    Parameters
    ----------
    classes : ParticleClasses
        C classes over T trials. [-]
    shares : Shares
        Where each class goes, (T, C) or (1, C). [-]
    mineralogy : Mineralogy
        Composition of each phase in each trial. [wt %]
    treated_passing_um, treated_retained_um : float or None
        Size window that goes to the machine. [um]
    most_carriers : int
        Carriers named for each reason. [-]

    Returns
    -------
    IronThatStays
        Lines in ppm Fe2O3 of product. [ppm]

    References
    ----------
    computed_here (mass balance); common practice, no source (the reasons)
    """
    trials = len(classes.mass)
    pale = np.array([phase.role == "host" for phase in mineralogy.phases])
    window = treated_share(classes.sizes, treated_passing_um, treated_retained_um)[classes.size]
    hosts = host_part(classes)
    own, fixed = 1.0 - hosts, _own_reason(classes, pale)
    joined = classes.form == FORMS.index("joined")
    free = (classes.form == FORMS.index("free")) & ~pale[classes.mineral]
    sized = free & (window > 0.0)
    host = np.where(classes.host >= 0, classes.host, 0)
    ppm = np.empty((trials, len(REASONS)))
    typical: Array = np.zeros((len(REASONS), len(classes.size)))
    for start in range(0, trials, BLOCK):
        rows = slice(start, start + BLOCK)
        iron = mineralogy.oxides_wt_pct[rows, :, FE2O3]
        kept = _rows(shares.non_magnetics, rows)
        missed = np.minimum(_rows(shares.missed, rows), kept)
        mass = classes.mass[rows] * window
        carried = mass * own * iron[:, classes.mineral]
        stay = kept - missed
        weak = np.minimum(best_size_leaves(classes, stay, sized)[:, classes.mineral], stay)
        total = np.broadcast_to((mass * kept).sum(axis=1)[:, None], carried.shape)
        scale = PPM_PER_WT_PCT * np.divide(
            1.0, total, out=np.full(total.shape, np.nan), where=total > 0.0
        )
        carried = carried * scale
        lines = np.zeros((len(carried), len(REASONS)))
        for reason in (INSIDE, INCLUSION, STAIN, NOT_FOUND):
            which = fixed == reason
            lines[:, reason] = (carried[:, which] * kept[..., which]).sum(axis=1)
        by_host = mass * hosts * iron[:, host] * scale * kept
        lines[:, INSIDE] += by_host.sum(axis=1)
        lines[:, JOINED] = (carried * stay)[:, joined].sum(axis=1)
        lines[:, WEAK] = (carried * weak)[:, free].sum(axis=1)
        lines[:, SIZE] = (carried * (stay - weak))[:, free].sum(axis=1)
        lines[:, MISSED] = (carried * missed)[:, free | joined].sum(axis=1)
        ppm[rows] = lines
        if start == 0:
            first = carried[0]
            for reason in (INSIDE, INCLUSION, STAIN, NOT_FOUND):
                typical[reason] = np.where(fixed == reason, first * kept[0], 0.0)
            typical[JOINED] = np.where(joined, first * stay[0], 0.0)
            typical[WEAK] = np.where(free, first * weak[0], 0.0)
            typical[SIZE] = np.where(free, first * (stay - weak)[0], 0.0)
            typical[MISSED] = np.where(free | joined, first * missed[0], 0.0)
            inside_host = by_host[0]
    return IronThatStays(ppm, _carriers(classes, typical, inside_host, most_carriers))


def _rows(array: Array, rows: slice) -> Array:
    return array if len(array) == 1 else array[rows]


def _carriers(
    classes: ParticleClasses, typical: Array, inside_host: Array, most: int
) -> tuple[tuple[tuple[str, float], ...], ...]:
    """Largest carriers of each reason, in words, typical case."""
    names = classes.phase_names
    out = []
    for reason in range(len(REASONS)):
        sums: dict[str, float] = {}
        for k in np.flatnonzero(typical[reason] > 0.0):
            words = names[classes.mineral[k]]
            if reason in (INCLUSION, STAIN, JOINED) and classes.host[k] >= 0:
                words = f"{words} {'on' if reason == STAIN else 'in'} {names[classes.host[k]]}"
            sums[words] = sums.get(words, 0.0) + float(typical[reason, k])
        if reason == INSIDE:
            for k in np.flatnonzero(inside_host > 0.0):
                words = names[classes.host[k]]
                sums[words] = sums.get(words, 0.0) + float(inside_host[k])
        ranked = sorted(sums.items(), key=lambda item: (-item[1], item[0]))
        out.append(tuple(ranked[:most]))
    return tuple(out)
