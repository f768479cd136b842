"""Landing grids flight by flight, the spread of adhesion by drawing it, and drums by hand."""

from __future__ import annotations

from dataclasses import replace
from math import acos, log, pi, sin

import numpy as np
import pytest
from scipy.integrate import solve_ivp
from scipy.special import ndtr, ndtri

from feedchar.field.drum import STRONG_DRUM, WEAK_DRUM, drum_flux_density
from feedchar.separation import landing_position
from feedchar.separation.capture import (
    ADHESION_LN_SD,
    FINE_RATIOS,
    MOMENT_SHARES,
    RESPONSE,
    RESPONSE_SCALE,
    Reference,
    _over_response,
    _share_inside,
    capture_table,
    response_of,
)
from feedchar.separation.drum_stage import drum_capture
from feedchar.separation.grain_nodes import (
    FlakeSpread,
    Kind,
    grain_nodes,
    spread_over_nodes,
)
from feedchar.separation.landing import PULL_RATIOS, LandingGrid, axial_nodes, landing_grid
from feedchar.separation.pull_map import MOMENT, pull_map
from feedchar.separation.records import Grains
from feedchar.separation.thrower import Release, Thrower
from feedchar.separation.trajectories import landing_positions

RADIUS, BELT, PITCH, SIZE, DENSITY, SPEED = 0.05, 0.0002, 0.005, 1.5e-4, 2650.0, 1.5
PATH = RADIUS + BELT + SIZE / 2
TURN = SPEED / (RADIUS + BELT)
THROWS = TURN**2 * PATH
MASS = DENSITY * pi / 6.0 * SIZE**3
QUARTZ = (Kind(False, DENSITY),)
EVEN = (0.6,)
"""One harmonic: the pull is the same all along the roll, and no grain meets the belt again."""
G, MU0, VISCOSITY, AIR = 9.81, 4e-7 * pi, 1.81e-5, 1.204


@pytest.fixture(scope="module")
def grid() -> LandingGrid:
    return landing_grid(EVEN, Thrower(RADIUS, BELT, PITCH, SPEED), QUARTZ, (SIZE,))


def flown(ratio, angle):
    """Landing by a general solver: the pull of one harmonic fades as e^(-2ky) and as 1/r."""
    stokes = 18.0 * VISCOSITY / (DENSITY * SIZE**2)

    def rate(_, s):
        distance = np.hypot(s[0], s[1])
        height = max(distance - PATH, 0.0)
        pull = ratio * THROWS * np.exp(-2.0 * pi / PITCH * height) * PATH / distance
        reynolds = AIR * SIZE / VISCOSITY * np.hypot(s[2], s[3])
        drag = stokes * (1.0 + 0.15 * reynolds**0.687)
        towards = pull / distance
        return [*s[2:], -towards * s[0] - drag * s[2], -towards * s[1] - drag * s[3] - G]

    def plane(_, s):
        return s[1] + RADIUS + 0.010

    def touches(_, s):
        return np.hypot(s[0], s[1]) - PATH + 1e-9

    plane.terminal = touches.terminal = True
    touches.direction = -1.0
    face = TURN * PATH
    start = [PATH * sin(angle), PATH * np.cos(angle), face * np.cos(angle), -face * sin(angle)]
    found = solve_ivp(rate, (0, 3), start, "DOP853", rtol=1e-9, atol=1e-11, events=(plane, touches))
    return float(found.y_events[0][0][0])


def test_the_belt_throws_with_the_square_of_its_speed_over_the_radius(grid):
    assert grid.path_radius_m == pytest.approx([PATH])
    assert grid.centrifugal_m_s2 == pytest.approx([THROWS])


