"""Trees of weighed and assayed bags: closure, weights, and faults that a laboratory makes."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from feedchar.errors import FeedcharError
from feedchar.testwork import reconcile_flows, three_product, two_product
from feedchar.testwork.bags import bags_of, tree_incidence
from feedchar.testwork.bilinear import reconcile_bags
from feedchar.testwork.gross_error import find_gross_error

PLAIN = {"allow_nan": False, "allow_infinity": False}
NAMES = ["feed", "roll feed", "dust", "product", "middlings", "magnetics"]
PARENT = [None, "feed", "feed", "roll feed", "roll feed", "roll feed"]
MASS = np.array([5000.0, 4850.0, 150.0, 4500.0, 100.0, 250.0])
IRON = np.array([0.0, 0.0, 0.90, 0.040, 0.60, 2.40])
TITANIA = np.array([0.0, 0.0, 0.20, 0.030, 0.15, 0.80])


def contents():
    table = np.stack([IRON, TITANIA], axis=1)
    table[1] = (MASS[3:, None] * table[3:]).sum(axis=0) / MASS[1]
    table[0] = (MASS[1:3, None] * table[1:3]).sum(axis=0) / MASS[0]
    return table


def laboratory(seed, mass=MASS, table=None, swap=None, names=None):
    """An invented laboratory: 0.2 % on weights, 3 % plus 0.002 on assays."""
    table = contents() if table is None else table
    random = np.random.default_rng(seed)
    mass_sd = 0.002 * mass + 0.05
    assay_sd = 0.03 * table + 0.002
    weighed = mass + mass_sd * random.standard_normal(len(mass))
    assayed = np.maximum(table + assay_sd * random.standard_normal(table.shape), 1e-4)
    if swap is not None:
        a, b = swap
        assayed[[a, b]] = assayed[[b, a]]
        assay_sd = 0.03 * assayed + 0.002
    return bags_of(NAMES, PARENT, weighed, mass_sd, ["Fe2O3", "TiO2"], assayed, assay_sd, names)


def test_reconciled_bags_close_to_the_last_gram_and_oxide():
    found = reconcile_bags(laboratory(3))
    incidence = tree_incidence(laboratory(3).parent)
    assert incidence @ found.mass == pytest.approx(np.zeros(len(incidence)), abs=1e-6)
    carried = found.mass[:, None] * found.assay
    assert incidence @ carried == pytest.approx(np.zeros((len(incidence), 2)), abs=1e-6)


@given(
    st.lists(st.floats(1.0, 1000.0, **PLAIN), min_size=3, max_size=3),
    st.floats(0.1, 10.0, **PLAIN),
)
def test_reconciled_flows_close_and_scale_with_the_unit(flows, unit):
    incidence = np.array([[1.0, -1.0, -1.0]])
    measured, sd = np.array(flows), np.array([1.0, 2.0, 3.0])
    closed = reconcile_flows(measured, sd, incidence)
    assert abs(float((incidence @ closed)[0])) < 1e-9 * max(flows)
    scaled = reconcile_flows(unit * measured, unit * sd, incidence)
    assert scaled == pytest.approx(unit * closed, rel=1e-9, abs=1e-9)


def test_a_flow_without_error_is_kept():
    closed = reconcile_flows([100.0, 60.0, 41.0], [1e-9, 1.0, 1.0], [[1.0, -1.0, -1.0]])
    assert closed == pytest.approx([100.0, 59.5, 40.5], abs=1e-6)


@given(st.floats(1.0, 5.0, **PLAIN), st.floats(6.0, 60.0, **PLAIN), st.floats(0.01, 0.9, **PLAIN))
def test_two_products_conserve_mass_and_metal(feed, concentrate, tailing):
    share, recovery = two_product(feed, concentrate, tailing)
    assert share * concentrate + (1 - share) * tailing == pytest.approx(feed, rel=1e-12)
    assert recovery == pytest.approx(share * concentrate / feed, rel=1e-12)


def test_products_of_one_assay_cannot_be_told_apart():
    with pytest.raises(FeedcharError):
        two_product(1.0, 2.0, 2.0)


def test_two_components_on_one_mineral_are_refused():
    with pytest.raises(FeedcharError):
        three_product((3.0, 6.0), (50.0, 100.0), (2.0, 4.0), (0.2, 0.4))


def accused(bags):
    """The fault that is beyond chance, or None."""
    found = find_gross_error(bags)
    return found.faults[0] if found.alarm else None


def rivals(bags):
    """The accused and those that explain the data about as well."""
    found = find_gross_error(bags)
    return (found.faults[0], *found.not_told_apart) if found.alarm else ()


def cases(count, make):
    return sum(make(seed) for seed in range(count))


of_laboratories = pytest.mark.parametrize("count", [40, pytest.param(100, marks=pytest.mark.slow)])
"""How many are invented; the shares are asked of a hundred with -m slow."""


@of_laboratories
def test_a_clean_laboratory_is_seldom_accused(count):
    """False alarms: at most 5 in 100."""
    assert cases(count, lambda seed: accused(laboratory(seed)) is not None) <= 0.05 * count


@of_laboratories
def test_a_swapped_pair_of_labels_is_found(count):
    """At least 90 of 100."""

    def found(seed):
        fault = accused(laboratory(seed, swap=(3, 5)))
        return fault is not None and set(fault.bags) == {"product", "magnetics"}

    assert cases(count, found) >= 0.9 * count


@of_laboratories
def test_a_factor_of_1_43_between_laboratories_is_found(count):
    """At least 90 of 100: one laboratory reports Fe where the other reports Fe2O3."""
    labs = ["north", "north", "north", "south", "south", "south"]

    def found(seed):
        bags = laboratory(seed, names=labs)
        assay = bags.assay.copy()
        assay[3:, 0] /= 1.42974
        wrong = bags_of(
            NAMES, PARENT, bags.mass, bags.mass_sd, ["Fe2O3", "TiO2"], assay,
            0.03 * assay + 0.002, labs,
        )  # fmt: skip
        return any(fault.kind == "iron basis" for fault in rivals(wrong))

    assert cases(count, found) >= 0.9 * count


@of_laboratories
def test_a_lost_bag_of_3_percent_is_found(count):
    """At least 90 of 100: 3 % of the feed never reached a balance."""

    def found(seed):
        mass = MASS.copy()
        mass[0] = MASS[0] * 1.03
        kinds = {fault.kind for fault in rivals(laboratory(seed, mass=mass))}
        return bool(kinds & {"mass missing", "weight wrong"})

    assert cases(count, found) >= 0.9 * count
