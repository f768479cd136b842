"""Assays of size classes move each phase between the classes; both margins stay as they are."""

from __future__ import annotations

import numpy as np

from feedchar.chemistry.mineralogy import Array
from feedchar.chemistry.oxides import COLUMN
from feedchar.chemistry.sizes import ClassAssay
from feedchar.chemistry.table_margins import fitted_table
from feedchar.uncertainty.streams import stream

ROUNDS = 6
"""Gauss-Newton rounds; the assays are met to well below their sd after four. [-]"""
BLOCK = 256
"""Trials at once, so that a block stays in cache. [-]"""
_LEAST = 1e-300


def conditioned_table(
    table: Array,
    assays: tuple[ClassAssay, ...],
    oxides_wt_pct: Array,
    ln_sd: Array,
    seed: int,
) -> Array:
    """Table of mass by phase and class that honours the assays of the classes.

    Each trial starts from its own draw of how the phases are spread and its own draw of the
    assays, and takes the most likely table between the two (randomised maximum likelihood, exact
    where assays are linear in the logarithms). Row 0 takes neither draw: it is the most likely
    table itself.

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
    Randomised maximum likelihood with Gauss-Newton steps (derived).
    """
    trials, phases, classes = table.shape
    spread = stream(seed, "sizes/spread").standard_normal((trials - 1, phases, classes))
    errors = stream(seed, "sizes/assays").standard_normal((trials - 1, len(assays)))
    start = np.concatenate([np.zeros((1, phases, classes)), spread]) * ln_sd[:, None]
    noise = np.concatenate([np.zeros((1, len(assays))), errors])
    content = oxides_wt_pct[:, :, [COLUMN[a.oxide] for a in assays]]
    made = np.empty_like(table)
    for first in range(0, trials, BLOCK):
        rows = slice(first, first + BLOCK)
        made[rows] = _most_likely(
            table[rows], assays, content[rows], start[rows], noise[rows], ln_sd
        )
    return made


def _most_likely(
    table: Array,
    assays: tuple[ClassAssay, ...],
    content: Array,
    start: Array,
    noise: Array,
    ln_sd: Array,
) -> Array:
    member = np.array([a.members for a in assays], dtype=float)
    share = np.array([a.share for a in assays])
    sd = np.array([a.sd for a in assays])
    capped = np.array([a.below_detection for a in assays])
    # An upper bound is not a figure that could have come out higher: it takes no draw.
    value = np.array([a.value for a in assays]) + np.where(capped, 0.0, noise * sd)
    prior = np.repeat(ln_sd**2, table.shape[2])
    rows, columns = table.sum(axis=2), table.sum(axis=1)
    moved = start
    for _ in range(ROUNDS):
        mass = fitted_table(table * np.exp(moved), rows, columns)
        fitted = np.einsum("tma,tms,as->ta", content, mass, member) / share
        part = mass / np.maximum(rows, _LEAST)[:, :, None]
        inside = np.einsum("tms,as->tma", part, member)
        # What one class gains the others of the same phase lose.
        slope = content[..., None] * mass[:, :, None, :] * (member - inside[..., None])
        slope = slope.transpose(0, 2, 1, 3).reshape(len(mass), len(assays), -1) / share[:, None]
        tells = ~(capped & (fitted <= value))
        slope = slope * tells[..., None]
        gap = np.where(tells, value - fitted, 0.0)
        wanted = gap + np.einsum("tak,tk->ta", slope, (moved - start).reshape(len(mass), -1))
        cover = (slope * prior) @ slope.transpose(0, 2, 1) + np.diag(sd**2)
        weight = np.linalg.solve(cover, wanted[..., None])[..., 0]
        step = prior * np.einsum("tak,ta->tk", slope, weight)
        moved = start + np.clip(step, -3.0, 3.0).reshape(start.shape)
    return fitted_table(table * np.exp(moved), rows, columns)
