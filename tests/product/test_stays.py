"""The iron that stays adds up, and each line is what its words say."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from feedchar.particles.build import build_classes
from feedchar.product.outlets import outlets
from feedchar.product.remedies import REMEDIES, evidence_of, spread_by_reason
from feedchar.product.stays import REASONS, iron_that_stays
from feedchar.sample.records import Diagnostic, MineralAmount, Sample, SieveClass, Texture
from feedchar.separation.records import Shares

TEXTURES = (
    Texture("goethite", "quartz", "stain", 40.0),
    Texture("magnetite", "albite", "inclusion", 50.0),
    Texture("biotite", "quartz", "inside", 5.0),
)
SAMPLE = Sample("invented", textures=TEXTURES)


@settings(max_examples=25, deadline=None)
@given(
    cut=st.floats(1.0, 5000.0),
    missed=st.floats(0.0, 0.3),
    carried=st.floats(0.0, 0.1),
    middlings=st.floats(0.0, 0.5),
    top=st.one_of(st.none(), st.floats(100.0, 600.0)),
)
def test_the_lines_add_up_to_the_iron_of_the_product(sand, cut, missed, carried, middlings, top):
    classes = build_classes(SAMPLE, sand.mineralogy, sand.sizes)[0]
    shares = sand.shares(classes, cut, missed, carried, middlings=middlings)
    stays = iron_that_stays(classes, shares, sand.mineralogy, top, 45.0)
    product = outlets(classes, shares, sand.mineralogy, top, 45.0).non_magnetics.oxide("Fe2O3")
    assert np.abs(stays.ppm.sum(axis=1) / 1e4 - product).max() < 1e-9
    assert (stays.ppm >= -1e-12).all()
    assert stays.mean_ppm.sum() / 1e4 == pytest.approx(product[1:].mean(), abs=1e-9)
    assert stays.typical_ppm.sum() / 1e4 == pytest.approx(product[0], abs=1e-9)


def line(stays, reason):
    return float(stays.typical_ppm[REASONS.index(reason)])


def test_a_perfect_machine_leaves_what_no_magnet_takes(sand):
    classes = build_classes(SAMPLE, sand.mineralogy, sand.sizes)[0]
    shares = sand.shares(classes, cut=1e-3, missed=0.0, carried=0.0)
    stays = iron_that_stays(classes, shares, sand.mineralogy)
    assert line(stays, "missed by the machine") == 0.0
    assert line(stays, "joined grain below the cut") < 1e-2
    for reason in ("inside the crystal", "stain", "not found"):
        assert line(stays, reason) > 1.0


def test_what_the_machine_missed_scales_with_the_share_missed(sand):
    classes = build_classes(SAMPLE, sand.mineralogy, sand.sizes)[0]
    found = [
        line(
            iron_that_stays(
                classes, sand.shares(classes, missed=missed, carried=0.0), sand.mineralogy
            ),
            "missed by the machine",
        )
        for missed in (0.03, 0.06)
    ]
    assert found[1] / found[0] == pytest.approx(2.0, rel=0.01)


def test_a_loss_that_comes_with_size_is_laid_to_size_and_a_weak_pull_to_the_pull(sand):
    classes = build_classes(Sample("plain"), sand.mineralogy, sand.sizes)[0]
    trials = len(classes.mass)
    dark = np.isin(
        classes.mineral, [k for k, p in enumerate(sand.mineralogy.phases) if p.role != "host"]
    )

    def run(taken):
        left = np.broadcast_to(1.0 - taken, (trials, len(taken)))
        zero = np.zeros_like(left)
        stays = iron_that_stays(classes, Shares(1.0 - left, zero, left, zero), sand.mineralogy)
        return line(stays, "free but too weak"), line(stays, "free but too fine or too coarse")

    weak, size = run(np.where(dark, 0.7, 0.0))
    assert weak > 0.0
    assert size == pytest.approx(0.0, abs=1e-9)
    weak, size = run(np.where(dark & (classes.size < 4), 1.0, 0.0))
    assert weak == pytest.approx(0.0, abs=1e-9)
    assert size > 0.0


def test_carriers_name_mineral_and_host_the_largest_first(sand):
    classes = build_classes(SAMPLE, sand.mineralogy, sand.sizes)[0]
    stays = iron_that_stays(classes, sand.shares(classes), sand.mineralogy)
    by_reason = dict(zip(REASONS, stays.carriers, strict=True))
    assert by_reason["stain"][0][0] == "goethite on quartz"
    assert by_reason["inclusion"][0][0] == "magnetite in albite"
    assert by_reason["not found"] == (("unseen", pytest.approx(line(stays, "not found"))),)
    for carriers in stays.carriers:
        amounts = [ppm for _, ppm in carriers]
        assert amounts == sorted(amounts, reverse=True)
        assert len(carriers) <= 3


def test_shares_are_of_the_whole(sand):
    classes = build_classes(SAMPLE, sand.mineralogy, sand.sizes)[0]
    stays = iron_that_stays(classes, sand.shares(classes), sand.mineralogy)
    assert stays.share_pct.sum() == pytest.approx(100.0)


def test_the_spread_is_shared_out_exactly(sand_of):
    sand = sand_of(trials=400)
    classes = build_classes(SAMPLE, sand.mineralogy, sand.sizes)[0]
    stays = iron_that_stays(classes, sand.shares(classes), sand.mineralogy)
    shares = spread_by_reason(stays)
    assert sum(shares.values()) == pytest.approx(1.0, abs=1e-12)
    assert list(shares.values()) == sorted(shares.values(), reverse=True)


def test_every_reason_has_a_remedy_that_promises_nothing():
    assert set(REMEDIES) == set(REASONS)
    for words in REMEDIES.values():
        assert not {"guarantee", "guaranteed", "will remove", "validated"} & set(words.split())


def test_each_measurement_turns_its_own_line_from_prior_to_measured(sand):
    plain = evidence_of(Sample("x"), sand.mineralogy)
    assert set(plain.values()) == {"prior"}
    cases = {
        "inside the crystal": Sample(
            "x", diagnostics=(Diagnostic("hand-picked clear grains", None, None, None, 0.01),)
        ),
        "inclusion": Sample("x", textures=(Texture("magnetite", "albite", "inclusion", 5.0),)),
        "stain": Sample("x", diagnostics=(Diagnostic("scrub", 500.0, 490.0, 0.1, 0.08),)),
        "joined grain below the cut": Sample(
            "x", textures=(Texture("ilmenite", None, "joined", 5.0),)
        ),
        "free but too weak": Sample(
            "x", minerals=(MineralAmount("biotite", "mass_pct", 1.0, iron_wt_pct=17.0),)
        ),
    }
    for reason, sample in cases.items():
        found = evidence_of(sample, sand.mineralogy)
        assert found[reason] == "measured"
        assert {k for k, v in found.items() if v != "prior"} == {reason}
    sieved = evidence_of(Sample("x", sieves=(SieveClass(500.0, 0.0, 100.0),)), sand.mineralogy)
    assert sieved["free but too fine or too coarse"] == "fitted"
    assert evidence_of(Sample("x"), sand.mineralogy, True)["missed by the machine"] == "fitted"
