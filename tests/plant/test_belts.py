"""How much belt a stream needs."""

from __future__ import annotations

import numpy as np
import pytest

from feedchar.plant.belts import belts_of, lay_of, units_of
from feedchar.separation.records import Grains

SIEVES_M = np.array([500, 355, 250, 180, 125, 90, 63, 45]) * 1e-6


def grains(count: int, flake: bool = False) -> Grains:
    return Grains(
        passing_m=SIEVES_M[:count],
        retained_m=SIEVES_M[1 : count + 1],
        is_flake=np.full(count, flake),
        thickness_ratio=np.full(count, 0.1 if flake else 1.0),
        density_kg_m3=np.full(count, 2650.0),
        susceptibility_m3_kg=np.zeros((1, count)),
        moment_A_m2_kg=np.zeros((1, count)),
        order=np.zeros(count, dtype=np.intp),
        grain_ln_sd=np.full(count, 0.3),
    )


def test_five_tonnes_an_hour_take_two_to_three_one_metre_belts():
    # Common practice, no source: 2 to 3 t/h per metre on silica sand of 0.045 to 0.5 mm, so 5 t/h
    # take two to three belts of a metre. Mass even over the size in mm, at the upper usual speed.
    width = SIEVES_M[:-1] - SIEVES_M[1:]
    lay = lay_of(width / width.sum(), grains(7))
    assert lay.sauter_m == pytest.approx(0.19e-3, rel=0.02)
    assert belts_of(5.0 / lay.capacity_t_h_m(2.0), 1.0) in (2, 3)
    # One grain deep at 1.5 m/s the same sand needs one more; the trade then runs it deeper.
    assert belts_of(5.0 / lay.capacity_t_h_m(1.5), 1.0) == 4


def test_capacity_is_that_of_the_closed_form():
    # 2.4 c rho[t/m3] d[mm] v[m/s], geometry of spheres: 0.75, 2.65, 0.3, 1.5 gives 2.15 t/h/m.
    one = grains(1)
    mean = np.sqrt(500e-6 * 355e-6)
    expected = 2.4 * 0.75 * 2.65 * mean * 1e3 * 1.5
    assert lay_of(np.ones(1), one).capacity_t_h_m(1.5) == pytest.approx(expected, rel=1e-12)


def test_flakes_take_more_belt_than_grains_of_the_same_sieve():
    flat = lay_of(np.ones(1), grains(1, flake=True)).capacity_t_h_m(1.5)
    round_ = lay_of(np.ones(1), grains(1)).capacity_t_h_m(1.5)
    # A disc of a tenth of its width covers 1 / (rho t), a sphere 3 / (2 rho d).
    assert flat / round_ == pytest.approx(0.15, rel=1e-12)


@pytest.mark.parametrize(
    ("metres", "units"),
    [(0.2, (1, 0.5)), (0.5, (1, 0.5)), (0.8, (1, 1.0)), (1.2, (1, 1.5)), (1.9, (2, 1.0)),
     (3.1, (3, 1.5)), (4.4, (3, 1.5)), (4.6, (4, 1.5))],
)  # fmt: skip
def test_the_fewest_belts_of_a_usual_width_are_taken(metres, units):
    assert units_of(metres) == units


def test_an_empty_stream_needs_no_belt_but_one():
    lay = lay_of(np.zeros(3), grains(3))
    assert lay.capacity_t_h_m(1.5) > 0.0
    assert belts_of(0.0, 1.0) == 1
