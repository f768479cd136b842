"""What the findings say of a result, before any renderer."""

from __future__ import annotations

from dataclasses import replace

import pytest

from feedchar.report.blocks import Block, Findings, Table, Words
from feedchar.report.carriers import taken_by
from feedchar.report.curve_readings import iron_at, yield_at
from feedchar.report.findings import assess_findings, check_findings, stays_findings
from feedchar.report.readings import size_class
from feedchar.results import (
    AgreementResult,
    Characterisation,
    CurvePoint,
    LimitRow,
    MachineRun,
    MachinesCompared,
    MeasuredOxide,
    OxideResidual,
    PassResult,
    ResponseLine,
)
from feedchar.sample.records import Note
from feedchar.uncertainty.summary import Uncertain


def block(findings: Findings, key: str) -> Block:
    return next(part for part in findings.blocks if part.key == key)


def words(part: Block) -> str:
    said = [f"{entry.mark} {entry.text}" for entry in part.parts if isinstance(entry, Words)]
    return "\n".join(said).replace("\u00a0", " ")


def table(part: Block) -> list[list[str]]:
    found = next(entry for entry in part.parts if isinstance(entry, Table))
    return [[str(cell).replace("\u00a0", " ") for cell in row.cells] for row in found.rows]


def test_the_answer_says_what_it_rests_on(invented: Characterisation) -> None:
    said = words(block(assess_findings(invented), "answer"))
    assert "For this bag, not the pit" in said
    assert "No test run on this sand" in said
    assert "3 % of a pass missed by the machine (guess)" in said
    assert "1 more under HOW SURE" in said
    assert "the whole bag goes" in words(block(assess_findings(invented), "doubt"))


@pytest.mark.parametrize(
    ("below", "said"),
    [
        (False, "holds 0.00050 % Cr2O3 (sd 0.00030): the product, at most that over its yield."),
        (True, "holds below 0.00050 % Cr2O3: the product, at most that over its yield."),
    ],
)
def test_an_oxide_that_no_phase_carries_cannot_exceed_what_the_bag_holds(
    invented: Characterisation, below: bool, said: str
) -> None:
    nothing = Uncertain(0.0, 0.0, 0.0, 0.0, 0.0, 0.0)
    clean = invented.product.non_magnetics
    bare = replace(clean, assay_wt_pct={**clean.assay_wt_pct, "Cr2O3": nothing})
    rows = (LimitRow("Cr2O3", "wt_pct", "max", 0.0005, None, None, None, None),)
    held = MeasuredOxide(0.0005, 0.0003, below)
    result = replace(
        invented,
        product=replace(invented.product, non_magnetics=bare),
        answer=replace(invented.answer, rows=rows),
        assay=replace(invented.assay, measured_wt_pct={"Cr2O3": held}),
    )
    told = words(block(assess_findings(result), "product"))
    assert said in told
    unmeasured = replace(result, assay=replace(result.assay, measured_wt_pct={}))
    told = words(block(assess_findings(unmeasured), "product"))
    assert "carries Cr2O3, so nothing is known of its way." in told
    assert "The bag holds" not in told


def test_two_bounds_on_one_oxide_are_both_shown(invented: Characterisation) -> None:
    rows = tuple(
        LimitRow("TiO2", "wt_pct", bound, asked, 0.031, 0.02, 0.04, 0.5)
        for bound, asked in (("min", 0.01), ("max", 0.03))
    )
    asked = replace(invented, answer=replace(invented.answer, rows=rows))
    told = [row[3] for row in table(block(assess_findings(asked), "product")) if "TiO2" in row[0]]
    assert told == ["min 0.010", "max 0.030"]


def test_the_other_oxides_of_the_product_are_told_too(invented: Characterisation) -> None:
    said = words(block(assess_findings(invented), "product"))
    assert said == "Also, wt % SiO2 98.9, Al2O3 0.520."


def test_a_tested_separation_is_not_called_untested(invented: Characterisation) -> None:
    tested = replace(invented, basis=replace(invented.basis, separation="tested"))
    findings = assess_findings(tested)
    assert findings.basis == "FEED ASSAYED, SEPARATION TESTED"
    assert "No test run" not in words(block(findings, "answer"))


