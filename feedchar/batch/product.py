"""From amounts to the product of every row: what stays of each phase, and its oxides."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from feedchar.batch.capture import HOST_PER_JOINED, NODE_SCORES, KeptOfSize, Machine
from feedchar.particles.build import (
    HOST_ROOM,
    HOSTS_OF_JOINED,
    HOSTS_OF_RIDERS,
    LEAST_HOST_OF_JOINED,
    LEAST_HOST_OF_RIDERS,
)

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]
Index = NDArray[np.intp]


@dataclass(frozen=True)
class Nodes:
    """Places between the nodes of iron for every phase, row and trial."""

    below: Index
    """(P, N, T)"""
    part: Array
    """(P, N, T) 0 to 1."""


@dataclass(frozen=True)
class FeedTrials:
    """Trials of the feed of N rows, after the assay where there is one."""

    wt_pct: Array
    """(P, N, T)"""
    place: Array
    """(P, N or 1, T)"""
    nodes: Nodes | None
    disagree: Flags
    """(N,) data that contradict each other: no chance is given."""

    def of_rows(self, rows: Index) -> FeedTrials:
        """The same for some of the rows."""
        nodes = self.nodes
        if nodes is not None:
            nodes = Nodes(nodes.below[:, rows], nodes.part[:, rows])
        place = self.place if self.place.shape[1] == 1 else self.place[:, rows]
        return FeedTrials(self.wt_pct[:, rows], place, nodes, self.disagree[rows])


def nodes_of(scores: Array) -> Nodes:
    """Where iron scores lie among the nodes.

    Parameters
    ----------
    scores : array, shape (P, N, T)
        Standard normal scores of iron. [-]

    Returns
    -------
    Nodes
        Held between the outer nodes. [-]
    """
    step = NODE_SCORES[1] - NODE_SCORES[0]
    place = np.clip((scores - NODE_SCORES[0]) / step, 0.0, len(NODE_SCORES) - 1.0)
    below = np.minimum(place.astype(np.intp), len(NODE_SCORES) - 2)
    return Nodes(below, place - below)


def _at(table: Array, nodes: Nodes | None, phase: int) -> Array:
    """Values of a table (Q, T) for the iron of one phase. (1 or N, T)"""
    if nodes is None:
        return table
    below, part = nodes.below[phase], nodes.part[phase]
    trials = table.shape[1]
    flat, place = table.ravel(), below * trials + np.arange(trials)
    return np.asarray(flat.take(place) * (1.0 - part) + flat.take(place + trials) * part)


def hosts_of(typical: Array, most: int, least_share: float) -> Flags:
    """The pale phases of each row that host what has no stated host.

    Parameters
    ----------
    typical : array, shape (H, N)
        Typical amounts of the pale phases. [any]
    most : int
        Greatest number of hosts. [-]
    least_share : float
        Least share of the pale mass; the largest pale phase always counts. [-]

    Returns
    -------
    array of bool, shape (H, N)
        As feedchar.particles.riders.pale_hosts. [-]

    References
    ----------
    common practice, no source
    """
    order = np.argsort(-typical, axis=0, kind="stable")
    rank = np.argsort(order, axis=0, kind="stable")
    large = typical >= least_share * typical.sum(axis=0)
    large |= (rank == 0) & ~large.any(axis=0)
    return np.asarray((rank < most) & large & (typical > 0.0))


def kept_amounts(
    wt_pct: Array, machine: Machine, kept: KeptOfSize, joined_share: Array,
    density_kg_m3: Array, nodes: Nodes | None = None,
) -> Array:  # fmt: skip
    """What stays of every phase in the product.

    Parameters
    ----------
    wt_pct : array, shape (P, N, T)
        Amounts in the bag. [wt %]
    machine : Machine
        Which phases join which. [-]
    kept : KeptOfSize
        Shares that stay. [-]
    joined_share : array, shape (P, T)
        Part of each phase that is joined to pale grains. [-]
    density_kg_m3 : array, shape (P,)
        Densities. [kg m⁻³]
    nodes : Nodes or None
        Places of the iron between nodes, where `kept` has them. [-]

    Returns
    -------
    array, shape (P, N, T)
        Of the dry bag. [wt %]

    References
    ----------
    Derived: as feedchar.particles.build, all minerals sized alike.
    """
    hosts, removable = machine.hosts, machine.removable
    typical = wt_pct[hosts, :, 0]
    hosting = hosts_of(typical, HOSTS_OF_JOINED, LEAST_HOST_OF_JOINED)
    riding = hosts_of(typical, HOSTS_OF_RIDERS, LEAST_HOST_OF_RIDERS)
    present = np.flatnonzero(wt_pct[:, :, 0].any(axis=1))
    joined = {int(m): joined_share[m] * wt_pct[m] for m in removable if m in present}
    whole_host = np.zeros(wt_pct.shape[1:])
    for h in np.flatnonzero(hosting.any(axis=1)):
        whole_host += wt_pct[hosts[h]] * hosting[h, :, None]
    asked = np.zeros_like(whole_host)
    for amount in joined.values():
        asked += amount
    free, stays = wt_pct.copy(), np.zeros_like(wt_pct)
    for h in np.flatnonzero(hosting.any(axis=1)):
        own = wt_pct[hosts[h]]
        split = own * hosting[h, :, None] / np.maximum(whole_host, 1e-300)
        need = HOST_PER_JOINED * split * asked
        scale = split * np.minimum(1.0, HOST_ROOM * own / np.maximum(need, 1e-300))
        free[hosts[h]] -= HOST_PER_JOINED * scale * asked
        for r, m in enumerate(removable):
            if int(m) not in joined:
                continue
            amount = scale * joined[int(m)]
            free[m] -= amount
            stays[m] += amount * _at(kept.joined_mineral[:, r, h], nodes, int(m))
            stays[hosts[h]] += amount * _at(kept.joined_host[:, r, h], nodes, int(m))
    np.maximum(free, 0.0, out=free)
    for phase in present:
        if phase != len(wt_pct) - 1:
            stays[phase] += free[phase] * _at(kept.free[:, phase], nodes, int(phase))
    stays[-1] = wt_pct[-1] * _unseen(free[hosts], riding, density_kg_m3[hosts], kept)
    return stays


def _unseen(free: Array, riding: Flags, density: Array, kept: KeptOfSize) -> Array:
    """Share of unseen iron that stays: on its pale hosts by their volume, or free. (N, T)"""
    volume = np.zeros(free.shape[1:])
    stays = np.zeros_like(volume)
    for h in np.flatnonzero(riding.any(axis=1)):
        own = free[h] / density[h] * riding[h, :, None]
        volume += own
        stays += own * kept.riding[h]
    carried = stays / np.maximum(volume, 1e-300) + kept.unseen_fine
    return np.where(volume > 0.0, carried, kept.unseen_free)


def oxide_content(wt_pct: Array, low: Array, change: Array, place: Array, oxide: int) -> Array:
    """One oxide of a mixture of phases.

    Parameters
    ----------
    wt_pct : array, shape (P, N, T)
        Amounts. [wt % of the bag]
    low, change : array, shape (P, K)
        Oxides along the mixing lines. [wt %]
    place : array, shape (P, N or 1, T)
        Places on the lines. [-]
    oxide : int
        Column of OXIDES. [-]

    Returns
    -------
    array, shape (N, T)
        wt % of the bag. [wt %]

    References
    ----------
    computed_here (mass balance); phase by phase, so that a row does not depend on its neighbours.
    """
    total = np.zeros(wt_pct.shape[1:])
    for phase in range(len(wt_pct)):
        start, slope = low[phase, oxide] / 100.0, change[phase, oxide] / 100.0
        if slope != 0.0:
            total += wt_pct[phase] * (start + place[phase] * slope)
        elif start != 0.0:
            total += wt_pct[phase] * start
    return total
