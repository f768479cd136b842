"""Two hundred machines drawn from the prior, three tests each: is the next test foretold?

Truths are drawn by another seed from what the model believes of feed and machine; every measured
figure carries the stated discrepancy and the error of measuring. The figures that this gives stand
in DEVELOPERS.md; `python tests/testwork/test_synthetic_laboratories.py` prints them.
"""

from __future__ import annotations

import sys
from dataclasses import dataclass, replace

import numpy as np
import pytest

from feedchar.assembly.finished import finished_trials
from feedchar.assembly.tested_figures import TestedFeed, feed_with_tests, observed_of
from feedchar.field.rolls import DEFAULT_ROLL, read_roll
from feedchar.field.setting import Setting
from feedchar.sample.read import read_sample
from feedchar.sample.records import Determination, TestBag
from feedchar.tables.locate import examples_folder
from feedchar.testwork.likelihood import DISCREPANCY_LN, Observed, ln_likelihood
from feedchar.testwork.scores import draw_scores, parameters_of
from feedchar.testwork.weighing import effective_sample, resampled, weights_of

pytestmark = pytest.mark.slow

MACHINES, TRIALS, BLOCKS = 200, 4_000, 15
TESTS = {"a": 1.1, "b": 1.5, "c": 2.0}
NEXT = {"next": 1.3}
MASSES_G = {"M": 60.0, "N": 1940.0}


def laboratory(trials: int, seed: int) -> TestedFeed:
    """The glass sand with three tests and the next one; weights and assays only hold places."""
    plain = replace(read_sample(examples_folder() / "glass_sand"), tests=(), determinations=())
    bags, assays = [], []
    for test, speed in (TESTS | NEXT).items():
        for key, product in (("M", "magnetics"), ("N", "non-magnetics")):
            bags.append(
                TestBag(
                    test=test, step="1", repeat=None, machine="permanent roll", from_bag="feed",
                    bag=f"{test}{key}", product=product, mass_g=MASSES_G[key],
                    belt_speed_m_s=speed, splitter_m=0.010,
                )
            )  # fmt: skip
            value = {"M": 4.0, "N": 0.05}[key]
            assays.append(Determination(f"{test}{key}", None, None, "Fe2O3", value, False))
    sample = replace(plain, tests=tuple(bags), determinations=tuple(assays))
    base = Setting(read_roll(DEFAULT_ROLL), ())
    return feed_with_tests(sample, finished_trials(plain, trials, seed), base, None)


@dataclass(frozen=True)
class Study:
    """What 200 laboratories gave."""

    covered: dict[str, float]
    """Share of next tests inside the 90 % interval, by figure. [-]"""
    error_before: float
    error_after: float
    """Root mean square of ln product iron of the next test, measured over predicted. [-]"""
    true_before: float
    true_after: float
    """The same against the product iron without discrepancy and error of measuring. [-]"""
    effective: tuple[float, float]
    """Effective trials, 5 % and median of the laboratories. [-]"""


@dataclass(frozen=True)
class Pool:
    """Predictions of all figures by finished trials and by the true laboratories."""

    kinds: tuple[tuple[str, str, str], ...]
    """(Q,) test, quantity and product."""
    measured: Observed
    """Errors and discrepancies; its values hold places."""
    known: np.ndarray
    """(Q, N)"""
    true: np.ndarray
    """(Q, MACHINES)"""


def pool() -> Pool:
    """The trials in blocks of their own seeds, so that many of them fit into memory."""
    blocks = []
    for seed in range(BLOCKS):
        feed = laboratory(TRIALS, 100 + seed)
        rows = np.arange(TRIALS) + 1
        blocks.append(feed.predicted(rows, parameters_of(draw_scores(TRIALS, 100 + seed))))
    truth = laboratory(MACHINES, 2)
    rows = np.arange(MACHINES) + 1
    return Pool(
        tuple((one.test, one.quantity, one.product) for one in truth.figures),
        observed_of([truth]),
        np.concatenate(blocks, axis=1),
        truth.predicted(rows, parameters_of(draw_scores(MACHINES, 2))),
    )


def study(given: Pool, common: float = 0.0) -> Study:
    """Run the laboratories; `common` is the part of the discrepancy that a machine keeps. [-]"""
    known, true, errors = given.known, given.true, given.measured
    later = np.array([test in NEXT for test, _, _ in given.kinds])
    random = np.random.default_rng(20)
    sorts = [f"{quantity} of {product}" for _, quantity, product in given.kinds]
    own = random.standard_normal(true.shape)
    kept = {sort: random.standard_normal(MACHINES) for sort in sorted(set(sorts))}
    shared = np.stack([kept[sort] for sort in sorts])
    apart = DISCREPANCY_LN * (np.sqrt(common) * shared + np.sqrt(1.0 - common) * own)
    measured = true + apart + errors.sd[:, None] * random.standard_normal(true.shape)
    names = [sort for sort, is_later in zip(sorts, later, strict=True) if is_later]
    product = names.index("Fe2O3 of non-magnetics")
    inside, off = np.zeros((len(names), MACHINES)), np.zeros((4, MACHINES))
    effective = np.zeros(MACHINES)
    before = np.median(known[later][product])
    for k in range(MACHINES):
        mine = Observed(
            tuple(np.array(errors.name)[~later]),
            measured[~later, k],
            errors.sd[~later],
            errors.discrepancy[~later],
            errors.tails,
        )
        weight = weights_of(ln_likelihood(mine, known[~later]))
        effective[k] = effective_sample(weight)
        after = known[later][:, resampled(weight, 4000, k, "study")]
        noise = errors.total_sd[later][:, None] * random.standard_normal(after.shape)
        low, high = np.quantile(after + noise, (0.05, 0.95), axis=1)
        now, pure = measured[later, k], true[later][product, k]
        inside[:, k] = (low <= now) & (now <= high)
        middle = np.median(after[product])
        off[:, k] = before - now[product], middle - now[product], before - pure, middle - pure
    rms = np.sqrt(np.mean(off**2, axis=1))
    return Study(
        dict(zip(names, inside.mean(axis=1).tolist(), strict=True)),
        *(float(value) for value in rms),
        effective=tuple(np.quantile(effective, (0.05, 0.5)).tolist()),
    )


@pytest.fixture(scope="module")
def found() -> Study:
    return study(pool())


def test_nine_in_ten_next_tests_lie_in_the_interval(found):
    for covered in found.covered.values():
        assert 0.86 <= covered <= 0.94


def test_three_tests_take_a_third_off_the_error_of_product_iron(found):
    assert found.error_after <= 2.0 / 3.0 * found.error_before


if __name__ == "__main__":
    given = pool()
    for part in (0.0, 0.5, 1.0):
        sys.stdout.write(f"{part} {study(given, part)}\n")
