"""Draws before an assay and forms of unseen iron, trial by trial in plain loops."""

from __future__ import annotations

from itertools import permutations

import numpy as np
import pytest

from feedchar.chemistry import draws as drawing
from feedchar.chemistry.diagnosis import Diagnosis, Reading, diagnosis_of, forms_by_treatment
from feedchar.chemistry.draws import draw, hidden_phases, line_ends, places, prior_of
from feedchar.chemistry.ingredients import feed_of
from feedchar.chemistry.mineral_trials import gamma_amounts, small_amounts, standard_scores
from feedchar.chemistry.mineralogy import OXIDES
from feedchar.sample.records import Diagnostic, MineralAmount, OxideValue, Sample

FE, AL = OXIDES.index("Fe2O3"), OXIDES.index("Al2O3")
TOTALS = np.array([0.4, 99.0, 0.0, 2.1, 0.05, 7.0, 30.0])
TRIALS = len(TOTALS) - 1


def row(mineral, value, **more):
    return MineralAmount(mineral, "mass_pct", value, **more)


ROWS = (
    row("albite", 71.0), row("biotite", 9.0), row("zircon", 3.0), row("hematite", 0.0),
    row("goethite", 0.6, below_detection=True), row("calcite", 0.0),
)  # fmt: skip


def drawn(rows, monkeypatch, totals=TOTALS):
    asked = []

    def prior(*figures):
        asked.append(figures)
        return "the prior"

    monkeypatch.setattr(drawing, "unseen_prior", prior)
    monkeypatch.setattr(drawing, "unseen_totals", lambda *_: totals)
    feed, _ = feed_of(Sample("x", minerals=rows), {})
    return feed, draw(feed, "as dug", 0.7, TRIALS, 5), asked[0]


@pytest.mark.parametrize("unidentified", [(), (row("unidentified", 4.0),)])
def test_a_trial_is_filled_in_the_order_found_identified_undetected_unseen(
    monkeypatch, unidentified
):
    """Undetected oxides give way to the total that is unseen, after the unidentified; what is left
    of it is unseen, never more than nine tenths of the room; the found fill the rest."""
    feed, found, asked = drawn((*ROWS, *unidentified), monkeypatch)
    names = feed.names[:-1]
    scores = np.stack([standard_scores(f"{n}/iron", TRIALS, 5) for n in feed.names], axis=1)
    assert np.array_equal(found.scores, scores)
    magnetic = [standard_scores(f"{n}/susceptibility", TRIALS, 5) for n in feed.names]
    assert np.array_equal(found.magnetic_scores, np.stack(magnetic, axis=1))
    low, change = line_ends(feed)
    place = places(feed, scores)
    for trial, total in enumerate(TOTALS):
        raw, iron = {}, {}
        for j, (name, amount) in enumerate(zip(names, feed.amounts[:-1], strict=True)):
            make = gamma_amounts if amount.kind == "gamma" else small_amounts
            raw[name] = make(amount, name, TRIALS, 5)[trial]
            iron[name] = (low[j, FE] + place[trial, j] * change[j, FE]) / 100.0
        small = {"hematite", "goethite", "calcite"}
        rest = 100.0 - sum(raw[n] for n in small)
        whole = sum(v for n, v in raw.items() if n not in small)
        x = {n: v if n in small else v * rest / whole for n, v in raw.items()}
        named = x.get("unidentified", 0.0) * iron.get("unidentified", 0.0)
        carried = sum(x[n] * iron[n] for n in ("hematite", "goethite"))
        room = max(total - named, 0.0)
        for n in ("hematite", "goethite"):
            x[n] *= min(1.0, room / carried)
        named += min(carried, room)
        rest = 100.0 - sum(x[n] for n in small)
        unseen = min(max(total - named, 1e-6) / 0.9, 0.9 * rest)
        for n in names:
            if n not in small:
                x[n] = raw[n] / whole * (rest - unseen)
        assert found.amounts[trial, -1] == pytest.approx(unseen), trial
        for j, name in enumerate(names):
            assert found.amounts[trial, j] == pytest.approx(x[name]), (trial, name)
    assert found.amounts.sum(axis=1) == pytest.approx(100.0)
    assert found.unseen == "the prior"
    # The prior is asked by the typical case before unseen iron takes its room.
    at = np.array([feed.amounts[j].kind == "gamma" for j in range(len(names))])
    typical = np.array([gamma_amounts(a, n, 0, 5)[0] if k else small_amounts(a, n, 0, 5)[0]
                        for a, n, k in zip(feed.amounts, names, at, strict=False)])  # fmt: skip
    typical[at] *= (100.0 - typical[~at].sum()) / typical[at].sum()
    oxides = low[:-1] + place[0, :-1, None] * change[:-1]
    expected = (
        "as dug",
        False,
        typical @ oxides[:, AL] / 100.0,
        typical @ oxides[:, FE] / 100.0,
        0.7,
    )
    assert asked[:2] == expected[:2]
    assert asked[2:] == pytest.approx(expected[2:])


