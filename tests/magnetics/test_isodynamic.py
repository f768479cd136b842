"""The isodynamic separator: its relation both ways."""

from __future__ import annotations

from math import radians

import numpy as np
import pytest

from feedchar.errors import SettingError
from feedchar.magnetics.isodynamic import (
    isodynamic_current,
    isodynamic_force_product,
    isodynamic_susceptibility,
)


def test_current_and_susceptibility_are_each_others_inverse():
    slope = radians(15)
    for current in (0.1, 0.4, 1.2):
        chi = isodynamic_susceptibility(current, slope)
        assert isodynamic_current(chi, slope) == pytest.approx(current)


def test_biotite_divides_near_four_tenths_of_an_ampere_at_fifteen_degrees():
    assert isodynamic_current(4.1e-7, radians(15)) == pytest.approx(0.4, rel=0.01)


def test_what_is_repelled_never_reports():
    found = isodynamic_current([-6e-9, 0.0, 4e-7], radians(15))
    assert list(np.isinf(found)) == [True, True, False]


def test_twice_the_current_is_four_times_the_force():
    assert isodynamic_force_product(1.0) == pytest.approx(4 * isodynamic_force_product(0.5))


@pytest.mark.parametrize("current", [0.0, -1.0, float("nan")])
def test_a_current_that_cannot_be_is_refused(current):
    with pytest.raises(SettingError, match="amperes"):
        isodynamic_susceptibility(current, 0.2)
