"""From tables of grain nodes to shares of classes: an interpolation and a few products a trial."""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import csr_array

from feedchar.separation.capture import RESPONSE, RESPONSE_SCALE, Reference, response_of
from feedchar.separation.records import Parameters, Shares
from feedchar.separation.stages import OutletTerms, Term, term_factors

Array = NDArray[np.float64]
Index = NDArray[np.intp]

SPREAD_STEP = 0.05
"""Grain-to-grain ln-sd is rounded to this."""
SPREAD_POINTS = 9
LOOKUPS_AT_ONCE = 4096
"""Trials times classes that are interpolated together."""


def class_tables(
    terms: tuple[Term, ...], weight: Array, ln_sd: Array, has_moment: NDArray[np.bool_]
) -> list[list[Array]]:
    """Every term averaged over what is permanent in the grains of a class.

    Parameters
    ----------
    terms : tuple of Term
        Terms on P nodes; a term that is a plain number has no nodes. [-]
    weight : array, shape (C, P)
        Spread of each class over the nodes. [-]
    ln_sd : array, shape (C,)
        Grain-to-grain ln-sd of the response. [-]
    has_moment : array of bool, shape (C,)
        Classes that need the moment axis. [-]

    Returns
    -------
    list of list of array
        Per term and class: (A, F, U), with F = 1 where there is no moment; (1,) for a number. [-]

    References
    ----------
    Gauss-Hermite quadrature over the log-normal spread, derived here.
    """
    rounded = np.round(ln_sd / SPREAD_STEP).astype(np.intp)
    groups = _groups(*(each.tobytes() for each in (weight, rounded, has_moment)))
    tables: list[list[Array]] = []
    for term in terms:
        if term.table.size == 1:
            tables.append([term.table] * len(weight))
            continue
        own = [term.table] * len(weight)
        for moment, matrix, rows, spread in groups:
            nodes = term.table if moment else term.table[:, :, :1]
            # A class sits on a handful of nodes, a response spreads over a few places.
            mean = spread @ nodes.reshape(len(nodes), -1)
            mean = (matrix @ mean.reshape(-1, matrix.shape[1]).T).T
            mean = np.ascontiguousarray(mean)
            for row, table in zip(rows, mean.reshape(-1, *nodes.shape[1:]), strict=True):
                own[row] = table
        tables.append(own)
    return tables


@lru_cache(maxsize=8)
def _groups(
    weight: bytes, rounded: bytes, has_moment: bytes
) -> list[tuple[bool, csr_array, Index, csr_array]]:
    """Moment or none, spread of response, rows and nodes of classes alike; a search shares them."""
    widths, moments = np.frombuffer(rounded, np.intp), np.frombuffer(has_moment, bool)
    spread = np.frombuffer(weight).reshape(len(widths), -1)
    matrices = {int(width): _spread_matrix(int(width)) for width in np.unique(widths)}
    return [
        (bool(moment), matrix, rows, csr_array(spread[rows]))
        for moment in np.unique(moments)
        for width, matrix in matrices.items()
        if (rows := np.flatnonzero((moments == moment) & (widths == width))).size
    ]


