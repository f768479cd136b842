"""From the nodes of a circuit to shares of classes, trial by trial.

Shares of the nodes depend smoothly on bypass and sand carried. They are solved for a few values of
both, joined by a polynomial, and only then averaged over what is permanent in the grains, so that
a second visit of the same grain is never taken for the visit of a new one.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from feedchar.plant.circuit import DUST, PRODUCT
from feedchar.plant.flow import Link, solve_flows
from feedchar.plant.nodes import Load, Model, splits_at
from feedchar.separation.capture import MOMENT_SHARES, RESPONSE
from feedchar.separation.records import Parameters, Shares
from feedchar.separation.stages import OutletTerms, Term
from feedchar.separation.trial_shares import shares_of_trials

Array = NDArray[np.float64]

MOST_STRAIGHT = 6
"""Values of bypass and of sand carried for which a circuit without recycles is solved: the
polynomial is exact for up to one machine less. [-]"""
MET_POINTS, KEPT_POINTS = 4, 3
"""The same of a circuit with recycles, bypass and sand carried, over the range of the trials."""
BYPASS_POWER, CARRIED_POWER = 0.5, 1.0
"""Powers of bypass and sand carried in which recycled streams bend little. [-]"""
AT_ONCE = 2**15
"""Numbers of one table that are solved together, so that they stay in cache. [-]"""
NEGLIGIBLE = 1e-11
"""Terms of the polynomial that move no share by more are left out. [-]"""


def outlet_shares(
    model: Model, parameters: Parameters, loads: Mapping[str, Load] | None = None
) -> Shares:
    """Share of every class to product, reject and dust.

    Parameters
    ----------
    model : Model
        The circuit on nodes. [-]
    parameters : Parameters
        Over T trials. [SI]
    loads : mapping of str to Load or None
        What full belts do, by step. [-]

    Returns
    -------
    Shares
        (T, C) each: the product as non_magnetics, the dust as middlings, the reject as
        magnetics. [-]

    References
    ----------
    Derived here.
    """
    bypass, carried = np.asarray(parameters.bypass), np.asarray(parameters.entrainment)
    scales: tuple[_Straight | _Scale, ...] = (_Straight(), _Straight())
    count = min(MOST_STRAIGHT, 1 + len(model.circuit.machines))
    points = (np.linspace(0.0, 1.0, count), np.linspace(0.8, 1.0, count))
    if len(bypass) == 1:
        points = (1.0 - bypass, 1.0 - carried)
    elif model.circuit.recycles:
        scales = (_Scale.of(bypass, BYPASS_POWER), _Scale.of(carried, CARRIED_POWER))
        points = (_points(MET_POINTS), _points(KEPT_POINTS))
    pieces = [_ends_at(part, points, scales, loads or {}) for part in _parts_in_cache(model)]
    product, dust = (
        [np.concatenate(tables) for tables in zip(*(piece[k] for piece in pieces), strict=True)]
        for k in (0, 1)
    )
    terms = OutletTerms(_fitted(product, *points), _fitted(dust, *points))
    # The terms are powers of one minus these two.
    at = replace(
        parameters,
        bypass=1.0 - scales[0].place(bypass),
        entrainment=1.0 - scales[1].place(carried),
    )
    return _averaged(model, terms, at)


def link_shares(
    model: Model, parameters: Parameters, loads: Mapping[str, Load] | None = None
) -> tuple[dict[Link, Array], float]:
    """Stream of every class out of every outlet of every step, typical case.

    Parameters
    ----------
    model : Model
        The circuit on nodes. [-]
    parameters : Parameters
        One row: the typical case. [SI]
    loads : mapping of str to Load or None
        What full belts do, by step. [-]

    Returns
    -------
    links : dict of (step, outlet) to array, shape (C,)
        Over the class's mass in the feed; recycled streams may exceed 1. [-]
    closure : float
        Largest imbalance on the nodes. [-]

    References
    ----------
    Derived here.
    """
    bypass, entrainment = float(parameters.bypass[0]), float(parameters.entrainment[0])
    flows = solve_flows(model.circuit, splits_at(model, bypass, entrainment, loads or {}))
    found: dict[Link, Array] = {}
    links = list(flows.links.items())
    for place in range(0, len(links), 2):
        pair = links[place : place + 2]
        # Shares are cut to 0 to 1, so a recycled stream is scaled before and after.
        most = [float(max(table.max(), 1.0)) for _, table in pair]
        made: list[tuple[Term, ...]] = [
            (Term(table / top, 0, 0),) for (_, table), top in zip(pair, most, strict=True)
        ]
        made += [()] * (2 - len(made))
        shares = _averaged(model, OutletTerms(*made), parameters)
        for (link, _), top, share in zip(
            pair, most, (shares.non_magnetics, shares.middlings), strict=False
        ):
            found[link] = top * share[0]
    return found, flows.closure


def _parts_in_cache(model: Model) -> Iterator[Model]:
    """The same model for a few nodes at a time."""
    nodes = model.spread.weight.shape[1]
    largest = max(taken.size for taken, _ in model.captures.values())
    few = max(1, AT_ONCE * nodes // largest)
    for start in range(0, nodes, few):
        rows = slice(start, start + few)
        captures = {
            name: (taken[rows], None if second is None else second[rows])
            for name, (taken, second) in model.captures.items()
        }
        yield replace(model, captures=captures)


def _ends_at(
    model: Model,
    points: tuple[Array, Array],
    scales: tuple[_Straight | _Scale, ...],
    loads: Mapping[str, Load],
) -> tuple[list[Array], list[Array]]:
    """Product and dust of the nodes at every pair of points, sand carried outermost."""
    product: list[Array] = []
    dust: list[Array] = []
    nodes = max(len(taken) for taken, _ in model.captures.values())
    for v in points[1]:
        for u in points[0]:
            share = scales[0].value(u), scales[1].value(v)
            ends = solve_flows(model.circuit, splits_at(model, *share, loads)).ends
            for found, name in ((product, PRODUCT), (dust, DUST)):
                table = ends[name]
                found.append(np.zeros((nodes, 1, 1, 1)) if table.size == 1 else table)
    return product, dust


def _averaged(model: Model, terms: OutletTerms, parameters: Parameters) -> Shares:
    full = (*terms.non_magnetics, *terms.middlings)
    # A circuit of screens alone has tables that no response changes.
    grid = (
        len(model.adhesions_N),
        len(MOMENT_SHARES) if np.any(model.moment > 0.0) else 1,
        len(RESPONSE),
    )
    tables = [term.table.shape[1:] for term in full if term.table.ndim > 1]
    shape = (model.spread.weight.shape[1], *np.broadcast_shapes(grid, *tables))
    widened = OutletTerms(*(
        tuple(replace(term, table=_widened(term.table, shape)) for term in group)
        for group in (terms.non_magnetics, terms.middlings)
    ))  # fmt: skip
    return shares_of_trials(
        widened,
        model.spread.weight,
        model.grain_ln_sd,
        model.total,
        model.moment,
        parameters,
        model.adhesions_N,
        model.reference,
    )


def _widened(table: Array, shape: tuple[int, ...]) -> Array:
    """Tables of all terms on one grid; a plain number stays one."""
    return (
        table.reshape(1) if table.size == 1 else np.ascontiguousarray(np.broadcast_to(table, shape))
    )


class _Straight:
    """One minus the share itself: streams without recycles are polynomials in it."""

    def place(self, share: Array) -> Array:
        return 1.0 - share

    def value(self, place: float) -> float:
        return 1.0 - place


@dataclass(frozen=True)
class _Scale:
    """A power of a share, from -1 to 1 over the trials."""

    power: float
    middle: float
    half: float

    @classmethod
    def of(cls, shares: Array, power: float) -> _Scale:
        ends = np.array([shares.min(), shares.max()]) ** power
        return cls(power, float(ends.mean()), max(float(np.ptp(ends)) / 2.0, 1e-9))

    def place(self, share: Array) -> Array:
        return np.asarray((share**self.power - self.middle) / self.half)

    def value(self, place: float) -> float:
        return float(max(self.middle + self.half * place, 0.0) ** (1.0 / self.power))


def _points(count: int) -> Array:
    """Chebyshev points from -1 to 1."""
    return np.asarray(-np.cos(np.pi * (np.arange(count) + 0.5) / count))


def _fitted(tables: list[Array], met: Array, kept: Array) -> tuple[Term, ...]:
    """Polynomial through the tables, in powers of the places of sand carried and bypass."""
    inverse = np.kron(
        np.linalg.inv(np.vander(kept, increasing=True)),
        np.linalg.inv(np.vander(met, increasing=True)),
    )
    stacked = np.stack(np.broadcast_arrays(*tables))
    coefficients = (inverse @ stacked.reshape(len(tables), -1)).reshape(stacked.shape)
    terms = []
    for place, table in enumerate(coefficients):
        if np.max(np.abs(table)) > NEGLIGIBLE:
            terms.append(Term(table, place // len(met), place % len(met)))
    return tuple(terms)