def test_what_counts_towards_the_unseen_total(monkeypatch):
    feed, found, _ = drawn((*ROWS, row("unidentified", 4.0)), monkeypatch)
    hidden = {feed.names[j] for j in hidden_phases(feed)}
    assert hidden == {"hematite", "goethite", "unidentified", "unseen"}  # calcite holds too little
    prior = prior_of(feed, found)
    low, change = line_ends(feed)
    assert prior.iron_oxide_low == pytest.approx(low[:, FE] / 100.0)
    assert prior.iron_oxide_change == pytest.approx(change[:, FE] / 100.0)
    assert prior.hidden == found.hidden == hidden_phases(feed)
    assert (prior.amounts, prior.unseen) == (feed.amounts, "the prior")
    assert prior.iron == tuple(i.iron for i in feed.ingredients)


# --- forms of unseen iron -------------------------------------------------------------------

NAMED = {"stain": np.full(9, 0.013), "soluble": np.full(9, 0.021), "lattice": np.full(9, 0.004),
         "pale": np.full(9, 0.93)}  # fmt: skip
SHARES = np.repeat([[0.47, 0.31, 0.22]], 9, axis=0)
UNSEEN = np.linspace(0.18, 0.26, 9)


def scores(name):
    return standard_scores(f"diagnosis/{name}", 8, 3)


def test_every_trial_takes_its_own_draw_of_every_treatment():
    """Each by its own error: the better of two is not drawn with the other."""
    scrub, acid, floor = Reading(0.09, 0.011), Reading(0.17, 0.013), Reading(0.05, 0.007)
    stain = (0.09 + 0.011 * scores("scrub") - 0.013) / UNSEEN
    free = (0.17 + 0.013 * scores("acid") - 0.021) / UNSEEN
    inside = ((0.05 + 0.007 * scores("clear grains")) * 0.93 - 0.004) / UNSEEN

    def forms(**found):
        return forms_by_treatment(SHARES, UNSEEN, Diagnosis(**found), NAMED, 3)

    found = forms(scrubbed=scrub)
    expected = np.stack([stain, (1 - stain) * 0.31 / 0.53, (1 - stain) * 0.22 / 0.53], axis=1)
    assert found == pytest.approx(expected)
    found = forms(leached=acid)
    expected = np.stack([free * 0.47 / 0.69, 1 - free, free * 0.22 / 0.69], axis=1)
    assert found == pytest.approx(expected)
    found = forms(floor=floor)
    expected = np.stack([(1 - inside) * 0.47 / 0.69, inside, (1 - inside) * 0.22 / 0.69], axis=1)
    assert found == pytest.approx(expected)
    found = forms(scrubbed=scrub, leached=acid)
    assert found == pytest.approx(np.stack([stain, 1 - free, free - stain], axis=1))
    found = forms(scrubbed=scrub, leached=acid, floor=floor)
    parts = np.stack([stain, inside, free - stain], axis=1)
    assert found == pytest.approx(parts / parts.sum(axis=1, keepdims=True))


def test_where_treatments_find_more_than_there_is_the_rest_keeps_a_hundredth():
    both = Diagnosis(scrubbed=Reading(0.9, 0.0), floor=Reading(0.9, 0.0))
    found = forms_by_treatment(SHARES, UNSEEN, both, NAMED, 3)
    assert found == pytest.approx(np.repeat([[1.0, 1.0, 0.01]], 9, axis=0) / 2.01)
    none = Diagnosis(scrubbed=Reading(0.0, 0.0), leached=Reading(0.0, 0.0))
    found = forms_by_treatment(SHARES, UNSEEN, none, NAMED, 3)
    assert found == pytest.approx(np.repeat([[0.01, 0.98, 0.01]], 9, axis=0))


def test_losses_and_gains_of_treatments_to_their_borders():
    def read(*rows):
        head = {"Fe2O3": OxideValue(0.2, 0.01)}
        return diagnosis_of(Sample("x", assay=head, diagnostics=rows))

    burned = read(*(Diagnostic("burn-off", 50.0, out, None, None) for out in (49.0, 48.0, 50.0)))
    assert burned.organics_wt_pct == pytest.approx((2.0 + 4.0) / 3.0)
    little = read(Diagnostic("hand magnet", 0.5, 0.001, None, None))
    assert little.hand_magnet_wt_pct == pytest.approx(0.2)  # of half a gram
    assert read(Diagnostic("hand magnet", 0.0, 0.001, None, None)).hand_magnet_wt_pct is None
    gone = read(Diagnostic("scrub", 100.0, 0.0, 0.3, 0.2))
    assert gone.scrubbed.value == pytest.approx(0.1)  # nothing left is nothing weighed
    blanks = (Diagnostic("mill blank", None, None, 0.01, 0.05), Diagnostic("mill blank", None, None,
                                                                         0.03, 0.02))  # fmt: skip
    tool = read(*blanks).tool_iron
    assert tool.value == pytest.approx(0.02)
    assert tool.sd == pytest.approx(np.hypot(0.3 * 0.04 + 0.001, 0.001) / 2.0)


def test_treatments_in_another_order_are_the_same_to_the_last_digit():
    outs = (0.9, 0.8, 0.7, 0.3)
    found = set()
    for order in permutations(outs):
        rows = [Diagnostic("scrub", None, None, 1.0, out) for out in order]
        rows += [Diagnostic("burn-off", 1.0, 1.0 - 0.01 * out, None, None) for out in order]
        read = diagnosis_of(Sample("x", diagnostics=tuple(rows)))
        found.add((read.scrubbed, read.organics_wt_pct))
    assert len({sum(1.0 - out for out in order) for order in permutations(outs)}) > 1
    assert len(found) == 1
