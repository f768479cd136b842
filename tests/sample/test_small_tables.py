"""Phases, fractions, textures, diagnostics and tests of a separator."""

from __future__ import annotations

import math

import pytest


def test_a_phase_of_ones_own_carries_what_was_measured(read):
    text = (
        "phase,like,density_kg_m3,mass_susceptibility_m3_kg,mass_susceptibility_sd_m3_kg,"
        "Fe2O3_wt_pct,Fe2O3_sd_wt_pct\nred clay,kaolinite,2500,3e-8,1e-8,6,2\n"
    )
    sample = read({"phases.csv": text}, minerals="mineral,mass_pct\nquartz,95\nRed  Clay,5\n")
    (phase,) = sample.phases
    assert (phase.phase, phase.like, phase.density_kg_m3) == ("red clay", "kaolinite", 2500)
    assert phase.oxides_wt_pct == {"Fe2O3": 6}
    assert phase.oxides_sd_wt_pct == {"Fe2O3": 2}
    assert sample.minerals[1].mineral == "red clay"


@pytest.mark.parametrize(
    ("row", "says"),
    [
        ("quartz,,2650,", "name of quartz"),
        ("silica,,2650,", "name of quartz"),
        ("mica,,2650,", "group word"),
        ("unseen,,2650,", "no method has named"),
        ("slag,,,", "neither a density nor a mineral"),
        ("slag,,2.6,", "500 to 23000"),
        ("slag,mica,2650,", "group"),
        ("slag,,2650,120", "0 to 100"),
        ("slag,,2650,<1", "below detection"),
    ],
)
def test_a_phase_that_cannot_be_used_is_refused(refused, row, says):
    error = refused({"phases.csv": f"phase,like,density_kg_m3,Fe2O3_wt_pct\n{row}\n"})
    assert error.row == 2
    assert says in error.problem


def test_a_phase_twice_is_refused_with_both_rows(refused):
    error = refused({"phases.csv": "phase,density_kg_m3\nslag,3000\nSLAG,3100\n"})
    assert (error.row, "row 2" in error.problem) == (3, True)


def test_oxides_of_a_phase_need_not_sum_but_not_above_100(read, refused):
    head = "phase,density_kg_m3,SiO2_wt_pct,Fe2O3_wt_pct\n"
    assert read({"phases.csv": head + "slag,3000,40,10\n"}).phases
    assert "sum to 120" in refused({"phases.csv": head + "slag,3000,60,60\n"}).problem


SINKS = (
    "mineral,mass_pct,grains,fraction\nquartz,99,,\nbiotite,1,,\nbiotite,,30,{}\nilmenite,,9,{}\n"
)


def test_minerals_of_a_fraction_need_its_weight(read, refused):
    weights = {"fractions.csv": "fraction,mass_g,from_g\nSinks,2.5,500\n"}
    sample = read(weights, minerals=SINKS.format("sinks", "SINKS"))
    assert sample.fractions[0].mass_pct == 0.5
    assert [m.fraction for m in sample.minerals] == [None, None, "Sinks", "Sinks"]
    assert refused(weights, SINKS.format("sinks", "floats")).row == 5
    assert "fractions.csv" in refused({}, SINKS.format("sinks", "sinks")).remedy


@pytest.mark.parametrize("row", ["a,1,2,", "a,,2,", "a,,,", "a,,500,2", "a,101,,", "a,-1,,"])
def test_a_fraction_without_a_sound_weight_is_refused(refused, row):
    error = refused({"fractions.csv": f"fraction,mass_pct,mass_g,from_g\n{row}\n"})
    assert error.row == 2


def test_a_fraction_twice_is_refused(refused):
    error = refused({"fractions.csv": "fraction,mass_pct\nsinks,1\nSinks,2\n"})
    assert (error.row, "row 2" in error.problem) == (3, True)


