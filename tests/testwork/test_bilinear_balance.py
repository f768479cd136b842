"""Masses and assays reconciled together: closure, a general optimiser, limits and refusals."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import minimize

from feedchar.errors import InputError
from feedchar.testwork.bags import bags_of, leaf_basis, tree_incidence
from feedchar.testwork.bilinear import chi_square_of, reconcile_bags
from feedchar.testwork.reconcile import reconcile_node

NAMES = ["feed", "magnetics", "rest", "middlings", "clean"]
SOURCE = [None, "feed", "feed", "rest", "rest"]
MASS = np.array([1003.0, 41.0, 955.0, 118.0, 841.0])
IRON = np.array([0.66, 9.8, 0.25, 1.05, 0.11])
POTASH = np.array([3.1, 5.9, 2.93, 4.2, 2.8])
ASSAY = np.stack([IRON, POTASH], axis=1)
SD = 0.03 * ASSAY + 0.005
MASS_SD = 0.004 * MASS + 0.1


def tree(mass=MASS, mass_sd=MASS_SD, assay=ASSAY, assay_sd=SD):
    return bags_of(NAMES, SOURCE, mass, mass_sd, ["Fe2O3", "K2O"], assay, assay_sd)


def imbalance(bags, found):
    """Largest imbalance of any split in mass or oxide, over the flow through it."""
    incidence = tree_incidence(bags.parent)
    flows = np.column_stack([found.mass, found.mass[:, None] * found.assay])
    through = np.abs(incidence) @ np.abs(flows)
    return float(np.max(np.abs(incidence @ flows) / through))


def test_the_fit_is_the_constrained_optimum_of_a_general_optimiser():
    """scipy's SLSQP on the same sum of squares, with the balances as constraints."""
    bags = tree()
    found = reconcile_bags(bags)
    incidence = tree_incidence(bags.parent)
    measured = np.concatenate([MASS, ASSAY.ravel()])
    sd = np.concatenate([MASS_SD, SD.ravel()])

    def balances(z):
        x = measured + sd * z
        mass, assay = x[:5], x[5:].reshape(5, 2)
        open_by = np.column_stack([incidence @ mass, incidence @ (mass[:, None] * assay)])
        return (open_by / [1000.0, 600.0, 3000.0]).ravel()

    best = minimize(
        lambda z: float(z @ z), np.zeros(measured.size), jac=lambda z: 2.0 * z, method="SLSQP",
        constraints={"type": "eq", "fun": balances}, options={"maxiter": 500, "ftol": 1e-12},
    )  # fmt: skip
    assert best.success
    x = measured + sd * best.x
    assert found.chi_square == pytest.approx(best.fun, rel=1e-6)
    assert found.mass == pytest.approx(x[:5], rel=1e-5)
    assert found.assay == pytest.approx(x[5:].reshape(5, 2), rel=1e-4)


def test_one_split_agrees_with_the_single_node_formula():
    f, c, t = np.array([0.66, 3.1]), np.array([9.8, 5.9]), np.array([0.25, 2.93])
    node = reconcile_node(f, c, t, 0.03 * f, 0.03 * c, 0.03 * t, 0.043, 0.001)
    assay = np.array([f, c, t])
    bags = bags_of(
        ["feed", "magnetics", "rest"], [None, "feed", "feed"], [100.0, 4.3, np.nan],
        [1e-6, 0.1, np.nan], ["Fe2O3", "K2O"], assay, 0.03 * assay,
    )  # fmt: skip
    found = reconcile_bags(bags)
    assert found.mass[1] / 100.0 == pytest.approx(node.yield_fraction, rel=1e-7)
    assert found.mass_sd[1] / 100.0 == pytest.approx(node.yield_sd, rel=1e-3)
    assert found.assay[1] == pytest.approx(node.concentrate, rel=1e-7)
    assert found.chi_square == pytest.approx(node.chi_square, rel=1e-7)
    assert found.degrees_of_freedom == node.degrees_of_freedom == 2


noise = st.lists(st.floats(-2.5, 2.5), min_size=15, max_size=15)


@given(noise)
@settings(max_examples=40, deadline=None)
def test_every_split_closes_in_mass_and_oxide_whatever_was_measured(draws):
    shift = np.array(draws)
    bags = tree(mass=MASS + MASS_SD * shift[:5], assay=ASSAY + SD * shift[5:].reshape(5, 2))
    assert imbalance(bags, reconcile_bags(bags)) < 1e-9


@given(st.floats(1e-3, 1e3))
@settings(max_examples=20, deadline=None)
def test_pounds_or_grams_give_the_same_assays(unit):
    grams, other = reconcile_bags(tree()), reconcile_bags(tree(unit * MASS, unit * MASS_SD))
    assert other.mass == pytest.approx(unit * grams.mass, rel=1e-8)
    assert other.assay == pytest.approx(grams.assay, rel=1e-8)
    assert other.chi_square == pytest.approx(grams.chi_square, rel=1e-8)


def test_a_datum_of_vanishing_sd_is_kept():
    sd = SD.copy()
    sd[4, 0] = 1e-9
    found = reconcile_bags(tree(assay_sd=sd))
    assert found.assay[4, 0] == pytest.approx(IRON[4], abs=1e-12)


