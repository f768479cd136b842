"""One step of a flight by closed forms, look-ups in tables and maps by scipy's interpolators."""

from __future__ import annotations

from math import exp, pi

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.interpolate import CubicHermiteSpline, RegularGridInterpolator
from scipy.special import ndtr

from feedchar.constants import GRAVITY_M_S2
from feedchar.separation.capture import MOMENT_SHARES, RESPONSE, RESPONSE_SCALE, Reference
from feedchar.separation.fine_flight import _Flights
from feedchar.separation.flight_steps import cubic, in_air, in_field
from feedchar.separation.grain_nodes import Kind, grain_nodes
from feedchar.separation.pull_lookup import PullLookup
from feedchar.separation.pull_map import LINEAR, PullMap, pull_map
from feedchar.separation.stages import Term
from feedchar.separation.thrower import Thrower
from feedchar.separation.trial_shares import class_tables, sum_of_terms

PITCH = 0.005


def column(*values):
    return np.array(values, dtype=float)[:, None]


def in_a_spring(step, time, drag, stiffness=900.0):
    """Place and velocity after a time, pulled back by -stiffness x, by steps and in closed form."""
    place, velocity = column(0.01, -0.02, 0.0), column(0.5, 0.3, -0.4)
    x, v = place, velocity

    def push(at):
        return -stiffness * at

    for _ in range(round(time / step)):
        x, v = in_field(push, push(x), x, v, np.full(1, drag), np.full(1, step))
    turn = np.sqrt(stiffness - drag**2 / 4.0)
    sine, cosine, decay = np.sin(turn * time), np.cos(turn * time), exp(-0.5 * drag * time)
    other = (velocity + 0.5 * drag * place) / turn
    wanted_x = decay * (place * cosine + other * sine)
    wanted_v = decay * turn * (other * cosine - place * sine) - 0.5 * drag * wanted_x
    return np.abs(x - wanted_x).max(), np.abs(v - wanted_v).max()


def test_a_step_in_the_field_is_of_fourth_order():
    """Half the step, a sixteenth of the error, of place and velocity."""
    for coarse, fine in zip(in_a_spring(0.008, 0.064, 1e-3), in_a_spring(0.004, 0.064, 1e-3),
                            strict=True):  # fmt: skip
        assert 12.0 < coarse / fine < 22.0
    assert in_a_spring(0.002, 0.064, 1e-3)[0] < 1e-6


def test_with_drag_a_step_still_meets_the_damped_oscillation():
    place, velocity = in_a_spring(0.001, 0.064, 20.0)
    assert place < 1e-6
    assert velocity < 2e-5


def test_dust_without_pull_decays_exactly_however_long_the_step():
    drag, dt = np.array([5.0, 3000.0]), np.array([0.05, 0.01])
    place, velocity = np.ones((3, 2)), np.full((3, 2), 2.0)
    x, v = in_field(lambda at: 0.0 * at, np.zeros((3, 2)), place, velocity, drag, dt)
    assert v == pytest.approx(velocity * np.exp(-drag * dt), rel=1e-12, abs=1e-15)
    assert x == pytest.approx(place + velocity * (1.0 - np.exp(-drag * dt)) / drag, rel=1e-12)


def fall(step, time, rate):
    """Fall under a steady drag rate: place and velocity against the closed form."""
    x, v = np.zeros((3, 1)), column(1.5, 0.5, -0.2)
    start = v
    for _ in range(round(time / step)):
        x, v, drag = in_air(lambda speed: np.full(1, rate), x, v, np.full(1, step))
        assert drag == rate
    end = column(0.0, -GRAVITY_M_S2 / rate, 0.0)
    gone = exp(-rate * time)
    wanted = end * time + (start - end) * (1.0 - gone) / rate
    return np.abs(x - wanted).max(), np.abs(v - end - (start - end) * gone).max()


def test_a_step_in_the_air_is_of_fourth_order():
    for coarse, fine in zip(fall(0.02, 0.08, 12.0), fall(0.01, 0.08, 12.0), strict=True):
        assert 13.0 < coarse / fine < 20.0
    assert max(fall(0.005, 0.08, 12.0)) < 1e-6


def test_a_step_in_the_air_tells_the_drag_at_its_end():
    """The drag rate is asked at the speed of the moment, which its last stage has nearly met."""
    v = column(2.0, 0.0, 0.0)
    _, after, drag = in_air(
        lambda s: 3.0 + 2.0 * np.hypot(s[0], s[1]), 0.0 * v, v, np.full(1, 0.01)
    )
    assert drag == pytest.approx(3.0 + 2.0 * np.hypot(after[0], after[1]), rel=1e-4)


