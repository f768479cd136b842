"""A bag from the examples, ready for circuits."""

from __future__ import annotations

import pytest

from feedchar.assembly.plant_runs import Plant
from feedchar.chemistry.build import mineralogy_of
from feedchar.chemistry.sizes import size_classes
from feedchar.field.rolls import read_roll
from feedchar.field.setting import Pass, Setting
from feedchar.particles.build import build_classes
from feedchar.particles.classes import SizeClasses
from feedchar.sample.read import read_sample
from feedchar.sample.records import Limit
from feedchar.separation.parameters import draw_parameters
from feedchar.tables.locate import examples_folder

TRIALS = 30


@pytest.fixture(scope="session")
def plant() -> Plant:
    sample = read_sample(str(examples_folder() / "glass_sand"))
    mineralogy = mineralogy_of(sample, TRIALS, 1)
    sizes = SizeClasses(*size_classes(sample)[:2])
    classes, _ = build_classes(sample, mineralogy, sizes, 1)
    return Plant(
        classes,
        mineralogy,
        draw_parameters(TRIALS, 1),
        Setting(roll=read_roll("fine-100"), passes=(Pass(1.5, 0.01),)),
        Limit(max_wt_pct={"Fe2O3": 0.04}, yield_min_pct=90.0),
        7.0,
    )
