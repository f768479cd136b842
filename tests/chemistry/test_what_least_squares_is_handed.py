"""What each round of least squares is handed, worked out by hand; solutions are made up, so that
every round can be followed."""

from __future__ import annotations

from math import log

import numpy as np
import pytest

from feedchar.chemistry import start as starting
from feedchar.chemistry.iron_prior import IronPrior
from feedchar.chemistry.least_squares import LeastSquares
from feedchar.chemistry.mineral_trials import Amount
from feedchar.chemistry.start import amount_spreads, chain_starts, splits, typical_fit
from feedchar.chemistry.system import Prior, Rows
from feedchar.chemistry.unseen import UnseenPrior

CERTAIN = IronPrior(0.0, 0.0, 0.0, 0.0, 0.0)
MICA = IronPrior(8.0, 12.0, 20.0, 4.0, 29.0)
ORE = IronPrior(50.0, 60.0, 65.0, 40.0, 68.0)
AMOUNTS = (
    Amount("gamma", 80.0, 400.0), Amount("count", 15.0, 36.0), Amount("not found", limit=1.7),
    Amount("interval", limit=0.9), Amount("unseen"),
)  # fmt: skip
Z = 1.6448536269514722
ZERO = np.zeros(5)
PRIOR = Prior(AMOUNTS, (CERTAIN, MICA, ORE, CERTAIN, CERTAIN), UnseenPrior("log-normal", 0.5, 0.8),
              ZERO, ZERO, (2, 4))  # fmt: skip
SPREAD = np.array([4.0, 2.5, 1.7 / 3.0, 0.3, 1.5 * 0.5 / 0.9])
TYPICAL = np.array([0.0, 8.0 / 25.0, 20.0 / 28.0, 0.0, 0.0])
BELOW = np.array([1e-6, 4.0 / 25.0 / Z, 10.0 / 28.0 / Z, 1e-6, 1e-6])
ABOVE = np.array([1e-6, 8.0 / 25.0 / Z, 5.0 / 28.0 / Z, 1e-6, 1e-6])
LOW = np.array([[0.004, 0.0, 0.05], [0.06, 0.11, 0.01], [0.57, 0.0, 0.4], [0.0, 0.3, 0.2],
                [0.9, 0.0, 0.0]])  # fmt: skip
CHANGE = np.array([[0.0, 0.0, 0.0], [0.36, -0.04, 0.02], [0.4, 0.0, -0.3], [0.0, 0.0, 0.0],
                   [0.0, 0.0, 0.0]])  # fmt: skip
VALUE, SD = np.array([3.3, 2.1, 4.9]), np.array([0.05, 0.2, 0.7])
WANTED = np.array([83.0, 15.5, 0.17, 0.45, 0.88])


def rows(capped=(False, False, True), change=CHANGE, sd=SD):
    return Rows(("Fe2O3", "K2O", "TiO2"), VALUE, sd, LOW[:, :, None], change[:, :, None],
                np.array(capped), np.zeros((5, 3)))  # fmt: skip


class Noted(LeastSquares):
    """Notes what it is handed and gives back what was made up."""

    made_up: list
    seen: list

    def __init__(self, phases, split, rows):
        self.seen.append({"laid out": (phases, split.tolist(), rows)})

    def amount_rows(self, wanted, spread):
        self.seen[-1]["amounts"] = wanted.copy(), spread.copy()

    def iron_rows(self, place, firm):
        self.seen[-1]["iron"] = place.copy(), firm.copy()

    def solve(self, *figures):
        self.seen[-1].setdefault("solve", []).append([f.copy() for f in figures])
        self.seen[-1].setdefault("rows", []).append((self.seen[-1]["amounts"],
                                                     self.seen[-1]["iron"]))  # fmt: skip
        return self.made_up.pop(0)


@pytest.fixture
def noted(monkeypatch):
    Noted.seen, Noted.made_up = [], []
    monkeypatch.setattr(starting, "LeastSquares", Noted)
    return Noted


def test_rough_errors_before_an_assay():
    assert amount_spreads(PRIOR) == pytest.approx(SPREAD)
    flat = Prior(AMOUNTS, PRIOR.iron, UnseenPrior("log-uniform", low_wt_pct=0.01, high_wt_pct=2.25),
                 ZERO, ZERO, (2, 4))  # fmt: skip
    assert amount_spreads(flat)[-1] == pytest.approx(2.0 * 0.15 / 0.9)  # middle of the logarithm


def test_iron_is_fitted_from_a_fifth_of_the_error_of_some_row_by_its_wider_half():
    """Mica of 15.5 moves Fe2O3 by 0.36 x 15.5 x 0.195 at one sd of its iron."""
    moved = 0.36 * 15.5 * 8.0 / 25.0 / Z
    for part, split in ((0.199, []), (0.201, [1])):
        one = rows(change=CHANGE * np.array([[0], [1], [0], [0], [0]]),
                   sd=np.array([moved / part, 9e9, 9e9]))  # fmt: skip
        assert splits(PRIOR, one, WANTED).tolist() == split
    moved = 0.3 * 2.0 * 10.0 / 28.0 / Z  # of the ore by the lower half, titania falling
    for part, split in ((0.199, []), (0.201, [2])):
        one = rows(change=CHANGE * np.array([[1], [0], [1], [1], [1]]),
                   sd=np.array([9e9, 9e9, moved / part]))  # fmt: skip
        assert splits(PRIOR, one, np.array([80.0, 15.0, 2.0, 1.0, 2.0])).tolist() == split


