"""Shares of classes in every trial: terms of the outlets, look-ups and clips written out."""

from __future__ import annotations

from math import log

import numpy as np
import pytest
from scipy.interpolate import RegularGridInterpolator

from feedchar.separation.capture import MOMENT_SHARES, RESPONSE, RESPONSE_SCALE, Reference
from feedchar.separation.records import Parameters
from feedchar.separation.stages import OutletTerms, Term
from feedchar.separation.trial_shares import (
    LOOKUPS_AT_ONCE,
    SPREAD_STEP,
    _chunks,
    _spread_matrix,
    class_tables,
    shares_of_trials,
    sum_of_terms,
)

RUNGS = (1e-9, 1e-8, 4e-8)
REFERENCE = Reference(pull_per_susceptibility=2.5e6, susceptibility_per_moment=1e-6)
SHAPE = (len(RUNGS), len(MOMENT_SHARES), len(RESPONSE))


def nodes(seed, least, most):
    """Tables of three grain nodes."""
    return np.random.default_rng(seed).uniform(least, most, (3, *SHAPE))


def looked_up(table, adhesion, part, ratio):
    look = RegularGridInterpolator((np.log(RUNGS), MOMENT_SHARES, RESPONSE), table)
    at = np.clip(np.arcsinh(ratio / RESPONSE_SCALE), RESPONSE[0], RESPONSE[-1])
    return float(look((log(adhesion), part, at)))


def test_outlets_of_every_trial_are_sums_of_terms_held_between_nothing_and_all():
    """(1 - e)^stages (1 - b)^order of each term; missed is what a bypass of nothing would leave."""
    rng = np.random.default_rng(11)
    trials, adhesion = 30, np.geomspace(1e-9, 4e-8, 30)
    bypass, entrainment = rng.uniform(0.05, 0.3, trials), rng.uniform(0.05, 0.2, trials)
    parameters = Parameters(bypass, entrainment, np.ones(trials), adhesion)
    first, second, third = nodes(1, 0.0, 2.2), nodes(2, 0.0, 0.5), nodes(3, -0.6, 0.6)
    terms = OutletTerms(
        (Term(np.ones(1), 1, 0), Term(-first, 1, 1), Term(second, 2, 2)), (Term(third, 2, 1),)
    )
    ratio = np.sinh(rng.uniform(-3.0, 11.0, (trials, 2))) * RESPONSE_SCALE
    part = np.where(ratio > 0.0, rng.random((trials, 2)), 0.0)
    # One that nothing pulls, and one whose moment pulls against the push of its sand.
    ratio[3, 0], part[4, 0], ratio[4, 0] = 0.0, 1.4, 2.0
    total = ratio / REFERENCE.pull_per_susceptibility
    # The first class sits on two nodes, the second, without a moment, on the third.
    spread = np.array([[0.3, 0.7, 0.0], [0.0, 0.0, 1.0]])
    part[:, 1] = 0.0
    found = shares_of_trials(
        terms, spread, np.zeros(2), total, part * total, parameters, RUNGS, REFERENCE
    )
    reached = set()
    for t, c in np.ndindex(trials, 2):
        one, two, mid = (
            looked_up(
                np.tensordot(spread[c], each, 1), adhesion[t], min(part[t, c], 1.0), ratio[t, c]
            )
            for each in (first, second, third)
        )
        kept, met = 1.0 - entrainment[t], 1.0 - bypass[t]
        non = kept - kept * met * one + kept**2 * met**2 * two
        without = kept - kept * one + kept**2 * two
        middlings = min(max(kept**2 * met * mid, 0.0), 1.0)
        stays, missed = (min(max(each, 0.0), 1.0) for each in (non, non - without))
        assert found.non_magnetics[t, c] == pytest.approx(stays, abs=1e-9)
        assert found.middlings[t, c] == pytest.approx(middlings, abs=1e-9)
        assert found.missed[t, c] == pytest.approx(min(missed, stays), abs=1e-9)
        assert found.magnetics[t, c] == pytest.approx(max(1.0 - stays - middlings, 0.0), abs=1e-9)
        reached |= {"pale" if non < 0.0 else "kept", "drawn" if mid < 0.0 else "middle"}
    assert reached == {"pale", "kept", "drawn", "middle"}


