"""What must hold for every roll, setting and sand: found by random search, not by example."""

from __future__ import annotations

from dataclasses import replace
from math import pi, sqrt

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from feedchar.field.setting import Pass, Roll, Setting
from feedchar.separation import detachment_angle, flux_density_to_hold, landing_position
from feedchar.separation.passes import separate
from feedchar.separation.records import Grains, Parameters

EVERY = settings(max_examples=60, deadline=None, derandomize=True)
FEW = settings(max_examples=12, deadline=None, derandomize=True)

EDGES_M = np.array([63, 90, 125, 180, 250, 355, 500]) * 1e-6


def floats(low, high):
    return st.floats(low, high, allow_nan=False, allow_infinity=False)


@st.composite
def rolls(draw):
    """Rolls within the table of field solutions."""
    radius = draw(st.sampled_from([0.05, 0.075, 0.1]))
    pitch = draw(floats(0.004, 0.010))
    ratio = draw(floats(2.0, 6.0))
    magnet = pitch * ratio / (1.0 + ratio)
    remanence = draw(floats(1.0, 1.4))
    belt = draw(floats(1.5e-4, 5e-4))
    return Roll("any", radius, 0.2 * radius, magnet, pitch - magnet, remanence, 2.1, belt)


@st.composite
def passes(draw):
    splitter = draw(floats(0.004, 0.03))
    second = draw(st.one_of(st.none(), floats(splitter + 0.001, splitter + 0.05)))
    return Pass(draw(floats(0.6, 3.0)), splitter, second)


@st.composite
def sands(draw, count=6):
    """Classes of any size, shape and response, three trials."""
    place = np.array(draw(st.lists(st.integers(0, 5), min_size=count, max_size=count)))
    flake = np.array(draw(st.lists(st.booleans(), min_size=count, max_size=count)))
    logs = draw(st.lists(floats(-8.5, -5.0), min_size=count, max_size=count))
    moment = np.array(
        draw(st.lists(st.sampled_from([0.0, 0.05, 0.4]), min_size=count, max_size=count))
    )
    chi = 10.0 ** np.array(logs)
    chi[0] = -6.2e-9
    return Grains(
        passing_m=EDGES_M[place + 1],
        retained_m=EDGES_M[place],
        is_flake=flake,
        thickness_ratio=np.where(flake, 0.1, 1.0),
        density_kg_m3=np.linspace(2600.0, 5200.0, count),
        susceptibility_m3_kg=chi * np.array([[1.0], [0.8], [1.3]]),
        moment_A_m2_kg=np.tile(moment, (3, 1)),
        order=(moment > 0).astype(int),
        grain_ln_sd=np.full(count, 0.3),
    )


MACHINE = Parameters(
    np.array([0.03, 0.0, 0.1]),
    np.array([0.01, 0.0, 0.03]),
    np.ones(3),
    np.array([1e-8, 5e-9, 3e-8]),
)
CLEAN = Parameters(np.zeros(1), np.zeros(1), np.ones(1), np.full(1, 1e-8))


@FEW
@given(rolls(), st.lists(passes(), min_size=1, max_size=3), sands(), st.data())
def test_shares_are_shares_and_sum_to_one(roll, several, grains, data):
    edged = all(one.splitter_2_m is not None for one in several)
    retreat = (
        data.draw(st.sampled_from(["non-magnetics", "middlings"])) if edged else "non-magnetics"
    )
    drum = data.draw(st.sampled_from([None, "weak", "strong"]))
    setting = Setting(roll, tuple(several), retreat=retreat, drum_first=drum)
    shares = separate(setting, grains, MACHINE)
    parts = np.stack([shares.magnetics, shares.middlings, shares.non_magnetics])
    assert parts.shape == (3, 3, 6)
    assert np.all((parts >= 0.0) & (parts <= 1.0))
    assert np.all(np.abs(parts.sum(axis=0) - 1.0) < 1e-12)
    assert np.all((shares.missed >= 0.0) & (shares.missed <= shares.non_magnetics + 1e-12))


@EVERY
@given(
    floats(-2e-8, 3e-6), floats(2e-5, 2e-3), floats(0.2, 5.0), floats(0.0, 1.5), floats(0.0, 0.5)
)
def test_more_field_never_releases_earlier_by_the_hold_criterion(chi, size, speed, b1, more):
    place = (chi, size, speed, 0.05, 2.5e-4, 0.005)
    weak, strong = detachment_angle(*place, b1), detachment_angle(*place, b1 + more)
    assert strong >= weak - 1e-12 if chi >= 0 else strong <= weak + 1e-12


@EVERY
@given(floats(1e-8, 3e-6), floats(2e-5, 2e-3), floats(0.2, 5.0), floats(0.0, pi))
def test_the_field_needed_holds_just_to_its_angle(chi, size, speed, angle):
    place = (chi, size, speed, 0.05, 2.5e-4, 0.005)
    needed = flux_density_to_hold(*place, angle)
    held = detachment_angle(*place, needed * (1 + 1e-9) + 1e-12)
    # Where no field is needed gravity holds it further still.
    assert held >= angle - 1e-3


@FEW
@given(rolls(), passes(), sands(), floats(1.02, 1.3))
def test_more_field_never_takes_less_of_a_class_that_is_pulled(roll, one, grains, factor):
    pulled = replace(grains, susceptibility_m3_kg=np.abs(grains.susceptibility_m3_kg))
    setting = Setting(roll, (one,))
    weak = separate(setting, pulled, CLEAN)
    # All pulls scale with the square of the field at a fixed shape of it.
    strong = separate(setting, pulled, replace(CLEAN, pull_factor=np.full(1, factor**2)))
    assert np.all(strong.magnetics >= weak.magnetics - 0.01)


@EVERY
@given(
    floats(1e-9, 3e-6), floats(2e-5, 2e-3), floats(0.2, 3.0), floats(0.3, 1.5), floats(0.03, 0.2)
)
def test_equal_centrifugal_acceleration_lets_go_at_the_same_angle(chi, size, speed, b1, radius):
    """Landings are not alike: edges and the decay of the pull do not grow with the roll."""
    belt, pitch = 2.5e-4, 0.005
    centre, small = radius + belt + size / 2, 0.05 + belt + size / 2
    on_small = detachment_angle(chi, size, speed, 0.05, belt, pitch, b1)
    same = speed * sqrt(centre / small)
    assert abs(detachment_angle(chi, size, same, radius, belt, pitch, b1) - on_small) < 1e-6


@EVERY
@given(floats(2000, 6000), floats(3e-5, 2e-3), floats(0.2, 5.0), floats(0.02, 0.2))
def test_drag_never_throws_a_grain_further(density, size, speed, radius):
    plane = radius + 0.01
    vacuum = landing_position(density, size, speed, radius, 2e-4, plane, drag=False)
    air = landing_position(density, size, speed, radius, 2e-4, plane)
    assert np.isnan(air) or air <= vacuum + 1e-9
    if np.isnan(vacuum):
        assert np.isnan(air)
