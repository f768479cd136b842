"""Remarks on how a mineralogy came about: each said where it holds, and only there."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from feedchar.chemistry.agreement import Misfit
from feedchar.chemistry.build import Conditioned
from feedchar.chemistry.draws import Draws
from feedchar.chemistry.fit import Fit
from feedchar.chemistry.ingredients import feed_of
from feedchar.chemistry.mineralogy import Agreement
from feedchar.chemistry.remarks import remarks
from feedchar.chemistry.unseen import UnseenPrior
from feedchar.sample.records import MineralAmount, OxideValue, Sample

ROWS = (MineralAmount("quartz", "mass_pct", 95.0), MineralAmount("biotite", "mass_pct", 5.0),
        MineralAmount("hematite", "mass_pct", 0.0))  # fmt: skip
SAMPLE = Sample(
    "x",
    rock="granite",
    minerals=ROWS,
    assay={
        "ZnO": OxideValue(0.1, 0.01),
        "Fe2O3": OxideValue(1.0, 0.1),
        "BaO": OxideValue(0.1, 0.01),
    },
)
FEED, _ = feed_of(SAMPLE, {})
LAST = len(FEED.names) - 1
AGREED = Agreement(3.0, 2, 0.4, {})
FITS = Misfit({}, {})
NONE = Fit(np.zeros((1, 1)), np.zeros((1, 1)), True, np.zeros(1))


def drawn(*hidden):
    unseen = UnseenPrior("log-normal", 0.123, 0.5, text="unseen by alumina")
    empty = np.zeros((1, 1))
    return Draws(empty, empty, empty, unseen, hidden)


def said(sample=SAMPLE, agreement=AGREED, misfit=FITS, hidden=(LAST,), assay=(),
         needed=False, disagree=False, ranges=(), feed=FEED):  # fmt: skip
    conditioned = Conditioned(NONE, agreement, misfit, disagree, dict(ranges))
    values = {name: OxideValue(1.0, 0.1) for name in assay}
    notes = remarks(sample, feed, drawn(*hidden), conditioned, values, needed)
    return {note.code: note for note in notes}


def test_a_plain_fit_is_told_by_its_unseen_iron_alone():
    plain = replace(SAMPLE, rock=None, assay={})
    notes = said(plain)
    assert list(notes) == ["unseen-iron", "iron-by-rock"]  # the feed's own iron stays by rock
    assert notes["unseen-iron"].severity == "note"


def test_unseen_iron_with_and_without_an_assay_of_iron():
    text = said()["unseen-iron"].text
    assert text == "unseen by alumina: median 0.12 % Fe2O3 before an assay"
    text = said(assay=("SiO2",))["unseen-iron"].text
    assert text.endswith("before an assay")
    text = said(assay=("Fe2O3",))["unseen-iron"].text
    assert text.startswith("unseen by alumina; with the assay, only its sum")


def test_what_comes_before_unseen_iron_is_named():
    hematite = FEED.names.index("hematite")
    assert "unseen-precedence" not in said()
    text = said(hidden=(hematite, LAST))["unseen-precedence"].text
    assert text.startswith("iron of hematite is part of the unseen total")
    text = said(hidden=(0, hematite, LAST))["unseen-precedence"].text
    assert text.startswith(f"iron of {FEED.names[0]}, hematite is part")


def test_no_chance_is_told_where_there_was_a_fit_but_no_trials():
    alone = replace(AGREED, predictive_probability=None)
    assert "no-predictive-probability" in said(agreement=alone)
    assert "no-predictive-probability" not in said()
    unfitted = replace(alone, chi_square=None)
    assert "no-predictive-probability" not in said(agreement=unfitted)


def test_warnings_of_a_needed_assay_and_of_chains():
    assert said(needed=True)["assay-needed"].severity == "warning"
    assert "assay-needed" not in said()
    restless = replace(AGREED, settled=False)
    assert said(agreement=restless)["not-settled"].severity == "warning"
    assert "not-settled" not in said()


@pytest.mark.parametrize("sign", [1.0, -1.0])
def test_disagreement_names_what_is_off_by_more_than_two_sd(sign):
    for score, told in ((1.99, False), (2.0, False), (2.01, True)):
        notes = said(misfit=Misfit({"K2O": sign * score}, {"biotite": 0.3}))
        assert ("disagreement" in notes) == told
    note = said(misfit=Misfit({"K2O": sign * 2.61}, {}))["disagreement"]
    assert note.text == "the assay of K2O is 2.6 sd from what all else says"
    assert note.severity == "warning"
    note = said(misfit=Misfit({}, {"biotite": sign * 9.0}), disagree=True)["disagreement"]
    assert note.severity == "stop"


def test_the_datum_to_doubt_is_told_once():
    gain = "(without it chi-square falls from 9.0 to 1.0)"
    doubt = replace(AGREED, doubtful=f"the assay of K2O {gain}")
    near, far = Misfit({"K2O": 1.0}, {}), Misfit({"K2O": 3.0}, {})
    other = Misfit({"K2O": 1.0, "CaO": 3.0}, {})
    assert said(agreement=doubt, misfit=near)["disagreement"].text == (
        f"the datum to doubt: the assay of K2O {gain}"
    )
    assert said(agreement=doubt, misfit=far)["disagreement"].text == (
        "the assay of K2O is 3.0 sd from what all else says; doubt this one: "
        "without it chi-square falls from 9.0 to 1.0"
    )
    assert said(agreement=doubt, misfit=other)["disagreement"].text == (
        "the assay of CaO is 3.0 sd from what all else says; the datum to doubt: "
        f"the assay of K2O {gain}"
    )


def test_ranges_unused_oxides_and_iron_by_rock():
    notes = said()
    assert "ranges" not in notes
    assert "ranges" in said(ranges=(("quartz", (1.0, 2.0)),))
    assert notes["assay-unused"].text == "assayed and not used by the fit: BaO, ZnO"
    used = replace(SAMPLE, assay={"SiO2": OxideValue(90.0, 0.1), "LOI": OxideValue(1.0, 0.1)})
    assert "assay-unused" not in said(used)
    assert notes["iron-by-rock"].text.startswith("iron of biotite")
    rows = tuple(MineralAmount(n, "mass_pct", 10.0) for n in ("muscovite", "biotite", "albite"))
    three, _ = feed_of(Sample("x", rock="granite", minerals=rows), {})
    turned = replace(three, ingredients=three.ingredients[::-1])
    assert said(feed=turned)["iron-by-rock"].text.startswith("iron of albite, biotite, muscovite")
    assert notes["iron-by-rock"].text.endswith("as in published analyses from granite")