def test_one_machine_serves_many_feeds_and_many_machines_one_feed():
    """The longest of feed, bypass, entrainment and adhesion counts the trials."""
    terms = OutletTerms((Term(np.ones(1), 1, 0), Term(-nodes(1, 0.0, 1.0), 1, 1)), ())
    spread, total = np.eye(3), np.full((1, 3), 3e-7)
    one, five = np.full(1, 0.1), np.linspace(0.1, 0.3, 5)
    place = (RUNGS, REFERENCE)

    def shares(feed, bypass, entrainment, adhesion):
        machine = Parameters(bypass, entrainment, np.ones(1), adhesion)
        feed = np.broadcast_to(feed, (len(feed), 3))
        return shares_of_trials(terms, spread, np.zeros(3), feed, 0.0 * feed, machine, *place)

    steady = np.full(1, 1e-8)
    alone = shares(total, one, one, steady).non_magnetics
    assert alone.shape == (1, 3)
    some = [
        shares(np.repeat(total, 5, axis=0), one, one, steady),
        shares(total, five, one, steady),
        shares(total, one, five, steady),
        shares(total, one, one, np.geomspace(1e-8, 4e-8, 5)),
    ]
    for each in some:
        assert each.non_magnetics.shape == (5, 3)
        assert each.non_magnetics[0] == pytest.approx(alone[0], abs=1e-12)
    assert np.ptp(some[0].non_magnetics, axis=0) == pytest.approx(np.zeros(3), abs=1e-12)
    for each in some[1:]:
        assert np.all(np.ptp(each.non_magnetics, axis=0) > 1e-4)
    tables = [list(nodes(1, 0.0, 1.0))]
    for feed, factor, adhesion in (
        (np.repeat(total, 5, axis=0), one, steady), (total, five, steady),
        (total, one, np.geomspace(1e-8, 4e-8, 5)),
    ):  # fmt: skip
        found = sum_of_terms(tables, [factor], feed, 0.0 * feed, adhesion, *place)
        assert found.shape == (5, 3)


@pytest.mark.parametrize("trials", [1, 7, LOOKUPS_AT_ONCE, LOOKUPS_AT_ONCE + 1])
def test_classes_looked_up_together_have_tables_of_one_shape_and_fit_in_cache(trials):
    moved, still = np.empty((2, 3, 5)), np.empty((2, 1, 5))
    tables = [(moved, still)[c % 3 == 0] for c in range(2000)]
    chunks = _chunks([[np.ones(1)] * 2000, tables, [np.ones(1)] * 2000], trials)
    assert sorted(np.concatenate(chunks).tolist()) == list(range(2000))
    for chunk in chunks:
        assert len({tables[c].shape for c in chunk}) == 1
        assert len(chunk) == 1 or len(chunk) * trials <= LOOKUPS_AT_ONCE
    if trials == 7:
        assert max(len(chunk) for chunk in chunks) == LOOKUPS_AT_ONCE // 7


@pytest.mark.parametrize("ln_sd", [0.05, 0.3, 0.8])
def test_grains_of_a_class_scatter_about_its_response_with_their_own_spread(ln_sd):
    """On the logarithmic part of the axis: mean in the middle, ln-sd as told."""
    matrix = _spread_matrix(round(ln_sd / SPREAD_STEP)).toarray()
    assert matrix.sum(axis=1) == pytest.approx(np.ones(len(RESPONSE)), abs=1e-12)
    step = RESPONSE[1] - RESPONSE[0]
    for row in (110, 125, 140):
        away = (np.arange(len(RESPONSE)) - row) * step
        assert matrix[row] @ away == pytest.approx(0.0, abs=1e-3)
        # Between two places a grain is told by both: up to a quarter of a step squared more.
        spread = matrix[row] @ away**2
        assert ln_sd**2 - 1e-6 <= spread <= ln_sd**2 + 0.25 * step**2 + 1e-6
    # What is pushed off is pushed by grains that are pushed; without a spread nothing moves.
    assert matrix[0, RESPONSE > 0.0].max() == 0.0
    assert _spread_matrix(0).toarray() == pytest.approx(np.eye(len(RESPONSE)), abs=1e-9)


def test_spreads_are_told_in_twentieths_and_each_class_keeps_its_own():
    table = nodes(5, 0.0, 1.0)
    weight = np.array([[1.0, 0.0, 0.0], [0.0, 0.4, 0.6], [0.0, 0.4, 0.6], [0.5, 0.5, 0.0]])
    ln_sd, moves = np.array([0.31, 0.024, 0.19, 0.31]), np.array([True, False, True, False])
    terms = (Term(np.ones(1), 0, 0), Term(table, 1, 1))
    plain, own = class_tables(terms, weight, ln_sd, moves)
    assert [each.tolist() for each in plain] == [[1.0]] * 4
    for c, steps in enumerate((6, 0, 4, 6)):
        mean = np.tensordot(weight[c], table, 1) @ _spread_matrix(steps).toarray().T
        wanted = mean if moves[c] else mean[:, :1]
        assert own[c].shape == wanted.shape
        assert own[c] == pytest.approx(wanted, abs=1e-12)
