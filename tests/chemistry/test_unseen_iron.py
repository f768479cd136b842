"""Unseen iron: how much is expected, from what, and in what form."""

from __future__ import annotations

import numpy as np
import pytest

from feedchar.chemistry.diagnosis import Diagnosis, Reading, diagnosis_of, forms_by_treatment
from feedchar.chemistry.unseen import UnseenPrior, form_shares, unseen_prior, unseen_totals
from feedchar.sample.records import Diagnostic, OxideValue, Sample


def test_as_dug_it_follows_the_alumina_with_its_scatter():
    prior = unseen_prior("as dug", False, 4.0, 0.2, None)
    assert prior.median_wt_pct == pytest.approx(np.exp(-0.96 + 0.54 * np.log(4.0)))
    assert prior.ln_sd >= 0.85
    assert unseen_prior("as dug", False, 0.1, 0.0, None).median_wt_pct == pytest.approx(
        np.exp(-0.96 + 0.54 * np.log(0.5))
    )


def test_counted_it_is_a_twentieth_of_what_is_listed():
    assert unseen_prior("as dug", True, 4.0, 2.0, None).median_wt_pct == pytest.approx(0.10)


@pytest.mark.parametrize("origin", [None, "washed", "crushed rock", "plant product"])
def test_elsewhere_nothing_is_known_and_an_assay_is_needed(origin):
    prior = unseen_prior(origin, False, 4.0, 0.2, None)
    assert prior.kind == "log-uniform"
    assert (prior.low_wt_pct, prior.high_wt_pct) == (0.003, 0.3)
    assert prior.assay_needed
    assert not unseen_prior(origin, False, 4.0, 0.2, 1.0).assay_needed


def test_with_an_assay_the_flat_prior_reaches_half_as_far_again():
    assert unseen_prior(None, False, 4.0, 0.2, 1.0).high_wt_pct == pytest.approx(1.5)
    assert unseen_prior(None, False, 4.0, 0.2, 0.19).high_wt_pct == 0.3
    assert unseen_prior(None, False, 4.0, 0.2, 0.21).high_wt_pct == pytest.approx(0.315)
    assert unseen_prior(None, False, 4.0, 0.2, 0.1).low_wt_pct == 0.003


def test_scatter_of_the_unseen_total_before_an_assay():
    """As dug by alumina 0.85 in ln, by counts 1.0; a uniform law has its width over root 12."""
    assert unseen_prior("as dug", False, 4.0, 0.2, None).ln_spread == 0.85
    assert unseen_prior("as dug", True, 4.0, 0.2, None).ln_spread == 1.0
    flat = unseen_prior(None, False, 4.0, 0.2, None)
    totals = np.log(unseen_totals(flat, 20_000, 2)[1:])
    assert totals.std() == pytest.approx(flat.ln_spread, rel=0.02)
    nothing = unseen_prior("as dug", True, 4.0, 0.0, None)
    assert nothing.median_wt_pct == 1e-4  # a logarithm needs something to stand on


@pytest.mark.parametrize(
    ("origin", "stain", "inclusion", "free"),
    [("as dug", 50, 25, 25), ("washed", 41.7, 41.7, 16.7), ("crushed rock", 16.7, 55.6, 27.8),
     ("plant product", 28.6, 57.1, 14.3), (None, 35.3, 35.3, 29.4)],
)  # fmt: skip
def test_forms_in_the_typical_case_are_as_guessed(origin, stain, inclusion, free):
    """Guesses, no source: half of the unseen iron of a dug sand is stain; washing and plants take
    stain and dust off; a fresh rock holds its iron inside. The spread is that of a few weights."""
    drawn = form_shares(origin, False, 4000, 3)
    assert 100.0 * drawn[0] == pytest.approx([stain, inclusion, free], abs=0.06)
    weights = drawn[0] * (1.0 - drawn[0]) / drawn[1:].var(axis=0) - 1.0
    total = {"as dug": 4.0, "washed": 3.6, "crushed rock": 3.6, "plant product": 3.5, None: 3.4}
    assert np.mean(weights) == pytest.approx(total[origin], rel=0.05)


@pytest.mark.parametrize(
    "prior",
    [UnseenPrior("log-normal", 0.2, 0.85), UnseenPrior("log-uniform")],
    ids=lambda p: p.kind,
)
def test_density_and_draws_are_of_one_distribution(prior):
    totals = unseen_totals(prior, 40_000, 3)[1:]
    edges = np.quantile(totals, [0.1, 0.3, 0.5, 0.7, 0.9])
    grid = np.exp(np.linspace(np.log(1e-4), np.log(50.0), 60_001))
    density = np.exp(prior.log_density(grid))
    if prior.kind == "log-uniform":
        density = np.where(grid < prior.low_wt_pct, 0.0, density)
    steps = np.diff(grid) * 0.5 * (density[1:] + density[:-1])
    cumulative = np.concatenate([[0.0], np.cumsum(steps)]) / steps.sum()
    assert np.interp(edges, grid, cumulative) == pytest.approx([0.1, 0.3, 0.5, 0.7, 0.9], abs=0.01)


def test_its_form_is_drawn_and_a_named_stain_leaves_less_of_it():
    free, named = (form_shares("as dug", stain, 4000, 1) for stain in (False, True))
    assert free[1:, 0].std() > 0.1
    assert named[1:, 0].mean() < 0.5 * free[1:, 0].mean()


NAMED = {name: np.zeros(501) for name in ("stain", "soluble", "lattice")} | {"pale": np.ones(501)}


def test_scrubbing_replaces_the_guess_of_the_stain():
    shares = form_shares("as dug", False, 500, 1)
    unseen = np.full(501, 0.20)
    found = forms_by_treatment(shares, unseen, Diagnosis(scrubbed=Reading(0.05, 0.004)), NAMED, 1)
    assert found[1:, 0].mean() == pytest.approx(0.25, abs=0.01)
    assert found[1:, 0].std() < 0.3 * shares[1:, 0].std()


def test_scrub_and_acid_leave_the_rest_to_inclusions():
    shares = form_shares("as dug", False, 500, 1)
    both = Diagnosis(scrubbed=Reading(0.05, 0.003), leached=Reading(0.12, 0.003))
    found = forms_by_treatment(shares, np.full(501, 0.20), both, NAMED, 1)
    assert found[1:].mean(axis=0) == pytest.approx([0.25, 0.40, 0.35], abs=0.02)


def test_clear_grains_tell_what_sits_inside():
    shares = form_shares("as dug", False, 500, 1)
    floor = Diagnosis(floor=Reading(0.03, 0.002))
    found = forms_by_treatment(shares, np.full(501, 0.20), floor, NAMED, 1)
    assert found[1:, 1].mean() == pytest.approx(0.15, abs=0.01)


def test_treatments_are_read_as_mass_balances():
    sample = Sample(
        "t",
        assay={"Fe2O3": OxideValue(0.20, 0.005)},
        diagnostics=(
            Diagnostic("scrub", 100.0, 98.0, 0.20, 0.15),
            Diagnostic("hand magnet", 500.0, 0.25, None, None),
            Diagnostic("mill blank", None, None, 0.005, 0.025),
            Diagnostic("burn-off", 50.0, 49.9, None, None),
        ),
    )
    found = diagnosis_of(sample)
    assert found.scrubbed.value == pytest.approx(0.20 - 0.98 * 0.15)
    assert found.hand_magnet_wt_pct == pytest.approx(0.05)
    assert found.tool_iron.value == pytest.approx(0.02)
    assert found.organics_wt_pct == pytest.approx(0.2)
    assert found.leached is None