@pytest.mark.parametrize("at", [2, 3, 5, 9, 13])
def test_a_grid_of_landings_is_flown_as_a_general_solver_flies(grid, at):
    """Released where the balance lets go, and midway from there to the side by adhesion."""
    surplus = THROWS * (1.0 - PULL_RATIOS[at])
    first = acos(min(surplus / G, 1.0))
    assert grid.earliest_m[0, :, at] == pytest.approx(flown(PULL_RATIOS[at], first), abs=2e-4)
    middle = 0.5 * (first + pi / 2)
    assert grid.late_m[0, :, at] == pytest.approx(flown(PULL_RATIOS[at], middle), abs=2e-4)


def test_what_lets_go_past_the_side_drops_from_there(grid):
    at = int(np.flatnonzero(PULL_RATIOS == 1.1)[0])
    angle = acos(THROWS * (1.0 - 1.1) / G)
    assert angle > pi / 2
    dropped = pytest.approx(PATH * sin(angle), rel=1e-9)
    assert grid.earliest_m[0, :, at] == dropped
    assert grid.late_m[0, :, at] == dropped
    # Held all round: sin(pi) = 0.
    assert grid.earliest_m[0, :, -1] == pytest.approx(0.0, abs=1e-12)


def test_a_push_harder_than_the_weight_counts_as_the_hardest_that_is_flown(grid):
    """-0.5 of 45 m/s2 is more than g, -0.2 is not."""
    assert 0.2 * THROWS < G < 0.5 * THROWS
    for landed in (grid.earliest_m, grid.late_m):
        assert np.array_equal(landed[:, :, 0], landed[:, :, 2])
        assert np.array_equal(landed[:, :, 1], landed[:, :, 2])
        assert np.all(landed[:, :, 2] != landed[:, :, 3])


def test_a_delay_that_would_take_a_micronewton_is_not_flown():
    """Grains of 0.3 mm at 3 m/s: nothing that sticks on dry sand keeps 7 uN."""
    big = landing_grid(EVEN, Thrower(RADIUS, BELT, PITCH, 3.0), QUARTZ, (3e-4,))
    mass = DENSITY * pi / 6.0 * 3e-4**3
    surplus = big.centrifugal_m_s2[0] * (1.0 - PULL_RATIOS)
    too_much = mass * (surplus - G) > 1e-6
    assert 5 < too_much.sum() < len(PULL_RATIOS) - 5
    assert big.late_m[0, 0, too_much] == pytest.approx(big.path_radius_m[0])
    flies = ~too_much & (surplus > 1.0)
    assert np.all(big.late_m[0, 0, flies] != big.path_radius_m[0])


def test_a_grid_tells_the_pull_of_one_unit_on_the_belt(grid, direct):
    """k B1^2 and k B1 at the grain, with the average over the sphere."""
    machine = direct.Machine(EVEN, PITCH, RADIUS, BELT, SPEED)
    towards, _, square = direct.force(machine, SIZE, None, BELT + SIZE / 2, 0.0)
    assert grid.pull_per_unit == pytest.approx(float(towards) / MU0 * np.ones((1, 6)), rel=1e-9)
    thrower = Thrower(RADIUS, BELT, PITCH, SPEED)
    moment = landing_grid(EVEN, thrower, QUARTZ, (SIZE,), MOMENT)
    assert moment.pull_per_unit == pytest.approx(
        float(towards / np.sqrt(square)) * np.ones((1, 6)), rel=1e-9
    )


def test_axial_places_halve_a_pitch_evenly():
    """Middles of six equal parts from the middle of a magnet to the middle of the steel."""
    assert axial_nodes(0.012) == pytest.approx([0.0005, 0.0015, 0.0025, 0.0035, 0.0045, 0.0055])


