"""Densities, quantiles and scores of what is known before an assay, against the laws in scipy."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from feedchar.chemistry.iron_prior import IronPrior
from feedchar.chemistry.mineral_trials import Amount
from feedchar.chemistry.system import Prior, Rows
from feedchar.chemistry.truncated import truncated_normal
from feedchar.chemistry.unseen import FORM_WEIGHTS, UnseenPrior, form_shares, unseen_prior

CERTAIN = IronPrior(0.0, 0.0, 0.0, 0.0, 0.0)
AMOUNTS = (
    Amount("gamma", 63.0, 35.0), Amount("count", 21.0, 7.5), Amount("assumed", 7.0, 1.4),
    Amount("not found", limit=1.7), Amount("interval", limit=0.9), Amount("unseen"),
)  # fmt: skip
LOW = np.array([0.004, 0.06, 0.29, 0.43, 0.0, 0.9])
CHANGE = np.array([0.0, 0.34, 0.57, 0.5, 0.0, 0.0])
PRIOR = Prior(AMOUNTS, (CERTAIN,) * 6, UnseenPrior("log-normal", 0.5, 0.8), LOW, CHANGE, (2, 3, 5))
X = np.array([0.02, 0.11, 0.34, 0.9, 1.3, 1.9, 2.6])


def compared(log, law):
    """Two logarithms of a density, which may differ by one constant."""
    assert np.ptp(log - law) < 1e-9


def test_the_density_of_each_kind_of_amount():
    for j in (0, 1, 2):
        a = AMOUNTS[j]
        law = stats.gamma.logpdf(X, a.shape, scale=a.mean / a.shape)
        compared(PRIOR.log_amount(j, X), law + X / (a.mean / a.shape))  # its rate is shared
    missed = stats.norm.logcdf(1.7 - X, scale=1.7 / 3.0)  # three sd are the limit
    compared(PRIOR.log_amount(3, X), stats.lognorm.logpdf(X, 1.5, scale=0.17) + missed)
    inside = PRIOR.log_amount(4, X)
    assert inside.tolist() == [0.0] * 4 + [-np.inf] * 3
    assert PRIOR.log_amount(5, X).tolist() == [0.0] * 7


def test_shapes_and_scales_are_those_of_what_was_found():
    assert PRIOR.gamma.tolist() == [True] * 3 + [False] * 3
    assert PRIOR.shape == pytest.approx([35.0, 7.5, 1.4, 1.0, 1.0, 1.0])
    assert PRIOR.scale == pytest.approx([63.0 / 35.0, 21.0 / 7.5, 5.0, 1.0, 1.0, 1.0])


def test_an_amount_let_loose_has_a_hundred_bags_of_error():
    loose = PRIOR.loosened(1)
    assert loose.amounts[1].mean == 21.0
    assert loose.amounts[1].sd == pytest.approx(1e4)
    assert (*loose.amounts[:1], *loose.amounts[2:]) == (*AMOUNTS[:1], *AMOUNTS[2:])


def test_hidden_iron_is_that_of_the_hidden_phases():
    rng = np.random.default_rng(1)
    x, t = rng.random((6, 5)), rng.random((6, 5))
    iron = x * (LOW[:, None] + CHANGE[:, None] * t)
    assert PRIOR.hidden_iron(x, t) == pytest.approx(iron[[2, 3, 5]].sum(axis=0))


def test_what_a_composition_leaves_out_widens_a_row_by_squares():
    rng = np.random.default_rng(2)
    spread, amounts, sd = rng.random((6, 2)), 9.0 * rng.random(6), np.array([0.7, 1.9])
    zero = np.zeros((6, 2, 1))
    rows = Rows(("SiO2", "K2O"), np.zeros(2), sd, zero, zero, np.zeros(2, dtype=bool), spread)
    wide = rows.widened(amounts)
    assert wide.sd == pytest.approx(
        [np.linalg.norm([sd[k], *(amounts * spread[:, k])]) for k in range(2)]
    )
    assert not wide.spread.any()


def test_places_on_the_line_and_their_scores():
    prior = IronPrior(8.0, 12.0, 20.0, 4.0, 29.0)
    z = np.array([-1.7, -0.4, 0.0, 0.8, 1.9])
    half = np.where(z < 0.0, 4.0, 8.0) / stats.norm.ppf(0.95)
    assert prior.place(z) == pytest.approx((12.0 + half * z - 4.0) / 25.0)
    assert prior.score_at(prior.place(z)) == pytest.approx(z)
    assert CERTAIN.place(z).tolist() == [0.0] * 5
    assert CERTAIN.score_at(z).tolist() == [0.0] * 5
    assert IronPrior(3.0, 3.0, 3.0, 1.0, 9.0).place(z).tolist() == [0.0] * 5


def test_iron_is_certain_where_its_points_are_one():
    assert IronPrior(0.0, 0.0, 0.9e-9, 0.0, 5.0).certain
    assert not IronPrior(0.0, 0.0, 1.05e-9, 0.0, 5.0).certain
    assert not IronPrior(0.0, 0.0, 1e-9, 0.0, 5.0).certain


def test_scores_of_iron_that_varies_to_one_side_alone():
    """Below its middle such iron is held at six sd; none at all is no logarithm of nothing."""
    up = IronPrior(2.0, 2.0, 5.0, 0.0, 9.0)
    assert up.score(np.array([1.9, 2.0, 3.5])) == pytest.approx([-6.0, 0.0, 0.5 * 1.6448536])
    wide = IronPrior(0.1, 0.5, 3.0, 0.0, 9.0)
    assert wide.score(np.array([0.0])) == pytest.approx([-6.0])
    assert wide.score(np.array([0.1, 0.5, 3.0])) == pytest.approx([-1.6448536, 0.0, 1.6448536])


# --- unseen iron ----------------------------------------------------------------------------

LEVELS = np.array([0.03, 0.2, 0.5, 0.71, 0.98])


def test_totals_of_unseen_iron_by_their_law():
    normal = UnseenPrior("log-normal", 0.37, 0.62)
    law = stats.lognorm(0.62, scale=0.37)
    assert normal.quantile(LEVELS) == pytest.approx(law.ppf(LEVELS))
    assert normal.ln_spread == 0.62
    compared(normal.log_density(X), law.logpdf(X))
    flat = UnseenPrior("log-uniform", low_wt_pct=0.004, high_wt_pct=1.5)
    law = stats.loguniform(0.004, 1.5)
    assert flat.quantile(LEVELS) == pytest.approx(law.ppf(LEVELS))
    inside = X <= 1.5
    compared(flat.log_density(X)[inside], law.logpdf(X)[inside])
    assert np.isneginf(flat.log_density(X)[~inside]).all()
    assert flat.ln_spread == pytest.approx(np.log(1.5 / 0.004) / np.sqrt(12.0))
    # Below the low end it is held flat, at nothing too.
    assert flat.log_density(np.array([0.0, 0.001, 0.004])) == pytest.approx([-np.log(0.004)] * 3)
    assert flat.log_density(np.array([1.5])) == pytest.approx(-np.log(1.5))


def test_how_much_unseen_iron_to_expect():
    """Soil sands, published fit: ln(Fe2O3) = -0.96 + 0.54 ln(Al2O3), scatter 0.85; of counted
    sands a twentieth of what is listed; elsewhere anywhere from 0.003 to 0.3 %, or to half as much
    again as was assayed."""
    dug = unseen_prior("as dug", False, 7.3, 1.9, None)
    assert dug.median_wt_pct == pytest.approx(np.exp(-0.96) * 7.3**0.54)
    assert (dug.kind, dug.ln_sd, dug.assay_needed) == ("log-normal", 0.85, False)
    poor = [unseen_prior("as dug", False, a, 1.9, None).median_wt_pct for a in (0.0, 0.5, 0.51)]
    assert poor[0] == poor[1] == pytest.approx(np.exp(-0.96) * 0.5**0.54)
    assert poor[2] > poor[1]
    counted = unseen_prior("as dug", True, 7.3, 1.9, 5.0)
    assert counted.median_wt_pct == pytest.approx(0.05 * 1.9)
    assert (counted.kind, counted.ln_sd, counted.assay_needed) == ("log-normal", 1.0, False)
    assert unseen_prior("as dug", True, 7.3, 0.0, None).median_wt_pct == 1e-4
    for assayed, high in ((None, 0.3), (0.1, 0.3), (0.2, 0.3), (0.21, 0.315), (4.0, 6.0)):
        flat = unseen_prior("washed", True, 7.3, 1.9, assayed)
        assert (flat.kind, flat.low_wt_pct) == ("log-uniform", 0.003)
        assert flat.high_wt_pct == pytest.approx(high)
        assert flat.assay_needed == (assayed is None)


def test_guessed_weights_of_the_forms_are_round_and_say_little():
    """A Dirichlet worth three or four grains looked at; none of its forms is ruled out."""
    for origin, weights in FORM_WEIGHTS.items():
        assert 2.9 < sum(weights) < 4.1, origin
        assert all(w == round(w, 1) for w in weights)
        assert form_shares(origin, False, 0, 1)[0].min() > 0.1
    assert FORM_WEIGHTS["as dug"] == (2.0, 1.0, 1.0)


# --- normals between bounds -----------------------------------------------------------------


def test_a_normal_between_bounds_is_that_of_scipy_in_both_tails():
    rng = np.random.default_rng(3)
    mean, sd = 3.0 * rng.standard_normal(60), 0.2 + rng.random(60)
    low = mean + sd * np.tile([-2.0, 0.4, 6.0, -12.0], 15)
    high = low + sd * np.tile([0.3, 1.7, 4.0, 8.0, 25.0], 12)
    uniform = rng.random(60)
    side = np.where(low > mean, 1.0 - uniform, uniform)
    law = stats.truncnorm.ppf(side, (low - mean) / sd, (high - mean) / sd, loc=mean, scale=sd)
    assert truncated_normal(mean, sd, low, high, uniform) == pytest.approx(law, rel=1e-9)


def test_bounds_far_out_in_a_tail_hold_the_draw_at_the_nearer_one():
    one = np.ones(3)
    low = np.array([50.0, -90.0, 1e6])
    found = truncated_normal(0.0 * one, one, low, low + 5.0, 0.5 * one)
    assert found == pytest.approx([50.0, -85.0, 1e6], abs=0.1)
