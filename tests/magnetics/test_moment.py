"""Ordered moments against field, and units of susceptibility."""

from __future__ import annotations

from math import pi

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from feedchar.errors import SettingError
from feedchar.magnetics import curie_mass_susceptibility
from feedchar.magnetics.moment import apparent_susceptibility, ordered_fraction
from feedchar.magnetics.paramagnetism import ion_mass_susceptibility
from feedchar.magnetics.saturation import (
    magnetite_saturation_fraction,
    saturation_flux_density,
    sphere_saturation_fraction,
)
from feedchar.magnetics.susceptibility import mass_susceptibility_si


def test_each_kind_of_order_follows_its_own_law():
    assert ordered_fraction(0, 1.0) == 0.0
    assert list(ordered_fraction(1, [0.01, 1.0])) == [1.0, 1.0]
    assert ordered_fraction(2, 0.05) == magnetite_saturation_fraction(0.05)
    limit = saturation_flux_density(74.0, 5074.0)
    for flux in (0.05, 0.3):
        expected = sphere_saturation_fraction(flux, 74.0, 5074.0)
        assert ordered_fraction(2, flux, limit) == pytest.approx(expected)
    mixed = ordered_fraction(np.array([0, 1, 2, 2]), 0.1, np.array([0.0, 0.0, 0.0, 0.2]))
    assert mixed == pytest.approx([0.0, 1.0, magnetite_saturation_fraction(0.1), 0.5])


@given(low=st.floats(0, 3), rise=st.floats(0, 3), limit=st.sampled_from([0.0, 0.05, 0.7]))
@settings(max_examples=200, deadline=None)
def test_more_field_never_calls_up_less_moment(low, rise, limit):
    here, there = ordered_fraction(2, [low, low + rise], limit)
    assert 0.0 <= here <= there <= 1.0


def test_below_saturation_a_sphere_shows_three_over_its_density():
    moment, density, flux = 92.0, 5201.0, 0.1
    reached = moment * sphere_saturation_fraction(flux, moment, density)
    assert apparent_susceptibility(0.0, reached, flux) == pytest.approx(3 / density)


@pytest.mark.parametrize("flux", [-0.1, float("nan"), float("inf")])
def test_a_field_that_cannot_be_is_refused(flux):
    with pytest.raises(SettingError, match="teslas"):
        magnetite_saturation_fraction(flux)


def test_the_law_refuses_what_is_no_composition():
    with pytest.raises(SettingError, match="Fe2"):
        curie_mass_susceptibility(-1.0, 0.0, 0.0, 3000.0)
    with pytest.raises(SettingError, match="Fe3"):
        curie_mass_susceptibility(0.0, 120.0, 0.0, 3000.0)
    with pytest.raises(SettingError, match="Mn2"):
        curie_mass_susceptibility(0.0, 0.0, float("nan"), 3000.0)
    with pytest.raises(SettingError, match="Density"):
        curie_mass_susceptibility(10.0, 0.0, 0.0, 0.0)
    with pytest.raises(SettingError, match="No magnetic moment"):
        ion_mass_susceptibility({"Xx3+": 1.0}, 5000.0)


def test_the_law_takes_arrays():
    found = curie_mass_susceptibility(np.array([0.0, 10.0, 20.0]), 1.0, 0.0, 3000.0)
    assert np.diff(found) == pytest.approx([252e-9, 252e-9])


@pytest.mark.parametrize(
    ("unit", "value"),
    [
        ("m3/kg", 1e-7), ("1e-9 m3/kg", 100.0), ("1e-8 m3/kg", 10.0),
        ("cm3/g", 1e-7 / (4e-3 * pi)), ("1e-6 cm3/g", 1e-1 / (4e-3 * pi)),
        ("SI volume", 1e-7 * 1600), ("1e-5 SI", 1e-2 * 1600), ("1e-6 SI", 1e-1 * 1600),
        ("cgs volume", 1e-7 * 1600 / (4 * pi)), ("1e-6 cgs", 1e-1 * 1600 / (4 * pi)),
    ],
)  # fmt: skip
def test_every_unit_of_a_bulk_reading_comes_to_the_same_susceptibility(unit, value):
    assert mass_susceptibility_si(value, unit, 1600.0) == pytest.approx(1e-7, rel=1e-12)


def test_an_unknown_unit_is_refused_with_the_units_to_choose_from():
    with pytest.raises(SettingError, match="1e-5 SI"):
        mass_susceptibility_si(1.0, "furlong", 1600.0)
