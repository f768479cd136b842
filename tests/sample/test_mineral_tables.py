"""minerals.csv: bases, sums, traces, names."""

from __future__ import annotations

import random

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from feedchar.errors import InputError
from feedchar.sample.records import Place
from feedchar.sample.sums import CLOSURE_EDGE_PCT, close

HEAD = "mineral,mass_pct\n"


def table(*rows: tuple[str, object], heading: str = HEAD) -> str:
    return heading + "".join(f"{name},{value}\n" for name, value in rows)


def test_the_edge_of_closure_is_two_percent():
    assert CLOSURE_EDGE_PCT == 2.0


@pytest.mark.parametrize("total", [98.0, 98.5, 99.0, 99.8, 100.0, 101.0, 102.0])
def test_a_sum_within_the_edge_is_read_and_what_is_missing_is_a_phase(read, total):
    sample = read(minerals=table(("quartz", total - 5), ("biotite", 5)))
    amounts = {m.mineral: m.value for m in sample.minerals}
    missing = 100 - total
    assert amounts.get("unidentified", 0.0) == pytest.approx(max(missing, 0), abs=1e-9)
    said = [n.code for n in sample.notes if n.code.startswith("sum-")]
    assert said == ([] if total == 100 else ["sum-below-100" if missing > 0 else "sum-above-100"])


@pytest.mark.parametrize("total", [97.0, 97.99, 102.1, 150.0])
def test_a_sum_beyond_the_edge_is_refused(refused, total):
    error = refused(minerals=table(("quartz", total - 60), ("biotite", 60)))
    assert error.row == 3
    assert f"sums to {total:g} %" in error.problem


def test_rounding_of_the_entries_is_no_missing_mineral(read):
    rows = table(("quartz", 33.3), ("albite", 33.3), ("biotite", 33.3))
    assert [m.mineral for m in read(minerals=rows).minerals] == ["quartz", "albite", "biotite"]


def test_the_users_own_unidentified_takes_what_is_missing(read):
    rows = table(("quartz", 98), ("unidentified", 1))
    assert [(m.mineral, m.value) for m in read(minerals=rows).minerals] == [
        ("quartz", 98.0),
        ("unidentified", 2.0),
    ]


def test_what_is_below_detection_can_fill_the_gap(read):
    sample = read(minerals=table(("quartz", 99), ("biotite", "<0.5"), ("ilmenite", "<0.5")))
    assert [m.below_detection for m in sample.minerals] == [False, True, True]
    assert "unidentified" not in {m.mineral for m in sample.minerals}


def test_fractions_for_percent_are_suspected(refused):
    error = refused(minerals=table(("quartz", 0.97), ("biotite", 0.03)))
    assert "Fractions for percent" in error.remedy


def test_ppm_for_percent_is_suspected(refused):
    error = refused(minerals=table(("quartz", 970_000), ("biotite", 30_000)))
    assert error.row == 2
    assert "ppm divided by 10 000" in error.remedy


@pytest.mark.parametrize("value", ["-1", "-0.0001", "100.0000001", "101", "1e9"])
def test_a_percentage_below_0_or_above_100_is_refused(refused, value):
    error = refused(minerals=table(("quartz", value)))
    assert error.row == 2
    assert error.column == "mass_pct"
    assert "0 to 100" in error.problem


def test_one_mineral_through_two_aliases_is_refused_with_both_rows(refused):
    error = refused(minerals=table(("quartz", 97), ("schorl", 2), ("silica", 1)))
    assert error.row == 4
    assert "row 2" in error.problem
    assert '"silica" is quartz' in error.problem


def test_a_group_word_is_refused_with_the_members(refused):
    error = refused(minerals=table(("quartz", 99), ("mica", 1)))
    assert error.row == 3
    for member in ("muscovite", "biotite", "phlogopite"):
        assert member in error.problem


def test_an_unknown_mineral_is_refused_with_the_nearest(refused):
    error = refused(minerals=table(("quartz", 99), ("magnatite", 1)))
    assert "magnetite" in error.problem


@pytest.mark.parametrize(
    "name",
    ["Quartz", "QUARTZ", "qua\u200brtz", "\u00a0quartz\u00a0", "ｑｕａｒｔｚ", "silica"],
)
def test_names_are_compared_after_normalisation(read, name):
    text = table((name, 100))
    if "\u200b" in name:
        with pytest.raises(InputError) as caught:
            read(minerals=text)
        assert "\u200b" not in str(caught.value)
    else:
        assert read(minerals=text).minerals[0].mineral == "quartz"


def test_accents_composed_and_decomposed_are_one_name(read):
    for name in ("ägirin", "a\u0308girin", "ÄGIRIN"):
        assert read(minerals=table(("quartz", 99), (name, 1))).minerals[1].mineral == "aegirine"


@pytest.mark.parametrize(
    "name", ["[red]x[/]", "<script>", "\x1b[31mred", "=1+1", "@x", "\u202egnp.exe", '"a\nb"']
)
def test_a_hostile_name_is_data_in_a_phase_and_harmless_in_a_message(read, refused, name):
    error = refused(minerals=table(("quartz", 99), (name, 1)))
    assert error.row == 3
    assert all(c.isprintable() for c in str(error))
    phases = f"phase,density_kg_m3\n{name},2600\n"
    sample = read({"phases.csv": phases}, minerals=table(("quartz", 99), (name, 1)))
    assert sample.minerals[1].mineral == sample.phases[0].phase == name.strip('"')