def test_a_named_use_yields_to_the_contract(invented: Characterisation) -> None:
    limit = {"use": "clear glass sand"} | dict(invented.answer.limit)
    asked = replace(invented, answer=replace(invented.answer, limit=limit))
    assert "your contract goes before it" in words(block(assess_findings(asked), "answer"))


def test_the_product_stands_beside_what_is_asked(invented: Characterisation) -> None:
    rows = {row[0]: row[1:] for row in table(block(assess_findings(invented), "product"))}
    assert rows["Fe2O3, all iron, wt %"] == [
        "0.041", "0.029 to 0.058", "max 0.030", "8 in 100", "unlikely",
    ]  # fmt: skip
    assert rows["yield, % of dry bag"][-1] == "likely"
    assert rows["TiO2, wt %"][2:] == ["-", "-", ""]


def test_a_value_that_rounds_to_its_limit_shows_more_digits(invented: Characterisation) -> None:
    row = LimitRow("Fe2O3", "wt_pct", "max", 0.03, 0.03004, 0.02, 0.04, 0.49)
    near = replace(invented, answer=replace(invented.answer, rows=(row,)))
    assert table(block(assess_findings(near), "product"))[0][1] == "0.03004"


def test_a_row_without_a_chance_claims_none(invented: Characterisation) -> None:
    row = LimitRow("Fe2O3", "wt_pct", "max", 0.03, 0.02, None, None, None)
    unknown = replace(invented, answer=replace(invented.answer, rows=(row,)))
    assert table(block(assess_findings(unknown), "product"))[0][4:] == ["-", "no chance given"]


def test_whatever_else_is_asked_gets_a_row(invented: Characterisation) -> None:
    row = LimitRow("K2O+Na2O", "wt_pct", "min", 10.0, 11.2, 10.8, 11.5, 0.99)
    asked = replace(invented, answer=replace(invented.answer, rows=(row,)))
    rows = {line[0]: line for line in table(block(assess_findings(asked), "product"))}
    assert rows["K2O+Na2O, wt %"][3] == "min 10.0"


def test_mass_and_iron_add_up_to_a_hundred(invented: Characterisation) -> None:
    rows = table(block(assess_findings(invented), "balance"))
    assert [row[0] for row in rows] == [
        "not treated", "magnetics", "middlings", "product", "bag",
    ]  # fmt: skip
    for column in (1, 2):
        parts = [float(row[column]) for row in rows[:-1]]
        assert sum(parts) == pytest.approx(100.0, abs=0.06)
        assert float(rows[-1][column]) == pytest.approx(100.0, abs=0.06)


def test_an_assay_below_detection_is_never_a_figure(invented: Characterisation) -> None:
    measured = dict(invented.assay.measured_wt_pct)
    measured["Fe2O3"] = replace(measured["Fe2O3"], value=0.01, below_detection=True)
    low = replace(invented, assay=replace(invented.assay, measured_wt_pct=measured))
    assert "below 0.010 % measured" in words(block(assess_findings(low), "feed"))
    check = table(block(check_findings(low), "agreement"))
    assert next(row for row in check if row[0] == "Fe2O3")[1] == "<0.010"


def test_unseen_iron_is_told_with_its_limits(invented: Characterisation) -> None:
    said = words(block(assess_findings(invented), "feed"))
    assert "Named phases carry 0.147 of 0.182 %; 0.035 % is unseen" in said
    assert "only its sum with undetected oxides is well known" in said


def test_iron_is_shown_by_phase_and_by_form(invented: Characterisation) -> None:
    part = block(assess_findings(invented), "iron")
    rows = table(part)
    assert rows[0] == ["biotite", "0.170", "29.9", "permanent roll", "97.0"]
    assert sum(float(row[2]) for row in rows) == pytest.approx(100.0, abs=0.2)
    assert "free grains 67.7" in words(part)


