"""What every weighed bag of a test should hold, computed at the test's own settings."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from feedchar.assembly.machine import grains_for
from feedchar.assembly.subset import Trials
from feedchar.assembly.tested_steps import OUTLETS, TestedStep, steps_of_tests
from feedchar.chemistry.mineralogy import OXIDES
from feedchar.field.setting import Pass, Setting
from feedchar.particles.reduction import phase_size_matrix, summed
from feedchar.plant.belts import lay_of
from feedchar.product.outlets import treated_share
from feedchar.sample.names import fold
from feedchar.sample.records import Sample
from feedchar.separation.load import MAGNETICS_LIMIT, layers_of_feed, under_load
from feedchar.separation.parameters import HAND_MAGNET_PRIOR, ISODYNAMIC_PRIOR, draw_bench_magnet
from feedchar.separation.records import BenchMagnet, Grains, Parameters
from feedchar.separation.stages import Stage
from feedchar.separation.step_tree import Carried, StepTree

Array = NDArray[np.float64]


@dataclass(frozen=True)
class PredictedBag:
    """One weighed bag of a test as the trials predict it; T rows, row 0 the typical case."""

    test: str
    step: str | None
    repeat: str | None
    from_bag: str
    """Name of the bag that was fed, `feed` for the bag as received."""
    bag: str
    product: str
    machine: str
    share: Array | None = field(repr=False)
    """(T,) mass over that of all outlets of its step; None when nothing can be computed. [-]"""
    phase_mass: Array | None = field(repr=False)
    """(T, M) mass of each phase, fraction of the dry bag as received. [-]"""
    assay_wt_pct: Array | None = field(repr=False)
    """(T, K) composition, columns OXIDES; NaN where the bag is empty. [wt %]"""
    reason: str = ""
    """Why nothing is computed; empty when it is."""
    notes: tuple[str, ...] = ()
    """What was assumed of its step."""
    layers: float | None = None
    """Depth of the bed on the belt in full single layers, where the table tells the feed. [-]"""

    def oxide(self, name: str) -> Array:
        """One oxide by its name in OXIDES, NaN where nothing is computed. (T,) [wt %]"""
        if self.assay_wt_pct is None:
            return np.full(1, np.nan)
        return self.assay_wt_pct[:, OXIDES.index(name)]


@dataclass(frozen=True)
class _Place:
    """What a bag holds of the feed: the way it came, and classes lost on the way by other means."""

    carried: Carried
    kept: Array
    """(1 or T, C) share of each class that the way before this tree left."""
    tree: tuple[object, ...]
    """Key of the tree that `carried` belongs to; empty before any machine."""


def predict_tests(
    sample: Sample, trials: Trials, base: Setting, tests: Iterable[str] | None = None
) -> tuple[PredictedBag, ...]:
    """Share and composition of every bag of the tests, at the settings the table gives.

    A bag may be fed to another step, whatever outlet it came from: grains that one step refused
    are the same grains at the next. Where the machine changes from a permanent to an induced roll
    only the classes are remembered, not the grains within them.

    Parameters
    ----------
    sample : Sample
        With the rows of tests.csv. [-]
    trials : Trials
        Feed, classes, grains at the temperature of the sample, and machine parameters with the
        moisture counted in; `first_rows` makes a subset. [-]
    base : Setting
        The machine on which tests on a roll were run; its passes are not used. [SI]
    tests : iterable of str or None
        Names of the tests wanted; None: all. [-]

    Returns
    -------
    tuple of PredictedBag
        One a row of tests.csv (those of the tests wanted), step by step. Dust is never predicted.
        [-]

    Raises
    ------
    InputError
        Rows that do not hang together.
    SettingError
        A setting of a test that cannot be.

    References
    ----------
    Derived here: mass balance over the tree; depth of the bed and burying as in `separation.load`.
    """
    steps = steps_of_tests(sample, base, tests)
    return _Bench(sample, trials, base).run(steps)


class _Bench:
    """The feed on the bench: its grains by temperature and its trees by field."""

    def __init__(self, sample: Sample, trials: Trials, base: Setting) -> None:
        self.trials, self.base = trials, base
        self._grains: dict[float, Grains] = {sample.feed_temperature_c: trials.grains}
        self._trees: dict[tuple[object, ...], StepTree] = {}
        self._matrix = phase_size_matrix(trials.classes)
        self._places: dict[str, _Place] = {}
        self._shares: dict[str, Array] = {}

    def run(self, steps: tuple[TestedStep, ...]) -> tuple[PredictedBag, ...]:
        everything = _Place(Carried({(): np.ones(1)}), np.ones((1, self._classes)), ())
        self._places[""] = everything
        self._shares[""] = everything.kept
        names = {"": "feed"} | {fold(b.bag): b.bag for step in steps for b in step.bags}
        found = []
        for step in steps:
            reason = step.reason
            if step.from_bag not in self._places:
                reason = f"its feed, {names.get(step.from_bag, step.from_bag)}, is not computed"
            layers = None if reason else self._split(step)
            for bag in step.bags:
                key = fold(bag.bag)
                computed = key in self._shares
                why = reason or ("" if computed else f"{bag.product} is not computed")
                share, phases, assay = self._held(key, step) if computed else (None, None, None)
                found.append(
                    PredictedBag(
                        bag.test,
                        bag.step,
                        bag.repeat,
                        names.get(step.from_bag, step.from_bag),
                        bag.bag,
                        bag.product,
                        step.machine,
                        share,
                        phases,
                        assay,
                        why,
                        step.notes,
                        layers,
                    )
                )
        return tuple(found)

    @property
    def _classes(self) -> int:
        return self.trials.classes.mass.shape[1]

    def _split(self, step: TestedStep) -> float | None:
        """Places and shares of the bags of a step, and the depth of its bed."""
        fed = self._places[step.from_bag]
        if step.kind in ("charge", "screen"):
            for bag in step.bags:
                inside = np.ones(1)
                if step.kind == "screen":
                    sizes = self.trials.classes.sizes
                    window = treated_share(sizes, bag.passing_um, bag.retained_um)
                    inside = window[self.trials.classes.size]
                key = fold(bag.bag)
                self._places[key] = replace(fed, kept=fed.kept * inside)
                self._shares[key] = self._shares[step.from_bag] * inside
            return None
        place, tree = self._tree(step)
        if fed.tree and fed.tree != place:  # another field: only the classes are remembered
            fed = _Place(tree.start(), self._shares[step.from_bag], place)
        stage = _stage(tree, step, self.base)
        layers = self._layers(step)
        made, magnetics = self._outlets(tree, fed, stage, layers, 0.0, self._small(step))
        if step.setting and magnetics > MAGNETICS_LIMIT:
            made, _ = self._outlets(tree, fed, stage, layers, magnetics)
        for bag in step.bags:
            if bag.product in OUTLETS:
                carried, share = made[bag.product]
                self._places[fold(bag.bag)] = _Place(carried, fed.kept, place)
                self._shares[fold(bag.bag)] = share
        return layers

    def _outlets(
        self,
        tree: StepTree,
        fed: _Place,
        stage: Stage,
        layers: float | None,
        magnetics: float,
        small: BenchMagnet | None = None,
    ) -> tuple[dict[str, tuple[Carried, Array]], float]:
        """Each outlet with its shares of all classes, and the typical share of the magnetics."""
        loaded: Parameters | BenchMagnet = (
            small or (under_load(tree.parameters, max(layers or 0.0, 1.0), magnetics)[0])
        )
        made = tree.split(fed.carried, stage, tree.load(loaded.bypass, loaded.entrainment))
        whole = fed.kept * tree.shares(fed.carried)
        refused, between = (
            fed.kept * tree.shares(made[name]) for name in ("non-magnetics", "middlings")
        )
        taken = np.maximum(whole - refused - between, 0.0)
        shares = {"magnetics": taken, "middlings": between, "non-magnetics": refused}
        mass = self.trials.classes.mass[0]
        into = float(mass @ whole[0])
        share = float(mass @ taken[0]) / into if into > 0.0 else 0.0
        return {name: (made[name], shares[name]) for name in OUTLETS}, share

    def _small(self, step: TestedStep) -> BenchMagnet | None:
        """The small magnet that ran a step; None for a machine."""
        own = self.trials.parameters
        if step.by_hand:
            return own.by_hand or draw_bench_magnet(HAND_MAGNET_PRIOR, 0, 0)
        if step.isodynamic is None:
            return None
        return own.isodynamic or draw_bench_magnet(ISODYNAMIC_PRIOR, 0, 0)

    def _tree(self, step: TestedStep) -> tuple[tuple[object, ...], StepTree]:
        """The tree of a field and temperature; a drum joins that of the roll before or after."""
        temperature = step.feed_temperature_c
        setting = step.setting or replace(self.base, passes=(Pass(),), machine="permanent-roll")
        field_of = setting.induced if setting.machine == "induced-roll" else setting.roll
        key = (setting.machine, field_of, temperature, step.isodynamic is not None)
        if key not in self._trees:
            if temperature not in self._grains:
                trials = self.trials
                self._grains[temperature] = grains_for(
                    trials.classes, trials.mineralogy, temperature
                )
            grains, parameters = self._grains[temperature], self.trials.parameters
            small = self._small(step)
            if step.isodynamic is not None and small is not None:
                # Its magnet is another than the roll's; all its currents are of one magnet.
                parameters = replace(parameters, pull_factor=small.pull_factor)
            self._trees[key] = StepTree(setting, grains, parameters)
        return key, self._trees[key]

    def _layers(self, step: TestedStep) -> float | None:
        if step.feed_kg_s_m is None or step.setting is None:
            return None
        mass = self.trials.classes.mass[0] * self._shares[step.from_bag][0]
        lay = lay_of(mass, self.trials.grains)
        speed = step.setting.passes[0].belt_speed_m_s
        return layers_of_feed(step.feed_kg_s_m, lay.density_kg_m3, lay.sauter_m, speed)

    def _held(self, key: str, step: TestedStep) -> tuple[Array, Array, Array]:
        classes, mineralogy = self.trials.classes, self.trials.mineralogy
        inside = self._shares[key]
        part = classes.mass * inside
        fed = (classes.mass * self._shares[step.from_bag]).sum(axis=1)
        shape = (len(part), len(classes.phase_names), len(classes.sizes))
        phases = summed(self._matrix, part).reshape(shape).sum(axis=2)
        oxides = (phases[:, None, :] @ mineralogy.oxides_wt_pct)[:, 0, :]
        mass = part.sum(axis=1)
        nothing = np.full_like(oxides, np.nan)
        assay = np.divide(oxides, mass[:, None], out=nothing, where=mass[:, None] > 0.0)
        share = np.divide(mass, fed, out=np.full_like(mass, np.nan), where=fed > 0.0)
        return share, phases, assay


def _stage(tree: StepTree, step: TestedStep, base: Setting) -> Stage:
    if step.isodynamic is not None:
        return tree.isodynamic(*step.isodynamic)
    return tree.drum(step.drum) if step.drum else tree.roll(step.setting or base)
