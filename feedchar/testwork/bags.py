"""A tree of bags: each bag is split into others, is weighed and assayed, or is not.

The bags that are never split (the leaves) hold all the mass, so every other bag is a sum of them.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from feedchar.errors import InputError

Array = NDArray[np.float64]
Index = NDArray[np.intp]


@dataclass(frozen=True)
class Bags:
    """Weights and assays of n bags, K oxides; NaN where a bag was not weighed or assayed."""

    bag: tuple[str, ...]
    """Names, each once."""
    parent: Index
    """(n,) index of the bag it was split from, -1 for a bag that came from none."""
    mass: Array
    """(n,) dry mass. [g]"""
    mass_sd: Array
    """(n,) its standard deviation, handling loss included. [g]"""
    oxide: tuple[str, ...]
    """Names of the oxides."""
    assay: Array
    """(n, K) [wt %]"""
    assay_sd: Array
    """(n, K) [wt %]"""
    laboratory: tuple[str, ...]
    """(n,) who assayed the bag; empty when not said."""


def bags_of(
    bag: Sequence[str],
    from_bag: Sequence[str | None],
    mass: ArrayLike,
    mass_sd: ArrayLike,
    oxide: Sequence[str] = (),
    assay: ArrayLike | None = None,
    assay_sd: ArrayLike | None = None,
    laboratory: Sequence[str] | None = None,
) -> Bags:
    """A checked tree of bags from names.

    Parameters
    ----------
    bag : sequence of str, n
        Names of the bags. [-]
    from_bag : sequence of str or None, n
        Name of the bag each was split from; None or empty for a bag that came from none. [-]
    mass, mass_sd : array_like, shape (n,)
        Dry mass and its sd; NaN where not weighed. [g]
    oxide : sequence of str, K
        Names of the oxides. [-]
    assay, assay_sd : array_like, shape (n, K)
        Assays and their sds; NaN where not assayed. [wt %]
    laboratory : sequence of str, n, optional
        Who assayed the bag. [-]

    Returns
    -------
    Bags
        The tree. [g, wt %]

    Raises
    ------
    InputError
        A name twice, a from_bag that is not a bag, a bag that descends from itself, shapes that
        differ, a measured value without an sd above 0, or a negative mass or assay.

    References
    ----------
    common practice, no source
    """
    names = tuple(bag)
    place = {name: i for i, name in enumerate(names)}
    if len(place) < len(names):
        twice = next(name for name in names if names.count(name) > 1)
        msg = f'bag "{twice}" is listed twice'
        raise InputError(msg, remedy="Give every bag its own name.")
    if len(from_bag) != len(names):
        msg = f"{len(names)} bags but {len(from_bag)} entries of from_bag"
        raise InputError(msg)
    parent = np.full(len(names), -1, dtype=np.intp)
    for i, source in enumerate(from_bag):
        if source:
            if source not in place:
                problem = f'bag "{names[i]}" comes from "{source}", which is not a bag'
                raise InputError(problem, remedy="Add that bag, weighed or not.")
            parent[i] = place[source]
    _refuse_circles(names, parent)
    shape = (len(names), len(oxide))
    blank = np.full(shape, np.nan)
    m, m_sd = _measured("mass", names, mass, mass_sd, shape[:1])
    c, c_sd = _measured(
        "assay",
        names,
        blank if assay is None else assay,
        blank if assay_sd is None else assay_sd,
        shape,
    )
    laboratories = tuple(laboratory) if laboratory is not None else ("",) * len(names)
    if len(laboratories) != len(names):
        msg = f"{len(names)} bags but {len(laboratories)} laboratories"
        raise InputError(msg)
    return Bags(names, parent, m, m_sd, tuple(oxide), c, c_sd, laboratories)


def split_bags(parent: Index) -> Index:
    """Bags that were split, in the order of the tree.

    Parameters
    ----------
    parent : array of int, shape (n,)
        Index of the bag each was split from, -1 for none. [-]

    Returns
    -------
    array of int, shape (nodes,)
        Indices of the bags that have others from them. [-]

    References
    ----------
    common practice, no source
    """
    return np.unique(parent[parent >= 0])


def tree_incidence(parent: Index) -> Array:
    """Incidence of a tree of bags: a row a split, +1 for the bag split, -1 for those from it.

    Parameters
    ----------
    parent : array of int, shape (n,)
        Index of the bag each was split from, -1 for none. [-]

    Returns
    -------
    array, shape (nodes, n)
        Incidence as `reconcile_flows` takes it. [-]

    References
    ----------
    narasimhan_2000.
    """
    nodes = split_bags(parent)
    incidence = -(parent[None, :] == nodes[:, None]).astype(float)
    incidence[np.arange(nodes.size), nodes] = 1.0
    return incidence


def leaf_basis(parent: Index) -> Array:
    """Which leaf is part of which bag: any masses of the leaves give masses that close.

    Parameters
    ----------
    parent : array of int, shape (n,)
        Index of the bag each was split from, -1 for none. [-]

    Returns
    -------
    array, shape (n, leaves)
        1 where the leaf descends from the bag or is it, else 0. [-]

    References
    ----------
    Derived here: the columns span the null space of the tree's incidence.
    """
    count = parent.size
    leaves = np.setdiff1d(np.arange(count), split_bags(parent))
    basis = np.zeros((count, leaves.size))
    for column, leaf in enumerate(leaves):
        at = int(leaf)
        while at >= 0:
            basis[at, column] = 1.0
            at = int(parent[at])
    return basis


def _refuse_circles(names: tuple[str, ...], parent: Index) -> None:
    for start in range(parent.size):
        at, steps = int(parent[start]), 0
        while at >= 0 and steps <= parent.size:
            at, steps = int(parent[at]), steps + 1
        if at >= 0:
            problem = f'bag "{names[start]}" descends from itself'
            raise InputError(problem, remedy="Check the from_bag column.")


def _measured(
    what: str, names: tuple[str, ...], value: ArrayLike, sd: ArrayLike, shape: tuple[int, ...]
) -> tuple[Array, Array]:
    x = np.array(value, dtype=float)
    s = np.array(np.broadcast_to(np.asarray(sd, dtype=float), x.shape))
    if x.shape != shape:
        msg = f"the {what} table must have shape {shape}, found {x.shape}"
        raise InputError(msg)
    seen = ~np.isnan(x)
    wrong = seen & ~(np.isfinite(x) & (x >= 0.0) & np.isfinite(s) & (s > 0.0))
    if wrong.any():
        row = int(np.argwhere(wrong)[0][0])
        found = f"{x[wrong][0]:g} with an sd of {s[wrong][0]:g}"
        problem = f'bag "{names[row]}": the {what} must be 0 or more with an sd above 0'
        msg = f"{problem}, found {found}"
        raise InputError(msg, remedy="Leave blank what was not measured.")
    s[~seen] = np.nan
    return x, s