def shares_of_trials(
    terms: OutletTerms,
    spread: Array,
    ln_sd: Array,
    total: Array,
    moment: Array,
    parameters: Parameters,
    adhesions: tuple[float, ...],
    reference: Reference,
) -> Shares:
    """Shares of every class in every trial.

    Parameters
    ----------
    terms : OutletTerms
        Terms on P nodes. [-]
    spread : array, shape (C, P)
        Spread of each class over the nodes. [-]
    ln_sd : array, shape (C,)
        Grain-to-grain ln-sd of the response. [-]
    total : array, shape (T, C)
        Susceptibility with the moment counted in at the reference height. [m³ kg⁻¹]
    moment : array, shape (T, C)
        The moment's part of it. [m³ kg⁻¹]
    parameters : Parameters
        Machine parameters. [SI]
    adhesions : tuple of float
        Rungs of median adhesion, A of them. [N]
    reference : Reference
        Of the response axis. [SI]

    Returns
    -------
    Shares
        (T, C) each. [-]

    References
    ----------
    Derived here.
    """
    kept, met = 1.0 - np.asarray(parameters.entrainment), 1.0 - np.asarray(parameters.bypass)
    everything = (*terms.non_magnetics, *terms.middlings)
    split = len(terms.non_magnetics)
    tables = class_tables(everything, spread, ln_sd, np.any(moment > 0.0, axis=0))
    factors = term_factors(everything, kept, met)
    nothing_missed = term_factors(terms.non_magnetics, kept, np.ones(1))
    rung = np.interp(
        np.log(parameters.adhesion_N), np.log(adhesions), np.arange(len(adhesions), dtype=float)
    )
    trials = max(len(total), len(kept), len(met), len(rung))
    total, moment = _turned(total), _turned(moment)
    rung = np.broadcast_to(rung, (trials,))
    made = np.empty((4, len(total), trials))
    for chunk in _chunks(tables, trials):
        look = _Lookup(rung, *_places(total[chunk], moment[chunk], reference, trials))
        values = [look([table[c] for c in chunk]) for table in tables]
        non_magnetics, middlings, missed = np.zeros((3, len(chunk), trials))
        for value, factor in zip(values[:split], factors[:split], strict=True):
            non_magnetics += value * factor
        for value, factor in zip(values[split:], factors[split:], strict=True):
            middlings += value * factor
        for value, factor in zip(values[:split], nothing_missed, strict=True):
            missed -= value * factor
        missed += non_magnetics
        for outlet in (non_magnetics, middlings, missed):
            np.clip(outlet, 0.0, 1.0, out=outlet)
        made[0, chunk] = np.maximum(1.0 - non_magnetics - middlings, 0.0)
        made[1, chunk] = middlings
        made[2, chunk] = non_magnetics
        # Equal ones may differ in the last digit.
        made[3, chunk] = np.minimum(missed, non_magnetics)
    return Shares(*(_turned(outlet) for outlet in made))


def sum_of_terms(
    tables: list[list[Array]],
    factors: list[Array],
    total: Array,
    moment: Array,
    adhesion_N: Array,
    adhesions: tuple[float, ...],
    reference: Reference,
) -> Array:
    """Sum of tables times factors at the responses of every class in every trial.

    Parameters
    ----------
    tables : list of list of array
        Per term and class, as `class_tables` gives them. [-]
    factors : list of array, shape (T,) or (1,)
        What each term is multiplied with. [-]
    total : array, shape (T, C)
        Susceptibility with the moment counted in at the reference height. [m³ kg⁻¹]
    moment : array, shape (T, C)
        The moment's part of it. [m³ kg⁻¹]
    adhesion_N : array, shape (T,)
        Median adhesion of every trial. [N]
    adhesions : tuple of float
        Rungs of median adhesion. [N]
    reference : Reference
        Of the response axis. [SI]

    Returns
    -------
    array, shape (T, C)
        The sum. [-]

    References
    ----------
    Derived here.
    """
    rung = np.interp(np.log(adhesion_N), np.log(adhesions), np.arange(float(len(adhesions))))
    trials = max(len(total), rung.size, *(len(factor) for factor in factors))
    total, moment = _turned(total), _turned(moment)
    rung = np.broadcast_to(rung, (trials,))
    summed = np.zeros((len(total), trials))
    for chunk in _chunks(tables, trials):
        look = _Lookup(rung, *_places(total[chunk], moment[chunk], reference, trials))
        for table, factor in zip(tables, factors, strict=True):
            summed[chunk] += look([table[c] for c in chunk]) * factor
    return _turned(summed)


