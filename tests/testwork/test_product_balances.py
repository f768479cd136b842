"""Balances from assays and flows: conservation, errors by Monte Carlo, refusals, limits."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from feedchar.errors import InputError
from feedchar.testwork.balance import two_product, two_product_sd
from feedchar.testwork.flows import check_flows, reconcile_flows
from feedchar.testwork.reconcile import adjust_assays, reconcile_node
from feedchar.testwork.recoveries import separation_efficiency
from feedchar.testwork.three_product import (
    three_product,
    three_product_condition,
    three_product_sd,
)

assay = st.floats(0.01, 60.0)
share = st.floats(0.02, 0.9)
NETWORK = np.array([[1, -1, -1, 0, 0], [0, 0, 1, -1, -1]])


@given(share, share, st.tuples(assay, assay), st.tuples(assay, assay), st.tuples(assay, assay))
def test_three_products_mixed_together_are_taken_apart_again(w1, w2, a1, a2, at):
    assume(w1 + w2 < 0.98)
    assume(three_product_condition(a1, a2, at) < 100.0)
    feed = w1 * np.array(a1) + w2 * np.array(a2) + (1.0 - w1 - w2) * np.array(at)
    found = three_product(feed, a1, a2, at)
    assert found == pytest.approx([w1, w2, 1.0 - w1 - w2], abs=1e-9)


@given(st.floats(1e-4, 1e4), st.floats(1e-4, 1e4))
def test_the_units_of_the_two_components_do_not_matter(first, second):
    unit = np.array([first, second])
    streams = [np.array(pair) for pair in ([3.0, 6.0], [50.0, 8.0], [2.0, 55.0], [0.2, 0.5])]
    scaled = [unit * pair for pair in streams]
    assert three_product(*scaled) == pytest.approx(three_product(*streams), rel=1e-9)
    assert three_product_condition(*scaled[1:]) == pytest.approx(
        three_product_condition(*streams[1:]), rel=1e-9
    )


def test_errors_of_two_and_three_products_agree_with_a_monte_carlo():
    random = np.random.default_rng(11)
    draws = 40_000
    f, c, t = 3.5, 18.0, 1.0
    sds = 0.01 * np.array([f, c, t])
    noisy = [x + s * random.standard_normal(draws) for x, s in zip((f, c, t), sds, strict=True)]
    for found, sd in zip(two_product(*noisy), two_product_sd(f, c, t, *sds), strict=True):
        assert np.std(found) == pytest.approx(sd, rel=0.03)
    streams = [np.array(pair) for pair in ([3.0, 6.0], [50.0, 8.0], [2.0, 55.0], [0.2, 0.5])]
    noisy = [x * (1.0 + 0.01 * random.standard_normal((draws, 2))) for x in streams]
    expected = three_product_sd(*streams, *(0.01 * x for x in streams))
    assert np.std(three_product(*noisy), axis=0) == pytest.approx(expected, rel=0.03)


@pytest.mark.parametrize(
    "assays",
    [(1.0, 2.0, 2.0), (5.0, 2.0, 1.0), (0.5, 2.0, 1.0), (0.0, 2.0, 0.0), (-1.0, 2.0, 0.1),
     (float("nan"), 2.0, 0.1)],
    ids=["equal products", "richer than both", "poorer than both", "no feed", "negative", "blank"],
)  # fmt: skip
def test_a_single_balance_that_cannot_be_is_refused(assays):
    with pytest.raises(InputError):
        two_product(*assays)


def test_the_refusal_names_the_yield_that_would_come_out():
    with pytest.raises(InputError, match=r"the yield would be 1\.5"):
        two_product(2.5, 2.0, 1.0)


def test_draws_that_leave_0_to_1_are_shown_as_they_are():
    found, _ = two_product(np.array([2.5, 1.5, 1.5]), np.array([2.0, 2.0, 1.0]), 1.0)
    assert found[:2] == pytest.approx([1.5, 0.5])
    assert np.isnan(found[2])
    draws = three_product(
        np.array([[9.0, 6.0], [3.0, 6.0]]), [50.0, 8.0], [2.0, 55.0], [[0.2, 0.5], [0.2, 0.5]]
    )
    assert draws.sum(axis=1) == pytest.approx([1.0, 1.0])
    one_mineral = three_product(
        np.array([[3.0, 6.0]] * 2), [50.0, 100.0], [2.0, 4.0], [[0.2, 0.4], [0.2, 0.5]]
    )
    assert np.isnan(one_mineral[0]).all()


def test_a_negative_mass_is_refused_with_the_shares_it_would_need():
    with pytest.raises(InputError, match="negative mass"):
        three_product([60.0, 6.0], [50.0, 8.0], [2.0, 55.0], [0.2, 0.5])


def test_pairs_are_asked_for():
    with pytest.raises(InputError, match="pairs"):
        three_product(3.0, 50.0, 2.0, 0.2)


def test_a_mere_splitting_of_mass_separates_nothing_and_a_perfect_split_everything():
    assert separation_efficiency(2.0, 2.0, 70.0, 0.3) == pytest.approx(0.0, abs=1e-12)
    assert separation_efficiency(2.0, 70.0, 70.0, 1.0) == pytest.approx(1.0, abs=1e-12)
    with pytest.raises(InputError):
        separation_efficiency(2.0, 80.0, 70.0, 0.3)


@given(
    st.lists(st.floats(0.1, 1e4), min_size=5, max_size=5),
    st.lists(st.floats(1e-6, 10.0), min_size=5, max_size=5),
)
def test_flows_close_at_every_node_for_sds_far_apart(flows, sds):
    closed = reconcile_flows(flows, sds, NETWORK)
    assert np.abs(NETWORK @ closed).max() <= 1e-9 * max(flows)


@given(st.lists(st.floats(0.1, 1e4), min_size=5, max_size=5))
def test_flows_with_sds_fixed_by_zero_are_kept_and_many_sets_go_at_once(flows):
    sd = [0.0, 1.0, 2.0, 0.0, 1.0]
    closed = reconcile_flows([flows, flows], sd, NETWORK)
    assert closed[:, [0, 3]] == pytest.approx(np.array([[flows[0], flows[3]]] * 2), abs=1e-9)
    assert np.abs(closed @ NETWORK.T).max() <= 1e-9 * max(flows)


def test_an_unmeasured_flow_is_what_the_others_leave():
    measured = [100.0, 60.0, np.nan, 25.0, 14.0]
    closed = reconcile_flows(measured, [1.0, 1.0, np.inf, 1.0, 1.0], NETWORK)
    # Without stream 3 one balance is left, 100 = 60 + 25 + 14: one unit shared among four.
    assert closed == pytest.approx([99.75, 60.25, 39.5, 25.25, 14.25])


@pytest.mark.parametrize(
    ("measured", "sd", "incidence"),
    [
        ([10.0, 6.0, 5.0], [0.0, 0.0, 0.0], [[1, -1, -1]]),
        ([10.0, 6.0, 5.0], [1.0, np.inf, np.inf], [[1, -1, -1]]),
        ([10.0, 6.0, np.nan], [1.0, 1.0, 1.0], [[1, -1, -1]]),
        ([10.0, 6.0, 5.0], [1.0, -1.0, 1.0], [[1, -1, -1]]),
        ([10.0, 6.0, 5.0], [1.0, 1.0, 1.0], [[1, -2, -1]]),
        ([10.0, 6.0], [1.0, 1.0], [[1, -1, -1]]),
    ],
    ids=["cannot close", "not fixed", "blank", "negative sd", "incidence of 2", "too few"],
)
def test_flows_that_cannot_be_reconciled_are_refused(measured, sd, incidence):
    with pytest.raises(InputError):
        reconcile_flows(measured, sd, incidence)


def test_the_global_test_is_the_textbook_form_and_the_bad_meter_is_named():
    """r' (A V A')^-1 r of narasimhan_2000, computed here in that form."""
    sd = np.array([1.0, 0.6, 0.5, 0.4, 0.3])
    true = np.array([100.0, 60.0, 40.0, 25.0, 15.0])
    measured = true + np.array([0.0, 0.0, 6.0, 0.0, 0.0])
    found = check_flows(measured, sd, NETWORK)
    r = NETWORK @ measured
    expected = r @ np.linalg.solve(NETWORK @ np.diag(sd**2) @ NETWORK.T, r)
    assert found.chi_square == pytest.approx(expected, rel=1e-10)
    assert found.degrees_of_freedom == 2
    assert found.to_doubt == (2,)
    assert found.doubt_p_value < 1e-6
    fine = check_flows(true, sd, NETWORK)
    assert fine.chi_square == pytest.approx(0.0, abs=1e-18)
    assert fine.p_value == pytest.approx(1.0)


def test_at_a_lone_node_every_flow_is_equally_doubtful():
    assert check_flows([100.0, 60.0, 30.0], [3.0, 2.0, 1.0], [[1, -1, -1]]).to_doubt == (0, 1, 2)


@given(st.floats(0.05, 0.95), st.lists(st.floats(0.9, 1.1), min_size=9, max_size=9))
def test_adjusted_assays_close_exactly(yield_fraction, noise):
    f, c, t = np.array([[2.0, 5.0, 60.0], [9.0, 6.0, 30.0], [0.3, 4.0, 75.0]]) * np.reshape(
        noise, (3, 3)
    )
    closed = adjust_assays(f, c, t, 0.05 * f, 0.05 * c, 0.05 * t, yield_fraction)
    mixed = yield_fraction * closed[1] + (1.0 - yield_fraction) * closed[2]
    assert closed[0] == pytest.approx(mixed, rel=1e-12)


@given(st.floats(1e-3, 1e3))
def test_the_unit_of_one_assay_does_not_change_the_yield(unit):
    f, c, t = np.array([21.9, 3.46]), np.array([43.0, 5.5]), np.array([6.77, 1.76])
    plain = reconcile_node(f, c, t, 0.05 * f, 0.05 * c, 0.05 * t)
    f, c, t = (x * [unit, 1.0] for x in (f, c, t))
    other = reconcile_node(f, c, t, 0.05 * f, 0.05 * c, 0.05 * t)
    assert other.yield_fraction == pytest.approx(plain.yield_fraction, rel=1e-9)


def test_a_weighed_yield_counts_by_what_it_is_worth():
    f, c, t = [0.10], [2.0], [0.05]
    sds = [0.004], [0.06], [0.003]
    assays_alone = reconcile_node(f, c, t, *sds)
    sharp = reconcile_node(f, c, t, *sds, weighed_yield=0.02, weighed_yield_sd=1e-7)
    blunt = reconcile_node(f, c, t, *sds, weighed_yield=0.02, weighed_yield_sd=10.0)
    assert assays_alone.yield_fraction == pytest.approx(two_product(0.10, 2.0, 0.05)[0])
    assert sharp.yield_fraction == pytest.approx(0.02, abs=1e-6)
    assert blunt.yield_fraction == pytest.approx(assays_alone.yield_fraction, abs=1e-5)
    # Weighing to 0.1 % of the feed beats these assays: the message of the two-product error.
    _, better = 0.001, reconcile_node(f, c, t, *sds, weighed_yield=0.025, weighed_yield_sd=0.001)
    assert better.yield_sd < 0.5 * assays_alone.yield_sd


def test_one_assay_gives_back_the_two_product_yield_and_its_error():
    found = reconcile_node([3.5], [18.0], [1.0], [0.175], [0.9], [0.05])
    expected, _ = two_product(3.5, 18.0, 1.0)
    sd, _ = two_product_sd(3.5, 18.0, 1.0, 0.175, 0.9, 0.05)
    assert found.yield_fraction == pytest.approx(expected)
    assert found.yield_sd == pytest.approx(sd)
    assert (found.degrees_of_freedom, found.p_value) == (0, 1.0)


@pytest.mark.parametrize(
    ("f", "c", "t", "sd"),
    [
        ([1.0], [2.0], [2.0], 0.1),
        ([1.0], [2.0], [0.5], 0.0),
        ([1.0], [2.0], [0.5], -0.1),
        ([1.0, 2.0], [2.0], [0.5, 0.1], 0.1),
        ([9.0], [2.0], [1.0], 0.1),
        ([np.nan], [2.0], [1.0], 0.1),
    ],
    ids=["no difference", "no sd", "negative sd", "ragged", "far outside", "blank"],
)
def test_a_split_that_says_nothing_is_refused(f, c, t, sd):
    with pytest.raises(InputError):
        reconcile_node(f, c, t, [sd] * len(f), [sd] * len(c), [sd] * len(t))
