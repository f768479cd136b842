"""How long chains run, who takes part in a sweep, and when they count as settled."""

from __future__ import annotations

from collections import Counter

import numpy as np
import pytest

from feedchar.chemistry import fit as fitting
from feedchar.chemistry.chains import Chains
from feedchar.chemistry.fit import SWEEPS, WIDTHS, fit_mineralogy
from feedchar.chemistry.iron_prior import IronPrior
from feedchar.chemistry.mineral_trials import Amount
from feedchar.chemistry.system import Prior, Rows
from feedchar.chemistry.unseen import UnseenPrior

CERTAIN = IronPrior(0.0, 0.0, 0.0, 0.0, 0.0)
MOVING = IronPrior(8.0, 12.0, 16.0, 4.0, 24.0)
NAMES = ("bulk", "mica", "unseen")
TRIALS = 200


def prior_with(mica=36.0, bulk=400.0):
    amounts = (Amount("gamma", 80.0, bulk), Amount("gamma", 19.5, mica), Amount("unseen"))
    zero = np.zeros(3)
    return Prior(amounts, (CERTAIN, MOVING, CERTAIN), UnseenPrior("log-normal", 0.5, 0.8),
                 np.array([0.0, 0.06, 0.9]), zero, (2,))  # fmt: skip


def rows():
    low = np.array([[0.0], [0.06], [0.9]])[:, :, None]
    return Rows(("Fe2O3",), np.array([2.1]), np.array([0.3]), low, np.zeros((3, 1, 1)),
                np.array([False]), np.zeros((3, 1)))  # fmt: skip


def fitted(monkeypatch, sweep, row=None, z=None):
    rng = np.random.default_rng(2)
    x = np.array([80.0, 19.5, 0.5]) * np.exp(0.2 * rng.standard_normal((TRIALS + 1, 3)))
    monkeypatch.setattr(fitting, "_sweep", sweep)
    x *= 100.0 / x.sum(axis=1, keepdims=True)
    z = rng.standard_normal(x.shape) if z is None else z
    return fit_mineralogy(prior_with(), row or rows(), NAMES, x, z, 4)


def shifted(by):
    """Sweeps that move the mica of all chains by a part of its own scatter, and are counted."""
    numbers = []

    def sweep(chains, number):
        numbers.append(number)
        chains.x[1] += by(number) * chains.x[1].std()

    return numbers, sweep


@pytest.mark.parametrize(("off", "settled"), [(-0.01, True), (0.01, False)])
@pytest.mark.parametrize("sign", [1.0, -1.0])
def test_chains_have_settled_where_means_move_less_than_a_fifth_of_their_scatter(
    monkeypatch, off, settled, sign
):
    """Beside four times the error of a difference of two means, sqrt(2/trials), over the second
    half alone: what the first half moved does not count."""
    border = 0.2 + 4.0 * (2.0 / TRIALS) ** 0.5
    half = SWEEPS // 2

    def by(number):
        return sign * (5.0 if number % SWEEPS < half else (border + off) / half)

    numbers, sweep = shifted(by)
    fit = fitted(monkeypatch, sweep)
    assert fit.settled == settled
    assert fit.drift_sd[1] == pytest.approx(border + off, rel=1e-6)
    assert fit.drift_sd[0] == 0.0
    assert numbers == list(range(20 if settled else 80))  # one after the other, each once


def test_chains_that_settle_in_their_second_run_stop_there(monkeypatch):
    numbers, sweep = shifted(lambda number: 1.0 if number < SWEEPS else 0.0)
    assert fitted(monkeypatch, sweep).settled
    assert numbers == list(range(2 * SWEEPS))


def test_the_end_of_the_chains_is_what_is_handed_on_below_the_typical_case(monkeypatch):
    last = {}

    def sweep(chains, number):
        chains.x[1] *= 1.01
        last["x"], last["t"] = chains.x.copy(), chains.t.copy()

    fit = fitted(monkeypatch, sweep)
    assert fit.amounts[1:] == pytest.approx((100.0 * last["x"] / last["x"].sum(axis=0)).T)
    assert np.array_equal(fit.place[1:], last["t"].T)
    assert fit.amounts.shape == fit.place.shape == (TRIALS + 1, 3)