def _places(total: Array, moment: Array, reference: Reference, trials: int) -> tuple[Array, Array]:
    """Share of moment and place on the response axis of some classes, (C, T) each."""
    parts = moment / np.where(total > 0.0, total, np.inf)
    np.clip(parts, 0.0, 1.0, out=parts)
    places = response_of(total * reference.pull_per_susceptibility)
    shape = (len(total), trials)
    return np.broadcast_to(parts, shape), np.broadcast_to(places, shape)


def _turned(values: Array) -> Array:
    """Last two axes exchanged, in memory as well."""
    return np.ascontiguousarray(np.swapaxes(values, -1, -2))


def _chunks(tables: list[list[Array]], trials: int) -> list[Index]:
    """Classes whose tables of a term have one shape, as many at once as stay in cache."""
    most = max(1, LOOKUPS_AT_ONCE // trials)
    shapes: dict[tuple[int, ...], list[int]] = {}
    for c, own in enumerate(zip(*tables, strict=True)):
        # Numbers have one shape for every class.
        shapes.setdefault(max(own, key=np.size).shape, []).append(c)
    return [
        np.array(same[start : start + most], dtype=np.intp)
        for same in shapes.values()
        for start in range(0, len(same), most)
    ]


class _Lookup:
    """Linear interpolation at the same places in several tables (adhesions, moments, responses).

    One row a class, each in its own table; all tables of one call have one shape.
    """

    def __init__(self, rung: Array, part: Array, place: Array) -> None:
        self.rung, self.part, self.place = rung, part, place
        self.corners: dict[tuple[int, ...], list[tuple[Index, Array]]] = {}

    def __call__(self, tables: list[Array]) -> Array:
        shape = tables[0].shape
        if tables[0].size == 1:
            return np.concatenate([table.reshape(1) for table in tables])[:, None]
        if shape not in self.corners:
            self.corners[shape] = self._corners(*shape)
        flat = tables[0].reshape(-1) if len(tables) == 1 else np.concatenate(tables, axis=None)
        (at, weight), *others = self.corners[shape]
        total = flat.take(at)
        total *= weight
        for at, weight in others:
            part = flat.take(at)
            part *= weight
            total += part
        return total

    def _corners(self, adhesions: int, moments: int, responses: int) -> list[tuple[Index, Array]]:
        low = np.minimum(self.place.astype(np.intp), responses - 2)
        high = self.place - low
        own = np.arange(len(self.place), dtype=np.intp) * (adhesions * moments * responses)
        low += own[:, None]
        corners = [(low, 1.0 - high), (low + 1, high)]
        if moments > 1:
            corners = _split(corners, self.part * (moments - 1), moments, responses)
        if adhesions > 1:
            corners = _split(corners, self.rung, adhesions, moments * responses)
        return corners


def _split(
    corners: list[tuple[Index, Array]], position: Array, count: int, stride: int
) -> list[tuple[Index, Array]]:
    """Each corner between two neighbours along one more axis."""
    low = np.minimum(position.astype(np.intp), count - 2)
    high = position - low
    sides = ((stride * low, 1.0 - high), (stride * (low + 1), high))
    return [(at + step, weight * part) for at, weight in corners for step, part in sides]


@lru_cache(maxsize=64)
def _spread_matrix(steps: int) -> csr_array:
    """Mean over log-normal spread of the response, as a matrix on the response axis."""
    count = len(RESPONSE)
    matrix = np.zeros((count, count))
    points, weights = np.polynomial.hermite_e.hermegauss(SPREAD_POINTS if steps else 1)
    ratio = np.sinh(RESPONSE) * RESPONSE_SCALE
    rows = np.arange(count)
    for point, weight in zip(points, weights / weights.sum(), strict=True):
        place = response_of(ratio * np.exp(steps * SPREAD_STEP * point))
        low = np.minimum(place.astype(np.intp), count - 2)
        matrix[rows, low] += weight * (1.0 - (place - low))
        matrix[rows, low + 1] += weight * (place - low)
    return csr_array(matrix)
