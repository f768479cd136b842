"""Moving air, grains that adhesion lets go late, and trees of steps, by other means.

The references are a general Runge-Kutta solver of scipy, the normal integral of a log-normal
adhesion, and the passes of one machine.
"""

from __future__ import annotations

from math import acos, cos, log, pi

import numpy as np
import pytest
from scipy.integrate import solve_ivp
from scipy.special import ndtr

from feedchar.constants import AIR_DENSITY_KG_M3, AIR_VISCOSITY_PA_S, GRAVITY_M_S2
from feedchar.field.drum import drum_of
from feedchar.field.setting import Pass, Setting
from feedchar.separation.capture import (
    ADHESION_LN_SD,
    FINE_RATIOS,
    RESPONSE,
    RESPONSE_SCALE,
    Reference,
    _refined,
    _share_inside,
)
from feedchar.separation.grain_nodes import Kind, grain_nodes
from feedchar.separation.isodynamic_stage import (
    SHARPNESS_LN_SD,
    isodynamic_capture,
)
from feedchar.separation.landing import LATE, landing_grid
from feedchar.separation.load import under_load
from feedchar.separation.passes import separate
from feedchar.separation.pull_map import LINEAR, pull_map
from feedchar.separation.records import Grains, Parameters
from feedchar.separation.step_tree import StepTree
from feedchar.separation.thrower import PLANE_BELOW_ROLL_M, Release, Thrower
from feedchar.separation.trajectories import landing_positions

RADIUS, BELT, PITCH = 0.05, 0.0002, 0.005
QUARTZ = Kind(False, 2650.0)
MU0 = 4e-7 * pi


@pytest.mark.parametrize(("size", "speed", "layer"), [(6e-5, 1.5, 0.004), (1.2e-4, 2.0, 0.010)])
def test_air_dragged_by_the_belt_carries_a_grain_as_a_general_solver_says(size, speed, layer):
    thrower = Thrower(RADIUS, BELT, PITCH, speed, layer)
    nodes = grain_nodes((QUARTZ,), (size,))
    path = float(thrower.path_radius_m(nodes)[0])
    stokes = 18.0 * AIR_VISCOSITY_PA_S / (2650.0 * size**2)

    def rate(_, s):
        distance = np.hypot(s[0], s[1])
        # Along the belt, which turns from the top towards the splitters; 1/e at each layer.
        wind = speed * np.exp(-max(distance - path, 0.0) / layer) / distance
        through = s[2:] - wind * np.array([s[1], -s[0]])
        reynolds = AIR_DENSITY_KG_M3 * size / AIR_VISCOSITY_PA_S * np.hypot(*through)
        drag = stokes * (1.0 + 0.15 * reynolds**0.687)
        return [*s[2:], -drag * through[0], -drag * through[1] - GRAVITY_M_S2]

    def plane(_, s):
        return s[1] + RADIUS + PLANE_BELOW_ROLL_M

    plane.terminal = True
    face = thrower.turn_rad_s * path
    solved = solve_ivp(rate, (0, 5), [0, path, face, 0], "DOP853", rtol=1e-9, events=plane)
    none = pull_map((1.0,), PITCH, RADIUS, BELT, (QUARTZ,), (size,), LINEAR)
    release = Release(np.zeros(1, dtype=np.intp), *(np.zeros(1) for _ in range(4)))
    landed = landing_positions(thrower, nodes, none, release)[0]
    # Steps are as long as the pull allows, so a thin layer of air is followed to 2 mm only.
    assert landed == pytest.approx(solved.y_events[0][0][0], abs=2e-3)
    still = landing_positions(Thrower(RADIUS, BELT, PITCH, speed), nodes, none, release)[0]
    assert landed - still > 0.003