@pytest.mark.parametrize(
    ("speed", "size"),
    [(1.0, 1e-4), (1.0, 1e-3), (2.0, 7e-5), (3.0, 7e-5), (3.0, 2e-4), (3.0, 1e-3), (6.0, 5e-5)],
)
def test_without_pull_thousands_land_where_a_single_throw_does(speed, size):
    """Dust loses its way forward beside the roll and sinks; sand falls in an arc."""
    nodes = grain_nodes(QUARTZ, (size,))
    thrower = Thrower(RADIUS, BELT, PITCH, speed)
    none = pull_map(EVEN, PITCH, RADIUS, BELT, QUARTZ, (size,), MOMENT)
    release = Release(np.zeros(3, dtype=np.intp), *(np.zeros(3) for _ in range(4)))
    face = thrower.turn_rad_s * float(thrower.path_radius_m(nodes)[0])
    wanted = landing_position(DENSITY, size, face, RADIUS, BELT, RADIUS + 0.010)
    found = landing_positions(thrower, nodes, none, release)
    assert found == pytest.approx(wanted, abs=1.2e-4)


@pytest.mark.parametrize("edge", [0.055, 0.07, 0.09])
def test_the_chance_to_land_inside_an_edge_is_that_of_drawn_adhesions(edge):
    """Draw the adhesion, ask where the balance lets go, walk along the three landings known."""
    nodes = grain_nodes(QUARTZ, (SIZE, 3e-4))
    rng = np.random.default_rng(8)
    shape = (2, 2, len(PULL_RATIOS))
    path = RADIUS + BELT + nodes.half_height_m
    earliest, late = (path[:, None, None] + rng.uniform(0.0, 0.06, shape) for _ in range(2))
    throws = TURN**2 * path
    medians = (1e-8, 2e-7)
    grid = LandingGrid(nodes, earliest, late, throws, path, np.ones((2, 2)))
    inside = _share_inside(grid, edge, medians)
    assert inside.shape == (2, 2, 2, len(FINE_RATIOS))

    score = ndtri((np.arange(4000) + 0.5) / 4000)
    for node, axial, a, at in np.ndindex(2, 2, 2, len(FINE_RATIOS)):
        if at % 8:
            continue
        held = medians[a] * np.exp(ADHESION_LN_SD * score) / nodes.mass_kg[node]
        surplus = throws[node] * (1.0 - FINE_RATIOS[at])
        first = np.arccos(np.clip(surplus / G, -1.0, 1.0))
        angle = np.maximum(np.arccos(np.clip((surplus - held) / G, -1.0, 1.0)), first)
        known = [
            np.interp(FINE_RATIOS[at], PULL_RATIOS, landing[node, axial])
            for landing in (earliest, late)
        ]
        if first < pi / 2:
            part = np.minimum((angle - first) / (pi / 2 - first), 1.0)
            landed = np.interp(part, [0.0, 0.5, 1.0], [*known, path[node]])
        else:
            landed = np.full(len(score), path[node])
        assert inside[node, axial, a, at] == pytest.approx(np.mean(landed <= edge), abs=2e-3)


def test_the_response_axis_is_asked_in_steps_of_its_own():
    ratio = np.sinh(RESPONSE) * RESPONSE_SCALE
    assert response_of(ratio) == pytest.approx(np.arange(len(RESPONSE)), abs=1e-9)
    assert response_of(np.array([-50.0, 1e9])) == pytest.approx([0.0, len(RESPONSE) - 1.0])


def test_over_the_response_a_table_is_interpolated_and_meant_along_the_belt():
    """By numpy, from the hardest push to the strongest pull of the table and past both."""
    rng = np.random.default_rng(9)
    inside = rng.random((2, 3, 2, len(FINE_RATIOS)))
    ratio = np.sort(rng.uniform(-2.0, 1.24, (2, 3, 50)), axis=2)
    weight = rng.random((2, 3, 50))
    wanted = np.zeros((2, 2, 50))
    for node, axial, a in np.ndindex(2, 3, 2):
        found = np.interp(ratio[node, axial], FINE_RATIOS, inside[node, axial, a])
        wanted[node, a] += weight[node, axial] * found / 3.0
    assert _over_response(inside, ratio, weight) == pytest.approx(wanted, abs=1e-12)
    held = _over_response(inside, np.full((2, 3, 1), 50.0))[:, :, 0]
    assert held == pytest.approx(inside[..., -1].mean(axis=1), abs=2e-3)


