"""Agreement of minerals and assay as sums of squares by hand, and which datum is let loose."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from feedchar.chemistry import agreement as agreeing
from feedchar.chemistry.agreement import (
    Misfit,
    agreement_of,
    contradict,
    fitted_rows,
    least_chi_square,
    misfit_of,
    row_residuals,
)
from feedchar.chemistry.fit import Fit
from feedchar.chemistry.iron_prior import IronPrior
from feedchar.chemistry.mineral_trials import Amount
from feedchar.chemistry.system import Prior, Rows
from feedchar.chemistry.unseen import UnseenPrior

CERTAIN = IronPrior(0.0, 0.0, 0.0, 0.0, 0.0)
MICA = IronPrior(8.0, 12.0, 20.0, 4.0, 29.0)
NAMES = ("bulk", "mica", "ore", "trace", "unseen")
AMOUNTS = (Amount("gamma", 71.0, 350.0), Amount("count", 17.0, 40.0), Amount("assumed", 9.0, 1.0),
           Amount("interval", limit=0.9), Amount("unseen"))  # fmt: skip
ZERO = np.zeros(5)
PRIOR = Prior(AMOUNTS, (CERTAIN, MICA, CERTAIN, CERTAIN, CERTAIN), UnseenPrior("log-normal", 0.5),
              ZERO, ZERO, (4,))  # fmt: skip
LOW = np.array([[0.01, 0.0], [0.07, 0.11], [0.6, 0.0], [0.0, 0.3], [0.9, 0.0]])
CHANGE = np.array([[0.0, 0.0], [0.3, -0.05], [0.0, 0.0], [0.0, 0.0], [0.0, 0.0]])
VALUE, SD = np.array([9.3, 1.1]), np.array([0.7, 0.2])


def rows(capped=(False, False), value=VALUE, names=("Fe2O3", "K2O")):
    return Rows(names, np.array(value), SD, LOW[:, :, None], CHANGE[:, :, None], np.array(capped),
                np.zeros((5, 2)))  # fmt: skip


RNG = np.random.default_rng(7)
X = np.array([70.0, 18.0, 11.0, 0.4, 0.6]) * np.exp(0.1 * RNG.standard_normal((4, 5)))
X *= 100.0 / X.sum(axis=1, keepdims=True)
T = np.zeros((4, 5))
T[:, 1] = [0.32, 0.5, 0.1, 0.4]
FIT = Fit(X, T, True, np.zeros(5))
PREDICTED = np.array([[(x * (LOW[:, k] + t * CHANGE[:, k])).sum() for k in range(2)]
                      for x, t in zip(X, T, strict=True)])  # fmt: skip
OFF = np.array([[(71.0 - x[0]) / (71.0 / 350.0**0.5), (17.0 - x[1]) / (17.0 / 40.0**0.5)]
                for x in X])  # fmt: skip


def test_rows_are_predicted_by_each_trial_with_its_own_content():
    assert fitted_rows(rows(), X, T) == pytest.approx(PREDICTED)
    own = np.broadcast_to(LOW[:, :, None], (5, 2, 4)) * np.array([1.0, 2.0, 3.0, 4.0])
    many = Rows(("Fe2O3", "K2O"), VALUE, SD, own, 0.0 * own, np.zeros(2, dtype=bool), ZERO[:, None])
    expected = np.array([[(n + 1.0) * (X[n] @ LOW[:, k]) for k in range(2)] for n in range(4)])
    assert fitted_rows(many, X, T) == pytest.approx(expected)
    assert fitted_rows(many, X[:1], T[:1]) == pytest.approx(expected[:1])


def test_a_limit_misses_by_what_is_above_it_alone():
    fitted = np.array([[8.0, 1.3], [10.0, 0.9]])
    score = (VALUE - fitted) / SD
    assert row_residuals(rows(), fitted) == pytest.approx(score)
    capped = row_residuals(rows(capped=(True, True)), fitted)
    assert capped == pytest.approx(np.where(score < 0.0, score, 0.0))


def test_misfits_are_of_the_mean_over_the_draws_and_of_what_somebody_found():
    """Not of the typical case where there are draws; nobody found the ore, it was assumed."""
    for fit, draws in ((FIT, slice(1, None)), (Fit(X[:1], T[:1], True, ZERO), slice(0, 1)),
                       (Fit(X[:2], T[:2], True, ZERO), slice(1, 2))):  # fmt: skip
        found = misfit_of(PRIOR, rows(), NAMES, fit)
        expected = (VALUE - PREDICTED[draws].mean(axis=0)) / SD
        assert found.rows == pytest.approx(dict(zip(("Fe2O3", "K2O"), expected, strict=True)))
        off = OFF[draws].mean(axis=0)
        assert found.minerals == pytest.approx({"bulk": off[0], "mica": off[1]})


def test_the_worst_datum_is_the_one_furthest_off_to_either_side_and_the_first_of_equals():
    assert Misfit({"K2O": 1.0, "CaO": -3.0}, {"mica": 2.0}).worst == ("the assay of CaO", -3.0)
    assert Misfit({"K2O": 1.0}, {"mica": -2.0}).worst == ("the amount of mica", -2.0)
    assert Misfit({}, {}).worst == ("", 0.0)
    for one in ({"K2O": 2.0, "CaO": 2.0}, {"CaO": 2.0, "K2O": 2.0}):
        assert Misfit(one, {"ore": 2.0}).worst[0] == "the assay of CaO"
        minerals = {name.lower(): v for name, v in one.items()}
        assert Misfit({}, minerals).worst[0] == "the amount of cao"


def squares(x, t):
    score = (np.array([(x * (LOW[:, k] + t * CHANGE[:, k])).sum() for k in range(2)]) - VALUE) / SD
    listed = ((x[0] - 71.0) / (71.0 / 350.0**0.5)) ** 2 + ((x[1] - 17.0) / (17.0 / 40.0**0.5)) ** 2
    iron = 4.0 + 25.0 * t[1]
    half = 4.0 if iron < 12.0 else 8.0
    return (score**2).sum() + listed + ((iron - 12.0) / half * stats.norm.ppf(0.95)) ** 2


def test_chi_square_is_the_sum_of_all_squares():
    for x, t in zip(X, T, strict=True):
        assert least_chi_square(PRIOR, rows(), x, t) == pytest.approx(squares(x, t))


def test_the_predictive_chance_is_that_of_each_draw_with_its_listed_amounts():
    found, _ = agreement_of(PRIOR, rows(), NAMES, FIT, None)
    each = (((PREDICTED - VALUE) / SD) ** 2).sum(axis=1) + (OFF**2).sum(axis=1)
    assert found.predictive_probability == pytest.approx(stats.chi2.sf(each[1:], 4).mean())
    assert found.chi_square == pytest.approx(squares(X[0], T[0]))
    assert found.degrees_of_freedom == 2
    assert found.settled
    assert found.doubtful is None  # nobody asked for it
    one, _ = agreement_of(PRIOR, rows(), NAMES, Fit(X[:2], T[:2], False, ZERO), None)
    assert one.predictive_probability == pytest.approx(stats.chi2.sf(each[1], 4))
    assert not one.settled
    alone, _ = agreement_of(PRIOR, rows(), NAMES, Fit(X[:1], T[:1], True, ZERO), None)
    assert alone.predictive_probability is None


def test_one_datum_after_the_other_is_let_loose_and_the_greatest_gain_is_told(monkeypatch):
    """Assays to a million, amounts that are off by more than half their error to a hundred bags;
    an assumed amount is no datum."""
    tried = []

    def fitted(prior, rows_, wanted):
        tried.append((prior, rows_, wanted))
        return X[0], T[0]

    chances = iter([40.0, 31.0, 36.5, 33.25])
    monkeypatch.setattr(agreeing, "typical_fit", fitted)
    monkeypatch.setattr(agreeing, "least_chi_square", lambda *_: next(chances))
    far = X.copy()
    far[1:, 0], far[1:, 1] = 71.0 - 0.51 * 71.0 / 350.0**0.5, 17.0 + 0.49 * 17.0 / 40.0**0.5
    found, _ = agreement_of(PRIOR, rows(), NAMES, Fit(far, T, True, ZERO), X[0])
    assert [r.sd.tolist() for _, r, _ in tried] == [[1e6, 0.2], [0.7, 1e6], [0.7, 0.2]]
    assert [p for p, _, _ in tried] == [PRIOR, PRIOR, PRIOR.loosened(0)]
    assert all(np.array_equal(w, X[0]) for _, _, w in tried)
    assert found.doubtful == ("the assay of Fe2O3 (without it chi-square falls from 40.0 to 31.0)")
    chances = iter([40.0, 41.0, 36.5, -1.0])
    found, _ = agreement_of(PRIOR, rows(), NAMES, Fit(far, T, True, ZERO), X[0])
    assert found.doubtful == "the amount of bulk (without it chi-square falls from 40.0 to 0.0)"


@pytest.mark.parametrize("counted", [True, False])
def test_data_contradict_by_widened_errors(monkeypatch, counted):
    """3 % between laboratories, half as much again between methods, and of oxides that any phase
    may bring 0.1 %, of counted sands 0.02."""
    names = ("MnO", "K2O")
    held = np.array([0.0, 0.02 if counted else 0.1])
    wide = np.sqrt(SD**2 + (0.03 * VALUE) ** 2 + held**2)
    seen = {}

    def fitted(prior, rows_, wanted):
        seen.update(prior=prior, rows=rows_, wanted=wanted)
        return seen["x"], T[0]

    monkeypatch.setattr(agreeing, "typical_fit", fitted)
    monkeypatch.setattr(agreeing, "least_chi_square", lambda *_: seen["chi"])
    middle = np.array([71.0, 17.0, 9.0, 0.4, 2.6])
    bulk = np.array([(middle * (LOW[:, k] + T[0] * CHANGE[:, k])).sum() for k in range(2)])
    worst = stats.chi2.isf(6.3e-5, 2)
    assert worst == pytest.approx(stats.chi2.isf(2.0 * stats.norm.sf(4.0), 2), abs=0.02)
    for chi, stop in ((worst - 0.01, False), (worst + 0.01, True)):
        seen.update(x=middle, chi=chi)
        assert contradict(PRIOR, rows(value=bulk, names=names), X[0], counted) == stop
    for k in range(2):
        for score, stop in ((3.99, False), (4.01, True), (-3.99, False), (-4.01, True)):
            value = VALUE.copy()
            shifted = rows(value=value, names=names)
            target = value - score * wide
            seen.update(chi=0.0)
            other = value.copy()
            other[k] = target[k]
            monkeypatch.setattr(agreeing, "fitted_rows", lambda *_, o=other: o[None])
            seen["x"] = middle
            assert contradict(PRIOR, shifted, X[0], counted) == stop
            assert seen["rows"].sd == pytest.approx(wide)
    monkeypatch.setattr(agreeing, "fitted_rows", lambda *_: VALUE[None])
    for j, mean in ((0, 71.0), (1, 17.0), (2, 9.0)):
        for score in (3.99, -3.99, 4.01, -4.01):
            x = middle.copy()
            x[j] = mean + score * 1.5 * AMOUNTS[j].sd
            seen.update(x=x)
            stop = contradict(PRIOR, rows(names=names), X[0], counted)
            assert stop == (abs(score) > 4.0 and j < 2)  # nobody listed the third
    assert [a.shape for a in seen["prior"].amounts] == pytest.approx(
        [350.0 / 2.25, 40.0 / 2.25, 1.0, 1.0, 1.0]
    )
    assert np.array_equal(seen["wanted"], X[0])
