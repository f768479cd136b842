"""How long a setting takes: the flight grid alone, and a sample of many classes and trials."""

from __future__ import annotations

from time import process_time

import numpy as np
import pytest

from feedchar.field.rolls import harmonics_of
from feedchar.field.setting import Pass, Roll, Setting
from feedchar.separation.capture import capture_table
from feedchar.separation.grain_nodes import Kind
from feedchar.separation.landing import landing_grid
from feedchar.separation.parameters import draw_parameters
from feedchar.separation.passes import separate
from feedchar.separation.pull_map import pull_map
from feedchar.separation.records import Grains
from feedchar.separation.thrower import Thrower

pytestmark = pytest.mark.benchmark

ROLL = Roll("tested", 0.05, 0.01, 0.004, 0.001, 1.25, 2.1, 2e-4)
EDGES_M = np.array([45, 63, 90, 125, 180, 250, 355, 500]) * 1e-6
KINDS = (
    *(Kind(False, density) for density in (2650.0, 3500.0, 5000.0)),
    *(Kind(True, 2940.0, ratio) for ratio in (0.05, 0.1, 0.2)),
)
GRID_LIMIT_S, WHOLE_LIMIT_S = 0.2, 0.4
"""Targets, in processor time of one core."""


def forget():
    for kept in (capture_table, landing_grid, pull_map):
        kept.cache_clear()


def best_of(count, action):
    times = []
    for _ in range(count):
        forget()
        start = process_time()
        action()
        times.append(process_time() - start)
    return min(times)


@pytest.mark.parametrize("speed", [1.0, 1.5, 3.0])
def test_a_flight_grid_takes_less_than_a_fifth_of_a_second(speed):
    """14 sizes, 3 densities, 3 thicknesses of flakes, 6 axial positions, 29 pull ratios."""
    harmonics = tuple(float(b) for b in harmonics_of(ROLL)[:24])
    sizes = tuple(np.geomspace(47e-6, 480e-6, 14))
    thrower = Thrower(0.05, 2e-4, 0.005, speed)
    assert best_of(5, lambda: landing_grid(harmonics, thrower, KINDS, sizes)) < GRID_LIMIT_S


@pytest.mark.parametrize("count", [1, 2])
def test_2000_trials_of_400_classes_take_less_than_four_tenths_of_a_second(count):
    rng = np.random.default_rng(0)
    classes, trials = 400, 2000
    size = np.arange(classes) % 7
    flake = np.arange(classes) % 4 == 0
    ordered = np.arange(classes) % 8 == 1
    grains = Grains(
        passing_m=EDGES_M[size + 1],
        retained_m=EDGES_M[size],
        is_flake=flake,
        thickness_ratio=np.where(flake, 0.1, 1.0),
        density_kg_m3=rng.uniform(2600, 5000, classes),
        susceptibility_m3_kg=rng.lognormal(np.log(1e-7), 1.5, (trials + 1, classes)),
        moment_A_m2_kg=np.tile(np.where(ordered, 0.3, 0.0), (trials + 1, 1)),
        order=ordered.astype(int),
        grain_ln_sd=rng.choice([0.2, 0.25, 0.3, 0.5], classes),
    )
    parameters = draw_parameters(trials, 1)
    setting = Setting(ROLL, (Pass(1.5),) * count)
    harmonics_of(ROLL)
    assert best_of(3, lambda: separate(setting, grains, parameters)) < WHOLE_LIMIT_S