def test_a_moment_and_a_susceptibility_of_equal_pull_are_taken_alike():
    """In a field of one harmonic both are held while they touch the belt and pull v^2/Rc + g."""
    thrower = Thrower(RADIUS, BELT, PITCH, SPEED)
    tables = landing_grid(EVEN, thrower, QUARTZ, (SIZE,))
    moments = landing_grid(EVEN, thrower, QUARTZ, (SIZE,), MOMENT)
    unit, unit_moment = tables.pull_per_unit[0, 0], moments.pull_per_unit[0, 0]
    # So scaled that a response of 1 is a pull of v^2/Rc for either.
    reference = Reference(unit / THROWS, unit_moment / unit)
    shares = capture_table(
        EVEN, thrower, QUARTZ, (SIZE,), RADIUS + 0.010, (1e-8,), reference, True
    )[0, 0]
    alone = capture_table(
        EVEN, thrower, QUARTZ, (SIZE,), RADIUS + 0.010, (1e-8,), reference, False
    )[0, 0]
    assert shares.shape == (len(MOMENT_SHARES), len(RESPONSE))
    assert shares[0] == pytest.approx(alone[0], abs=1e-12)
    ratio = np.sinh(RESPONSE) * RESPONSE_SCALE
    for row in shares:
        assert row[ratio > 1.0] == pytest.approx(1.0, abs=1e-9)
        assert np.all(row[np.abs(ratio) < 0.1] < 0.05)
    # The pull on a moment fades as e^(-ky), half as fast: it draws back grains that are thrown.
    blend = ratio > 0.3
    assert np.all(shares[2][blend] >= shares[1][blend] - 1e-9)
    assert np.all(shares[1][blend] >= shares[0][blend] - 1e-9)
    assert shares[1] == pytest.approx(0.5 * (shares[0] + shares[2]), abs=1e-9)


@pytest.mark.parametrize("drum", [WEAK_DRUM, replace(STRONG_DRUM, shell_speed_m_s=1.7)])
@pytest.mark.parametrize("axis", [0, 1, 2])
def test_a_drum_holds_to_its_lowest_point_what_pulls_as_it_throws_and_weighs(drum, axis):
    """chi/mu0 d(B^2)/2dr + M dB/dr against v^2/R + g, by finite differences of the flux density."""
    nodes = grain_nodes((Kind(False, 4700.0),), (1e-4, 1e-3))
    reference = Reference(3.0e6, 2.0e-6)
    taken = drum_capture(drum, nodes, reference, 2, True)
    assert taken.shape == (2, 2, 3, len(RESPONSE))
    share = MOMENT_SHARES[axis]
    for node, size in enumerate((1e-4, 1e-3)):
        height, step = size / 2.0, 1e-6
        low, high = (
            float(np.hypot(*drum_flux_density(drum, height + d, 0.0))) for d in (-step, step)
        )
        at = int(np.argmin(np.abs(taken[node, 0, axis] - 0.6)))
        response = np.sinh(RESPONSE[at]) * RESPONSE_SCALE / reference.pull_per_susceptibility
        chi = (1.0 - share) * response
        moment = share * response / reference.susceptibility_per_moment
        pull = chi / MU0 * (low**2 - high**2) / (4.0 * step) + moment * (low - high) / (2.0 * step)
        needed = drum.shell_speed_m_s**2 / (drum.drum_radius_m + height) + G
        wanted = ndtr(log(pull / needed) / drum.hold_ln_sd)
        assert 0.1 < wanted < 0.95
        assert taken[node, :, axis, at] == pytest.approx(wanted, abs=1e-5)
    # What is pushed off is never taken, and a drum for susceptibilities alone is its first row.
    assert np.all(taken[..., RESPONSE <= 0.0] == 0.0)
    assert np.array_equal(drum_capture(drum, nodes, reference, 2, False), taken[:, :, :1])


