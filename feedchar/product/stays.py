"""The iron that stays in the product, line by line, adding up exactly."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import csr_array

from feedchar.chemistry.mineralogy import Mineralogy
from feedchar.particles.classes import FORMS, ParticleClasses
from feedchar.particles.iron import FE2O3
from feedchar.particles.reduction import host_part, sum_matrix, summed
from feedchar.product.outlets import BLOCK, treated_share
from feedchar.separation.records import Shares
from feedchar.units import PPM_PER_WT_PCT

Array = NDArray[np.float64]
Index = NDArray[np.intp]

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


@dataclass(frozen=True)
class _Parts:
    """Mineral and host parts of all classes, N of them."""

    source: Index
    """(N,) class."""
    phase: Index
    """(N,)"""
    fraction: Array
    """(N,) mass fraction of the class. [-]"""
    reason: Index
    """(N,) why it stays if the machine did not miss it; SIZE for free dark grains."""
    may_be_missed: NDArray[np.bool_]
    """(N,) parts that a magnet could have taken with the grain's own pull."""


def _parts(classes: ParticleClasses, pale: NDArray[np.bool_]) -> _Parts:
    """Reason of every part of every class, as far as the machine does not decide it."""
    form = np.array(FORMS)[classes.form]
    reason = np.full(len(form), SIZE, dtype=np.intp)
    for name, own in (("inclusion", INCLUSION), ("stain", STAIN), ("inside", INSIDE),
                      ("not found", NOT_FOUND), ("joined", JOINED)):  # fmt: skip
        reason[form == name] = own
    reason[(form == "free") & pale[classes.mineral]] = INSIDE
    hosts = host_part(classes)
    on = np.flatnonzero(hosts > 0.0)
    source = np.concatenate([np.arange(len(form)), on])
    reasons = np.concatenate([reason, np.where(pale[classes.host[on]], INSIDE, JOINED)])
    return _Parts(
        source=source,
        phase=np.concatenate([classes.mineral, classes.host[on]]),
        fraction=np.concatenate([1.0 - hosts, hosts[on]]),
        reason=reasons,
        may_be_missed=np.isin(reasons, (JOINED, SIZE)),
    )


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
    trials, count = len(classes.mass), len(classes.size)
    pale = np.array([phase.role == "host" for phase in mineralogy.phases])
    window = treated_share(classes.sizes, treated_passing_um, treated_retained_um)[classes.size]
    parts = _parts(classes, pale)
    shape = (len(pale) * len(REASONS), count)
    row = parts.phase * len(REASONS)
    kept_into = sum_matrix(row + parts.reason, parts.source, parts.fraction, shape)
    # What the machine missed moves from the line it would stand on to its own; what even the
    # best size leaves moves from size to weak.
    lost = np.flatnonzero(parts.may_be_missed)
    moved = _move(
        row[lost], parts.reason[lost], MISSED, parts.source[lost], parts.fraction[lost], shape
    )
    loose = np.flatnonzero(parts.reason == SIZE)
    free = parts.source[loose]
    weakened = _move(
        row[loose], parts.reason[loose], WEAK, np.arange(len(loose)), parts.fraction[loose],
        (shape[0], len(loose)),
    )  # fmt: skip
    sized = np.zeros(count, dtype=bool)
    sized[free] = window[free] > 0.0
    ppm = np.empty((trials, len(REASONS)))
    for start in range(0, trials, BLOCK):
        rows = slice(start, start + BLOCK)
        kept = _rows(shares.non_magnetics, rows)
        missed = np.minimum(_rows(shares.missed, rows), kept)
        fed = classes.mass[rows] * window
        stay = kept - missed
        least = best_size_leaves(classes, stay, sized)[:, classes.mineral[free]]
        product = fed * kept
        mass = summed(kept_into, product) + summed(moved, fed * missed)
        mass += summed(weakened, fed[:, free] * np.minimum(least, stay[:, free]))
        iron = mineralogy.oxides_wt_pct[rows, :, FE2O3]
        held = np.einsum("tmr,tm->tr", mass.reshape(len(fed), len(pale), len(REASONS)), iron)
        total = product.sum(axis=1, keepdims=True)
        nothing = np.full_like(held, np.nan)
        ppm[rows] = np.divide(held * PPM_PER_WT_PCT, total, out=nothing, where=total > 0.0)
        if start == 0:
            one = _typical_lines(
                parts, free, product[0], (fed * missed)[0], least[0], stay[0], fed[0]
            )
            carriers = _carriers(
                classes, parts, one * iron[0, parts.phase], total[0], most_carriers
            )
    return IronThatStays(ppm, carriers)


def _move(
    row: Index, old: Index, new: int, source: Index, fraction: Array, shape: tuple[int, int]
) -> csr_array:
    """Matrix that moves mass from the lines of `old` to the line `new` of the same phase."""
    return sum_matrix(
        np.concatenate([row + new, row + old]),
        np.concatenate([source, source]),
        np.concatenate([fraction, -fraction]),
        shape,
    )


def _typical_lines(
    parts: _Parts,
    free: Index,
    product: Array,
    missed: Array,
    least: Array,
    stay: Array,
    fed: Array,
) -> Array:
    """Mass of every part by reason in the typical case. (8, N)"""
    lines = np.zeros((len(REASONS), len(parts.source)))
    every = np.arange(len(parts.source))
    lines[parts.reason, every] = product[parts.source]
    lost = parts.may_be_missed
    lines[MISSED, lost] = missed[parts.source[lost]]
    lines[parts.reason[lost], every[lost]] -= missed[parts.source[lost]]
    loose = parts.reason == SIZE
    weak = fed[free] * np.minimum(least, stay[free])
    lines[WEAK, loose] = weak
    lines[SIZE, loose] -= weak
    return lines * parts.fraction


def _rows(array: Array, rows: slice) -> Array:
    return array if len(array) == 1 else array[rows]


def _carriers(
    classes: ParticleClasses, parts: _Parts, held: Array, total: Array, most: int
) -> tuple[tuple[tuple[str, float], ...], ...]:
    """Largest carriers of each reason, in words, typical case; `held` is (8, N) in wt %."""
    names = classes.phase_names
    out = []
    for reason in range(len(REASONS)):
        sums: dict[str, float] = {}
        for k in np.flatnonzero(held[reason] > 0.0):
            words, c = names[parts.phase[k]], parts.source[k]
            if (
                reason in (INCLUSION, STAIN, JOINED)
                and classes.host[c] >= 0
                and k < len(classes.host)
            ):
                words = f"{words} {'on' if reason == STAIN else 'in'} {names[classes.host[c]]}"
            sums[words] = sums.get(words, 0.0) + float(held[reason, k] / total[0]) * PPM_PER_WT_PCT
        # Rounding may leave crumbs of the lines that were subtracted.
        large = {words: ppm for words, ppm in sums.items() if ppm > 1e-9}
        ranked = sorted(large.items(), key=lambda item: (-item[1], item[0]))
        out.append(tuple(ranked[:most]))
    return tuple(out)
