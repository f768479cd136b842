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
from feedchar.testwork.calibrate import METROPOLIS, learn
from feedchar.testwork.likelihood import DISCREPANCY_LN
from feedchar.testwork.scores import draw_scores, parameters_of

pytestmark = pytest.mark.slow

MACHINES, TRIALS = 200, 12_000
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
    """Root mean square of ln product iron, measured over predicted. [-]"""
    true_before: float
    true_after: float
    """The same against the product iron without discrepancy and error. [-]"""
    walked: float
    """Share of the laboratories whose trials had to be moved. [-]"""


def study(common: float = 0.0, discrepancy: float = DISCREPANCY_LN) -> Study:
    """Run the laboratories; `common` is the part of the discrepancy a machine keeps. [-]"""
    known, truth = laboratory(TRIALS, 1), laboratory(MACHINES, 2)
    every = observed_of([known])
    is_next = np.array([figure.test in NEXT for figure in known.figures])
    observed = replace(
        every,
        name=tuple(np.array(every.name)[~is_next]),
        sd=every.sd[~is_next],
        discrepancy=every.discrepancy[~is_next],
        value=every.value[~is_next],
    )
    scores = draw_scores(TRIALS, 1)
    rows = np.arange(TRIALS) + 1
    finished = known.predicted(rows, parameters_of(scores))
    true = truth.predicted(np.arange(MACHINES) + 1, parameters_of(draw_scores(MACHINES, 2)))
    random = np.random.default_rng(20)
    kinds = [figure.quantity + figure.product for figure in known.figures]
    own = random.standard_normal(true.shape)
    kept = {kind: random.standard_normal(MACHINES) for kind in sorted(set(kinds))}
    shared = np.stack([kept[kind] for kind in kinds])
    apart = discrepancy * (np.sqrt(common) * shared + np.sqrt(1.0 - common) * own)
    measured = true + apart + every.sd[:, None] * random.standard_normal(true.shape)
    names = [f"{f.quantity} of {f.product}" for f in known.figures if f.test in NEXT]
    product = names.index("Fe2O3 of non-magnetics")
    inside = np.zeros((len(names), MACHINES))
    errors = np.zeros((4, MACHINES))
    walked = 0
    for k in range(MACHINES):

        def predict(chosen, machine):
            # The finished trials are not computed again for every laboratory.
            if machine is scores:
                return finished[~is_next]
            return known.predicted(chosen[0] + 1, parameters_of(machine))[~is_next]

        mine = replace(observed, value=measured[~is_next, k])
        learned = learn(mine, predict, scores, 1, k)
        walked += learned.method == METROPOLIS
        after = (
            known.predicted(learned.rows[0] + 1, parameters_of(learned.scores))[is_next]
            if learned.method == METROPOLIS
            else finished[is_next][:, learned.rows[0]]
        )
        spread = np.sqrt(every.sd**2 + every.discrepancy**2)[is_next]
        said = after + spread[:, None] * random.standard_normal(after.shape)
        low, high = np.quantile(said, (0.05, 0.95), axis=1)
        now = measured[is_next, k]
        inside[:, k] = (low <= now) & (now <= high)
        middle = np.median(after[product])
        before = np.median(finished[is_next][product])
        pure = true[is_next][product, k]
        errors[:, k] = before - now[product], middle - now[product], before - pure, middle - pure
    rms = np.sqrt(np.mean(errors**2, axis=1))
    return Study(
        dict(zip(names, inside.mean(axis=1).tolist(), strict=True)),
        *(float(value) for value in rms),
        walked / MACHINES,
    )


@pytest.fixture(scope="module")
def found() -> Study:
    return study()


def test_nine_in_ten_next_tests_lie_in_the_interval(found):
    for covered in found.covered.values():
        assert 0.86 <= covered <= 0.94


def test_three_tests_take_a_third_off_the_error_of_product_iron(found):
    assert found.error_after <= 2.0 / 3.0 * found.error_before


if __name__ == "__main__":
    for part in (0.0, 1.0):
        sys.stdout.write(f"{part} {study(part)}\n")
