"""sieves.csv: classes that fit, masses that close, openings in any name."""

from __future__ import annotations

import random

import pytest

from feedchar.sample.cells import CellProblem
from feedchar.sample.decimals import POINT
from feedchar.sample.sizes import read_size

HEAD = "passing_um,retained_um,mass_g\n"


def sieves(text: str) -> dict[str, str]:
    return {"sieves.csv": text}


def test_masses_become_shares_of_the_sieved_mass_from_coarse_to_fine(read):
    sample = read(sieves(HEAD + "125,pan,20\n500,250,120\n250,125,60\n"))
    assert [(c.passing_um, c.retained_um, c.mass_pct) for c in sample.sieves] == [
        (500, 250, 60),
        (250, 125, 30),
        (125, 0, 10),
    ]
    assert sample.sieving.recovered_g == 200


def test_the_order_of_rows_changes_no_digit(read):
    rows = ["500,355,13.27", "355,250,31.11", "250,180,30.07", "180,125,15.9", "125,0,7.77"]
    first = [(c.passing_um, c.mass_pct) for c in read(sieves(HEAD + "\n".join(rows))).sieves]
    for seed in range(5):
        random.Random(seed).shuffle(rows)
        again = [(c.passing_um, c.mass_pct) for c in read(sieves(HEAD + "\n".join(rows))).sieves]
        assert again == first


@pytest.mark.parametrize(
    ("rows", "says"),
    [
        ("500,250,60\n355,125,40\n", "overlap"),
        ("500,250,60\n125,0,40\n", "leave a gap"),
        ("250,500,100\n", "reversed"),
        ("250,250,100\n", "reversed"),
        ("500,250,60\n500,250,40\n", "overlap"),
        ("500,100,60\n250,150,40\n", "overlap"),
    ],
)
def test_classes_that_do_not_fit_are_refused_with_their_rows(refused, rows, says):
    error = refused(sieves(HEAD + rows))
    assert says in error.problem
    assert error.row is not None
    assert error.column == "passing_um"


def test_one_size_and_a_class_of_nothing_are_fine(read):
    assert read(sieves(HEAD + "500,250,10\n")).sieves[0].mass_pct == 100
    assert [c.mass_pct for c in read(sieves(HEAD + "500,250,10\n250,0,0\n")).sieves] == [100, 0]


def test_a_sheet_of_nothing_is_refused(refused):
    assert "all classes are empty" in refused(sieves(HEAD + "500,250,0\n250,0,0\n")).problem


def test_a_washed_loss_belongs_to_the_pan(read):
    text = "passing_um,retained_um,mass_g,start_g,washed_loss_g,sieving\n500,75,90,101,8,wet\n"
    with_pan = read(sieves(text + "75,pan,2,,,\n"))
    assert [c.mass_pct for c in with_pan.sieves] == [90, 10]
    without = read(sieves(text))
    assert [(c.retained_um, round(c.mass_pct, 6)) for c in without.sieves] == [
        (75, round(9000 / 98, 6)),
        (0, round(800 / 98, 6)),
    ]
    assert (with_pan.sieving.start_g, with_pan.sieving.kind) == (101, "wet")
    assert [n.code for n in with_pan.notes] == ["washed-loss"]


def test_figures_of_the_whole_sheet_may_not_differ_by_row(refused):
    text = "passing_um,retained_um,mass_g,start_g\n500,75,90,101\n75,pan,2,102\n"
    assert refused(sieves(text)).row == 3


def test_shares_in_percent_close_within_the_edge(read, refused):
    head = "passing_um,retained_um,mass_pct\n"
    sample = read(sieves(head + "500,250,60\n250,0,39\n"))
    assert sum(c.mass_pct for c in sample.sieves) == pytest.approx(100, abs=1e-12)
    assert [n.code for n in sample.notes] == ["sieve-loss"]
    assert "Fractions" in refused(sieves(head + "500,250,0.6\n250,0,0.4\n")).remedy


def test_mass_and_share_do_not_mix(refused):
    head = "passing_um,retained_um,mass_g,mass_pct\n"
    assert refused(sieves(head + "500,250,60,60\n")).row == 2
    assert refused(sieves(head + "500,250,60,\n250,0,,40\n")).row == 3
    assert refused(sieves(head + "500,250,60,\n250,0,,\n")).row == 3


def test_oxides_of_a_class_are_read_with_their_unit_and_interval(read):
    sample = read(sieves("passing_um,retained_um,mass_g,Fe,Cr2O3_ppm\n500,0,9,0.1,<3\n"))
    oxides = sample.sieves[0].oxides_wt_pct
    assert oxides["Fe2O3"] == pytest.approx(0.14297, abs=1e-5)
    assert oxides["Cr2O3"] == pytest.approx(3e-4)
    assert sample.sieves[0].below_detection == ("Cr2O3",)


@pytest.mark.parametrize(
    ("text", "um"),
    [
        ("500", 500), ("0.5 mm", 500), ("0.5mm", 500), ("500 um", 500), ("500 µm", 500),
        ("500\u00a0μm", 500), ("No. 35", 500), ("#35", 500), ("no 35", 500), ("ASTM No. 60", 250),
        ("63.0", 63), ("1e2", 100), (" 355 ", 355), (500.0, 500), ("pan", 0), ("0", 0),
    ],
)  # fmt: skip
def test_a_sieve_is_known_by_any_name(text, um):
    assert read_size(text, POINT, pan=True) == um


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("-500+355", "two sizes in one cell"),
        ("500-355", "two sizes in one cell"),
        ("+500", None),
        ("-145", "above 0"),
        ("01-Mar", "a date"),
        ("Mar-55", "a date"),
        ("1-Jan", "a date"),
        ("2024-05-01", "not a size"),
        ("#NAME?", "error of a spreadsheet"),
        ("35 mesh", "not a size or a sieve"),
        ("mesh 35", "not a size or a sieve"),
        ("1e9", "at most"),
        ("No. 36", "not a size or a sieve"),
        ("big", "not a number"),
        ("0", "above 0"),
        ("pan", "not a number"),
        ("NaN", "finite"),
    ],
)
def test_what_is_no_size_is_refused_by_name(text, says):
    if says is None:
        assert read_size(text, POINT) == 500
        return
    with pytest.raises(CellProblem) as caught:
        read_size(text, POINT)
    assert says in caught.value.problem


def test_a_mesh_number_is_refused_with_both_readings(refused):
    error = refused(sieves(HEAD + "35 mesh,0,10\n"))
    assert "ASTM" in error.remedy
    assert error.row == 2


def test_decimal_commas_count_in_sizes_with_a_unit_too(read):
    text = "passing_um;retained_um;mass_g\n0,5 mm;0,25 mm;60,5\n0,25 mm;0;39,5\n"
    assert [c.passing_um for c in read(sieves(text)).sieves] == [500, 250]
