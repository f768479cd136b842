"""Maps of pull against the field itself and against the single-grain reference."""

from __future__ import annotations

import numpy as np
import pytest

from feedchar.field.force import local_force_product
from feedchar.field.harmonics import roll_harmonics
from feedchar.field.series import roll_flux_density
from feedchar.separation.grain_nodes import Kind, grain_nodes
from feedchar.separation.pull_map import AXIAL_CELLS, HEIGHTS, LINEAR, MOMENT, pull_map

PITCH, RADIUS, BELT = 0.005, 0.05, 2e-4
HARMONICS = tuple(float(b) for b in roll_harmonics(0.004, 0.001, RADIUS, 0.01, 1.25, 2.1)[:24])
SPHERE, FLAKE = Kind(False, 2650.0), Kind(True, 2940.0, 0.1)
CELL = np.array([7, 22, 39, 59])
AXIAL = CELL / AXIAL_CELLS * PITCH


def at(pulls, node, step):
    return pulls.values[node, step, CELL]


@pytest.mark.parametrize("step", [0, 30, 70, 115])
def test_pull_on_a_speck_is_the_force_product_of_the_roll(step):
    pulls = pull_map(HARMONICS, PITCH, RADIUS, BELT, (SPHERE,), (1e-7,), LINEAR)
    height = BELT + 5e-8 + pulls.heights_m[step]
    inward, along = local_force_product(np.array(HARMONICS), PITCH, RADIUS, height, AXIAL)
    error = np.abs(at(pulls, 0, step) - (inward + 1j * along))
    # R/(R+y) stands for the Bessel ratios, whose next term is 1/(2kR) = 1.6 % of the fundamental.
    assert np.all(error < 0.025 * np.hypot(inward, along))


@pytest.mark.parametrize("step", [0, 40])
def test_a_constant_moment_is_pulled_by_the_gradient_of_the_field(step):
    pulls = pull_map(HARMONICS, PITCH, RADIUS, BELT, (SPHERE,), (1e-7,), MOMENT)
    height = BELT + 5e-8 + pulls.heights_m[step]
    delta = 1e-7

    def size(y, z):
        radial, axial = roll_flux_density(np.array(HARMONICS), PITCH, RADIUS, y, z)
        return np.hypot(radial, axial)

    inward = -(size(height + delta, AXIAL) - size(height - delta, AXIAL)) / (2 * delta)
    along = (size(height, AXIAL + delta) - size(height, AXIAL - delta)) / (2 * delta)
    error = np.abs(at(pulls, 0, step) - (inward + 1j * along))
    assert np.all(error < 0.03 * np.hypot(inward, along))


@pytest.mark.parametrize(("kind", "ratio"), [(SPHERE, None), (FLAKE, 0.1)])
@pytest.mark.parametrize("size", [1e-4, 5e-4])
def test_pull_on_a_grain_of_finite_size_is_that_of_the_reference(direct, kind, ratio, size):
    pulls = pull_map(HARMONICS, PITCH, RADIUS, BELT, (kind,), (size,), LINEAR)
    half = float(grain_nodes((kind,), (size,)).half_height_m[0])
    machine = direct.Machine(HARMONICS, PITCH, RADIUS, BELT, 1.5)
    thickness = None if ratio is None else ratio * size
    for step in (0, 35, 105):
        height = BELT + half + pulls.heights_m[step]
        inward, along, _ = direct.force(machine, size, thickness, np.full(4, height), AXIAL)
        assert at(pulls, 0, step).real == pytest.approx(inward, rel=1e-6)
        assert at(pulls, 0, step).imag == pytest.approx(along, rel=1e-6, abs=1e-6)


def test_a_pebble_and_dust_share_a_map_without_overflow():
    pulls = pull_map(HARMONICS, PITCH, RADIUS, BELT, (SPHERE, FLAKE), (2e-5, 0.02), LINEAR)
    assert np.all(np.isfinite(pulls.values))
    assert pulls.values.shape == (4, HEIGHTS, AXIAL_CELLS)
    assert np.all(np.abs(pulls.values[:, -1]) < 1e-4 * np.abs(pulls.values[0, 0]).max())
