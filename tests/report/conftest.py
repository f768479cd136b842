"""An invented result, for the report alone: no bag, pit or laboratory of this name exists."""

from __future__ import annotations

from dataclasses import replace

import pytest

from feedchar.results import (
    AgreementResult,
    Answer,
    AssayResult,
    Basis,
    BestMeetingLimit,
    BestPair,
    BestPossible,
    Characterisation,
    CurvePoint,
    DirtiestFeed,
    InputFiles,
    IronLine,
    LimitRow,
    MachineRun,
    MachinesCompared,
    MeasuredOxide,
    MeasureNext,
    MineralResult,
    OutletResult,
    OxideResidual,
    ProductResult,
    ResponseLine,
    SearchedSetting,
    SettingResult,
    StayLine,
    UnseenIron,
)
from feedchar.sample.records import Note, SourceFile
from feedchar.uncertainty.summary import Uncertain


def about(typical: float, relative: float = 0.1) -> Uncertain:
    """An uncertain number spread evenly about its typical value."""
    half = abs(typical) * relative
    return Uncertain(typical, typical, half / 1.6, typical - half, typical, typical + half)


def outlet(share: float, of_feed: float, iron: float, iron_share: float) -> OutletResult:
    return OutletResult(
        yield_pct=about(share, 0.03),
        yield_of_roll_feed_pct=about(of_feed, 0.03),
        assay_wt_pct={
            "SiO2": about(98.9, 0.002),
            "TiO2": about(0.031, 0.25),
            "Al2O3": about(0.52),
            "Fe2O3": about(iron, 0.35),
        },
        specks_per_100_g=about(210.0, 0.6),
        iron_share_pct=about(iron_share),
    )


MINERALS = (
    # mineral, role, wt %, Fe2O3 %, chi, % of iron, to magnetics %, T needed, T2/m, m/s, reports to
    ("biotite", "removable", 0.17, 32.0, 5.5e-7, 29.9, 97.0, 0.31, 38.0, 2.4, "permanent roll"),
    ("ilmenite", "removable", 0.085, 52.0, 1.2e-6, 24.3, 98.0, 0.16, 12.0, 3.6, "strong drum"),
    ("hematite", "removable", 0.024, 99.0, 7.9e-7, 13.1, 95.0, 0.27, 29.0, 2.6, "permanent roll"),
    ("muscovite", "removable", 0.30, 2.4, 4.8e-8, 4.0, 75.0, 0.98, 390.0, 1.2, "stronger machine"),
    ("schorl", "stays", 0.05, 14.0, 1.9e-7, 3.9, 67.0, 0.52, 110.0, 1.8, "permanent roll"),
    ("k-feldspar", "host", 2.1, 0.05, -5.0e-9, 0.6, 2.1, None, None, None, "no magnet"),
    ("quartz", "host", 97.24, 0.01, -6.2e-9, 5.2, 2.0, None, None, None, "no magnet"),
    ("unseen", "stays", 0.031, 90.0, 9.0e-7, 19.0, 4.0, None, None, None, "no magnet"),
)