@pytest.mark.parametrize("basis", ["volume_pct", "points", "grains"])
def test_other_bases_are_kept_as_they_are(read, basis):
    rows = read(minerals=table(("quartz", 98), ("biotite", 2), heading=f"mineral,{basis}\n"))
    assert [(m.basis, m.value) for m in rows.minerals] == [(basis, 98.0), (basis, 2.0)]


@pytest.mark.parametrize("value", ["2.5", "-1", "tr", "<1"])
def test_counts_are_whole_and_found(refused, value):
    text = table(("quartz", 300), ("biotite", value), heading="mineral,points\n")
    assert refused(minerals=text).row == 3


def test_one_row_has_one_basis(refused):
    error = refused(minerals="mineral,mass_pct,points\nquartz,100,300\n")
    assert "both given" in error.problem


def test_one_bag_has_one_basis(refused):
    error = refused(minerals="mineral,mass_pct,points\nquartz,100,\nbiotite,,30\n")
    assert error.row == 3
    assert "row 2" in error.problem


def test_blank_is_not_looked_for_and_zero_is_not_found(read):
    sample = read(minerals=table(("quartz", 100), ("biotite", ""), ("ilmenite", 0)))
    assert [(m.mineral, m.value) for m in sample.minerals] == [("quartz", 100.0), ("ilmenite", 0.0)]
    assert [n.code for n in sample.notes] == ["not-looked-for"]


@pytest.mark.parametrize(
    ("method", "limit", "end"),
    [
        ("diffraction", "", 0.5),
        ("", "", 0.5),
        ("point count", "", 0.1),
        ("diffraction", "0.3", 0.3),
    ],
)
def test_a_trace_lies_from_nothing_to_the_limit_of_its_method(read, method, limit, end):
    heading = "mineral,mass_pct,method,detection_limit_pct\n"
    rows = f"quartz,100,{method},\nbiotite,tr,{method},{limit}\n"
    amount = read(minerals=heading + rows).minerals[1]
    assert (amount.below_detection, amount.value) == (True, end)


def test_an_sd_of_zero_is_floored_with_a_note(read):
    sample = read(minerals="mineral,mass_pct,sd_pct\nquartz,97,0\nbiotite,3,0.4\n")
    assert sample.minerals[0].sd > 0.1
    assert sample.minerals[1].sd == 0.4
    assert [n.code for n in sample.notes] == ["sd-floor"]


@pytest.mark.parametrize("text", [table(("quartz", 0)), "mineral,grains\nquartz,0\nbiotite,0\n"])
def test_a_list_in_which_nothing_was_found_is_refused(refused, text):
    assert "nothing was found" in refused(minerals=text).problem


def test_size_classes_are_closed_one_by_one_and_must_be_sieved(read, refused):
    heading = "mineral,mass_pct,passing_um,retained_um\n"
    good = heading + "quartz,99,500,250\nbiotite,1,500,250\nquartz,97,250,0\nbiotite,3,250,0\n"
    sieves = "passing_um,retained_um,mass_g\n500,250,60\n250,pan,40\n"
    assert len(read({"sieves.csv": sieves}, minerals=good).minerals) == 4
    error = refused({"sieves.csv": sieves}, minerals=good.replace("250,0", "250,75"))
    assert "not in the sieve sheet" in error.problem
    assert error.row == 4
    assert (
        "give sieves.csv" in refused({"sieves.csv": "passing_um,retained_um,mass_g\n"}, good).remedy
    )


def test_half_a_size_class_is_refused(refused):
    text = "mineral,mass_pct,passing_um,retained_um\nquartz,100,500,\n"
    assert refused(minerals=text).column == "retained_um"


def test_a_measured_iron_and_susceptibility_are_read_and_bounded(read, refused):
    heading = "mineral,mass_pct,iron_wt_pct,mass_susceptibility_m3_kg\n"
    amount = read(minerals=heading + "quartz,99,,\nbiotite,1,15.5,4e-7\n").minerals[1]
    assert (amount.iron_wt_pct, amount.mass_susceptibility_m3_kg) == (15.5, 4e-7)
    error = refused(minerals=heading + "quartz,99,,\nbiotite,1,15.5,40\n")
    assert "m3/kg" in error.remedy


def test_the_order_of_rows_changes_no_digit(read):
    rows = [("quartz", 61.37), ("albite", 24.11), ("biotite", 5.03), ("k-feldspar", 8.13)]
    first = {m.mineral: m.value for m in read(minerals=table(*rows)).minerals}
    for seed in range(5):
        random.Random(seed).shuffle(rows)
        assert {m.mineral: m.value for m in read(minerals=table(*rows)).minerals} == first


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=200)
@given(st.lists(st.floats(0, 100).map(lambda x: round(x, 3)), min_size=1, max_size=8))
def test_any_list_closes_to_100_within_rounding_or_is_refused(amounts):
    place = Place("m.csv", 2, "mass_pct")
    total = sum(amounts)
    try:
        closure = close(amounts, [], "mass_pct", place)
    except InputError:
        assert abs(total - 100) > CLOSURE_EDGE_PCT - 1e-6
        return
    assert abs(total - 100) <= CLOSURE_EDGE_PCT + 1e-6
    shortfall = 100 - total - closure.unidentified_pct
    assert shortfall <= 0.5 + 1e-6
    if abs(total - 100) > 0.5:
        assert closure.note is not None


def test_what_is_no_mineral_is_sent_to_the_phases_of_ones_own(refused):
    error = refused({"minerals.csv": "mineral,mass_pct\nquartz,96\nslag,4\n"})
    assert "a phase of your own, for phases.csv" in str(error)
    group = refused({"minerals.csv": "mineral,mass_pct\nquartz,96\nmica,4\n"})
    assert "phases.csv" not in str(group)