def test_each_phase_reports_somewhere_at_a_field_in_both_units(
    invented: Characterisation,
) -> None:
    rows = {row[0]: row[1:] for row in table(block(assess_findings(invented), "response"))}
    assert rows["ilmenite"] == ["250-125", "strong drum", "0.16 (1.6)", "12", "3.6", "98.0"]
    assert rows["quartz"] == ["250-125", "no magnet", "-", "-", "-", "2.0"]
    si = {row[0]: row for row in table(block(assess_findings(invented, units="si"), "response"))}
    assert si["ilmenite"][3] == "0.16"


def test_the_lines_that_stay_add_up_to_the_product(invented: Characterisation) -> None:
    part = block(assess_findings(invented), "stays")
    total = sum(float(row[1]) for row in table(part))
    assert f"adds up to {total:.0f}" in part.subtitle
    iron = invented.product.non_magnetics.assay_wt_pct["Fe2O3"].typical
    assert iron is not None
    assert total == pytest.approx(1e4 * iron)


def test_what_stays_tells_evidence_and_remedy(invented: Characterisation) -> None:
    said = words(block(stays_findings(invented), "stays"))
    assert "stain (guess): scrub or acid." in said
    assert "free but too weak (measured): slower belt." in said


def test_grade_and_yield_asked_by_telephone_are_answered(invented: Characterisation) -> None:
    said = words(block(assess_findings(invented, at_grade=0.03, at_yield=95.0), "could be"))
    assert "yield at 0.030 % Fe2O3" in said
    assert "this machine 80.0 %" in said
    assert "Fe2O3 at 95.0 % yield" in said
    assert "this machine 0.055 %" in said


def test_doubt_next_steps_and_the_dirtiest_feed_are_told(invented: Characterisation) -> None:
    findings = assess_findings(invented)
    assert "Where the doubt sits stain 41 %, joined grain below the cut 39 %." in words(
        block(findings, "doubt")
    )
    said = words(block(findings, "next"))
    assert "1 scrub 500 g and assay both parts: removes 41 % of the doubt, about 4 h." in said
    assert "Best two together scrub 500 g and assay both parts, count 300 dark grains: 57 %" in said
    assert "0.14 % Fe2O3 in the typical case, none in 9 of 10" in words(
        block(findings, "could be")
    ).replace("0.140", "0.14")


def test_curves_are_read_between_their_points() -> None:
    curve = (CurvePoint(50.0, 0.02), CurvePoint(90.0, 0.04), CurvePoint(100.0, None))
    assert iron_at(curve, 70.0) == pytest.approx(0.03)
    assert iron_at(curve, 95.0) is None
    assert yield_at(curve, 0.03) == pytest.approx(70.0)
    assert yield_at(curve, 0.5) == 90.0
    assert yield_at(curve, 0.01) is None
    assert iron_at((), 70.0) is None


def test_notes_are_told_gravest_first(invented: Characterisation) -> None:
    notes = (Note("a", "small", "note"), Note("b", "grave", "stop"), Note("c", "odd", "warning"))
    part = block(assess_findings(replace(invented, notes=notes)), "checks")
    said = [(entry.mark, entry.text) for entry in part.parts if isinstance(entry, Words)]
    assert said == [("STOP", "grave"), ("!", "odd"), ("-", "small")]


def test_a_clean_bag_says_that_no_rule_tripped(invented_thin: Characterisation) -> None:
    assert "No rule" in words(block(assess_findings(invented_thin), "checks"))


@pytest.mark.parametrize(
    ("residual", "notes", "verdict"),
    [
        (0.5, (), "AGREE."),
        (-2.4, (), "LOOK AGAIN."),
        (0.5, (Note("x", "odd", "warning"),), "LOOK AGAIN."),
        (4.5, (), "DISAGREE."),
        (0.5, (Note("x", "grave", "stop"),), "DISAGREE."),
    ],
)
def test_check_gives_one_verdict(
    residual: float, notes: tuple[Note, ...], verdict: str, invented: Characterisation
) -> None:
    fit = AgreementResult(9.0, 0.2, (OxideResidual("Fe2O3", residual),), 3, True, None)
    result = replace(invented, notes=notes, assay=replace(invented.assay, agreement=fit))
    part = block(check_findings(result), "agreement")
    assert words(part).strip().startswith(verdict)
    row = next(line for line in table(part) if line[0] == "Fe2O3")
    assert row[5] == f"{residual:+.1f}"


