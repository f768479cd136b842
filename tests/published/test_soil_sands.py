"""Iron and alkalis of quartz-feldspar soils from diffraction, against their bulk chemistry.

Data: smith_2013 (USGS Data Series 801, public domain), the open half. Phases as diffraction names
them stand for one mineral each (14 Å clays: montmorillonite; 10 Å: illite; plagioclase:
oligoclase); zeolites and the amorphous part are given generic compositions. Nothing here was
fitted but the prior of unseen iron, whose constants are held against refits on parts of the data.
"""

from __future__ import annotations

import csv
from functools import lru_cache
from pathlib import Path

import numpy as np
import pytest

from feedchar.chemistry.build import mineralogy_of
from feedchar.chemistry.mineralogy import OXIDES
from feedchar.chemistry.unseen import FE2O3_SHARE, INTERCEPT, RESIDUAL_LN_SD, SLOPE
from feedchar.sample.records import MineralAmount, OxideValue, Phase, Sample

ROWS = list(
    csv.DictReader(
        (Path(__file__).parent / "data" / "soil_sands_open_half.csv")
        .read_text(encoding="utf-8")
        .splitlines()
    )
)
NAMES = {
    "quartz": "quartz", "tot_k_fs": "k-feldspar", "tot_plag": "oligoclase",
    "tot_14a": "montmorillonite", "tot_10a": "illite", "kaolinit": "kaolinite",
    "gibbsite": "gibbsite", "calcite": "calcite", "dolomite": "dolomite", "aragon": "calcite",
    "analcime": "analcime", "heuland": "heulandite", "gypsum": "gypsum", "talc": "talc",
    "hornbl": "hornblende", "serpent": "serpentine", "hematite": "hematite",
    "goethite": "goethite", "pyroxene": "augite", "pyrite": "pyrite", "other": "unidentified",
    "amorph": "amorphous",
}  # fmt: skip
OWN = (
    Phase("analcime", None, 2270.0, None, None,
          {"SiO2": 54.6, "Al2O3": 23.2, "Na2O": 14.1, "LOI": 8.2}, {}),
    Phase("heulandite", None, 2200.0, None, None,
          {"SiO2": 61.0, "Al2O3": 15.0, "CaO": 7.0, "K2O": 1.0, "Na2O": 0.8, "LOI": 15.0}, {}),
    Phase("amorphous", None, 2300.0, None, None,
          {"SiO2": 70.0, "Al2O3": 14.0, "Fe2O3": 2.0, "K2O": 3.0, "Na2O": 3.0, "CaO": 2.0,
           "LOI": 5.0}, {"Fe2O3": 1.5}),
)  # fmt: skip
TRIALS = 400
FE, AL = OXIDES.index("Fe2O3"), OXIDES.index("Al2O3")


def sample_of(row, assay=None):
    amounts: dict[str, float] = {}
    for column, name in NAMES.items():
        amount = float(row[f"{column}_wt_pct"] or 0.0)
        if amount > 0:
            amounts[name] = amounts.get(name, 0.0) + amount
    return Sample(
        f"{row['site_id']} {row['depth_cm']}",
        origin="as dug",
        minerals=tuple(
            MineralAmount(name, "mass_pct", amount, method="diffraction")
            for name, amount in amounts.items()
        ),
        phases=tuple(phase for phase in OWN if phase.phase in amounts),
        assay=assay or {},
    )


@lru_cache
def predictions():
    """Of each soil: trials of Fe2O3, the part in listed phases, and typical oxides."""
    whole, listed, typical = [], [], []
    for row in ROWS:
        mineralogy = mineralogy_of(sample_of(row), TRIALS, 1)
        iron = mineralogy.predicted_wt_pct[:, FE]
        whole.append(iron)
        listed.append(iron - 100.0 * FE2O3_SHARE * mineralogy.mass_fraction[:, -1])
        typical.append(mineralogy.predicted_wt_pct[0])
    return np.array(whole), np.array(listed), np.array(typical)


def measured(oxide):
    column = "Fe2O3_total_wt_pct" if oxide == "Fe2O3" else f"{oxide}_wt_pct"
    return np.array([float(row[column]) if row[column] else np.nan for row in ROWS])


