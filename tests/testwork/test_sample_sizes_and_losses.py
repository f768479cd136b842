"""Sample masses, grain counts, stages of sampling; losses and laboratories that disagree."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import poisson

from feedchar.errors import InputError
from feedchar.testwork import loss, sampling
from feedchar.testwork.grain_numbers import (
    grain_mass_g,
    grains_for_relative_sd,
    grains_in_mass,
    mass_for_grains,
)
from feedchar.testwork.poisson_limits import poisson_lower_limit, poisson_upper_limit
from feedchar.testwork.sampling_stages import chain_relative_sd, stage_masses_g
from feedchar.testwork.stated_recoveries import check_stated_recoveries

ILMENITE = (0.06, 0.06, 1e-4, 4.7, 2.65)


@given(st.floats(0.001, 0.5), st.floats(10.0, 1e9))
def test_the_mass_asked_for_gives_the_error_asked_for(relative_sd, lot):
    mass = sampling.mass_for_sampling_error(relative_sd, lot, *ILMENITE)
    assert mass <= lot
    found = sampling.fundamental_sampling_error(mass, lot, *ILMENITE)
    assert found == pytest.approx(relative_sd, rel=1e-5)


def test_the_whole_lot_is_no_sample_and_has_no_error():
    assert sampling.fundamental_sampling_error(500.0, 500.0, *ILMENITE) == 0.0
    with pytest.raises(InputError, match="heavier"):
        sampling.fundamental_sampling_error(501.0, 500.0, *ILMENITE)


@pytest.mark.parametrize("place", range(5))
@pytest.mark.parametrize("wrong", [0.0, -1.0, float("nan")])
def test_sizes_fractions_and_densities_must_be_above_zero(place, wrong):
    figures = list(ILMENITE)
    figures[place] = wrong
    with pytest.raises(InputError):
        sampling.fundamental_sampling_error(10.0, np.inf, *figures)


def test_a_percentage_given_as_a_fraction_is_refused():
    with pytest.raises(InputError, match="at most 1"):
        sampling.composition_factor(5.0, 4.7, 2.65)


def test_finer_grains_are_free_and_never_more_than_free():
    assert sampling.liberation_factor([1.0, 0.1, 0.01], 0.1) == pytest.approx([0.1**0.5, 1.0, 1.0])


def test_few_free_grains_follow_the_count_of_the_formula():
    """At l = 1, g = 1 and a rare mineral the formula is the Poisson error of the grain count."""
    mass, fraction, size = 50.0, 1e-5, 0.03
    formula = sampling.fundamental_sampling_error(
        mass, np.inf, size, size, fraction, 4.7, 2.65, shape=np.pi / 6.0, granulometric=1.0
    )
    grains = grains_in_mass(mass, fraction, size, 4.7)
    assert formula == pytest.approx(grains**-0.5, rel=1e-4)
    assert grains_for_relative_sd(formula) == pytest.approx(grains, rel=2e-4)


@given(st.floats(1.0, 1e4), st.floats(1e-6, 1e-2))
def test_mass_and_number_of_grains_undo_each_other(mass, fraction):
    grains = grains_in_mass(mass, fraction, 0.03, 4.6)
    assert mass_for_grains(grains, fraction, 0.03, 4.6) == pytest.approx(mass)


@pytest.mark.parametrize("found", [0, 1, 4, 25])
def test_limits_of_a_count_are_those_of_the_poisson_law(found):
    """scipy's Poisson distribution: at the limit so few, or so many, has a chance of 5 %."""
    assert poisson.cdf(found, poisson_upper_limit(found)) == pytest.approx(0.05)
    if found:
        assert poisson.sf(found - 1, poisson_lower_limit(found)) == pytest.approx(0.05)
    else:
        assert poisson_lower_limit(found) == 0.0


def test_counts_and_grains_that_cannot_be_are_refused():
    for call in (
        lambda: poisson_upper_limit(-1),
        lambda: poisson_upper_limit(3, confidence=1.0),
        lambda: poisson_lower_limit(float("nan")),
        lambda: grain_mass_g(0.0, 2.65),
        lambda: mass_for_grains(25, 0.0, 0.03, 4.6),
        lambda: grains_for_relative_sd(0.0),
    ):
        with pytest.raises(InputError):
            call()


def test_stages_planned_for_an_error_reach_it_and_each_lot_is_the_sample_before():
    sizes = [0.5, 0.1, 0.05]
    masses = stage_masses_g(0.03, sizes, 0.05, 1e-3, 4.7, 2.65)
    stages, whole = chain_relative_sd(masses, np.inf, sizes, 0.05, 1e-3, 4.7, 2.65)
    assert whole < 0.03  # lots that are not endless help
    assert whole == pytest.approx(np.sqrt((stages**2).sum()))
    assert stages[0] == pytest.approx(0.03 / np.sqrt(3.0))
    with pytest.raises(InputError):
        chain_relative_sd([10.0, 20.0], np.inf, [0.5, 0.1], 0.05, 1e-3, 4.7, 2.65)


@pytest.mark.parametrize(
    ("out", "severity", "word"),
    [
        ([600.0, 395.0], None, ""),
        ([600.0, 385.0], "note", "lost 1.50 %"),
        ([600.0, 370.0], "warning", "lost 3.00 %"),
        ([600.0, 402.0], None, ""),
        ([600.0, 404.0], "warning", "gained 0.40 %"),
    ],
)
def test_mass_lost_or_gained_is_told_by_the_rule_of_the_trade(out, severity, word):
    note = loss.loss_note("roll, pass 1", 1000.0, out)
    assert (note.severity if note else None) == severity
    if note:
        assert word in note.text


@pytest.mark.parametrize(("second", "severity"), [(1.1, None), (1.3, "warning"), (1.5, "stop")])
def test_two_figures_of_one_thing_are_warned_of_at_2_sd_and_stopped_at_4(second, severity):
    note = loss.difference_note("yield", "yield weighed, yield by assay", 1.0, second, 0.1)
    assert (note.severity if note else None) == severity


@pytest.mark.parametrize(
    ("ratio", "poor"), [(1.43, "south"), (1 / 1.43, "north"), (1.3, None), (1.0, None), (1.5, None)]
)
def test_iron_that_differs_as_iron_from_its_oxide_is_told(ratio, poor):
    note = loss.laboratory_note("north", "south", ratio)
    assert (note is not None) == (poor is not None)
    if note:
        assert f"{poor} may give Fe," in note.text


def test_checks_refuse_what_they_cannot_judge():
    for call in (
        lambda: loss.mass_loss(0.0, [1.0]),
        lambda: loss.mass_loss(10.0, [-1.0]),
        lambda: loss.difference_note("yield", "a", 1.0, 2.0, 0.0),
        lambda: loss.laboratory_note("a", "b", 0.0),
        lambda: check_stated_recoveries(("a", "b"), [1, 2], [1, 2], [1, 1], [1, 1], [1, 1]),
    ):
        with pytest.raises(InputError):
            call()
