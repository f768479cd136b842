"""Headings: near misses are refused with the nearest name, others are kept and noted."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from feedchar.sample.gathered import SPECS
from feedchar.sample.names import fold, letters_apart, nearest
from feedchar.sample.oxides import OXIDE_NAMES, oxide_heading, oxide_name

SIEVES = "passing_um,retained_um,mass_g,{}\n500,pan,10,{}\n"


@pytest.mark.parametrize(
    ("heading", "meant"),
    [
        ("Fe203", "Fe2O3"),
        ("TiO2_pmm", "TiO2_ppm"),
        ("TiO", "TiO2"),
        ("Al2O", "Al2O3"),
        ("Mn0", "MnO"),
        ("K20", "K2O"),
        ("Fe2O3_totl", "Fe2O3_total"),
        ("Cr203_ppm", "Cr2O3"),
    ],
)
def test_an_oxide_misspelt_is_refused_with_the_nearest(refused, heading, meant):
    error = refused({"sieves.csv": SIEVES.format(heading, 0.1)})
    assert error.row == 1
    assert f'"{meant}"' in error.remedy


@pytest.mark.parametrize(
    ("heading", "meant"),
    [
        ("masspct", "mass_pct"),
        ("mass_pc", "mass_pct"),
        ("mas_pct", "mass_pct"),
        ("ponts", "points"),
    ],
)
def test_a_column_misspelt_is_refused_with_the_nearest(refused, heading, meant):
    error = refused(minerals=f"mineral,volume_pct,{heading}\nquartz,100,\n")
    assert f'"{meant}"' in error.remedy


def test_a_column_of_ones_own_is_kept_and_noted(read):
    sample = read(minerals="mineral,mass_pct,colour,remark\nquartz,99,pale,x\nbiotite,1,,\n")
    assert [(e.column, e.values) for e in sample.extras] == [
        ("colour", ("pale", "")),
        ("remark", ("x", "")),
    ]
    assert [n.code for n in sample.notes] == ["extra-column", "extra-column"]


@pytest.mark.parametrize("heading", ["Fe", "Iron_Fe", "colour"])
def test_iron_that_does_not_say_its_form_is_not_passed_over(read, refused, heading):
    text = f"treatment,mass_in_g,mass_out_g,{heading}\nscrub,500,490,0.1\n"
    if heading.startswith("Fe"):
        assert "in which form" in refused({"diagnostics.csv": text}).problem
    else:
        assert read({"diagnostics.csv": text}).extras[0].column == heading


@pytest.mark.parametrize("heading", ["Mass_Pct", "mass pct", "MASS-PCT", " mass_pct "])
def test_case_spaces_and_hyphens_do_not_count_in_a_heading(read, heading):
    assert read(minerals=f"Mineral,{heading}\nquartz,100\n").minerals[0].value == 100


def test_a_table_without_its_heading_is_told_so(refused):
    assert 'no column "mineral"' in refused(minerals="quartz,99\nbiotite,1\n").problem


def test_a_heading_in_two_rows_is_refused(refused):
    error = refused(minerals="mineral,mass_pct\n,wt %\nquartz,100\n")
    assert error.row == 2


def test_every_known_heading_is_found_and_none_is_near_another():
    for spec in SPECS.values():
        names = [column.name for column in spec.columns]
        for name in names:
            assert spec.find(name) is spec.column(name)
            others = [other for other in names if other != name]
            near = nearest(name, others)
            # Twins such as splitter_mm are told apart by exact match, which goes first.
            assert near is None or spec.find(near) is not spec.find(name)


@pytest.mark.parametrize("name", OXIDE_NAMES)
def test_every_oxide_is_known_with_each_unit(name):
    assert oxide_heading(name).name == name
    assert oxide_heading(f"{name}_ppm").per_wt_pct == 10_000
    assert oxide_heading(f"{name}_wt_pct").per_wt_pct == 1
    assert oxide_heading(f"{name} (%)").name == name
    assert oxide_heading(f"{name}_sd_wt_pct", with_sd=True).is_sd


def test_subscripts_and_case_name_the_same_oxide():
    assert oxide_name("Fe₂O₃") == oxide_name("FE2O3") == oxide_name(" fe2o3 ") == "Fe2O3"
    assert oxide_name("TFe2O3") == oxide_name("Fe2O3T") == "Fe2O3_total"


@given(st.text(max_size=12), st.text(max_size=12))
def test_distance_between_words_is_a_symmetric_count_of_edits(first, second):
    distance = letters_apart(first, second)
    assert distance == letters_apart(second, first)
    assert abs(len(first) - len(second)) <= distance <= max(len(first), len(second))
    assert (distance == 0) == (first == second)


@given(st.text(max_size=40))
def test_folding_a_name_twice_changes_nothing(text):
    assert fold(fold(text)) == fold(text)


def test_accents_composed_or_not_and_no_break_spaces_meet():
    assert fold("pép\u00a0ite") == fold("PE\u0301P ITE")


@pytest.mark.parametrize("heading", ["%", "wt%", "amount", "Massen-%"])
def test_amounts_without_a_known_unit_are_told_the_heading_for_per_cent(refused, heading):
    error = refused({"minerals.csv": f"mineral,{heading}\nquartz,96\nbiotite,4\n"})
    assert "mass_pct is per cent by mass" in str(error)