def test_iron_starts_where_it_was_drawn_or_where_least_squares_put_it(monkeypatch):
    z = np.random.default_rng(6).standard_normal((TRIALS + 1, 3))
    seen = []
    fitted(monkeypatch, lambda chains, number: seen.append(chains.z.copy()), z=z)
    assert np.array_equal(seen[0], z[1:].T)  # no row feels the iron: even its score is kept
    felt = rows()
    felt.change[1] = 0.5
    seen = []
    fitted(monkeypatch, lambda c, number: seen.append((c.z.copy(), c.t.copy())), felt, z)
    scores, place = seen[0]
    assert np.array_equal(scores[[0, 2]], z[1:, [0, 2]].T)
    assert not np.isclose(scores[1], z[1:, 1]).any()
    assert MOVING.place(scores[1]) == pytest.approx(place[1])


def test_without_trials_there_is_the_typical_case_alone():
    x = np.array([[80.0, 19.5, 0.5]])
    fit = fit_mineralogy(prior_with(), rows(), NAMES, x, np.zeros((1, 3)), 4)
    assert fit.amounts.shape == (1, 3)
    assert fit.settled
    assert np.array_equal(fit.drift_sd, np.zeros(3))


class Recorded(Chains):
    """Chains that note who was asked to move and do not."""

    def exchange(self, j, i):
        self.said.append(("exchange", j, i))

    def rescale(self, j, i, width):
        self.said.append(("rescale", j, i, width))

    def refresh(self):
        self.said.append(("refresh",))


def recorded(monkeypatch, amounts, iron, hidden):
    phases = len(amounts)
    x = np.full((phases, 3), 100.0 / phases)
    zero = np.zeros(phases)
    prior = Prior(amounts, iron, UnseenPrior("log-normal", 0.5, 0.8), zero, zero, hidden)
    row = Rows(("Fe2O3",), np.array([2.0]), np.array([0.3]), np.zeros((phases, 1, 1)),
               np.zeros((phases, 1, 1)), np.array([False]), np.zeros((phases, 1)))  # fmt: skip
    Recorded.said = said = []
    chains = Recorded(prior, row, tuple("abcdefgh"[:phases]), x, np.zeros_like(x), 1)
    monkeypatch.setattr(fitting, "move_iron", lambda c, j, w: said.append(("iron", j, w)))
    monkeypatch.setattr(fitting, "trade", lambda c, j, m, h, w: said.append(("trade", j, m, h, w)))
    monkeypatch.setattr(fitting, "along_lines", lambda c: said.append(("lines",)))
    said.clear()
    return chains, said


FIVE = (Amount("gamma", 9.0, 20.0), Amount("gamma", 70.0, 90.0), Amount("count", 20.0, 5.9),
        Amount("not found", limit=0.6), Amount("unseen"))  # fmt: skip


