"""What a setting leaves in the product, worked out once for all rows of a table.

A grain answers the machine by what it is, not by how much of it there is, so the share of every
kind of grain that stays is the same in each row: a row only weighs them.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from feedchar.assembly.machine import grains_for
from feedchar.batch.drawn import Drawn, iron_at, places_of
from feedchar.batch.sizes import SizeKey, size_shares
from feedchar.chemistry.mineralogy import Agreement, Mineralogy
from feedchar.chemistry.phases import susceptibility_at
from feedchar.field.setting import Setting
from feedchar.particles.classes import ParticleClasses, SizeClasses
from feedchar.particles.columns import FREE, JOINED, thickness_ratios
from feedchar.particles.grades import STATED_GRADES, STATED_SHARES
from feedchar.particles.surface import spread_over_sizes
from feedchar.product.outlets import treated_share
from feedchar.sample.records import Sample
from feedchar.separation.load import under_load
from feedchar.separation.parameters import Calibration, draw_parameters
from feedchar.separation.passes import separate
from feedchar.separation.records import Parameters

Array = NDArray[np.float64]
Index = NDArray[np.intp]

HOST_PER_JOINED = float(np.sum(STATED_SHARES * (1.0 / STATED_GRADES - 1.0)))
"""Mass of host in joined grains for one of the mineral, at the stated grades. [-]"""
NODE_SCORES = np.linspace(-3.5, 3.5, 15)
"""Scores of iron at which shares are known where an assay moves the iron. [-]"""


@dataclass(frozen=True)
class Kept:
    """Share that stays in the product of P phases in S sizes; R removable on H pale phases."""

    free: Array
    """(Q, P, S, T) of free grains; Q is 1 at the drawn iron, else the nodes. [-]"""
    joined_mineral: Array
    """(Q, R, H, S or 1, T) of the mineral in joined grains. [-]"""
    joined_host: Array
    """(Q, R, H, S or 1, T) of the host in them, for one of the mineral. [-]"""


@dataclass(frozen=True)
class Machine:
    """A setting and what it leaves of everything that the table may hold."""

    sizes: SizeClasses
    window: Array
    """(S,) share of each size that goes to the machine. [-]"""
    removable: Index
    hosts: Index
    as_drawn: Kept
    at_nodes: Kept | None
    """Only for a table with assays."""


@dataclass(frozen=True)
class KeptOfSize:
    """`Kept` for one size distribution, the untreated sizes counted as lost."""

    free: Array
    """(Q, P, T)"""
    joined_mineral: Array
    """(Q, R, H, T)"""
    joined_host: Array
    """(Q, R, H, T)"""
    riding: Array
    """(H, T) of unseen iron on or in that host. [-]"""
    unseen_fine: Array
    """(T,) of unseen iron that is free. [-]"""
    unseen_free: Array
    """(T,) of unseen iron where there are no pale grains to ride on. [-]"""


def machine_of(
    drawn: Drawn,
    setting: Setting,
    sizes: SizeClasses,
    assayed: bool,
    has_sizes: bool,
    magnetics_share: float = 0.0,
    calibration: Calibration | None = None,
) -> Machine:
    """All shares that a table needs.

    Parameters
    ----------
    drawn : Drawn
        Draws of the table. [-]
    setting : Setting
        The machine, with passes. [SI]
    sizes : SizeClasses
        Classes of the table. [um]
    assayed : bool
        True when any column is an assay. [-]
    has_sizes : bool
        True when rows may have sizes of their own. [-]
    magnetics_share : float
        Share of the belt that is magnetics: above a fifth they bury each other. [-]
    calibration : Calibration or None
        What tests taught of the machine. [SI]

    Returns
    -------
    Machine
        Shares by phase, size and trial. [-]

    Raises
    ------
    SettingError
        A setting that cannot be.

    References
    ----------
    computed_here
    """
    removable = np.flatnonzero([i.model.role == "removable" for i in drawn.ingredients])
    hosts = np.flatnonzero(drawn.is_host)
    parameters = draw_parameters(drawn.trials, drawn.seed, calibration)
    parameters = under_load(parameters, magnetics_share=magnetics_share)[0]
    window = treated_share(sizes, setting.treated_passing_um, setting.treated_retained_um)
    weight = None if has_sizes else size_shares(None, sizes) * window
    work = _Work(drawn, setting, sizes, removable, hosts, parameters, weight)
    at_nodes = None
    if assayed:
        kept = [work.kept(_at_score(drawn, score)) for score in NODE_SCORES]
        at_nodes = Kept(
            np.stack([k.free[0] for k in kept]),
            np.stack([k.joined_mineral[0] for k in kept]),
            np.stack([k.joined_host[0] for k in kept]),
        )
    as_drawn = work.kept(drawn.susceptibility_m3_kg)
    return Machine(sizes, window, removable, hosts, as_drawn, at_nodes)


def _at_score(drawn: Drawn, score: float) -> Array:
    """Susceptibility of every phase with its iron at one score. (P, T)"""
    out = np.empty_like(drawn.susceptibility_m3_kg)
    for j, ingredient in enumerate(drawn.ingredients):
        place = places_of(ingredient, np.full(drawn.trials + 1, score))
        iron = iron_at(ingredient, place)
        out[j] = susceptibility_at(ingredient.model, iron, drawn.magnetic_scores[j])
    return out


@dataclass(frozen=True)
class _Work:
    drawn: Drawn
    setting: Setting
    sizes: SizeClasses
    removable: Index
    hosts: Index
    parameters: Parameters
    weight: Array | None
    """(S,) where all rows share one size distribution: joined grains are then summed over it."""

    def kept(self, susceptibility: Array) -> Kept:
        """Shares where every phase but the host of a joined grain has this susceptibility."""
        count, phases = len(self.sizes), len(self.drawn.ingredients)
        trials = self.drawn.trials + 1
        mineral = np.repeat(np.arange(phases), count)
        size = np.tile(np.arange(count), phases)
        none = np.full(len(mineral), -1)
        free = self._shares(susceptibility, mineral, none, size, np.ones(len(mineral)))
        with_host = susceptibility.copy()
        with_host[self.hosts] = self.drawn.susceptibility_m3_kg[self.hosts]
        made = [self._joined(with_host, int(mineral)) for mineral in self.removable]
        none_joined = np.zeros((0, len(self.hosts), count, trials))
        return Kept(
            np.ascontiguousarray(free.reshape(trials, phases, count).transpose(1, 2, 0))[None],
            np.stack([m for m, _ in made])[None] if made else none_joined[None],
            np.stack([h for _, h in made])[None] if made else none_joined[None],
        )

    def _joined(self, susceptibility: Array, mineral: int) -> tuple[Array, Array]:
        """What stays of one mineral joined to each host, and of the host. (H, S or 1, T) each"""
        shape = (len(self.hosts), len(self.sizes), len(STATED_GRADES))
        host, size, grade = np.indices(shape).reshape(3, -1)
        same = np.full(len(host), mineral)
        joined = self._shares(
            susceptibility, same, self.hosts[host], size, STATED_GRADES[grade]
        ).reshape(-1, *shape)
        moved = np.moveaxis(joined, 0, -1)  # (H, S, B, T)
        shares = STATED_SHARES[:, None], (STATED_SHARES * (1.0 / STATED_GRADES - 1.0))[:, None]
        of_mineral, of_host = ((moved * share).sum(axis=2) for share in shares)
        if self.weight is None:
            return of_mineral, of_host
        of_mineral, of_host = (_weighed(a, self.weight) for a in (of_mineral, of_host))
        return of_mineral[:, None], of_host[:, None]

    def _shares(
        self, susceptibility: Array, mineral: Index, host: Index, size: Index, grade: Array
    ) -> Array:
        """Share of each class to the product. (T, C)"""
        drawn, count = self.drawn, len(mineral)
        if count == 0:
            return np.zeros((drawn.trials + 1, 0))
        phases = tuple(ingredient.model for ingredient in drawn.ingredients)
        thickness = thickness_ratios(phases, Sample(""), self.sizes)
        form = np.where(host >= 0, JOINED, FREE)
        classes = ParticleClasses(
            drawn.names, self.sizes, mineral, host, form, size, grade, np.arange(count),
            np.ones((1, count)), thickness[np.where(host >= 0, host, mineral), size],
        )  # fmt: skip
        nothing = np.zeros((1, 1))
        mineralogy = Mineralogy(
            phases, nothing, nothing, nothing, nothing, susceptibility.T, nothing, nothing, nothing,
            Agreement(None, 0, None, {}), False, False, False,
        )  # fmt: skip
        grains = grains_for(classes, mineralogy, self.setting.feed_temperature_c)
        return separate(self.setting, grains, self.parameters).non_magnetics


def kept_of_size(machine: Machine, kept: Kept, key: SizeKey, form_share: Array) -> KeptOfSize:
    """Shares of one size distribution.

    Parameters
    ----------
    machine : Machine
        From `machine_of`. [-]
    kept : Kept
        Its shares, as drawn or at nodes. [-]
    key : tuple of int or None
        Size of the rows. [-]
    form_share : array, shape (T, 3)
        How unseen iron sits. [-]

    Returns
    -------
    KeptOfSize
        Summed over the sizes. [-]

    References
    ----------
    Derived: unseen iron is spread over the sizes as in feedchar.particles, for pale grains that
    are sized as the bag; the little that it moves of their sizes is left out.
    """
    share = size_shares(key, machine.sizes)
    weight = share * machine.window
    spread = unseen_spread(share, machine.sizes, form_share) * machine.window
    riding = (spread[:, 0] + spread[:, 1]).T  # (S, T)
    free = machine.as_drawn.free[0]
    return KeptOfSize(
        _weighed(kept.free, weight),
        _summed(kept.joined_mineral, weight),
        _summed(kept.joined_host, weight),
        (free[machine.hosts] * riding).sum(axis=1),
        (free[-1] * spread[:, 2].T).sum(axis=0),
        (free[-1] * (riding + spread[:, 2].T)).sum(axis=0),
    )


def _summed(values: Array, weight: Array) -> Array:
    """Sum over the sizes, unless that was done for all rows at once."""
    return values[..., 0, :] if values.shape[-2] == 1 else _weighed(values, weight)


def _weighed(values: Array, weight: Array) -> Array:
    """Sum over the sizes, the last axis but one."""
    return np.asarray((values * weight[:, None]).sum(axis=-2))


def unseen_spread(share: Array, sizes: SizeClasses, form_share: Array) -> Array:
    """How unseen iron is spread over forms and sizes.

    Parameters
    ----------
    share : array, shape (S,)
        Of the bag's mass. [-]
    sizes : SizeClasses
        S classes. [um]
    form_share : array, shape (T, 3)
        Stain, inclusion, fine free oxide. [-]

    Returns
    -------
    array, shape (T, 3, S)
        Sums to 1 over forms and sizes. [-]

    References
    ----------
    Derived: as feedchar.particles.surface and riders (stain follows surface).
    """
    surface = share / sizes.middle_um
    by_surface = surface / surface.sum()
    on_surface = 1.0 - form_share[:, 1:2]
    own = on_surface * by_surface + (1.0 - on_surface) * share
    seeds = np.stack([surface, share, surface])
    seeds = seeds / seeds.max(axis=1, keepdims=True)
    return spread_over_sizes(own, form_share, np.broadcast_to(seeds, (len(own), *seeds.shape)))