def test_the_cubic_through_two_ends_is_hermites():
    rng = np.random.default_rng(2)
    start, first, end, last = rng.normal(size=(4, 5))
    spline = CubicHermiteSpline([0.0, 1.0], [start, end], [first, last])
    for part in (0.0, 0.3, 0.8, 1.0):
        value, slope = cubic(part, start, first, end, last)
        assert value == pytest.approx(spline(part), abs=1e-12)
        assert slope == pytest.approx(spline(part, 1), abs=1e-12)


@pytest.fixture(scope="module")
def pulls() -> PullMap:
    kinds = (Kind(False, 2650.0), Kind(True, 2940.0, 0.1))
    return pull_map((0.6, -0.2, 0.1), PITCH, 0.05, 2e-4, kinds, (1e-4, 5e-4), LINEAR)


def test_a_pull_is_looked_up_as_a_general_interpolator_does(pulls):
    """Linear in e^(-ky) and along the axis, which repeats with the pitch to both sides."""
    heights, cells = pulls.values.shape[1:]
    rng = np.random.default_rng(3)
    node = rng.integers(0, 4, 400)
    height = rng.exponential(0.0008, 400)
    height[:4] = 0.0, -1e-6, 0.02, 1.0  # on the belt, a little below, out of reach
    axial = rng.uniform(-3.0 * PITCH, 3.0 * PITCH, 400)
    around = np.concatenate([pulls.values, pulls.values[:, :, :1]], axis=2)
    grid = (np.arange(4.0), np.arange(heights) / (heights - 1.0), np.arange(cells + 1.0) / cells)
    fallen = np.minimum(np.maximum(1.0 - np.exp(-pi / PITCH * height), 0.0), 1.0)
    wanted = RegularGridInterpolator(grid, around)((node, fallen, axial / PITCH % 1.0))
    look = PullLookup(pulls)
    found = look(look.place_of(node), height.copy(), axial)
    assert found == pytest.approx(wanted, rel=1e-4, abs=1e-5 * np.abs(around).max())


def test_the_pull_on_the_belt_is_that_of_the_lowest_level(pulls):
    cells = pulls.values.shape[2]
    axial = np.array([-0.3, 0.0, 0.111, 0.5, 0.996, 1.0, 1.7]) * PITCH
    wanted = [
        np.interp(axial, np.arange(cells) / cells * PITCH, row[0].real, period=PITCH)
        for row in pulls.values
    ]
    assert pulls.at_contact(axial) == pytest.approx(np.array(wanted), rel=1e-12)


RUNGS = (1e-9, 1e-8, 4e-8)
REFERENCE = Reference(pull_per_susceptibility=2.5e6, susceptibility_per_moment=1e-6)


def random_tables(classes, seed):
    """Tables over adhesion, share of the moment and response."""
    shape = (len(RUNGS), len(MOMENT_SHARES), len(RESPONSE))
    return list(np.random.default_rng(seed).random((classes, *shape)))


def test_shares_between_the_points_of_a_table_are_a_general_interpolators():
    """Over ln adhesion, the moment's share of the pull and the response, up to every end."""
    trials, classes = 40, 3
    rng = np.random.default_rng(4)
    ratio = np.sinh(rng.uniform(RESPONSE[0], RESPONSE[-1], (trials, classes))) * RESPONSE_SCALE
    ratio[0], ratio[1], ratio[2] = -1.0, 5e3, 1e9  # at both ends of the axis, and far beyond
    part = np.where(ratio > 0.0, rng.random((trials, classes)), 0.0)
    part[:2] = [[0.0, 0.0, 0.0], [0.0, 0.5, 1.0]]
    adhesion = np.exp(rng.uniform(np.log(1e-9), np.log(4e-8), trials))
    adhesion[:3] = RUNGS
    total = ratio / REFERENCE.pull_per_susceptibility
    tables = [random_tables(classes, 5), random_tables(classes, 6)]
    factors = [rng.random(trials), np.full(1, -0.5)]
    found = sum_of_terms(tables, factors, total, part * total, adhesion, RUNGS, REFERENCE)
    wanted = np.zeros((trials, classes))
    grid = (np.log(RUNGS), MOMENT_SHARES, RESPONSE)
    at = np.minimum(np.arcsinh(ratio / RESPONSE_SCALE), RESPONSE[-1])
    for own, factor in zip(tables, factors, strict=True):
        for c, table in enumerate(own):
            look = RegularGridInterpolator(grid, table)
            wanted[:, c] += factor * look((np.log(adhesion), part[:, c], at[:, c]))
    assert found == pytest.approx(wanted, abs=1e-9)


