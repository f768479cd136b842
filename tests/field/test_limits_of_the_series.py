"""Where series of the field are cut, thinned or carried beyond the library: what is lost there."""

from __future__ import annotations

from math import exp, pi

import numpy as np
import pytest
from scipy.special import kve

from feedchar.field.induced import tooth_harmonic
from feedchar.field.reading import probe_flux_density
from feedchar.field.series import LARGEST_ARGUMENT, _scaled_k
from feedchar.field.working import FEWEST, LEAST_SHARE, felt_harmonics


@pytest.mark.parametrize("order", [0, 1])
def test_a_roll_beyond_the_librarys_bessel_functions_goes_on_where_they_end(order):
    # Abramowitz and Stegun 9.7.2, K_n e^x ~ (pi / 2x)^(1/2) (1 + (4 n^2 - 1) / 8x), from memory.
    end = np.array([LARGEST_ARGUMENT])
    assert _scaled_k(order, 1.0000001 * end) == pytest.approx(kve(order, end), rel=1e-7)
    assert _scaled_k(order, 100 * end) == pytest.approx(kve(order, end) / 10, rel=1e-7)


@pytest.mark.parametrize(("share", "kept"), [(1.05, 31), (0.95, FEWEST)])
@pytest.mark.parametrize("height", [0.0, 1e-4])
def test_the_list_ends_after_the_last_harmonic_that_still_pulls(share, kept, height):
    # The n-th pulls with (n + 1)/2 B_n/B_1 e^(-(n - 1) pi y / pitch) of the first.
    pitch, n = 0.005, 61
    harmonics = np.zeros(40)
    harmonics[0] = 1.3
    felt = 0.5 * (n + 1) * exp(-(n - 1) * pi * height / pitch)
    harmonics[(n - 1) // 2] = -1.3 * share * LEAST_SHARE / felt
    assert len(felt_harmonics(harmonics, pitch, height)) == kept


def test_an_element_of_a_few_harmonics_is_the_mean_over_its_disc_to_six_digits():
    # Gauss points over the radius, evenly spaced ones around: exact for so smooth a field.
    harmonics, pitch, radius, size, height, axial = [1.2, -0.3], 0.005, 0.05, 2e-3, 3e-4, 1.9e-3
    point, weight = np.polynomial.legendre.leggauss(40)
    ring, angle = size / 4 * (point + 1)[:, None], 2 * pi * np.arange(64) / 64
    x, z = ring * np.cos(angle), ring * np.sin(angle)
    distance = np.hypot(radius + height, x)
    share = weight[:, None] * ring / (weight[:, None] * ring).sum() / 64
    n = np.array([1, 3])[:, None, None] * pi / pitch

    # Outside a roll alike all around, the n-th radial part falls as K1(n pi r / pitch).
    falls = kve(1, n * distance) / kve(1, n * radius) * np.exp(-n * (distance - radius))
    field = np.array(harmonics)[:, None, None] * falls * np.sin(n * (axial + z))
    mean = (share * field * (radius + height) / distance).sum()
    found = probe_flux_density(harmonics, pitch, radius, size, height, axial)
    assert found == pytest.approx(mean, rel=1e-6)


@pytest.mark.parametrize("depth_m", [0.0005, 0.001, 0.004])
def test_shallow_teeth_saturate_at_the_share_that_their_depth_leaves(depth_m):
    # Charge on the tips and its opposite in the valleys, a depth below: 1 - e^(-2 pi depth/pitch).
    deep, shallow = (tooth_harmonic(1e5, 0.35, 0.006, depth) for depth in (1.0, depth_m))
    assert shallow / deep == pytest.approx(1 - exp(-2 * pi * depth_m / 0.006), rel=1e-6)
