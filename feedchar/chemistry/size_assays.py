"""Assays of size classes move each phase between the classes; both margins stay as they are."""

from __future__ import annotations

import numpy as np

from feedchar.chemistry.mineralogy import Array
from feedchar.chemistry.oxides import COLUMN
from feedchar.chemistry.sizes import ClassAssay
from feedchar.chemistry.table_margins import fitted_table
from feedchar.uncertainty.streams import stream

ROUNDS = 12
"""Gauss-Newton rounds at most. [-]"""
SETTLED = 0.05
"""A trial is done when its assays move by no more than this part of their errors. [-]"""
PART_OF_STEP = (0.1, 1.0)
"""Whole steps swing between two extremes where assays are tight: each trial takes the part of its
step at which its last two steps would have met, within these. [-]"""
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
    where assays are linear in the logarithms). Row 0 takes neither draw. Steps leave out what the
    sums over classes take back from a cell, so the assays are met and the table is near the most
    likely one, not at it.

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
    Randomised maximum likelihood with Gauss-Newton steps (derived), the steps relaxed by Aitken's
    rule as Irons and Tuck wrote it for vectors (from memory).
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
    moved = start.copy()
    active = np.arange(len(table))
    before = np.full(value.shape, np.inf)
    part_of_step, residual = np.ones(len(table)), np.zeros(start.shape)
    for turn in range(ROUNDS):
        mass = fitted_table(table[active] * np.exp(moved[active]), rows[active], columns[active])
        fitted = np.einsum("tma,tms,as->ta", content[active], mass, member) / share
        going = (np.abs(fitted - before[active]) > SETTLED * sd).any(axis=1)
        active, mass, fitted = active[going], mass[going], fitted[going]
        if not len(active):
            break
        before[active] = fitted
        taken = moved[active] - start[active]
        slope = _slope(mass, rows[active], content[active], member) / share[:, None]
        tells = ~(capped & (fitted <= value[active]))
        slope = slope * tells[..., None]
        gap = np.where(tells, value[active] - fitted, 0.0)
        wanted = gap + np.einsum("tak,tk->ta", slope, taken.reshape(len(mass), -1))
        cover = (slope * prior) @ slope.transpose(0, 2, 1) + np.diag(sd**2)
        weight = np.linalg.solve(cover, wanted[..., None])[..., 0]
        step = prior * np.einsum("tak,ta->tk", slope, weight)
        now = np.clip(step, -3.0, 3.0).reshape(taken.shape) - taken
        if turn:
            change = now - residual[active]
            along = np.einsum("tms,tms->t", residual[active], change)
            much = np.einsum("tms,tms->t", change, change)
            relaxed = -part_of_step[active] * along / np.maximum(much, _LEAST)
            part_of_step[active] = np.clip(relaxed, *PART_OF_STEP)
        residual[active] = now
        moved[active] += part_of_step[active, None, None] * now
    return fitted_table(table * np.exp(moved), rows, columns)


def _slope(mass: Array, rows: Array, content: Array, member: Array) -> Array:
    """How much of an oxide a group of classes gains as one cell grows; sums over phases stay."""
    part = mass / np.maximum(rows, _LEAST)[:, :, None]
    inside = np.einsum("tms,as->tma", part, member)
    # What one class gains the others of the same phase lose.
    slope = content[..., None] * mass[:, :, None, :] * (member - inside[..., None])
    return np.asarray(slope.transpose(0, 2, 1, 3).reshape(len(mass), member.shape[0], -1))