def test_in_a_sweep_every_phase_gets_and_rare_ones_are_rescaled_too(monkeypatch):
    """Two partners in five are the bulk (one in two of the rare), the others any phase."""
    chains, said = recorded(monkeypatch, FIVE, (CERTAIN,) * 5, (4,))
    sweeps = 4000
    for number in range(sweeps):
        fitting._sweep(chains, number)
    got = Counter(s[1:] for s in said if s[0] == "exchange")
    scaled = Counter((s[1], s[2]) for s in said if s[0] == "rescale")
    for j in range(5):
        assert sum(n for (to, _), n in got.items() if to == j) == sweeps
        assert (j, j) not in got
        assert sum(n for (to, _), n in scaled.items() if to == j) == (sweeps if j >= 2 else 0)
        assert (j, j) not in scaled
    # A phase that drew itself takes the bulk, the bulk the next one.
    bulk = [(0, 1), (1, 2), (2, 1), (3, 1), (4, 1)]
    share = sum(got[pair] for pair in bulk) / (5 * sweeps)
    assert share == pytest.approx(0.4 + 0.6 * 2.0 / 5.0, abs=4.5 * (0.23 / sweeps / 5) ** 0.5)
    share = sum(scaled[j, 1] for j in (2, 3, 4)) / (3 * sweeps)
    assert share == pytest.approx(0.5 + 0.5 / 5.0, abs=4.5 * (0.24 / sweeps / 3) ** 0.5)
    share = sum(scaled[j, (j + 1) % 5] for j in (2, 3, 4)) / (3 * sweeps)
    assert share == pytest.approx(0.5 * 2.0 / 5.0, abs=4.5 * (0.16 / sweeps / 3) ** 0.5)
    widths = [s[3] for s in said if s[0] == "rescale"]
    assert widths[:: len(widths) // sweeps][:5] == [2.0 * w for w in (*WIDTHS, WIDTHS[0])]
    refreshed = [k for k, s in enumerate(said) if s == ("refresh",)]
    lines = [k for k, s in enumerate(said) if s == ("lines",)]
    assert len(lines) == sweeps
    assert refreshed[:2] == [lines[9] + 1, lines[19] + 1]
    assert len(refreshed) == sweeps // 10


def test_iron_moves_alone_and_in_trade_with_unseen_iron_by_turns(monkeypatch):
    """What is hidden with it, and the bulk itself, do not trade."""
    iron = (MOVING, MOVING, MOVING, MOVING, CERTAIN)
    chains, said = recorded(monkeypatch, FIVE, iron, (3, 4))
    for number in (0, 1):
        fitting._sweep(chains, number)
    moved = [s for s in said if s[0] in ("iron", "trade")]
    first, second = WIDTHS[:2]
    assert moved == [
        ("iron", 0, first), ("iron", 1, first), ("iron", 2, first), ("iron", 3, first),
        ("trade", 0, 4, 1, second), ("iron", 1, second), ("trade", 2, 4, 1, second),
        ("iron", 3, second),
    ]  # fmt: skip


def test_what_is_known_to_two_fifths_or_worse_is_rescaled_and_what_is_firm_draws_the_step():
    """Shapes of 6 and 2: an sd of 41 and 71 % of the amount."""
    amounts = (*(Amount("gamma", 10.0, k) for k in (2.0, 2.1, 5.9, 6.0)), Amount("unseen"))
    zero = np.zeros(5)
    prior = Prior(amounts, (CERTAIN,) * 5, UnseenPrior("log-normal", 0.5), zero, zero, (4,))
    row = Rows(("Fe2O3",), np.array([2.0]), np.array([0.3]), np.zeros((5, 1, 1)),
               np.zeros((5, 1, 1)), np.array([False]), np.zeros((5, 1)))  # fmt: skip
    chains = Chains(prior, row, tuple("abcde"), np.full((5, 2), 20.0), np.zeros((5, 2)), 1)
    assert chains.small == [0, 1, 2, 4]
    assert chains.stiff == pytest.approx([0.0, 0.021, 0.059, 0.06, 0.0])


def test_two_phases_alone_take_turns_with_each_other(monkeypatch):
    chains, said = recorded(monkeypatch, (FIVE[1], FIVE[4]), (CERTAIN,) * 2, (1,))
    for number in range(20):
        fitting._sweep(chains, number)
    assert {s[1:3] for s in said if s[0] in ("exchange", "rescale")} == {(0, 1), (1, 0)}
    chains, said = recorded(monkeypatch, FIVE[4:], (CERTAIN,), (0,))
    fitting._sweep(chains, 0)
    assert not [s for s in said if s[0] in ("exchange", "rescale")]


def test_rows_of_trials_leave_the_typical_one_out():
    full = rows()
    assert fitting._columns(full, 1) is full
    low = np.arange(12.0).reshape(3, 1, 4)
    cut = fitting._columns(Rows(*(getattr(full, f) for f in ("names", "value", "sd")), low,
                                full.change, full.capped, full.spread), 1)  # fmt: skip
    assert np.array_equal(cut.low, low[:, :, 1:])
    assert np.array_equal(cut.change, full.change)
    other = fitting._columns(Rows(*(getattr(full, f) for f in ("names", "value", "sd")), full.low,
                                  low, full.capped, full.spread), 1)  # fmt: skip
    assert np.array_equal(other.change, low[:, :, 1:])