def test_adhesion_lets_a_grain_go_inside_the_edge_as_often_as_its_spread_says():
    """The belt throws with v^2/R - g cos(angle); an adhesion as strong keeps the grain."""
    thrower = Thrower(RADIUS, BELT, PITCH, 1.5)
    grid = landing_grid((1.0,), thrower, (QUARTZ,), (2e-4,))
    late, path = _refined(grid.late_m), float(grid.path_radius_m[0])
    medians = (1e-8, 1e-7, 1e-6)
    for at in (60, 100, 130):  # pushed off, pulled a third, pulled so that it leaves past the top
        throws = float(grid.centrifugal_m_s2[0]) * (1.0 - FINE_RATIOS[at])
        first = acos(min(throws / GRAVITY_M_S2, 1.0))
        mass = 2650.0 * pi / 6.0 * 2e-4**3
        late_rad = first + LATE * (pi / 2 - first)
        needed = mass * (throws - GRAVITY_M_S2 * cos(late_rad))
        edge = float(late[0, 0, at])
        assert edge > path
        inside = _share_inside(grid, edge, medians)[0, 0, :, at]
        wanted = [1.0 - ndtr((log(needed) - log(median)) / ADHESION_LN_SD) for median in medians]
        assert inside == pytest.approx(wanted, abs=1e-6)


def some_grains(trials):
    rng = np.random.default_rng(5)
    susceptibility = np.array([-6e-9, 6e-8, 3e-7, 1.4e-6]) * (1 + 0.1 * rng.random((trials, 4)))
    flake = np.array([False, True, True, False])
    return Grains(
        passing_m=np.full(4, 300e-6), retained_m=np.full(4, 212e-6), is_flake=flake,
        thickness_ratio=np.where(flake, 0.1, 1.0),
        density_kg_m3=np.array([2650.0, 2830.0, 3000.0, 4700.0]),
        susceptibility_m3_kg=susceptibility, moment_A_m2_kg=np.zeros((trials, 4)),
        order=np.zeros(4, dtype=int), grain_ln_sd=np.full(4, 0.3),
    )  # fmt: skip


def machine(trials):
    rng = np.random.default_rng(6)
    bypass, entrainment = 0.1 * rng.random(trials), 0.02 * rng.random(trials)
    pull, adhesion = 0.9 + 0.2 * rng.random(trials), 1e-8 * (0.5 + rng.random(trials))
    return Parameters(bypass, entrainment, pull, adhesion)


@pytest.fixture(scope="module")
def tree_and_setting():
    from feedchar.field.rolls import read_roll

    setting = Setting(read_roll("fine-100"), (Pass(1.5, 0.010, 0.020),))
    grains, parameters = some_grains(5), machine(5)
    tree = StepTree(setting, grains, parameters)
    return tree, tree.load(parameters.bypass, parameters.entrainment), setting, grains, parameters


def test_one_step_of_a_tree_is_a_pass_of_the_machine(tree_and_setting):
    tree, load, setting, grains, parameters = tree_and_setting
    split = tree.split(tree.start(), tree.roll(setting), load)
    wanted = separate(setting, grains, parameters)
    for name in ("magnetics", "middlings", "non_magnetics"):
        found = tree.shares(split[name.replace("_", "-")])
        assert found == pytest.approx(getattr(wanted, name), abs=1e-12), name


def test_non_magnetics_fed_again_are_two_passes_in_a_row_with_one_load(tree_and_setting):
    tree, load, setting, grains, parameters = tree_and_setting
    again = Setting(setting.roll, (Pass(1.5, 0.010), Pass(1.5, 0.010)))
    stage = tree.roll(again)
    once = tree.split(tree.start(), stage, load)["non-magnetics"]
    twice = tree.split(once, stage, load)["non-magnetics"]
    wanted = separate(again, grains, parameters).non_magnetics
    assert tree.shares(twice) == pytest.approx(wanted, abs=1e-12)