def test_oxides_of_a_fraction_are_read(read):
    text = "fraction,mass_pct,Fe2O3,basis\nsinks,1,19,as received\n"
    sample = read({"fractions.csv": text, "sample.toml": "moisture_pct = 5\n"})
    assert sample.fractions[0].oxides_wt_pct == {"Fe2O3": pytest.approx(20)}


def test_textures_are_read_and_words_are_kept_as_written(read):
    text = (
        "mineral,host,form,share_pct,grain_size_um,thickness_um,words\n"
        'biotite,,free,90,300,30,"thin, bent"\nbiotite,quartz,locked,10,,,\n'
        "ilmenite,,,,,,seen in two grains\n"
    )
    sample = read({"textures.csv": text})
    assert [(t.mineral, t.host, t.form, t.share_pct) for t in sample.textures] == [
        ("biotite", None, "free", 90),
        ("biotite", "quartz", "joined", 10),
    ]
    assert sample.textures[0].words == "thin, bent"
    assert [n.code for n in sample.notes] == ["texture-words"]
    assert "seen in two grains" in sample.notes[0].text


@pytest.mark.parametrize(
    ("row", "column"),
    [
        ("biotite,,free,110,,", "share_pct"),
        ("biotite,,fre,90,,", "form"),
        ("biotite,,,90,,", "form"),
        ("biotite,mica,joined,90,,", "host"),
        ("mica,,free,90,,", "mineral"),
        ("biotite,,free,90,30,300", "thickness_um"),
        ("biotite,,free,90,0,", "grain_size_um"),
        ("biotite,,free,90,-5,", "grain_size_um"),
    ],
)
def test_a_texture_that_cannot_be_used_is_refused(refused, row, column):
    head = "mineral,host,form,share_pct,grain_size_um,thickness_um\n"
    error = refused({"textures.csv": f"{head}{row}\n"})
    assert (error.row, error.column) == (2, column)


def test_shares_of_a_mineral_above_100_are_refused_where_they_pass_it(refused):
    text = "mineral,form,share_pct\nbiotite,free,60\nilmenite,free,90\nbiotite,joined,50\n"
    error = refused({"textures.csv": text})
    assert (error.row, "biotite sum to 110" in error.problem) == (4, True)


def test_a_texture_of_what_is_not_listed_is_a_warning(read):
    sample = read({"textures.csv": "mineral,form,share_pct\nschorl,free,60\n"})
    assert [(n.code, n.severity) for n in sample.notes] == [("texture-not-listed", "warning")]


@pytest.mark.parametrize(
    ("row", "gained"),
    [
        ("scrub,500,493,0.167,0.142", False),
        ("scrub,500,493,0.167,0.200", False),
        ("scrub,500,493,0.142,1.67", True),
        ("hot acid,500,480,0.05,0.2", True),
        ("burn-off,10,1,0.1,0.9", False),  # a tenth of the mass, the same iron
        ("hand magnet,500,2,0.1,20", False),  # what it took, not what was left
        ("mill blank,100,100,0.005,0.02", False),  # iron of the mill is what is asked
        ("scrub,,,0.1,0.9", False),
    ],
)
def test_more_iron_after_a_treatment_that_takes_iron_is_told(read, row, gained):
    head = "treatment,mass_in_g,mass_out_g,Fe2O3_in_wt_pct,Fe2O3_out_wt_pct\n"
    notes = [n for n in read({"diagnostics.csv": f"{head}{row}\n"}).notes
             if n.code == "iron-gained"]  # fmt: skip
    assert len(notes) == gained
    assert all("diagnostics.csv, row 2" in note.text for note in notes)


def test_diagnostics_are_read_by_their_treatment(read):
    text = (
        "treatment,mass_in_g,mass_out_g,Fe2O3_in_wt_pct,Fe2O3_out_wt_pct\n"
        "Scrubbing,500,492,0.2,0.15\nhand magnet,1000,0.1,,\nmill blank,50,50,<0.002,0.01\n"
    )
    found = read({"diagnostics.csv": text}).diagnostics
    assert [d.treatment for d in found] == ["scrub", "hand magnet", "mill blank"]
    assert found[2].below_detection == ("Fe2O3_in_wt_pct",)
    assert found[2].Fe2O3_in_wt_pct == 0.002