def test_check_names_the_datum_to_doubt(invented: Characterisation) -> None:
    fit = replace(invented.assay.agreement, doubtful="the K2O of laboratory A", settled=False)
    result = replace(invented, assay=replace(invented.assay, agreement=fit))
    findings = check_findings(result)
    assert "Doubtful: the K2O of laboratory A" in words(block(findings, "agreement"))
    assert "had not settled" in words(block(findings, "agreement"))
    assert "repeat the K2O of laboratory A" in words(block(findings, "settle"))


def test_a_hopeless_fit_is_told_in_words(invented: Characterisation) -> None:
    fit = replace(invented.assay.agreement, chi_square=930.0, predictive_probability=0.0)
    result = replace(invented, assay=replace(invented.assay, agreement=fit))
    said = words(block(check_findings(result), "agreement"))
    assert "worse by chance alone in fewer than 1 of 100 cases" in said


def test_check_without_an_assay_asks_for_one(invented_thin: Characterisation) -> None:
    findings = check_findings(invented_thin)
    assert "UNCHECKED" in words(block(findings, "agreement"))
    assert "a head assay" in words(block(findings, "settle"))


def test_a_phase_is_given_to_the_machine_that_takes_most_of_it() -> None:
    def line(machine: str) -> ResponseLine:
        return ResponseLine("m", "free", 500, 100, machine, None, None, None, None)

    roll, never = line("permanent roll"), line("no magnet")
    assert taken_by([(roll, 0.9), (never, 0.1)], "2 m/s") == "permanent roll"
    assert taken_by([(roll, 0.7), (never, 0.3)], "2 m/s") == "permanent roll, part no magnet"
    assert taken_by([], "2 m/s") == "-"


def test_what_a_slower_belt_would_take_is_not_said_to_answer_no_magnet() -> None:
    mica = ResponseLine("muscovite", "free", 250, 180, "no magnet", 2851.0, 2.43, 1.1, 0.25)
    assert taken_by([(mica, 1.0)], "2 m/s") == "none at 2 m/s"
    quartz = ResponseLine("quartz", "free", 250, 180, "no magnet", None, None, None, 0.02)
    assert taken_by([(quartz, 1.0)], "2 m/s") == "no magnet"


def test_passes_at_two_speeds_are_told_by_both_and_by_the_slower(
    invented: Characterisation,
) -> None:
    passes = (PassResult(1.5, 0.01, None), PassResult(1.0, 0.01, None))
    run = MachineRun("permanent-roll", 1.5, 0.023, 91.5, 7.8, None)
    other = MachineRun("induced-roll", 1.0, 0.023, 91.9, 7.4, 0.002)
    two = replace(
        invented,
        setting=replace(invented.setting, belt_speed_m_s=1.5, each_pass=passes),
        machines=MachinesCompared(run, other),
    )
    findings = assess_findings(two)
    assert "permanent roll at 1.5 then 1 m/s 0.023 %" in words(block(findings, "setting"))
    assert "What needs less at 1 m/s is held" in words(block(findings, "response"))


@pytest.mark.parametrize(
    ("passing", "retained", "text"),
    [(500.0, 250.0, "500-250"), (75.0, 0.0, "<75"), (None, 500.0, ">500"), (None, None, "all")],
)
def test_sizes_are_written_coarse_end_first(
    passing: float | None, retained: float | None, text: str
) -> None:
    assert size_class(passing, retained) == text


def test_cautions_follow_what_is_in_the_bag(invented: Characterisation) -> None:
    def said(*names: str) -> str:
        phases = tuple(replace(invented.minerals[0], mineral=name) for name in names)
        return words(block(assess_findings(replace(invented, minerals=phases)), "cautions"))

    always = said("biotite")
    for word in ("implants", "fingers", "nip points", "Static", "hot sand", "Local codes"):
        assert word in always
    assert "Fine quartz dust" in always  # no method proves a rock free of it
    assert "Riebeckite can be fibrous" in said("riebeckite")
    assert "Monazite, zircon may be radioactive" in said("monazite", "zircon")
    assert "trained laboratories" in always  # the remedies name acid