def by_hand(name, amount):
    """Normal row that touches a log-normal at an amount: centre and sd."""
    median, ln_sd = {"missed": (0.17, 1.5), "unseen": (0.88, 0.8)}[name]
    x = min(max(amount, 0.05 * median), 50.0 * median)
    return x * (1.0 - log(x / median)), ln_sd * x


ROUNDS = [
    (np.array([82.0, 16.3, 0.31, 0.6, 0.79]), np.array([0.0, 0.27, 0.8, 0.0, 0.0])),
    (np.array([81.0, 17.3, 0.001, 0.6, 60.0]), np.array([0.0, 0.41, 0.6, 0.0, 0.0])),
    (np.array([87.0, 0.01, 9.9, 0.6, 0.002]), np.array([0.0, 0.31, 0.7, 0.0, 0.0])),
]


def test_every_round_of_the_typical_case(noted):
    noted.made_up = [ROUNDS[k % 3] for k in range(10)]
    amounts, place = typical_fit(PRIOR, rows(), WANTED)
    assert len(noted.seen) == 10
    before = [(WANTED, TYPICAL), *[ROUNDS[k % 3] for k in range(9)]]
    held = np.array([True, True, False])  # a limit takes part once it was exceeded
    for seen, (x, t) in zip(noted.seen, before, strict=True):
        bulk = LOW.T @ x + CHANGE.T @ (x * t)
        held = held | (bulk > VALUE) if x is not WANTED else held
        assert seen["laid out"] == (5, [1, 2], int(held.sum()))
        target, width = WANTED.copy(), SPREAD.copy()
        target[2], width[2] = by_hand("missed", x[2])
        target[4], width[4] = by_hand("unseen", x[4])
        for found, expected in zip(seen["amounts"], (target, width), strict=True):
            assert found == pytest.approx(expected)
        assert seen["iron"][0] == pytest.approx(TYPICAL)
        side = np.where(t < TYPICAL, BELOW, ABOVE)
        assert seen["iron"][1] == pytest.approx(side * np.maximum(x, 0.02 * SPREAD))
        start, end, value, sd, at = seen["solve"][0]
        assert start == pytest.approx(LOW[:, held])  # nothing here is held at a typical iron
        assert end == pytest.approx((LOW + CHANGE)[[1, 2]][:, held])
        assert np.array_equal(value, VALUE[held])
        assert np.array_equal(sd, SD[held])
        assert np.array_equal(at, TYPICAL)
    assert held.all()
    last = ROUNDS[0]
    assert np.array_equal(amounts, last[0])
    assert place == pytest.approx(last[1])


def test_iron_that_no_row_feels_is_held_at_its_typical_content(noted):
    """Of the ore, of which there is next to nothing; a rough amount of 0.3 sd counts as some."""
    noted.made_up = [ROUNDS[0]] * 10
    amounts = (*AMOUNTS[:2], Amount("not found", limit=0.017), *AMOUNTS[3:])
    prior = Prior(amounts, PRIOR.iron, PRIOR.unseen, ZERO, ZERO, (2, 4))
    wanted = WANTED.copy()
    wanted[2] = 0.0017
    _, place = typical_fit(prior, rows(), wanted)
    seen = noted.seen[0]
    assert seen["laid out"][1] == [1]
    start, end = seen["solve"][0][:2]
    expected = LOW.copy()
    expected[2] += TYPICAL[2] * CHANGE[2]
    assert start == pytest.approx(expected[:, :2])
    assert end.shape == (1, 2)
    # At the end the ore is 0.31, and its iron, had it been fitted, would be told.
    assert place[2] == ROUNDS[0][1][2]
    noted.seen, noted.made_up = [], [(WANTED, np.full(5, 0.9))] * 10
    none = rows(change=np.zeros((5, 3)))
    assert np.array_equal(typical_fit(PRIOR, none, WANTED)[1], TYPICAL)
    # 0.3 of the rough error stands in where less was wanted.
    for sd, split in ((0.4 * 0.3 * SPREAD[2] * BELOW[2] / 0.21, [2]),
                      (0.4 * 0.3 * SPREAD[2] * BELOW[2] / 0.19, [])):  # fmt: skip
        noted.seen, noted.made_up = [], [ROUNDS[0]] * 10
        little = WANTED.copy()
        little[2] = 1e-9
        change = CHANGE * np.array([[0], [0], [1], [0], [0]])
        typical_fit(PRIOR, rows(change=change, sd=np.array([sd, 9e9, 9e9])), little)
        assert noted.seen[0]["laid out"][1] == split