def test_classes_with_and_without_a_moment_are_summed_with_a_plain_number():
    """1 - table, as what is taken is told from what is refused: tables of two shapes and a 1."""
    tables = random_tables(2, 9)
    tables[1] = tables[1][:, :1]
    ratio = np.sinh(RESPONSE[[60, 110]]) * RESPONSE_SCALE
    total = (ratio / REFERENCE.pull_per_susceptibility)[None]
    moment = total * np.array([0.5, 0.0])
    terms = [[np.ones(1)] * 2, tables]
    factors = [np.ones(1), np.full(1, -1.0)]
    found = sum_of_terms(terms, factors, total, moment, np.full(1, 1e-8), RUNGS, REFERENCE)
    assert found[0] == pytest.approx([1.0 - tables[0][1, 1, 60], 1.0 - tables[1][1, 0, 110]])


def test_five_thousand_trials_are_looked_up_as_one_is():
    """More than are interpolated together for one class."""
    tables, adhesion = [random_tables(2, 10)], np.full(1, 2e-8)
    total = np.array([[2e-7, 5e-6]])
    place = (adhesion, RUNGS, REFERENCE)
    one = sum_of_terms(tables, [np.ones(1)], total, 0.3 * total, *place)
    factor = np.linspace(0.0, 1.0, 5000)
    many = sum_of_terms(tables, [factor], total, 0.3 * total, *place)
    assert many == pytest.approx(factor[:, None] * one, abs=1e-12)


def test_fine_flights_take_the_pull_of_one_harmonic_as_its_closed_form_says():
    """k B^2 e^(-2ky) over the cylinder: R/(R + y), from the belt to two pitches above it."""
    kind, speck, radius, belt = Kind(False, 2650.0), 1e-6, 0.05, 2e-4
    pulls = pull_map((0.6,), PITCH, radius, belt, (kind,), (speck,), LINEAR)
    nodes = grain_nodes((kind,), (speck,))
    none = np.zeros(1, dtype=np.intp)
    thrower = Thrower(radius, belt, PITCH, 1.5)
    flights = _Flights(thrower, nodes, pulls, none, np.zeros(1), False)
    height = np.array([0.0, 1e-5, 1e-4, 4e-4, 1e-3, 2e-3, 4e-3])
    found = flights._pull(np.zeros(7, dtype=np.intp), height, np.linspace(-0.01, 0.01, 7))
    above = belt + speck / 2.0 + height
    k = pi / PITCH
    wanted = k * 0.36 * np.exp(-2.0 * k * above) * radius / (radius + above)
    assert found.real == pytest.approx(wanted, rel=2e-4)
    assert found.imag == pytest.approx(np.zeros(7), abs=1e-9)


def test_a_class_without_spread_keeps_the_shares_of_its_grains():
    nodes = np.stack(random_tables(3, 7))
    weight = np.array([[0.2, 0.3, 0.5], [0.0, 1.0, 0.0]])
    moves = np.array([True, False])
    (own,) = class_tables((Term(nodes, 0, 0),), weight, np.zeros(2), moves)
    assert own[0] == pytest.approx(np.tensordot(weight[0], nodes, 1), abs=1e-12)
    assert own[1] == pytest.approx(nodes[1, :, :1], abs=1e-12)


@pytest.mark.parametrize("ln_sd", [0.3, 0.8])
def test_grains_of_a_class_scatter_in_their_response_as_a_log_normal(ln_sd):
    """Mean of a smooth share over the scatter, by adaptive quadrature."""

    def share(asinh):
        return ndtr((asinh - np.arcsinh(1.0 / RESPONSE_SCALE)) / 0.8)

    table = np.broadcast_to(share(RESPONSE), (1, 1, 1, len(RESPONSE)))
    one = np.ones((1, 1))
    ((own,),) = class_tables((Term(table, 0, 0),), one, np.full(1, ln_sd), np.zeros(1, dtype=bool))
    for place in (30, 70, 80, 90, 120):
        ratio = np.sinh(RESPONSE[place])

        def weighed(z, ratio=ratio):
            return share(np.arcsinh(ratio * exp(ln_sd * z))) * exp(-0.5 * z * z) / np.sqrt(2.0 * pi)

        assert own[0, 0, place] == pytest.approx(quad(weighed, -8.0, 8.0)[0], abs=2e-3)
    # However wide, it is a mean: between the least and the greatest share.
    last = np.zeros((1, 1, 1, len(RESPONSE)))
    last[..., -1] = 1.0
    ((own,),) = class_tables((Term(last, 0, 0),), one, np.full(1, ln_sd), np.zeros(1, dtype=bool))
    assert own.min() >= 0.0
    assert 0.5 < own[0, 0, -1] <= 1.0
