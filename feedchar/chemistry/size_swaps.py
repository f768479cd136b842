"""Assays of size classes move mass between four cells at a time: both margins stay as they are."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from feedchar.chemistry.mineralogy import Array
from feedchar.chemistry.oxides import COLUMN
from feedchar.chemistry.sizes import ClassAssay
from feedchar.chemistry.system import Flags
from feedchar.chemistry.truncated import truncated_normal
from feedchar.uncertainty.streams import stream

SWEEPS = 36
"""Sweeps over all phases and classes; in the first third, moves that gain are always taken. [-]"""
_LEAST = 1e-15


@dataclass
class _State:
    mass: Array
    """(M, S, T)"""
    centre: Array
    """(M, S, T) ln of the mass before the assays of the classes."""
    ln_sd: Array
    """(M,)"""
    residual: Array
    """(A, T) measured less fitted, in sd."""
    capped: Flags
    """(A,)"""


def conditioned_table(
    table: Array, assays: tuple[ClassAssay, ...], oxides_wt_pct: Array, ln_sd: Array, seed: int
) -> Array:
    """Table of mass by phase and class that honours the assays of the classes.

    Parameters
    ----------
    table : array, shape (T, M, S)
        Mass of each phase in each class before these assays; sums to 1. [-]
    assays : tuple of ClassAssay
        Measured oxides of classes. [wt %]
    oxides_wt_pct : array, shape (T, M, K)
        Composition of the phases. [wt %]
    ln_sd : array, shape (M,)
        How far a cell of each phase may be from the table, in ln. [-]
    seed : int
        The run's seed. [-]

    Returns
    -------
    array, shape (T, M, S)
        Same sums over phases and over classes. [-]

    References
    ----------
    Metropolis within Gibbs on a table with fixed margins (swaps of Diaconis and Sturmfels 1998,
    from memory).
    """
    content = np.stack([oxides_wt_pct[:, :, COLUMN[a.oxide]].T for a in assays], axis=1)
    member = np.array([a.members for a in assays], dtype=float)
    weight = np.array([1.0 / (a.share * a.sd) for a in assays])[:, None]
    value = np.array([a.value * a.share for a in assays])[:, None]
    mass = np.ascontiguousarray(np.transpose(table, (1, 2, 0)))
    fitted = np.einsum("mat,mst,as->at", content, mass, member)
    state = _State(
        mass, np.log(np.maximum(mass, _LEAST)), ln_sd, (value - fitted) * weight,
        np.array([a.below_detection for a in assays], dtype=bool),
    )  # fmt: skip
    phases, classes, trials = mass.shape
    random = stream(seed, "sizes/swaps")
    for sweep in range(SWEEPS):
        for j in range(phases):
            for s in range(classes):
                i = int(random.integers(phases - 1))
                i += i >= j
                r = int(random.integers(classes - 1))
                r += r >= s
                uniform, level = random.random((2, trials))
                signs = (member[:, s] - member[:, r])[:, None]
                direction = (content[j] - content[i]) * signs * weight
                _swap(state, (j, i, s, r), direction, uniform, level, sweep < SWEEPS // 3)
    return np.ascontiguousarray(np.transpose(state.mass, (2, 0, 1)))


def _swap(
    state: _State, cells: tuple[int, int, int, int], direction: Array, uniform: Array,
    level: Array, climbing: bool,
) -> None:  # fmt: skip
    """Mass goes into (j, s) and (i, r) and out of (j, r) and (i, s)."""
    j, i, s, r = cells
    mass, sd = state.mass, state.ln_sd
    low = -np.minimum(mass[j, s], mass[i, r]) * (1.0 - 1e-9)
    high = np.minimum(mass[j, r], mass[i, s]) * (1.0 - 1e-9)
    room = high - low
    d, e = direction[~state.capped], state.residual[~state.capped]
    precision = np.einsum("at,at->t", d, d) + 1e-300
    slope = np.einsum("at,at->t", d, e)
    sd_step = 1.0 / np.sqrt(precision)
    flat = sd_step > 10.0 * room  # the assays hardly tell: any step is as good, weighed below
    sd_step = np.where(flat, 1.0, sd_step)
    step = truncated_normal(np.where(flat, 0.0, slope / precision), sd_step, low, high, uniform)
    step = np.where(flat, low + uniform * room, step)
    by_rows = step * slope - 0.5 * precision * step * step
    gain = by_rows if climbing else np.where(flat, by_rows, 0.0)
    for phase, size, sign in ((j, s, 1.0), (i, r, 1.0), (j, r, -1.0), (i, s, -1.0)):
        old, new = mass[phase, size], mass[phase, size] + sign * step
        ln_old, ln_new = np.log(np.maximum(old, 1e-300)), np.log(np.maximum(new, 1e-300))
        a, b = ln_old - state.centre[phase, size], ln_new - state.centre[phase, size]
        gain = gain + 0.5 * (a * a - b * b) / sd[phase] ** 2 + ln_old - ln_new
    if state.capped.any():
        now = state.residual[state.capped]
        after = now - direction[state.capped] * step
        gain += np.sum(np.minimum(now, 0) ** 2 - np.minimum(after, 0) ** 2, axis=0) / 2.0
    taken = (np.log(level) < gain) & (high > low)
    step = np.where(taken, step, 0.0)
    mass[j, s] += step
    mass[i, r] += step
    mass[j, r] -= step
    mass[i, s] -= step
    state.residual -= direction * step
