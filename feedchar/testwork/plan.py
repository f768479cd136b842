"""Which tests to run: those that remove most doubt for the sand and the hours they take.

Each piece of work is simulated in every trial with its own error. The share of the variance that
several results remove together is found by regression on the results and their squares: binning
does not reach beyond two.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]

KG_WORTH_H = 0.1
"""Hours of work that a kilogram of sand is worth, its drying and splitting included (guess).
[h kg⁻¹]"""
LEAST_GAIN = 0.01
"""Work that would remove less of the variance is not worth doing. [-]"""
ENOUGH = 0.95
"""Share of the variance after whose removal nothing more is added. [-]"""


@dataclass(frozen=True)
class Work:
    """One piece of work with what it would show in each trial."""

    name: str
    kg: float
    hours: float
    results: Array
    """(N, D) figures with their errors, the typical case left out. [any]"""
    needs: tuple[str, ...] = ()
    """Names of work that must be done before."""


@dataclass(frozen=True)
class Weighed:
    """One piece of work in the light of all the others."""

    work: Work
    alone: float
    """Share of the variance that it would remove by itself. [-]"""
    gain: float
    """Share that it removes beyond what was chosen before it; for work not chosen, beyond all
    that was chosen. [-]"""
    together: float
    """Share removed by all that was chosen up to it. [-]"""
    chosen: bool
    why: str
    """practice | gain | little gain | enough | no sand | needs other work"""


def regression_share(results: ArrayLike, targets: ArrayLike, weights: ArrayLike = 1.0) -> float:
    """Share of the variance of targets that results explain together, chance taken off.

    Parameters
    ----------
    results : array_like, shape (N, D)
        Draws of what is measured. [any]
    targets : array_like, shape (N,) or (N, K)
        Draws of what is wanted. [any]
    weights : array_like, shape (K,)
        Weight of each target in the mean. [-]

    Returns
    -------
    float
        Weighted mean over the targets of 1 - (residual / (N - p)) / (total / (N - 1)), each
        between 0 and 1; 0 when too few draws are there to tell. [-]

    References
    ----------
    common practice, no source (adjusted coefficient of determination)

    Examples
    --------
    >>> x = np.linspace(-1.0, 1.0, 50)
    >>> round(regression_share(x[:, None], x + x**2), 6)
    1.0
    """
    wanted = np.asarray(targets, dtype=float)
    if len(wanted) < 2:
        return 0.0
    wanted = wanted.reshape(len(wanted), -1)
    found = np.asarray(results, dtype=float).reshape(len(wanted), -1)
    spread = found.std(axis=0)
    kept = spread > 1e-12 * np.maximum(np.abs(found).max(axis=0, initial=0.0), 1e-300)
    scaled = (found[:, kept] - found[:, kept].mean(axis=0)) / spread[kept]
    number = len(wanted)
    design = np.concatenate([np.ones((number, 1)), scaled, scaled**2], axis=1)
    free = number - design.shape[1]
    total = wanted - wanted.mean(axis=0)
    variance = (total**2).sum(axis=0)
    if free < 1 or not kept.any() or not variance.any():
        return 0.0
    fitted = np.linalg.lstsq(design, total, rcond=None)[0]
    residual = ((total - design @ fitted) ** 2).sum(axis=0) / free * (number - 1)
    share = 1.0 - np.divide(residual, variance, out=np.ones_like(variance), where=variance > 0.0)
    each = np.broadcast_to(np.asarray(weights, dtype=float), share.shape)
    return float((np.clip(share, 0.0, 1.0) * each).sum() / each.sum())


def cost_h(kg: float, hours: float) -> float:
    """Hours of work with the sand counted in.

    Parameters
    ----------
    kg : float
        Sand used. [kg]
    hours : float
        Work. [h]

    Returns
    -------
    float
        Cost. [h]

    References
    ----------
    guess, see `KG_WORTH_H`
    """
    return hours + KG_WORTH_H * kg


def choose_work(
    works: Sequence[Work],
    targets: ArrayLike,
    weights: ArrayLike = 1.0,
    practice: Sequence[str] = (),
    kg_available: float = float("inf"),
) -> tuple[Weighed, ...]:
    """Work in the order in which it is chosen, then what is left out and why.

    First what practice asks for, whatever it costs. Then, one at a time, the work with the
    greatest gain for its cost, with the work that it needs.

    Parameters
    ----------
    works : sequence of Work
        What could be done. [-]
    targets : array_like, shape (N,) or (N, K)
        What is to be known, draws as in the works. [any]
    weights : array_like, shape (K,)
        Weight of each target. [-]
    practice : sequence of str
        Names of work that is done in any case. [-]
    kg_available : float
        Sand that may be used. [kg]

    Returns
    -------
    tuple of Weighed
        Every work once; without trials all gains are 0 and only practice is chosen. [-]

    References
    ----------
    computed_here (greedy choice)
    """
    named = {work.name: work for work in works}
    alone = {work.name: regression_share(work.results, targets, weights) for work in works}
    chosen: list[Weighed] = []
    together = 0.0

    def share_with(extra: Sequence[str]) -> float:
        names = [one.work.name for one in chosen] + list(extra)
        parts = [named[name].results for name in names]
        return regression_share(np.concatenate(parts, axis=1), targets, weights)

    def take(name: str, why: str) -> None:
        nonlocal together
        share = max(share_with([name]), together)
        chosen.append(Weighed(named[name], alone[name], share - together, share, True, why))
        together = share

    for name in practice:
        take(name, "practice")
    while together < ENOUGH:
        done = {one.work.name for one in chosen}
        left = kg_available - sum(one.work.kg for one in chosen)
        best: tuple[float, str, tuple[str, ...]] | None = None
        for name, work in named.items():
            extra = tuple(n for n in (*work.needs, name) if n not in done)
            if name in done or sum(named[n].kg for n in extra) > left + 1e-9:
                continue
            gain = share_with(extra) - together
            cost = sum(cost_h(named[n].kg, named[n].hours) for n in extra)
            if gain >= LEAST_GAIN and (best is None or gain / cost > best[0]):
                best = (gain / cost, name, extra)
        if best is None:
            break
        for name in best[2]:
            take(name, "gain")
    return (*chosen, *_left_out(works, chosen, kg_available, alone, share_with))


def _left_out(
    works: Sequence[Work],
    chosen: Sequence[Weighed],
    kg_available: float,
    alone: dict[str, float],
    share_with: Callable[[Sequence[str]], float],
) -> list[Weighed]:
    done = {one.work.name for one in chosen}
    left = kg_available - sum(one.work.kg for one in chosen)
    together = chosen[-1].together if chosen else 0.0
    rest = []
    for work in works:
        if work.name in done:
            continue
        gain = max(share_with([work.name]) - together, 0.0)
        if not set(work.needs) <= done:
            why = "needs other work"
        elif work.kg > left + 1e-9:
            why = "no sand"
        else:
            why = "little gain" if gain < LEAST_GAIN else "enough"
        rest.append(Weighed(work, alone[work.name], gain, together, False, why))
    return sorted(rest, key=lambda one: (-one.gain, one.work.name))
