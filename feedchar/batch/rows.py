"""From the cells of some rows to arrays: what was found of every phase, what was assayed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from feedchar.batch.cells import fe2o3_or_oxide, read_numbers
from feedchar.batch.columns import TableColumns
from feedchar.chemistry.assumed import assumed_minerals
from feedchar.chemistry.mineral_trials import diffraction_sd
from feedchar.chemistry.mineralogy import OXIDES
from feedchar.errors import InputError
from feedchar.sample.cells import Cell, is_blank
from feedchar.sample.decimals import DecimalMark
from feedchar.sample.names import heading_key
from feedchar.sample.naming import UNIDENTIFIED
from feedchar.sample.records import OxideValue, Place, Sample
from feedchar.sample.sections import ORIGINS
from feedchar.sample.shown import shown
from feedchar.sample.sums import CLOSURE_EDGE_PCT, close

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]

ABSENT, FOUND, NOT_FOUND, INTERVAL, ASSUMED = range(5)
"""What a row says of a phase: nobody looked, an amount, 0, below a limit, taken for granted."""
DETECTION_LIMIT_PCT = 0.5
"""Of diffraction or an unknown method. [%]"""
LEAST_SIZE_UM, MOST_SIZE_UM = 45.0, 2000.0
"""Sizes between which a median must lie. [um]"""
D90_SCORE = 1.2815515655446004
"""Standard normal score of nine in ten. [-]"""
WIDEST_LN_SD = 2.0


@dataclass(frozen=True)
class Block:
    """What N rows say of P phases (canonical order, `unseen` left out) and K oxides."""

    kind: NDArray[np.int8]
    """(P, N) one of ABSENT, FOUND, NOT_FOUND, INTERVAL, ASSUMED."""
    mean: Array
    """(P, N) amount of what was found, summing to 100 over it. [wt %]"""
    shape: Array
    """(P, N) gamma shape of it. [-]"""
    limit: Array
    """(P, N) upper end of what was not found or is below a limit. [wt %]"""
    assay: Array
    """(K, N) columns OXIDES without `other`; NaN where not measured. [wt %]"""
    capped: Flags
    """(K, N) True where the assay is an upper end."""
    origin: tuple[str | None, ...]
    d50_um: Array
    """(N,) NaN where not given."""
    d90_um: Array
    notes: tuple[list[str], ...]
    bad: Flags
    """(N,) True where a row cannot be used; its note says why."""
    misfit_sd: Array
    """(N,) worst residual of the fit, NaN without an assay, filled in by it. [sd]"""


class _Reading:
    """Rows as they are read; problems collect by row."""

    def __init__(self, rows: Sequence[Sequence[Cell]], columns: TableColumns, mark: DecimalMark):
        self.rows, self.columns, self.mark = rows, columns, mark
        self.notes: tuple[list[str], ...] = tuple([] for _ in rows)
        self.bad = np.zeros(len(rows), dtype=bool)
        width = len(columns.headings)
        for place, row in enumerate(rows):
            if len(row) != width:
                self.refuse(place, f"has {len(row)} cells where the heading has {width}")

    def refuse(self, place: int, text: str) -> None:
        self.notes[place].append(text)
        self.bad[place] = True

    def cells(self, place: int) -> list[Cell]:
        return [
            None if bad else row[place] for row, bad in zip(self.rows, self.ragged, strict=True)
        ]

    @property
    def ragged(self) -> list[bool]:
        width = len(self.columns.headings)
        return [len(row) != width for row in self.rows]

    def numbers(self, place: int, most: float) -> tuple[Array, Flags]:
        heading = self.columns.headings[place]
        values, below, problems = read_numbers(self.cells(place), self.mark)
        for row, text in problems.items():
            self.refuse(row, f"{heading}: {text}")
        for at in np.flatnonzero((values < 0.0) | (values > most)):
            self.refuse(int(at), f"{heading}: {values[at]:g} is not from 0 to {most:g}")
        return values, below

    def origins(self) -> tuple[str | None, ...]:
        place = self.columns.plain.get("origin")
        if place is None:
            return (None,) * len(self.rows)
        found: list[str | None] = []
        for row, cell in enumerate(self.cells(place)):
            word = None if is_blank(cell) else ORIGINS.get(heading_key(str(cell)))
            if word is None and not is_blank(cell):
                known = ", ".join(sorted(set(ORIGINS.values())))
                self.refuse(row, f"origin: {shown(cell)} is none of {known}")
            found.append(word)
        return tuple(found)


def read_block(
    rows: Sequence[Sequence[Cell]],
    columns: TableColumns,
    phases: tuple[str, ...],
    density_kg_m3: Array,
    mark: DecimalMark,
) -> Block:
    """Arrays of some rows; a row that cannot be used is marked and says why.

    Parameters
    ----------
    rows : sequence of sequence of cells
        N rows. [-]
    columns : TableColumns
        What each column holds. [-]
    phases : tuple of str
        P phases in canonical order, `unseen` left out. [-]
    density_kg_m3 : array, shape (P,)
        Their densities, for volume percentages. [kg m⁻³]
    mark : DecimalMark
        Decimal mark of the table. [-]

    Returns
    -------
    Block
        What the rows say. [wt %]
    """
    reading = _Reading(rows, columns, mark)
    count = len(rows)
    kind = np.full((len(phases), count), ABSENT, dtype=np.int8)
    value = np.zeros((len(phases), count))
    to_mass = np.ones((len(phases), count))
    volume_rows, mass_rows = np.zeros(count, dtype=bool), np.zeros(count, dtype=bool)
    for column in columns.phases:
        at = phases.index(column.phase)
        values, below = reading.numbers(column.place, 100.0)
        given = np.isfinite(values)
        by_volume = column.basis == "volume_pct"
        (volume_rows if by_volume else mass_rows)[given] = True
        kind[at, given] = np.where(below, INTERVAL, np.where(values > 0.0, FOUND, NOT_FOUND))[given]
        value[at, given] = values[given]
        if by_volume:
            to_mass[at, given] = density_kg_m3[at] / 1000.0
    for row in np.flatnonzero(volume_rows & mass_rows):
        reading.refuse(int(row), "mass and volume percentages in one row: one basis a row")
    assay, capped = _assays(reading)
    origin = reading.origins()
    d50, d90 = _sizes(reading)
    _close(reading, kind, value, to_mass, phases, density_kg_m3, volume_rows)
    found = kind == FOUND
    shape = np.ones_like(value)
    sd = np.array([diffraction_sd(1.0)]) * np.where(found, value, 1.0) ** 0.35
    shape[found] = np.clip((value[found] / sd[found]) ** 2, 1.0, 1e8)
    mean = np.where(found, value * to_mass, 0.0)
    limit = np.where(kind == INTERVAL, value, DETECTION_LIMIT_PCT) * to_mass
    _assume(reading, kind, mean, phases, assay, capped, origin)
    total = mean.sum(axis=0)
    mean = np.divide(100.0 * mean, total, out=np.zeros_like(mean), where=total > 0.0)
    return Block(
        kind, mean, shape, limit, assay, capped, origin, d50, d90, reading.notes, reading.bad,
        np.full(count, np.nan),
    )  # fmt: skip


def _assays(reading: _Reading) -> tuple[Array, Flags]:
    names = OXIDES[:-1]
    assay = np.full((len(names), len(reading.rows)), np.nan)
    capped = np.zeros(assay.shape, dtype=bool)
    for column in reading.columns.oxides:
        oxide, factor = fe2o3_or_oxide(column)
        values, below = reading.numbers(column.place, 100.0 * column.heading.per_wt_pct)
        if oxide not in names:
            continue
        assay[names.index(oxide)] = values * factor
        capped[names.index(oxide)] = below
    for row in np.flatnonzero(np.nansum(assay, axis=0) > 100.0 + CLOSURE_EDGE_PCT):
        reading.refuse(int(row), f"the assay sums to {np.nansum(assay[:, row]):.4g} %")
    return assay, capped


def _sizes(reading: _Reading) -> tuple[Array, Array]:
    none = np.full(len(reading.rows), np.nan)
    plain = reading.columns.plain
    if "d50_um" not in plain:
        return none, none
    d50 = reading.numbers(plain["d50_um"], 1e6)[0]
    d90 = reading.numbers(plain["d90_um"], 1e6)[0] if "d90_um" in plain else none
    for row in range(len(none)):
        if np.isfinite(d50[row]) and not LEAST_SIZE_UM <= d50[row] <= MOST_SIZE_UM:
            text = f"d50_um: {d50[row]:g} is not from {LEAST_SIZE_UM:g} to {MOST_SIZE_UM:g}"
            reading.refuse(row, text)
        elif np.isfinite(d90[row]) and not d90[row] > d50[row]:
            reading.refuse(row, f"d90_um: {d90[row]:g} is not above d50_um")
        elif np.isfinite(d90[row]) and np.log(d90[row] / d50[row]) > WIDEST_LN_SD * D90_SCORE:
            reading.refuse(row, f"d90_um: {d90[row]:g} is too far above d50_um")
    return d50, d90


def _close(
    reading: _Reading, kind: NDArray[np.int8], value: Array, to_mass: Array,
    phases: tuple[str, ...], density_kg_m3: Array, volume_rows: Flags,
) -> None:  # fmt: skip
    """What is missing from 100 becomes `unidentified`, as for a single bag."""
    found, limits = kind == FOUND, kind == INTERVAL
    total = np.where(found, value, 0.0).sum(axis=0)
    own = phases.index(UNIDENTIFIED)
    for row in np.flatnonzero((np.abs(total - 100.0) > 1e-9) & (total > 0.0) & ~reading.bad):
        what = "volume_pct" if volume_rows[row] else "mass_pct"
        try:
            closure = close(
                value[found[:, row], row].tolist(), value[limits[:, row], row].tolist(), what,
                Place(),
            )  # fmt: skip
        except InputError as error:
            reading.refuse(int(row), str(error))
            continue
        if closure.note is not None:
            reading.notes[row].append(closure.note.text.removeprefix(": "))
        if closure.unidentified_pct > 0.0:
            value[own, row] = closure.unidentified_pct + (value[own, row] if found[own, row] else 0)
            kind[own, row] = FOUND
            if volume_rows[row]:
                to_mass[own, row] = density_kg_m3[own] / 1000.0


def _assume(
    reading: _Reading, kind: NDArray[np.int8], mean: Array, phases: tuple[str, ...], assay: Array,
    capped: Flags, origin: tuple[str | None, ...],
) -> None:  # fmt: skip
    """Rows without any amount: likely minerals where there is an assay, else refused."""
    for row in np.flatnonzero(~(kind == FOUND).any(axis=0) & ~reading.bad):
        if not np.isfinite(assay[:, row]).any():
            reading.refuse(int(row), "no mineral has an amount above zero, and there is no assay")
            continue
        measured = {
            name: OxideValue(float(assay[k, row]), None, bool(capped[k, row]))
            for k, name in enumerate(OXIDES[:-1])
            if np.isfinite(assay[k, row])
        }
        guess = assumed_minerals(Sample("", origin=origin[row], assay=measured))
        for name, amount in guess.items():
            at = phases.index(name)
            if kind[at, row] == ABSENT:
                kind[at, row], mean[at, row] = ASSUMED, amount.mean
        reading.notes[row].append("no minerals: a list of likely ones was fitted to the assay")