def one_class(passing, retained, **more):
    flake = more.get("flake", False)
    return Grains(
        passing_m=np.array([passing]), retained_m=np.array([retained]),
        is_flake=np.array([flake]), thickness_ratio=np.array([more.get("ratio", 1.0)]),
        density_kg_m3=np.array([more.get("density", 2650.0)]),
        susceptibility_m3_kg=np.zeros((1, 1)), moment_A_m2_kg=np.zeros((1, 1)),
        order=np.zeros(1, dtype=int), grain_ln_sd=np.zeros(1),
    )  # fmt: skip


@pytest.mark.parametrize("steps", [1, 2, 3, 4, 5, 6])
def test_a_class_takes_one_size_more_for_every_root_of_two(steps):
    upper = 1.6e-3
    spread = spread_over_nodes(one_class(upper, upper / 2 ** (steps / 2)), FlakeSpread())
    assert len(spread.diameters_m) == steps + 1
    size, weight = np.array(spread.diameters_m), spread.weight.reshape(-1, steps + 1).sum(axis=0)
    assert weight.sum() == pytest.approx(1.0)
    # Mass even in ln d: mean of ln d at the middle, mean of d by its integral.
    low, high = upper / 2 ** (steps / 2), upper
    assert weight @ np.log(size) == pytest.approx(0.5 * log(low * high))
    assert weight @ size == pytest.approx((high - low) / log(high / low), rel=1e-4)


def test_undersize_is_spread_from_half_its_upper_bound_and_dust_flies_as_dust():
    open_below = spread_over_nodes(one_class(1e-4, 0.0), FlakeSpread())
    closed = spread_over_nodes(one_class(1e-4, 5e-5), FlakeSpread())
    assert open_below.diameters_m == pytest.approx(closed.diameters_m)
    dust = spread_over_nodes(one_class(2.1e-5, 1e-6), FlakeSpread())
    assert min(dust.diameters_m) == 2e-5
    assert max(dust.diameters_m) > 2e-5


def test_a_density_between_two_nodes_keeps_its_mean_logarithm():
    spread = spread_over_nodes(one_class(3e-4, 2.12e-4, density=3000.0), FlakeSpread())
    weight = spread.weight.reshape(len(spread.kinds), -1).sum(axis=1)
    mean = sum(w * log(kind.density_kg_m3) for w, kind in zip(weight, spread.kinds, strict=True))
    assert mean == pytest.approx(log(3000.0))
    assert [kind.density_kg_m3 for kind in spread.kinds] == [2650.0, 3500.0]
    beyond = spread_over_nodes(one_class(3e-4, 2.12e-4, density=7000.0), FlakeSpread())
    assert [kind.density_kg_m3 for kind in beyond.kinds] == [5000.0]


def test_flakes_scatter_about_their_thickness_and_a_tenth_of_them_are_books():
    spread = spread_over_nodes(one_class(3e-4, 2.12e-4, flake=True, ratio=0.1), FlakeSpread())
    weight = spread.weight.reshape(len(spread.kinds), -1).sum(axis=1)
    flat = np.array([kind.is_flake for kind in spread.kinds])
    assert weight[~flat].sum() == pytest.approx(0.1)
    ratio = np.array([kind.thickness_ratio for kind in spread.kinds])[flat]
    assert weight[flat] @ np.log(ratio) / 0.9 == pytest.approx(log(0.1))
    # Middles of four quarters of a log-normal of ln-sd 0.5: +-0.575 and +-0.159.
    thin = spread_over_nodes(one_class(3e-4, 2.12e-4, flake=True, ratio=0.1), FlakeSpread(0.0, 0.0))
    assert [kind.thickness_ratio for kind in thin.kinds] == [0.1]
    middle = 0.5 * ndtri([0.125, 0.375, 0.625, 0.875])
    share = np.abs(middle) / log(2.0)
    assert weight[flat][ratio == 0.1] == pytest.approx(0.9 * np.mean(1.0 - share))
