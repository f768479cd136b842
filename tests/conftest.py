# ruff: noqa: E402
"""An invented sand for the rooms that start from a finished mineralogy; no real deposit."""

from __future__ import annotations

import os
from dataclasses import dataclass

# As the command line does: small matrices, one thread, one order of the sums.
for _name in ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ.setdefault(_name, "1")

import numpy as np
import pytest

from feedchar.chemistry.mineralogy import OXIDES, Agreement, Mineralogy, PhaseModel
from feedchar.particles.classes import ParticleClasses, SizeClasses
from feedchar.separation.records import Shares

IRON = OXIDES.index("Fe2O3")


def phase(name, role, density, *, shape="equant", order="none", dark=False, **oxides):
    row = np.array([oxides.get(name, 0.0) for name in OXIDES])
    row[-1] = 100.0 - row[:-1].sum()
    iron = oxides.get("Fe2O3", 0.0) / 1.42974
    return PhaseModel(
        name, role, density, shape, order, "assumed", "computed_here", iron, iron, iron, row, row,
        is_dark=dark,
    )  # fmt: skip


PHASES = {
    "albite": phase("albite", "host", 2620.0, SiO2=68.6, Al2O3=19.4, Na2O=11.9, Fe2O3=0.02),
    "biotite": phase(
        "biotite", "removable", 3000.0, shape="flake", dark=True, SiO2=36.0, Al2O3=15.0,
        Fe2O3=24.0, K2O=9.5, MgO=8.0, LOI=3.0,
    ),
    "goethite": phase("goethite", "removable", 4000.0, dark=True, Fe2O3=89.9, LOI=10.1),
    "ilmenite": phase("ilmenite", "removable", 4720.0, dark=True, Fe2O3=52.6, TiO2=47.0),
    "magnetite": phase(
        "magnetite", "removable", 5180.0, order="ferrimagnetic", dark=True, Fe2O3=100.0
    ),
    "quartz": phase("quartz", "host", 2650.0, SiO2=99.99, Fe2O3=0.005),
    "rutile": phase("rutile", "stays", 4250.0, TiO2=98.0, Fe2O3=1.0),
    "zircon": phase("zircon", "stays", 4650.0, ZrO2=66.0, SiO2=33.0, Fe2O3=0.1),
    "unseen": phase("unseen", "stays", 3800.0, Fe2O3=90.0, LOI=10.0),
}  # fmt: skip
TYPICAL = {
    "quartz": 85.0, "albite": 13.5, "biotite": 0.9, "goethite": 0.1, "ilmenite": 0.25,
    "magnetite": 0.02, "rutile": 0.06, "zircon": 0.04, "unseen": 0.03,
}  # fmt: skip
PULL = {
    "albite": -5.0, "biotite": 400.0, "goethite": 300.0, "ilmenite": 1200.0, "magnetite": 60000.0,
    "quartz": -6.0, "rutile": 8.0, "zircon": -2.0, "unseen": 300.0,
}  # fmt: skip
EDGES_UM = (500.0, 355.0, 250.0, 180.0, 125.0, 90.0, 63.0, 45.0, 0.0)
SIZE_SHARE = (0.03, 0.10, 0.20, 0.25, 0.20, 0.12, 0.07, 0.03)


@dataclass(frozen=True)
class Sand:
    """Everything that the tests of particles and product start from."""

    mineralogy: Mineralogy
    sizes: SizeClasses

    def response(self, classes: ParticleClasses) -> np.ndarray:
        """Pull of each class by mass, typical case, riders as their carriers. (C,)"""
        pull = np.array([PULL[name] for name in classes.phase_names])
        grade = np.where(classes.host >= 0, classes.grade, 1.0)
        other = np.where(classes.host >= 0, classes.host, classes.mineral)
        mixed = grade * pull[classes.mineral] + (1.0 - grade) * pull[other]
        return mixed[classes.carrier]

    def shares(self, classes, cut=60.0, missed=0.03, carried=0.01, spread=0.2, middlings=0.0):
        """An invented smooth machine: a partition in the pull, fines carried over."""
        pull = self.response(classes)
        trials = len(classes.mass)
        factor = np.exp(spread * np.random.default_rng(5).standard_normal((trials, 1)))
        factor[0] = 1.0
        taken = 1.0 / (1.0 + (cut / np.maximum(pull * factor, 1e-6)) ** 3)
        size = self.sizes.middle_um[classes.size][classes.carrier]
        taken = np.maximum(taken, 1.0 / (1.0 + (size / 50.0) ** 6))
        met = (1.0 - missed) * taken
        magnetics = met + carried * (1.0 - met)
        between = middlings * (1.0 - magnetics)
        left = missed * taken * (1.0 - carried) * (1.0 - middlings)
        return Shares(magnetics, between, 1.0 - magnetics - between, left)


def make_sand(trials=50, typical=None, seed=3, unseen_forms=(2.0, 1.0, 2.0), names=None):
    """An invented sand; `typical` in wt % by name, `names` adds phases of nil mass."""
    amounts = {**TYPICAL} if typical is None else dict(typical)
    amounts = {**dict.fromkeys(names or (), 0.0), **amounts}
    amounts.setdefault("unseen", 0.0)
    order = [*sorted(name for name in amounts if name != "unseen"), "unseen"]
    phases = tuple(PHASES[name] for name in order)
    mass = np.empty((trials + 1, len(order)))
    for k, name in enumerate(order):
        draws = np.random.default_rng([seed, *name.encode()]).standard_normal(trials + 1)
        draws[0] = 0.0
        mass[:, k] = amounts[name] * np.exp(0.2 * draws)
    mass /= mass.sum(axis=1, keepdims=True)
    forms = np.random.default_rng(seed).dirichlet(unseen_forms, trials + 1)
    forms[0] = np.array(unseen_forms) / sum(unseen_forms)
    oxides = np.repeat(np.array([p.oxides_low_wt_pct for p in phases])[None], trials + 1, axis=0)
    bulk = np.einsum("tm,tmk->tk", mass, oxides)
    sizes = np.tile(np.array(SIZE_SHARE), (1, len(order), 1))
    mineralogy = Mineralogy(
        phases=phases,
        mass_fraction=mass,
        size_share=sizes,
        iron_wt_pct=oxides[:, :, IRON] / 1.42974,
        oxides_wt_pct=oxides,
        susceptibility_m3_kg=np.tile([PULL[name] * 1e-9 for name in order], (trials + 1, 1)),
        predicted_wt_pct=bulk,
        reconciled_wt_pct=bulk,
        unseen_form_share=forms,
        agreement=Agreement(None, 0, None, {}),
        has_assay=False,
        assay_needed=False,
        data_disagree=False,
    )
    return Sand(mineralogy, SizeClasses(np.array(EDGES_UM[:-1]), np.array(EDGES_UM[1:])))


@pytest.fixture(scope="session")
def sand_of():
    """Factory of invented sands: trials, typical wt % by name, seed, forms of unseen iron."""
    return make_sand


@pytest.fixture(scope="session")
def sand():
    """An invented glass sand over 50 trials."""
    return make_sand()
