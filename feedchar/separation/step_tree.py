"""Machines along a tree of steps, where any outlet of one may be fed to the next.

As in `stages`, what is permanent in a grain is averaged last: a grain that one step refused is not
drawn anew for the next. What a bag holds of the grain nodes is a polynomial in (1 - entrainment)
and (1 - bypass) of the steps it went through; steps of one load share one pair.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import partial

import numpy as np
from numpy.typing import NDArray

from feedchar.field.drum import Drum
from feedchar.field.setting import Setting
from feedchar.field.working import working_field
from feedchar.separation.capture import capture_table
from feedchar.separation.drum_stage import drum_capture
from feedchar.separation.grain_nodes import FlakeSpread, grain_nodes, spread_over_nodes
from feedchar.separation.isodynamic_stage import isodynamic_capture
from feedchar.separation.magnetic_response import magnetic_response
from feedchar.separation.passes import adhesion_rungs
from feedchar.separation.records import Grains, Parameters
from feedchar.separation.setting_checks import check_setting
from feedchar.separation.stages import Stage, Term
from feedchar.separation.thrower import Thrower
from feedchar.separation.trial_shares import class_tables, sum_of_terms

Array = NDArray[np.float64]
Powers = tuple[tuple[int, int], ...]
"""(stages, order) of each load met so far, as in `stages.Term`."""


@dataclass(frozen=True)
class Carried:
    """What reaches a place in the tree: tables on the grain nodes by their powers."""

    tables: dict[Powers, Array] = field(repr=False)


class StepTree:
    """The grains of one feed, ready to go through any tree of steps in one kind of field.

    Parameters
    ----------
    setting : Setting
        First roll of the tree: it sets the scale of the response axis. [SI]
    grains : Grains
        C classes over T trials. [SI]
    parameters : Parameters
        Machine parameters over the trials; pull and adhesion hold for all steps. [SI]
    """

    def __init__(self, setting: Setting, grains: Grains, parameters: Parameters) -> None:
        check_setting(setting)
        self.grains, self.parameters = grains, parameters
        self.spread = spread_over_nodes(grains, FlakeSpread())
        work = working_field(setting)
        speed = setting.passes[0].belt_speed_m_s
        self.response = magnetic_response(
            work, speed, grains, self.spread, parameters, other_fields=True
        )
        self.adhesions = adhesion_rungs(parameters.adhesion_N)
        self._loads: list[tuple[Array, Array]] = []

    def start(self) -> Carried:
        """Everything that is fed.

        Returns
        -------
        Carried
            The whole of every node. [-]
        """
        return Carried({(): np.ones(1)})

    def load(self, bypass: Array, entrainment: Array) -> int:
        """A load that steps can share.

        Parameters
        ----------
        bypass, entrainment : array, shape (T,)
            Missed by a pass, and sand carried by it. [-]

        Returns
        -------
        int
            Its number; equal loads have one. [-]
        """
        for number, (missed, kept) in enumerate(self._loads):
            if np.array_equal(missed, bypass) and np.array_equal(kept, entrainment):
                return number
        self._loads.append((np.asarray(bypass, dtype=float), np.asarray(entrainment, dtype=float)))
        return len(self._loads) - 1

    def roll(self, setting: Setting) -> Stage:
        """One pass over a roll.

        Parameters
        ----------
        setting : Setting
            Its first pass is run; drum, window and retreat are the tree's own affair. [SI]

        Returns
        -------
        Stage
            Shares of the nodes. [-]

        Raises
        ------
        SettingError
            A setting that cannot be.

        References
        ----------
        As `passes.separate`.
        """
        check_setting(setting)
        work, one = working_field(setting), setting.passes[0]
        inside = partial(
            capture_table,
            work.amplitudes,
            Thrower(work.roll_radius_m, work.belt_thickness_m, work.pitch_m, one.belt_speed_m_s),
            self.spread.kinds,
            self.spread.diameters_m,
            adhesions_N=self.adhesions,
            reference=self.response.reference,
            with_moment=self.response.with_moment,
            moment_kinds=self.response.flown_kinds,
        )
        first = inside(edge_m=work.roll_radius_m + one.splitter_m)
        if one.splitter_2_m is None:
            return Stage(first, None)
        second = np.maximum(inside(edge_m=work.roll_radius_m + one.splitter_2_m), first)
        return Stage(second, second - first)

    def drum(self, drum: Drum) -> Stage:
        """One pass under a drum.

        Parameters
        ----------
        drum : Drum
            Its poles. [SI]

        Returns
        -------
        Stage
            Shares of the nodes, no middlings. [-]

        References
        ----------
        As `drum_stage.drum_capture`.
        """
        nodes = grain_nodes(self.spread.kinds, self.spread.diameters_m)
        moves = self.response.with_moment
        return Stage(
            drum_capture(drum, nodes, self.response.reference, len(self.adhesions), moves), None
        )

    def isodynamic(self, current_a: float, side_slope_rad: float) -> Stage:
        """One pass through an isodynamic separator.

        Parameters
        ----------
        current_a : float
            Coil current. [A]
        side_slope_rad : float
            Side slope of the chute. [rad]

        Returns
        -------
        Stage
            Shares of the nodes, no middlings. [-]

        References
        ----------
        As `isodynamic_stage.isodynamic_capture`.
        """
        nodes = len(grain_nodes(self.spread.kinds, self.spread.diameters_m))
        how = (nodes, self.response.reference, len(self.adhesions), self.response.with_moment)
        return Stage(isodynamic_capture(current_a, side_slope_rad, *how), None)

    def split(self, fed: Carried, stage: Stage, load: int) -> dict[str, Carried]:
        """The outlets of one step.

        Parameters
        ----------
        fed : Carried
            What the step receives. [-]
        stage : Stage
            The machine. [-]
        load : int
            Number of its load. [-]

        Returns
        -------
        dict of str to Carried
            magnetics, middlings and non-magnetics; together what was fed. [-]

        References
        ----------
        Polynomials of `stages`, derived there.
        """
        refused: dict[Powers, Array] = {}
        between: dict[Powers, Array] = {}
        for powers, table in fed.tables.items():
            _add(refused, _raised(powers, load, 0), table)
            _add(refused, _raised(powers, load, 1), -table * stage.taken)
            if stage.middlings is not None:
                _add(between, _raised(powers, load, 1), table * stage.middlings)
        taken = dict(fed.tables)
        for part in (refused, between):
            for powers, table in part.items():
                _add(taken, powers, -table)
        return {
            "magnetics": Carried(taken),
            "middlings": Carried(between),
            "non-magnetics": Carried(refused),
        }

    def shares(self, carried: Carried) -> Array:
        """Share of every class of the feed that reaches a place.

        Parameters
        ----------
        carried : Carried
            The place. [-]

        Returns
        -------
        array, shape (T, C)
            Share. [-]

        References
        ----------
        As `trial_shares.shares_of_trials`.
        """
        trials = max(len(self.response.total_m3_kg), len(np.atleast_1d(self.parameters.adhesion_N)))
        if not carried.tables:
            return np.zeros((trials, self.response.total_m3_kg.shape[1]))
        factors = []
        for powers in carried.tables:
            factor = np.ones(1)
            for number, (stages, order) in enumerate(powers):
                bypass, entrainment = self._loads[number]
                factor = factor * (1.0 - entrainment) ** stages * (1.0 - bypass) ** order
            factors.append(factor)
        # Tables that are alike for every trial cost a look-up each, so a plain 1 has none.
        terms = tuple(Term(table, 0, 0) for table in carried.tables.values())
        width, moves = self.grains.grain_ln_sd, np.any(self.response.moment_m3_kg > 0.0, axis=0)
        tables = class_tables(terms, self.spread.weight, width, moves)
        place = (self.response.total_m3_kg, self.response.moment_m3_kg, self.parameters.adhesion_N)
        found = sum_of_terms(tables, factors, *place, self.adhesions, self.response.reference)
        return np.clip(found, 0.0, 1.0)


def _raised(powers: Powers, load: int, order: int) -> Powers:
    """Powers after one more stage of a load."""
    padded = [*powers, *([(0, 0)] * (load + 1 - len(powers)))]
    stages, before = padded[load]
    padded[load] = (stages + 1, before + order)
    return tuple(padded)


def _add(sums: dict[Powers, Array], powers: Powers, table: Array) -> None:
    sums[powers] = sums[powers] + table if powers in sums else table
