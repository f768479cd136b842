"""Machines in series on the same grains: what is permanent in a grain is averaged last.

A stage takes a share C of a grain node (magnetics and middlings) and D of it to the middlings.
With bypass b and entrainment e the shares become (1-e)(1-b)D to the middlings and
(1-e)(1-(1-b)C) to the non-magnetics. Multiplied out over the stages this is a polynomial in
(1-e) and (1-b) whose coefficients do not depend on the trial: they are formed on the nodes, then
averaged over what is permanent, so that each trial costs an interpolation and a few products.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from feedchar.errors import SettingError

Array = NDArray[np.float64]

NON_MAGNETICS, MIDDLINGS = "non-magnetics", "middlings"


@dataclass(frozen=True)
class Stage:
    """One machine."""

    taken: Array
    """Share of each node to magnetics and middlings together, any shape from nodes on. [-]"""
    middlings: Array | None
    """Share of each node to the middlings; None: no second edge. [-]"""
    goes_on: str = NON_MAGNETICS
    """What the next stage receives: non-magnetics | middlings."""


@dataclass(frozen=True)
class Term:
    """One term of an outlet: table times (1-e)^stages times (1-b)^order."""

    table: Array
    stages: int
    order: int


@dataclass(frozen=True)
class OutletTerms:
    """Terms of the two outlets; magnetics are the rest."""

    non_magnetics: tuple[Term, ...]
    middlings: tuple[Term, ...]


def outlet_terms(stages: tuple[Stage, ...]) -> OutletTerms:
    """Multiply the stages out.

    Parameters
    ----------
    stages : tuple of Stage
        In order; at least one. [-]

    Returns
    -------
    OutletTerms
        Terms with equal powers gathered. [-]

    Raises
    ------
    SettingError
        Middlings sent on by a stage without a second edge.

    References
    ----------
    Derived here.
    """
    carried: dict[int, Array] = {0: np.ones(1)}  # stays a plain 1: no table to look up
    non: dict[tuple[int, int], Array] = {}
    middle: dict[tuple[int, int], Array] = {}
    for count, stage in enumerate(stages, start=1):
        refused = _plus(carried, _times(carried, -stage.taken))
        between = _times(carried, stage.middlings) if stage.middlings is not None else {}
        if stage.goes_on == MIDDLINGS:
            if stage.middlings is None:
                message = (
                    "Middlings cannot go to another pass without a second edge; "
                    "give splitter_2 larger than splitter, or retreat the non-magnetics"
                )
                raise SettingError(message)
            _collect(non, refused, count)
            carried = between
        else:
            _collect(middle, between, count)
            carried = refused
    _collect(middle if stages[-1].goes_on == MIDDLINGS else non, carried, len(stages))
    return OutletTerms(_terms(non), _terms(middle))


def term_factors(terms: tuple[Term, ...], kept: Array, met: Array) -> list[Array]:
    """What each term is multiplied with in each trial.

    Parameters
    ----------
    terms : tuple of Term
        Terms of an outlet. [-]
    kept : array, shape (T,)
        1 - entrainment. [-]
    met : array, shape (T,)
        1 - bypass. [-]

    Returns
    -------
    list of array, shape (T,)
        kept to the number of stages times met to the order. [-]

    References
    ----------
    Derived here.
    """
    return [kept**term.stages * met**term.order for term in terms]


def _times(polynomial: dict[int, Array], factor: Array) -> dict[int, Array]:
    return {order + 1: table * factor for order, table in polynomial.items()}


def _plus(first: dict[int, Array], second: dict[int, Array]) -> dict[int, Array]:
    total = dict(first)
    for order, table in second.items():
        total[order] = total[order] + table if order in total else table
    return total


def _collect(
    outlet: dict[tuple[int, int], Array], polynomial: dict[int, Array], stages: int
) -> None:
    # A stage gives to an outlet once, so no power is met twice.
    outlet.update({(stages, order): table for order, table in polynomial.items()})


def _terms(outlet: dict[tuple[int, int], Array]) -> tuple[Term, ...]:
    return tuple(Term(table, *key) for key, table in sorted(outlet.items()))