def test_data_that_close_are_not_moved():
    found = reconcile_bags(tree())
    again = reconcile_bags(tree(mass=found.mass, assay=found.assay))
    assert again.chi_square < 1e-12
    assert again.assay == pytest.approx(found.assay, rel=1e-8)


def test_adjustments_have_unit_spread_when_the_sds_are_right():
    truth = reconcile_bags(tree())
    random = np.random.default_rng(7)
    chi, adjusted = [], []
    for _ in range(300):
        mass = truth.mass + MASS_SD * random.standard_normal(5)
        assay = truth.assay + SD * random.standard_normal(SD.shape)
        found = reconcile_bags(tree(mass=mass, assay=assay))
        chi.append(found.chi_square)
        adjusted.append(np.concatenate([found.mass_adjustment, found.assay_adjustment.ravel()]))
    degrees = truth.degrees_of_freedom
    assert degrees == 6
    # 300 draws: the mean of chi-square has an sd of sqrt(2 x 6 / 300) = 0.2
    assert np.mean(chi) == pytest.approx(degrees, abs=0.6)
    assert np.std(adjusted) == pytest.approx(1.0, abs=0.06)


def test_sds_of_the_closing_figures_agree_with_repeated_laboratories():
    truth = reconcile_bags(tree())
    random = np.random.default_rng(8)
    found = [
        reconcile_bags(
            tree(
                truth.mass + MASS_SD * random.standard_normal(5),
                assay=truth.assay + SD * random.standard_normal(SD.shape),
            )
        )
        for _ in range(300)
    ]
    assert np.std([one.mass for one in found], axis=0) == pytest.approx(truth.mass_sd, rel=0.15)
    assert np.std([one.assay for one in found], axis=0) == pytest.approx(truth.assay_sd, rel=0.15)


def test_what_nothing_measured_fixes_is_left_open_and_the_rest_is_found():
    mass, assay = MASS.copy(), ASSAY.copy()
    mass[2] = np.nan  # the rest was not weighed: the others give it
    assay[[1, 3], 1] = np.nan  # potash of magnetics and middlings not assayed
    assay[0, 1] = np.nan
    found = reconcile_bags(tree(mass=mass, assay=assay))
    assert found.mass[2] == pytest.approx(961.0, abs=6.0)
    assert np.isnan(found.assay[[0, 1], 1]).all()
    assert np.isfinite(found.assay[3, 1])  # rest less clean
    assert np.isfinite(found.assay[:, 0]).all()


def test_measurements_that_no_balance_tells_apart_are_doubted_together():
    mass = MASS.copy()
    mass[1] *= 1.5
    no_assays = replace(
        tree(mass=mass), oxide=(), assay=np.empty((5, 0)), assay_sd=np.empty((5, 0))
    )
    assert set(reconcile_bags(no_assays).to_doubt) == {"mass of feed", "mass of magnetics"}
    feed_alone = bags_of(["feed", "a", "b"], [None, "feed", "feed"], [100.0, 60.0, 30.0], [1.0] * 3)
    assert len(reconcile_bags(feed_alone).to_doubt) == 3


def test_bags_mixed_up_beyond_reason_still_come_to_rest():
    """Heavy and light bags exchanged ask for a bag of no mass; the search must end."""
    order = [4, 1, 3, 2, 0]
    bags = tree(mass=MASS[order], mass_sd=MASS_SD[order], assay=ASSAY[[1, 0, 2, 3, 4]])
    found = reconcile_bags(bags)
    assert found.p_value < 1e-12
    assert imbalance(bags, found) < 1e-9
    assert chi_square_of(bags) == pytest.approx(found.chi_square)


def test_the_leaves_carry_every_bag():
    bags = tree()
    assert np.allclose(tree_incidence(bags.parent) @ leaf_basis(bags.parent), 0.0)


@pytest.mark.parametrize(
    ("names", "source", "mass", "sd"),
    [
        (["a", "a"], [None, "a"], [2.0, 1.0], [1.0, 1.0]),
        (["a", "b"], [None, "c"], [2.0, 1.0], [1.0, 1.0]),
        (["a", "b"], ["b", "a"], [2.0, 1.0], [1.0, 1.0]),
        (["a", "b"], [None, "a"], [2.0, -1.0], [1.0, 1.0]),
        (["a", "b"], [None, "a"], [2.0, 1.0], [1.0, 0.0]),
        (["a", "b"], [None], [2.0, 1.0], [1.0, 1.0]),
        (["a", "b"], [None, "a"], [2.0], [1.0]),
    ],
    ids=["twice", "unknown source", "circle", "negative", "no sd", "short source", "short mass"],
)
def test_a_list_of_bags_that_cannot_be_is_refused(names, source, mass, sd):
    with pytest.raises(InputError):
        bags_of(names, source, mass, sd)


def test_without_any_weight_there_is_no_balance():
    with pytest.raises(InputError, match="weighed"):
        reconcile_bags(tree(mass=np.full(5, np.nan)))
