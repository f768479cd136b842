"""Circuits run on a feed: at one setting, over a search of settings, under a change."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from feedchar.assembly.discrepancy import circuit_with_discrepancy
from feedchar.assembly.machine import grains_for, moments_as_susceptibility
from feedchar.assembly.search import CHANCE_TRIALS
from feedchar.chemistry.mineralogy import Mineralogy
from feedchar.field.setting import Pass, Setting
from feedchar.particles.classes import ParticleClasses
from feedchar.plant.circuit import Circuit
from feedchar.plant.cutting import cut_classes
from feedchar.plant.nodes import model_of
from feedchar.plant.scale_up import Run, run_circuit
from feedchar.plant.streams import Feed, first_rows
from feedchar.product.answer import Answer, answer
from feedchar.product.outlets import Outlets, outlets
from feedchar.product.specks import specks
from feedchar.sample.records import Limit
from feedchar.separation.records import Parameters
from feedchar.uncertainty.summary import LIKELY_FROM

Array = NDArray[np.float64]

CHANCES_LOOKED_AT = 3
"""Settings of a circuit whose chance is computed. [-]"""
METRE_WORTH_T_H = 0.03
"""Product whose loss costs as much as a metre of belt (guess): 0.03 t/h. [t h⁻¹ m⁻¹]"""


@dataclass(frozen=True)
class Prices:
    """What a person gives for belt and product; both or none."""

    belt_m_h: float
    """Of a metre of belt, for each hour it runs."""
    product_t: float
    """Of a tonne of product."""


@dataclass(frozen=True, repr=False)
class Plant:
    """A feed, a machine and what is asked."""

    classes: ParticleClasses
    mineralogy: Mineralogy
    parameters: Parameters
    setting: Setting
    limit: Limit | None
    feed_t_h: float
    seed: int = 1
    prices: Prices | None = None
    machine_known: bool = False
    """Tests or a calibration speak of the machine: its stated discrepancy is let in."""

    def cost(self, run: Run) -> float:
        """Belt and loss of the typical case: metres of belt, or money an hour where priced."""
        metres, lost = run.metres, float(run.lost_t_h[0])
        if self.prices is None:
            return metres + lost / METRE_WORTH_T_H
        return metres * self.prices.belt_m_h + lost * self.prices.product_t

    def feed(self, circuit: Circuit, rows: int | None = None, plain: bool = False) -> Feed:
        """The feed cut where a circuit cuts.

        Parameters
        ----------
        circuit : Circuit
            Its cuts count. [-]
        rows : int or None
            Trials to keep, the typical case among them; None: all. [-]
        plain : bool
            Count moments as susceptibility, as a search does. [-]

        Returns
        -------
        Feed
            T or `rows` trials. [-]
        """
        classes = cut_classes(self.classes, circuit.cuts_um)
        grains = grains_for(classes, self.mineralogy, self.setting.feed_temperature_c)
        if plain:
            passes = tuple(step.machine for step in circuit.rolls) or (Pass(),)
            grains = moments_as_susceptibility(grains, replace(self.setting, passes=passes))
        feed = Feed(classes, self.mineralogy, grains, self.parameters)
        return feed if rows is None else first_rows(feed, rows)

    def run(
        self,
        circuit: Circuit,
        rows: int | None = None,
        *,
        plain: bool = False,
        installed: Mapping[str, float] | None = None,
        feed_t_h: float | None = None,
    ) -> Run:
        """One circuit on this feed.

        Parameters
        ----------
        circuit : Circuit
            Checked. [-]
        rows, plain : int or None, bool
            As for `feed`. [-]
        installed : mapping of str to float or None
            Metres of belt of each pass; None: one grain deep. [m]
        feed_t_h : float or None
            Dry feed; None: that of the plant. [t h⁻¹]

        Returns
        -------
        Run
            Streams, belts, outlets. [-]
        """
        feed = self.feed(circuit, rows, plain)
        model = model_of(circuit, self.setting, feed.grains, feed.parameters)
        run = run_circuit(model, feed, feed_t_h or self.feed_t_h, installed)
        if not self.machine_known:
            return run
        shares = circuit_with_discrepancy(run.shares, feed.classes, feed.mineralogy, self.seed)
        split = outlets(feed.classes, shares, feed.mineralogy)
        return replace(run, shares=shares, outlets=split)

    def verdict(
        self, run: Run, outlets: Outlets | None = None, *, open_case: bool = True
    ) -> Answer:
        """Whether the product of a run meets what is asked.

        Parameters
        ----------
        run : Run
            The circuit. [-]
        outlets : Outlets or None
            In place of the run's own. [-]
        open_case : bool
            Give a chance also where the report may not state one, to compare by. [-]

        Returns
        -------
        Answer
            For the mean of this bag. [-]
        """
        mineralogy = self.mineralogy
        if open_case:
            mineralogy = replace(mineralogy, data_disagree=False, assay_needed=False)
        dark = None
        if self.limit is not None and self.limit.specks_per_100_g_max is not None:
            rows = len(run.shares.non_magnetics)
            feed = self.feed(run.circuit, rows)
            dark = specks(feed.classes, run.shares, feed.mineralogy, self.seed).dark
        return answer(outlets or run.outlets, self.limit, mineralogy, dark)


def all_met(verdict: Answer) -> bool:
    """Whether the typical case meets all that is asked.

    Parameters
    ----------
    verdict : Answer
        Of a run. [-]

    Returns
    -------
    bool
        False when nothing is asked. [-]
    """
    return bool(verdict.rows) and all(row.typical_meets for row in verdict.rows)


def search(plant: Plant, candidates: Sequence[Circuit]) -> Circuit:
    """One circuit at several settings: the cheapest that is likely to meet, else the nearest.

    Parameters
    ----------
    plant : Plant
        Feed, machine, limit. [-]
    candidates : sequence of Circuit
        At least one. [-]

    Returns
    -------
    Circuit
        One of them. [-]

    References
    ----------
    common practice, no source
    """
    tried = []
    for circuit in candidates:
        run = plant.run(circuit, 1, plain=True)
        iron = float(run.outlets.non_magnetics.oxide("Fe2O3")[0])
        if np.isfinite(iron):
            tried.append((plant.cost(run), iron, all_met(plant.verdict(run)), circuit))
    if not tried:
        return candidates[0]
    tried.sort(key=lambda one: (one[0], one[1]))
    if not any(rows_asked(plant)):
        return tried[0][3]
    meeting = [one for one in tried if one[2]]
    if not meeting:
        # Nothing meets: the least iron whose loss is no more than twice that of the cheapest.
        near = [one for one in tried if one[0] <= 2.0 * tried[0][0]]
        return min(near, key=lambda one: one[1])[3]
    places = np.linspace(0, len(meeting) - 1, CHANCES_LOOKED_AT).round().astype(int)
    best, most = meeting[0][3], -1.0
    for place in np.unique(places):
        circuit = meeting[place][3]
        run = plant.run(circuit, CHANCE_TRIALS + 1, plain=True)
        chance = plant.verdict(run).chance_of_meeting_limit or 0.0
        if chance >= LIKELY_FROM:
            return circuit
        if chance > most + 0.01:
            best, most = circuit, chance
    return best


def rows_asked(plant: Plant) -> tuple[bool, ...]:
    """Whether anything is asked of the product.

    Parameters
    ----------
    plant : Plant
        With its limit. [-]

    Returns
    -------
    tuple of bool
        Empty, or one true entry. [-]
    """
    return () if plant.limit is None or plant.limit.is_empty() else (True,)
