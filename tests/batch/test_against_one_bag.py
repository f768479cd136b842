"""A row of a table is the same sample as a bag by itself: both agree within Monte Carlo error."""

from __future__ import annotations

import numpy as np
import pytest

from feedchar.batch.run import BatchOptions, run_batch
from feedchar.batch.sizes import COARSER_SIEVES_UM
from feedchar.characterise import characterise
from feedchar.chemistry.sizes import DEFAULT_SIEVES_UM, log_normal_classes
from feedchar.field.rolls import DEFAULT_ROLL, read_roll
from feedchar.field.setting import Pass, Setting
from feedchar.sample.records import Limit, MineralAmount, OxideValue, Sample, SieveClass

TRIALS = 2000
SD_ALLOWED = 4.0
"""Of the difference of two medians, each of `TRIALS` draws."""
LISTED = {
    "quartz": 70.0, "k-feldspar": 13.0, "albite": 8.0, "muscovite": 4.0, "biotite": 2.0,
    "almandine": 1.3, "ilmenite": 1.0, "hematite": 0.0, "rutile": 0.7,
}  # fmt: skip
DIRTY = {"quartz": 40.0, "k-feldspar": 15.0, "biotite": 20.0, "almandine": 15.0, "ilmenite": 10.0}
ASSAY = {"SiO2": 85.3, "TiO2": 1.25, "Al2O3": 7.3, "Fe2O3": 1.95, "Na2O": 1.0, "K2O": 2.7}
TWO_PASSES = Setting(
    roll=read_roll(DEFAULT_ROLL),
    passes=(Pass(1.2, 0.008), Pass(1.2, 0.008)),
    treated_passing_um=500.0,
    treated_retained_um=90.0,
)


def one_bag(minerals, origin, assay, sieves, setting, limit):
    sample = Sample(
        "bag",
        origin=origin,
        minerals=tuple(MineralAmount(name, "mass_pct", x) for name, x in minerals.items()),
        assay={name: OxideValue(x, None) for name, x in assay.items()},
        sieves=sieves,
    )
    return characterise(sample, setting, limit, trials=TRIALS, seed=3)


def spread(u):
    return max((u.p95 - u.p05) / 3.29, 1e-9)


def close(value, u):
    error = 1.2533 * spread(u) * np.sqrt(2.0 / TRIALS)
    assert abs(float(value) - u.p50) < SD_ALLOWED * error + 1e-5 * abs(u.p50)


CASES = {
    "minerals alone": (LISTED, "as dug", {}, None, None),
    "a crushed rock, two passes of a window": (LISTED, "crushed rock", {}, None, TWO_PASSES),
    "sizes of its own": (LISTED, "washed", {"Fe2O3": 1.95}, (320.0, 610.0), None),
    "with an assay": (LISTED, "as dug", ASSAY, None, None),
    "so dirty that magnetics bury each other": (DIRTY, "as dug", {}, None, None),
}


@pytest.mark.parametrize(
    "case",
    [
        pytest.param(case, marks=() if case == "minerals alone" else pytest.mark.slow)
        for case in CASES
    ],
)
def test_a_row_agrees_with_the_assessment_of_the_same_bag(case, write, rows_of, tmp_path):
    minerals, origin, assay, size, setting = CASES[case]
    setting = setting or Setting(roll=read_roll(DEFAULT_ROLL), passes=(Pass(),))
    limit = Limit(max_wt_pct={"Fe2O3": 1.0 if minerals is LISTED else 8.0})
    headings = ["sample", "origin", *(f"{name}_mass_pct" for name in minerals)]
    row = ["bag", origin, *minerals.values()]
    headings += [f"{name}_wt_pct" for name in assay]
    row += list(assay.values())
    sieves = ()
    if size is not None:
        headings += ["d50_um", "d90_um"]
        row += list(size)
        edges = np.array((*COARSER_SIEVES_UM, *DEFAULT_SIEVES_UM))
        shares = log_normal_classes(size[0], np.log(size[1] / size[0]) / 1.28155, edges)
        sieves = tuple(
            SieveClass(float(a), float(b), 100.0 * float(s))
            for a, b, s in zip(edges[:-1], edges[1:], shares, strict=True)
            if s > 1e-6
        )
    out = tmp_path / "out.csv"
    options = BatchOptions(setting=setting, limit=limit, trials=TRIALS, seed=3)
    run_batch(str(write([row], headings)), str(out), options)
    (answer,) = rows_of(out)
    bag = one_bag(minerals, origin, assay, sieves, setting, limit)
    for oxide in ("SiO2", "Al2O3", "Fe2O3", "K2O", "TiO2"):
        close(answer[f"{oxide}_predicted_p50_wt_pct"], bag.assay.predicted_wt_pct[oxide])
    product = bag.product.non_magnetics
    close(answer["unseen_iron_share_pct"], bag.unseen_iron.share_of_iron_pct)
    close(answer["product_Fe2O3_p50_wt_pct"], product.assay_wt_pct["Fe2O3"])
    close(answer["product_yield_p50_pct"], product.yield_pct)
    chance = bag.answer.chance_of_meeting_limit
    assert answer["assay_needed"] == ("true" if bag.answer.status == "assay needed" else "false")
    if chance is None:
        assert answer["chance_of_meeting_limit"] == ""
    else:
        error = np.sqrt(max(chance * (1.0 - chance), 1.0 / TRIALS) * 2.0 / TRIALS)
        assert abs(float(answer["chance_of_meeting_limit"]) - chance) < SD_ALLOWED * error
