"""The feed and the machine of the direct simulation, and the simulation itself."""

from __future__ import annotations

import importlib.util
import sys
from pathlib import Path
from types import ModuleType

import numpy as np
import pytest
from scipy.special import ndtr

from feedchar.field.setting import Pass, Roll, Setting
from feedchar.separation.grain_nodes import FlakeSpread
from feedchar.separation.passes import separate
from feedchar.separation.records import Grains, Parameters

EDGES_UM = np.array(
    [30, 38, 45, 53, 63, 75, 90, 106, 125, 150, 180, 212, 250, 300, 355, 425, 500, 600, 710, 850,
     1180, 1700]
)  # fmt: skip
ENTRAINMENT = 0.01
COATING_PCT, COATING_IRON_PCT = 0.04, 59.0
"""Stain that follows the quartz."""


def _load(name: str) -> ModuleType:
    if name not in sys.modules:
        spec = importlib.util.spec_from_file_location(name, Path(__file__).parent / f"{name}.py")
        assert spec is not None
        assert spec.loader is not None
        module = importlib.util.module_from_spec(spec)
        sys.modules[name] = module
        spec.loader.exec_module(module)
    return sys.modules[name]


@pytest.fixture(scope="session")
def direct() -> ModuleType:
    return _load("direct_simulation")


@pytest.fixture(scope="session")
def feed(direct):
    """The sand of the published simulation; feldspar's 0.1 % Fe closes its head of 0.583 % Fe."""
    mineral = direct.Mineral
    return (
        mineral("quartz", 94.16, 0.0, 200, 2650, -6.19e-9),
        mineral("feldspar", 3.0, 0.1, 200, 2600, -5.5e-9),
        mineral("muscovite", 1.0, 2.0, 220, 2940, 60e-9, 0.5, flake_ratio=0.1),
        mineral("biotite", 1.2, 18.0, 220, 2940, 500e-9, 0.25, flake_ratio=0.1),
        mineral("ilmenite", 0.3, 36.8, 140, 4700, 1400e-9, 0.3),
        mineral("hematite", 0.3, 69.9, 140, 5200, 282e-9, 0.2, 0.4),
    )


def roll_of(radius_m: float) -> Roll:
    """The 4:1 roll of the simulation."""
    return Roll("tested", radius_m, 0.2 * radius_m, 0.004, 0.001, 1.25, 2.1, 0.0002)


def machine_parameters(bypass=0.0, entrainment=ENTRAINMENT, adhesion_N=1e-8) -> Parameters:
    one = np.ones(1)
    return Parameters(bypass * one, entrainment * one, one, adhesion_N * one)


def classes_of(feed) -> tuple[Grains, np.ndarray]:
    """The feed as size classes, and each class's share of its mineral, (minerals, sizes)."""
    count = len(EDGES_UM) - 1
    shares = []
    for mineral in feed:
        below = ndtr(np.log(EDGES_UM / mineral.d50_um) / 0.5)
        below[[0, -1]] = 0.0, 1.0
        shares.append(np.diff(below))

    def column(of):
        return np.repeat([of(mineral) for mineral in feed], count)

    flake = column(lambda m: m.flake_ratio is not None)
    moment = column(lambda m: float(m.moment))
    grains = Grains(
        passing_m=np.tile(EDGES_UM[1:] * 1e-6, len(feed)),
        retained_m=np.tile(EDGES_UM[:-1] * 1e-6, len(feed)),
        is_flake=flake,
        thickness_ratio=np.where(flake, 0.1, 1.0),
        density_kg_m3=column(lambda m: float(m.density)),
        susceptibility_m3_kg=column(lambda m: m.susceptibility)[None],
        moment_A_m2_kg=moment[None],
        order=(moment > 0).astype(int),
        grain_ln_sd=column(lambda m: float(m.scatter)),
    )
    return grains, np.array(shares)


def taken_by_grid(feed, setting: Setting, parameters: Parameters | None = None) -> dict:
    """Share of each mineral that does not reach the product, by the grid of the package."""
    grains, share = classes_of(feed)
    shares = separate(setting, grains, parameters or machine_parameters(), FlakeSpread(0.0, 0.0))
    gone = (1.0 - shares.non_magnetics[0]).reshape(share.shape)
    return {m.name: float(row) for m, row in zip(feed, (gone * share).sum(axis=1), strict=True)}


def product_of(feed, taken: dict) -> tuple[float, float, float]:
    """Product iron in wt % Fe, yield in %, quartz lost in %."""
    left = {m.name: m.mass_pct * (1.0 - taken[m.name]) for m in feed}
    coating = COATING_PCT * (1.0 - taken["quartz"])
    mass = sum(left.values()) + coating
    iron = sum(left[m.name] * m.iron_pct for m in feed) + coating * COATING_IRON_PCT
    return iron / mass, mass, 100.0 * taken["quartz"]


@pytest.fixture(scope="session")
def sand(feed):
    """What tests of this folder need: builders bound to the feed."""

    class Sand:
        roll = staticmethod(roll_of)
        parameters = staticmethod(machine_parameters)
        minerals = feed
        classes = staticmethod(lambda some=feed: classes_of(some))

        @staticmethod
        def setting(radius_m, speed_m_s, edge_m=0.010, **more) -> Setting:
            return Setting(roll_of(radius_m), (Pass(speed_m_s, edge_m),), **more)

        @staticmethod
        def grid(setting, parameters=None, some=feed):
            return taken_by_grid(some, setting, parameters)

        @staticmethod
        def product(taken):
            return product_of(feed, taken)

    return Sand