@pytest.mark.parametrize(("oxide", "least_r"), [("K2O", 0.93), ("Na2O", 0.96)])
def test_alkalis_of_the_named_feldspars_are_those_of_the_bulk(oxide, least_r):
    found, predicted = measured(oxide), predictions()[2][:, OXIDES.index(oxide)]
    known = np.isfinite(found)
    assert known.sum() > 400
    assert np.corrcoef(found[known], predicted[known])[0, 1] >= least_r
    assert abs(np.mean(predicted[known] - found[known])) <= 0.25


def test_nine_in_ten_intervals_of_iron_without_assay_hold_85_to_95_per_cent():
    whole = predictions()[0][:, 1:]
    low, high = np.quantile(whole, [0.05, 0.95], axis=1)
    inside = (measured("Fe2O3") >= low) & (measured("Fe2O3") <= high)
    assert 0.85 <= inside.mean() <= 0.95


def refit(chosen):
    """Intercept, slope and ln-sd of unseen iron on some of the soils."""
    _, listed, typical = predictions()
    unseen = measured("Fe2O3") - listed[:, 0]
    use = chosen & (unseen > 0)
    alumina = np.log(np.maximum(typical[:, AL], 0.5))
    slope, intercept = np.polyfit(alumina[use], np.log(unseen[use]), 1)
    spread = np.std(np.log(unseen[use]) - intercept - slope * alumina[use])
    return intercept, slope, max(float(spread), RESIDUAL_LN_SD)


def test_the_prior_of_unseen_iron_is_what_these_soils_say():
    intercept, slope, _ = refit(np.ones(len(ROWS), dtype=bool))
    assert intercept == pytest.approx(INTERCEPT, abs=0.25)
    assert slope == pytest.approx(SLOPE, abs=0.15)


def test_a_prior_fitted_on_some_soils_covers_the_others():
    _, listed, typical = predictions()
    found = measured("Fe2O3")
    fold = np.arange(len(ROWS)) % 5
    rng = np.random.default_rng(7)
    inside = np.zeros(len(ROWS), dtype=bool)
    for out in range(5):
        intercept, slope, spread = refit(fold != out)
        held = np.flatnonzero(fold == out)
        middle = intercept + slope * np.log(np.maximum(typical[held, AL], 0.5))
        unseen = np.exp(middle[:, None] + spread * rng.standard_normal((len(held), TRIALS)))
        low, high = np.quantile(listed[held, 1:] + unseen, [0.05, 0.95], axis=1)
        inside[held] = (found[held] >= low) & (found[held] <= high)
    assert 0.85 <= inside.mean() <= 0.95


def test_diffraction_names_the_phases_of_a_small_part_of_the_iron():
    _, listed, _ = predictions()
    share = listed[:, 0] / measured("Fe2O3")
    assert 0.13 <= np.median(share) <= 0.30


def test_a_soil_predicted_below_a_tenth_per_cent_asks_for_an_assay():
    whole = predictions()[0]
    for row, trials in zip(ROWS[::9], whole[::9], strict=True):
        asked = mineralogy_of(sample_of(row), TRIALS, 1).assay_needed
        assert asked == (np.median(trials[1:]) < 0.10)


def test_with_the_assay_iron_is_met_and_chains_settle():
    within, settled, disagree = [], [], []
    for row in ROWS[::43]:
        assay = {}
        for oxide in ("Fe2O3", "TiO2", "Al2O3", "K2O", "Na2O", "CaO", "MgO"):
            column = "Fe2O3_total_wt_pct" if oxide == "Fe2O3" else f"{oxide}_wt_pct"
            if row[column]:
                assay[oxide] = OxideValue(float(row[column]), None)
        mineralogy = mineralogy_of(sample_of(row, assay), 2000, 1, thorough=False)
        sd = 0.03 * assay["Fe2O3"].value + 0.002
        off = np.abs(mineralogy.reconciled_wt_pct[1:, FE] - assay["Fe2O3"].value)
        within.append(np.mean(off < 2.0 * sd))
        settled.append(mineralogy.agreement.settled)
        disagree.append(mineralogy.data_disagree)
    assert np.mean(within) >= 0.95
    assert all(settled)
    assert np.mean(disagree) < 0.2
