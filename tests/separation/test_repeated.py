"""The same pass again and again: one flight gives what each number of passes gives by itself."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from feedchar.field.setting import Pass, Setting
from feedchar.separation.passes import separate
from feedchar.separation.records import Grains, Parameters
from feedchar.separation.repeated import repeated

TRIALS = 5
NAMES = ("magnetics", "middlings", "non_magnetics", "missed")


def some_grains() -> Grains:
    """Quartz, muscovite (flake), ilmenite and a carrier of magnetite of 212 to 300 um."""
    spread = 1.0 + 0.1 * np.arange(TRIALS)[:, None]
    return Grains(
        passing_m=np.full(4, 300e-6),
        retained_m=np.full(4, 212e-6),
        is_flake=np.array([False, True, False, False]),
        thickness_ratio=np.array([1.0, 0.1, 1.0, 1.0]),
        density_kg_m3=np.array([2650.0, 2830.0, 4700.0, 2660.0]),
        susceptibility_m3_kg=spread * np.array([-6.2e-9, 6e-8, 1.4e-6, 1e-8]),
        moment_A_m2_kg=spread * np.array([0.0, 0.0, 0.0, 0.05]),
        order=np.array([0, 0, 0, 2]),
        grain_ln_sd=np.array([0.0, 0.3, 0.3, 0.5]),
    )


def some_parameters(air: float | None = None) -> Parameters:
    along = np.linspace(0.0, 1.0, TRIALS)
    return Parameters(
        bypass=0.01 + 0.05 * along,
        entrainment=0.005 + 0.02 * along,
        pull_factor=0.9 + 0.2 * along,
        adhesion_N=1e-8 * np.exp(2.0 * along - 1.0),
        air_layer_m=None if air is None else np.full(TRIALS, air),
    )


@pytest.mark.parametrize("passes", [1, 2, 3, 4])
def test_each_number_of_passes_is_as_computed_by_itself(sand, passes: int) -> None:
    grains, parameters = some_grains(), some_parameters()
    one = Setting(sand.roll(0.05), (Pass(1.2, 0.01),))
    ready = repeated(one, grains, parameters, 4)
    assert ready.taken is not None
    alone = separate(replace(one, passes=one.passes * passes), grains, parameters)
    shares = ready.shares(passes, parameters)
    for name in NAMES:
        assert getattr(shares, name) == pytest.approx(getattr(alone, name), abs=1e-12), name
    # A belt that carries more sand along needs no new flights.
    other = replace(parameters, entrainment=parameters.entrainment + 0.1)
    alone = separate(replace(one, passes=one.passes * passes), grains, other)
    for name in NAMES:
        again = getattr(ready.shares(passes, other), name)
        assert again == pytest.approx(getattr(alone, name), abs=1e-12), name


@pytest.mark.parametrize(
    ("second", "drum", "air", "adhesion"),
    [(0.02, None, None, 1.0), (None, "weak", None, 1.0), (None, None, 1e-3, 1.0),
     (None, None, None, 2.0)],
)  # fmt: skip
def test_what_one_flight_cannot_tell_is_computed_pass_by_pass(
    sand, second: float | None, drum: str | None, air: float | None, adhesion: float
) -> None:
    grains, parameters = some_grains(), some_parameters(air)
    one = Setting(sand.roll(0.05), (Pass(1.2, 0.01, second),), drum_first=drum)
    ready = repeated(one, grains, parameters, 2)
    asked = replace(parameters, adhesion_N=adhesion * parameters.adhesion_N)
    alone = separate(replace(one, passes=one.passes * 2), grains, asked)
    shares = ready.shares(2, asked)
    for name in NAMES:
        assert np.array_equal(getattr(shares, name), getattr(alone, name))


def test_one_pass_alone_may_be_asked_for_and_still_air_flies_once(sand):
    """Air that stands in every trial is still; air that moves in one of them is flown twice."""
    grains, one = some_grains(), Setting(sand.roll(0.05), (Pass(1.2, 0.01),))
    still = some_parameters(0.0)
    ready = repeated(one, grains, still, 1)
    assert ready.taken is not None
    assert len(ready.taken) == 1
    alone = separate(one, grains, still)
    for name in NAMES:
        wanted = pytest.approx(getattr(alone, name), abs=1e-12)
        assert getattr(ready.shares(1, still), name) == wanted, name
    moved = replace(still, air_layer_m=np.array([0.0, 0.0, 0.0, 0.0, 1e-3]))
    assert repeated(one, grains, moved, 1).taken is None