def test_every_start_of_a_chain_has_its_own_data(noted):
    rng = np.random.default_rng(8)
    wanted = WANTED[:, None] * np.exp(0.2 * rng.standard_normal((5, 3)))
    wanted[2] = 1e-4  # so that 0.02 of its rough error stands in
    place = np.clip(TYPICAL[:, None] + 0.1 * rng.standard_normal((5, 3)), 0.0, 1.0)
    noise, uniform = rng.standard_normal((3, 3)), rng.random((3, 3))
    noted.made_up = [
        (np.array([70.0, 20.0, 0.0, 5.0, 2.0]), np.full(5, 0.1)),
        (np.array([30.0, 60.0, 8.0, 0.4, 0.0]), np.full(5, 0.2)),
        (np.array([80.0, 19.0, 0.0, 0.5, 0.5]), np.full(5, 0.3)),
    ]
    solved = [x.copy() for x, _ in noted.made_up]
    out, places = chain_starts(PRIOR, rows(), wanted, place, noise, uniform)
    (seen,) = noted.seen
    assert seen["laid out"] == (5, [1, 2], 3)
    middle = np.median(wanted, axis=1)
    firm = np.maximum(BELOW, ABOVE) * np.maximum(middle, 0.02 * SPREAD)
    for trial in range(3):
        start, end, value, sd, at = seen["solve"][trial]
        (drawn, spread), (scores, held) = seen["rows"][trial]
        assert np.array_equal(drawn, wanted[:, trial])
        assert spread == pytest.approx(SPREAD)
        assert np.array_equal(scores, place[:, trial])
        assert held == pytest.approx(firm)
        here = LOW.copy()
        here[[0, 3, 4]] += place[[0, 3, 4], trial][:, None] * CHANGE[[0, 3, 4]]
        assert start == pytest.approx(here)
        assert end == pytest.approx((LOW + CHANGE)[[1, 2]])
        assert value[:2] == pytest.approx(VALUE[:2] + SD[:2] * noise[:2, trial])
        assert value[2] == pytest.approx(4.9 * uniform[2, trial])
        assert sd == pytest.approx([0.05, 0.2, 4.9 / 3.5 + 0.7])  # 3.5: sd of a flat law, 12^0.5
        assert np.array_equal(at, place[:, trial])
        # No amount starts at nothing, no trace above its limit; the bulk closes the balance.
        x = np.maximum(solved[trial], 1e-3 * wanted[:, trial] + 1e-7)
        x = 100.0 * x / x.sum()
        x[3] = min(x[3], 0.99 * 0.9)
        x[0] = 100.0 - x[1:].sum()
        assert out[:, trial] == pytest.approx(x, rel=1e-9)
        assert places[:, trial] == pytest.approx(np.full(5, 0.1 * (trial + 1)))


def test_a_row_of_weights_is_each_datum_over_its_error():
    """The matrix of one small problem, laid out by hand, and its solution by lstsq."""
    split = np.array([1])
    problem = LeastSquares(2, split, 1)
    problem.amount_rows(np.array([70.0, 31.0]), np.array([4.0, 2.0]))
    problem.iron_rows(np.array([0.0, 0.3]), np.array([1.0, 0.5]))
    amounts, places = problem.solve(
        np.array([[0.01], [0.1]]), np.array([[0.6]]), np.array([9.0]), np.array([0.2]),
        np.array([0.7, 0.3]),
    )  # fmt: skip
    by_rows = np.array([
        [0.01 / 0.2, 0.1 / 0.2, 0.6 / 0.2], [1.0 / 4.0, 0.0, 0.0], [0.0, 1.0 / 2.0, 1.0 / 2.0],
        [0.0, -0.3 / 0.5, 0.7 / 0.5], [1e3, 1e3, 1e3],
    ])  # fmt: skip
    assert problem.matrix == pytest.approx(by_rows)
    target = np.array([9.0 / 0.2, 70.0 / 4.0, 31.0 / 2.0, 0.0, 1e5])
    assert problem.target == pytest.approx(target)
    x = np.linalg.lstsq(by_rows, target, rcond=None)[0]
    assert (x > 0.0).all()
    whole = np.array([x[0], x[1] + x[2]])
    assert amounts == pytest.approx(whole * 100.0 / whole.sum())
    assert places == pytest.approx([0.7, x[2] / whole[1]])
    problem.iron_rows(np.array([0.0, 0.3]), np.array([1.0, 0.0]))
    assert problem.matrix[3, 1:] == pytest.approx([-0.3e9, 0.7e9])
    # What comes out as nothing keeps the place it was given.
    problem.amount_rows(np.array([100.0, -50.0]), np.array([1.0, 1e-3]))
    none = problem.solve(
        np.array([[0.01], [0.1]]), np.array([[0.6]]), np.array([0.0]), np.array([0.2]),
        np.array([0.7, 0.3]),
    )  # fmt: skip
    assert none[0] == pytest.approx([100.0, 0.0])
    assert none[1].tolist() == [0.7, 0.3]