def build() -> Characterisation:
    minerals = tuple(
        MineralResult(
            mineral=mineral,
            mass_pct=about(mass, 0.3 if role != "host" else 0.01),
            density_kg_m3=2650.0 if role == "host" else 3600.0,
            Fe2O3_wt_pct=about(iron),
            mass_susceptibility_m3_kg=about(chi, 0.3),
            share_of_iron_pct=about(of_iron, 0.3),
            status="typical",
            source="curie_model",
            role=role,
            mass_range_pct=None,
            to_magnetics_pct=about(taken, 0.03),
        )
        for mineral, role, mass, iron, chi, of_iron, taken, *_ in MINERALS
    )
    sizes = ((500.0, 250.0, 0.3), (250.0, 125.0, 0.6), (125.0, 75.0, 0.1))
    iron: list[IronLine] = []
    response: list[ResponseLine] = []
    for mineral, role, _, _, _, of_iron, taken, tesla, force, speed, takes in MINERALS:
        forms = {"unseen": (("not found", 1.0),), "quartz": (("inside", 1.0),)}.get(
            mineral, (("inside", 1.0),) if role == "host" else (("free", 0.9), ("joined", 0.1))
        )
        for form, part in forms:
            for coarse, fine, weight in sizes:
                share = of_iron * part * weight
                iron.append(IronLine(mineral, form, coarse, fine, share * 0.00182, share))
                locked = form == "joined"
                response.append(
                    ResponseLine(
                        mineral=mineral,
                        form=form,
                        passing_um=coarse,
                        retained_um=fine,
                        reports_to="no magnet" if locked else takes,
                        force_product_needed_tesla2_m=None if locked else force,
                        flux_density_needed_tesla=None if locked else tesla,
                        belt_speed_max_m_s=None if locked else speed,
                        share_to_magnetics=0.29 if locked else taken / 100,
                    )
                )
    product = ProductResult(
        non_magnetics=outlet(92.9, 96.2, 0.0405, 20.7),
        middlings=outlet(1.4, 1.4, 0.82, 6.3),
        magnetics=outlet(2.3, 2.4, 4.15, 52.5),
        untreated=outlet(3.4, 3.5, 1.10, 20.5),
        iron_removal_pct=about(79.3, 0.05),
        sand_lost_pct=Uncertain(3.1, 3.2, 1.4, 1.5, 3.1, 6.0),
        sand_lost_mostly_below_um=106.0,
        refractory_grains_per_100_g=about(3.4, 0.8),
    )
    stays = (
        StayLine("stain", 140.0, 34.6, ("unseen on quartz",), "scrub or acid", "prior"),
        StayLine("joined grain below the cut", 88.0, 21.7, ("biotite",), "finer grind", "prior"),
        StayLine("inside the crystal", 60.0, 14.8, ("quartz",), "nothing dry", "prior"),
        StayLine("not found", 50.0, 12.3, ("unseen",), "find it first", "fitted"),
        StayLine("free but too weak", 36.0, 8.9, ("muscovite",), "slower belt", "measured"),
        StayLine("missed by the machine", 31.0, 7.7, ("ilmenite",), "a second pass", "prior"),
    )
    grade = ((50.0, 0.021), (80.0, 0.030), (90.0, 0.038), (95.0, 0.055), (100.0, 0.182))
    return Characterisation(
        command="assess",
        seed=1,
        trials=2000,
        input=InputFiles(
            "Hollow Lane 7",
            (SourceFile("sample.toml", "ab" * 32), SourceFile("minerals.csv", "cd" * 32)),
        ),
        basis=Basis(
            feed="assayed",
            separation="not tested",
            assumptions_that_decide=(
                "how much of the unseen iron is stain (guess)",
                "3 % of a pass missed by the machine (guess)",
                "the whole bag goes to the machine",
            ),
        ),
        assay=AssayResult(
            predicted_wt_pct={"SiO2": about(98.7, 0.01), "Fe2O3": about(0.171, 0.3)},
            measured_wt_pct={
                "SiO2": MeasuredOxide(98.8, 0.2, False),
                "TiO2": MeasuredOxide(0.075, 0.004, False),
                "Cr2O3": MeasuredOxide(0.0005, 0.0003, True),
                "Fe2O3": MeasuredOxide(0.182, 0.004, False),
            },
            reconciled_wt_pct={
                "SiO2": about(98.75, 0.002),
                "TiO2": about(0.0746, 0.05),
                "Cr2O3": about(0.0003, 0.5),
                "Fe2O3": about(0.1818, 0.03),
            },
            agreement=AgreementResult(
                chi_square=3.1,
                predictive_probability=0.54,
                worst=(
                    OxideResidual("SiO2", 1.4),
                    OxideResidual("TiO2", 0.2),
                    OxideResidual("Fe2O3", 0.05),
                ),
                degrees_of_freedom=3,
                settled=True,
                doubtful=None,
            ),
        ),
        unseen_iron=UnseenIron(about(0.0346, 0.5), about(19.0, 0.5)),
        minerals=minerals,
        iron=tuple(iron),
        response=tuple(response),
        setting=SettingResult(
            roll="fine-100",
            roll_radius_m=0.05,
            pitch_m=0.005,
            belt_thickness_m=0.0002,
            belt_speed_m_s=1.5,
            splitter_m=0.01,
            passes=2,
            treated_passing_um=500.0,
            treated_retained_um=75.0,
            surface_flux_density_tesla=0.82,
            force_product_at_belt_tesla2_m=310.0,
            splitter_2_m=0.03,
            drum_first="strong",
            chosen_by="searched",
        ),
        product=product,
        best_possible=BestPossible(
            every_grain_sorted=tuple(CurvePoint(y, 0.6 * f) for y, f in grade),
            ideal_magnet=tuple(CurvePoint(y, 0.8 * f) for y, f in grade),
            this_roll=tuple(CurvePoint(y, f) for y, f in grade),
            best_meeting_limit=BestMeetingLimit("this_roll", 80.0, 0.030),
            at_product_yield={
                "every_grain_sorted": 0.025,
                "ideal_magnet": 0.031,
                "this_roll": 0.0405,
            },
            other_treatments=(("scrub and deslime", 0.031, 91.5), ("a third pass", 0.028, 90.1)),
        ),
        iron_that_stays=stays,
        answer=Answer(
            limit={"Fe2O3_max_pct": 0.03, "yield_min_pct": 90.0},
            status="fails",
            chance_of_meeting_limit=0.07,
            sentence=(
                "Unlikely to meet at most 0.03 % Fe2O3, a yield of at least 90 % of the dry bag: "
                "about 7 in 100, for the mean of this bag. What decides is at most 0.03 % Fe2O3 "
                "(about 8 in 100 by itself)."
            ),
            rows=(
                LimitRow("Fe2O3", "wt_pct", "max", 0.03, 0.041, 0.029, 0.058, 0.08),
                LimitRow("yield", "pct_of_dry_bag", "min", 90.0, 92.9, 90.2, 95.0, 0.96),
            ),
        ),
        measure_next=(
            MeasureNext("scrub 500 g and assay both parts", "wt_pct", 0.003, 0.41, 4.0),
            MeasureNext("count 300 dark grains", "pct", 6.0, 0.22, 6.0),
            MeasureNext("roll at three speeds, 2 kg each", "wt_pct", 0.004, 0.18, None),
        ),
        notes=(
            Note("titanium", "TiO2 0.030 % more than the ilmenite gives", "warning"),
            Note("pan", "pan 3.4 %, dry sieved: wash and repeat", "warning"),
            Note("flake-thickness", "thickness of mica is a tenth of its size (guess)", "note"),
        ),
        searched=(
            SearchedSetting(1.0, 0.01, 1, 0.044, 93.0, False),
            SearchedSetting(1.5, 0.01, 2, 0.0405, 92.9, True),
            SearchedSetting(2.0, 0.01, 2, 0.052, 94.8, False),
        ),
        best_pair=BestPair("scrub 500 g and assay both parts", "count 300 dark grains", 0.57),
        doubt={"stain": 0.41, "joined grain below the cut": 0.39, "missed by the machine": -0.01},
        dirtiest_feed=DirtiestFeed("Fe2O3", 0.03, 0.14, None),
        machines=MachinesCompared(
            MachineRun("permanent-roll", 1.5, 0.041, 92.9, 3.1, None),
            MachineRun("induced-roll", 1.0, 0.043, 91.5, 4.4, 0.002),
        ),
        received_kg=24.6,
        moisture_pct=3.1,
        sample_note="washed sand, invented",
        origin="washed",
    )