def test_what_goes_in_comes_out_of_a_tree_however_deep(tree_and_setting):
    tree, load, setting, _, parameters = tree_and_setting
    other = tree.load(0.5 * parameters.bypass, parameters.entrainment)
    assert other != load
    assert tree.load(parameters.bypass, parameters.entrainment) == load
    first = tree.split(tree.start(), tree.drum(drum_of("weak")), load)
    second = tree.split(first["non-magnetics"], tree.roll(setting), other)
    third = tree.split(second["middlings"], tree.isodynamic(0.5, 0.26), load)
    ends = [first["magnetics"], second["magnetics"], second["non-magnetics"], *third.values()]
    total = sum(tree.shares(end) for end in ends)
    assert total == pytest.approx(np.ones((5, 4)), abs=1e-12)
    assert tree.shares(tree.start()) == pytest.approx(np.ones((5, 4)))


def test_a_trial_does_not_feel_the_adhesion_of_the_others():
    """Shares lie between rungs of adhesion, evenly in its logarithm."""
    from feedchar.field.rolls import read_roll

    setting, grains = Setting(read_roll("fine-100"), (Pass(1.5, 0.010),)), some_grains(1)
    zero, one = np.zeros(3), np.ones(3)
    adhesion = np.array([1e-9, 4e-7, 1e-5])
    among = separate(setting, grains, Parameters(zero, zero, one, adhesion)).magnetics[1]
    alone = separate(
        setting, grains, Parameters(zero[:1], zero[:1], one[:1], adhesion[1:2])
    ).magnetics[0]
    weakest = separate(
        setting, grains, Parameters(zero[:1], zero[:1], one[:1], adhesion[:1])
    ).magnetics[0]
    assert among == pytest.approx(alone, abs=0.02)
    assert np.abs(alone - weakest).max() > 0.1


@pytest.mark.parametrize(("share", "axis"), [(0.0, 0), (0.5, 1), (1.0, 2)])
def test_an_isodynamic_separator_weighs_a_moment_by_the_flux_density_between_its_poles(share, axis):
    """chi / mu0 + M / B against g sin(slope), whatever part of the response the moment has."""
    reference = Reference(pull_per_susceptibility=3.0e6, susceptibility_per_moment=2.0e-6)
    current, slope = 0.4, 0.26
    taken = isodynamic_capture(current, slope, 2, reference, 3, with_moment=True)
    assert taken.shape[:3] == (2, 3, 3)
    at = int(np.argmin(np.abs(taken[0, 0, axis] - 0.5)))
    response = np.sinh(RESPONSE[at]) * RESPONSE_SCALE / reference.pull_per_susceptibility
    chi = (1.0 - share) * response
    moment = share * response / reference.susceptibility_per_moment
    # The constant of the calibration, 20e-6 cm3/g A2, from memory, is 20e-6 x 4 pi / 1000 here.
    product = MU0 * GRAVITY_M_S2 * current**2 / (20e-6 * 4e-3 * pi)
    # Between the poles of the laboratory separator some 0.7 T, from memory.
    pull = (chi / MU0 + moment / 0.7) * product
    wanted = ndtr(log(pull / (GRAVITY_M_S2 * np.sin(slope))) / SHARPNESS_LN_SD)
    assert taken[:, :, axis, at] == pytest.approx(wanted, abs=1e-6)
    assert 0.05 < wanted < 0.95


def test_poles_of_an_isodynamic_separator_saturate_at_one_and_a_half_amperes():
    """More current pulls no more (from memory); a twentieth less pulls less."""
    reference = Reference(3.0e6, 2.0e-6)

    def taken(current):
        return isodynamic_capture(current, 0.26, 1, reference, 1, with_moment=False)

    assert taken(1.5).shape == (1, 1, 1, len(RESPONSE))
    assert np.array_equal(taken(1.5), taken(1.6))
    assert np.array_equal(taken(1.5), taken(9.0))
    assert np.abs(taken(1.5) - taken(1.43)).max() > 0.05


@pytest.mark.parametrize("how", [{"layers": 1e4}, {"magnetics_share": 1.0}])
def test_however_deep_the_bed_no_more_than_half_of_the_sand_is_carried(how):
    fed = Parameters(np.zeros(2), np.array([0.2, 0.4]), np.ones(2), np.full(2, 1e-8))
    assert under_load(fed, **how)[0].entrainment.max() == pytest.approx(0.5)