@pytest.mark.parametrize(
    "row", ["shake,1,1,0.1,0.1", "scrub,,,,", "scrub,500,600,,", "scrub,0,0,,", "scrub,1,1,tr,"]
)
def test_a_diagnostic_that_cannot_be_used_is_refused(refused, row):
    head = "treatment,mass_in_g,mass_out_g,Fe2O3_in_wt_pct,Fe2O3_out_wt_pct\n"
    assert refused({"diagnostics.csv": f"{head}{row}\n"}).row == 2


BAGS = (
    "test,from_bag,bag,product,mass_g,belt_speed_m_s,rpm,roll_diameter_mm,"
    "splitter_mm,splitter_2_mm\n"
)


def test_turns_of_a_roll_become_the_speed_of_its_face(read):
    sample = read({"tests.csv": BAGS + "T1,feed,1M,mags,10,,300,100,10,25\n"})
    (bag,) = sample.tests
    assert bag.belt_speed_m_s == pytest.approx(math.pi * 0.1 * 5)
    assert (bag.product, bag.splitter_m, bag.splitter_2_m) == ("magnetics", 0.010, 0.025)


@pytest.mark.parametrize(
    ("row", "column"),
    [
        ("T1,feed,1M,magnetic,10,0,,,,", "belt_speed_m_s"),
        ("T1,feed,1M,concentrate,10,1,,,,", "product"),
        ("T1,feed,1M,magnetics,-10,1,,,,", "mass_g"),
        ("T1,feed,1M,magnetics,10,,300,,,", "rpm"),
        ("T1,feed,1M,magnetics,10,5,300,100,,", "belt_speed_m_s"),
        ("T1,feed,1M,magnetics,10,1,,,25,10", "splitter_2_mm"),
        ("T1,1M,1M,magnetics,10,1,,,,", "from_bag"),
        ("T1,feed,,magnetics,10,1,,,,", "bag"),
    ],
)
def test_a_bag_of_a_test_that_cannot_be_used_is_refused(refused, row, column):
    error = refused({"tests.csv": BAGS + row + "\n"})
    assert (error.row, error.column) == (2, column)


def test_a_bag_weighed_twice_is_refused_with_both_rows(refused):
    rows = "T1,feed,1M,magnetics,10,1,,,,\nT1,feed,1m,non-magnetics,90,1,,,,\n"
    error = refused({"tests.csv": BAGS + rows})
    assert (error.row, "row 2" in error.problem) == (3, True)


WAITING = "test,bag,product,mass_g\n"


def test_a_bag_without_a_mass_is_not_weighed_yet(read):
    sample = read({"tests.csv": WAITING + "A,A1M,magnetics,\nA,A1N,non-magnetics,1890\n"})
    assert [bag.bag for bag in sample.tests] == ["A1N"]
    (note,) = [note for note in sample.notes if note.code == "not-weighed"]
    assert note.severity == "warning"
    assert '1 of 2 bags not weighed yet and left out ("A1M")' in note.text


def test_a_sheet_that_waits_for_every_mass_changes_nothing(read):
    sample = read({"tests.csv": WAITING + "A,A1M,magnetics,\nA,A1N,non-magnetics,\n"})
    assert sample.tests == ()
    (note,) = [note for note in sample.notes if note.code == "not-weighed"]
    assert note.severity == "note"


def test_a_bag_that_waits_is_still_checked(refused):
    error = refused({"tests.csv": WAITING + "A,A1M,magnetics,\nA,A1M,non-magnetics,\n"})
    assert (error.row, error.column) == (3, "bag")


def test_the_column_of_masses_must_be_there_all_the_same(refused):
    error = refused({"tests.csv": "test,bag,product\nA,A1M,magnetics\n"})
    assert 'no column "mass_g"' in str(error)