@pytest.fixture
def invented() -> Characterisation:
    """A glass sand with an assay, a limit, a search and notes."""
    return build()


@pytest.fixture
def invented_thin() -> Characterisation:
    """The same with nothing but minerals, one trial, and no answer."""
    full = build()

    def bare(value: Uncertain) -> Uncertain:
        return Uncertain(value.typical, None, None, None, None, None)

    def bare_outlet(part: OutletResult) -> OutletResult:
        return replace(
            part,
            yield_pct=bare(part.yield_pct),
            yield_of_roll_feed_pct=bare(part.yield_of_roll_feed_pct),
            assay_wt_pct={oxide: bare(value) for oxide, value in part.assay_wt_pct.items()},
            specks_per_100_g=bare(part.specks_per_100_g),
            iron_share_pct=None,
        )

    return replace(
        full,
        trials=0,
        basis=Basis("not assayed", "not tested", ()),
        assay=AssayResult(
            {oxide: bare(value) for oxide, value in full.assay.predicted_wt_pct.items()},
            {},
            {oxide: bare(value) for oxide, value in full.assay.predicted_wt_pct.items()},
            AgreementResult(None, None, ()),
        ),
        unseen_iron=UnseenIron(
            bare(full.unseen_iron.Fe2O3_wt_pct), bare(full.unseen_iron.share_of_iron_pct)
        ),
        minerals=tuple(
            replace(
                line,
                mass_pct=bare(line.mass_pct),
                Fe2O3_wt_pct=bare(line.Fe2O3_wt_pct),
                mass_susceptibility_m3_kg=bare(line.mass_susceptibility_m3_kg),
                share_of_iron_pct=bare(line.share_of_iron_pct),
                to_magnetics_pct=None,
            )
            for line in full.minerals
        ),
        product=ProductResult(
            bare_outlet(full.product.non_magnetics),
            bare_outlet(full.product.middlings),
            bare_outlet(full.product.magnetics),
            bare_outlet(full.product.untreated),
            bare(full.product.iron_removal_pct),
        ),
        best_possible=BestPossible((), (), (), None),
        answer=Answer({}, "no limit given", None, "Product iron near 0.04 %; no limit was given."),
        setting=replace(full.setting, chosen_by="default", splitter_2_m=None, drum_first=None),
        measure_next=(),
        notes=(),
        searched=(),
        best_pair=None,
        doubt={},
        dirtiest_feed=None,
        received_kg=None,
        moisture_pct=None,
        sample_note="",
        origin=None,
    )
