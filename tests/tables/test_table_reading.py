"""Strict reading, sieves, limits, sources, priors and the sheet of a mineral."""

from __future__ import annotations

from itertools import pairwise

import pytest

from feedchar.errors import FeedcharError, InputError, UnknownNameError
from feedchar.tables import locate
from feedchar.tables.limits import product_limit, product_limits
from feedchar.tables.minerals import minerals
from feedchar.tables.priors import iron_prior, iron_priors
from feedchar.tables.read import Row, read_table
from feedchar.tables.rolls import roll_row, roll_rows
from feedchar.tables.sheet import mineral_sheet
from feedchar.tables.sieves import sieve_opening_um
from feedchar.tables.sources import source, status_of


@pytest.fixture
def table(tmp_path, monkeypatch):
    """Writes a table into a folder of its own and reads it."""

    def read(content: bytes):
        (tmp_path / "t.csv").write_bytes(content)
        read_table.cache_clear()
        return read_table("t.csv")

    monkeypatch.setattr(locate, "tables_folder", lambda: tmp_path)
    yield read
    read_table.cache_clear()


def test_rows_keep_the_line_a_person_would_count(table):
    rows = table(b'a,b\n1,"two\nlines"\n\n3,4\n')
    assert [row.text("a") for row in rows] == ["1", "3"]
    assert rows[1].row == 5


@pytest.mark.parametrize(
    ("content", "complaint"),
    [
        (b"a,b\n1\n", "row 2"), (b"a,a\n1,2\n", "repeats"), (b"", "heading"),
        (b"a,b\n\xff,2\n", "UTF-8"),
    ],
)  # fmt: skip
def test_a_broken_table_is_refused_with_its_place(table, content, complaint):
    with pytest.raises(InputError, match=complaint):
        table(content)


@pytest.mark.parametrize("cell", ["1o2", "nan", "inf", "1_000", "٣", "1,5", "0x1"])
def test_only_plain_numbers_are_numbers(cell):
    with pytest.raises(InputError, match="row 7"):
        Row("t.csv", 7, {"a": cell}).number("a")


def test_a_missing_number_is_no_zero():
    row = Row("t.csv", 7, {"a": ""})
    assert row.optional("a") is None
    with pytest.raises(InputError, match="missing"):
        row.number("a")


def test_a_missing_table_says_that_the_installation_is_incomplete():
    with pytest.raises(FeedcharError, match="incomplete"):
        read_table("no_such_table.csv")


@pytest.mark.parametrize(
    ("designation", "opening_um"),
    [
        (355, 355), ("355", 355), ("500 um", 500), ("500 µm", 500), ("0.5 mm", 500),
        ("No. 35", 500), ("#200", 75), ("ASTM E11 No. 100", 150), ("no 60", 250), (0, 0),
    ],
)  # fmt: skip
def test_a_sieve_is_understood_by_its_opening_or_its_standard_number(designation, opening_um):
    """Openings of ASTM E11 from memory of the standard."""
    assert sieve_opening_um(designation) == opening_um


def test_a_bare_mesh_number_is_refused_with_both_readings():
    """35 mesh is 417 um in the old root-two series (mccabe_smith_harriott) and No. 35 is 500."""
    with pytest.raises(InputError, match="500 um") as refusal:
        sieve_opening_um("35 mesh")
    assert "417 um" in str(refusal.value)
    with pytest.raises(InputError, match="no series"):
        sieve_opening_um("mesh 33")


@pytest.mark.parametrize("designation", ["abc", "-5", "1e9 mm", "3/8", float("nan"), -1.0])
def test_what_is_no_sieve_is_refused(designation):
    with pytest.raises(InputError):
        sieve_opening_um(designation)


def test_openings_of_the_principal_series_step_by_the_tenth_root_of_thousand_cubed():
    """ISO 565 R20/3: nominal openings follow 10^(3/20) steps, rounded to within 2 %."""
    openings = sorted(
        row.number("aperture_um")
        for row in read_table("sieves.csv")
        if row.text("series") == "ISO 565 R20/3"
    )
    for small, large in pairwise(openings):
        assert large / small == pytest.approx(10 ** (3 / 20), rel=0.03)


def test_a_limit_is_found_by_its_key_in_any_spelling():
    limit = product_limit("Colourless-Container")
    assert limit.max_wt_pct["Fe2O3"] == 0.03
    assert limit.min_wt_pct["SiO2"] == 98.8
    assert "Al2O3" not in limit.max_wt_pct, "its alumina figure is a tolerance"
    assert limit.status == "recalled"


def test_a_limit_of_the_glass_is_never_a_limit_of_the_sand():
    in_the_glass = [key for key, row in product_limits().items() if row.applies_to == "glass"]
    assert len(in_the_glass) == 2
    for key in in_the_glass:
        with pytest.raises(UnknownNameError, match="not the sand") as refusal:
            product_limit(key)
        assert not set(refusal.value.candidates) & set(in_the_glass)


def test_an_unknown_use_is_refused_with_the_known_ones():
    with pytest.raises(UnknownNameError, match="tableware"):
        product_limit("window")


@pytest.mark.parametrize(
    ("how_seen", "status"),
    [
        ("read", "read"), ("read second hand", "read"), ("memory", "recalled"),
        ("computed", "computed"), ("read abstract, derived", "computed"), ("guess", "guess"),
    ],
)  # fmt: skip
def test_the_status_of_a_value_says_what_stands_behind_it(how_seen, status):
    assert status_of(how_seen) == status


def test_a_source_has_a_citation_and_an_unknown_key_is_refused():
    assert "Zapletal" in source("zapletal_1990").citation
    assert "1990" in source("zapletal_1990").citation
    with pytest.raises(UnknownNameError):
        source("nobody_1900")


def test_the_rock_narrows_the_iron_of_biotite():
    """georoc_qmin and cerna_voda: median 21.35 wt % FeO in granite, 16.6 wt % as Fe."""
    prior = iron_prior("biotite", "granite")
    assert prior.Fe_wt_pct[2] == pytest.approx(16.596, abs=0.002)
    assert iron_prior("biotite", "gneiss or schist").Fe_wt_pct[2] < prior.Fe_wt_pct[2]
    assert iron_prior("quartz", "granite") is None
    assert iron_prior("biotite", None) is None
    for row in iron_priors().values():
        assert list(row.Fe_wt_pct) == sorted(row.Fe_wt_pct)


@pytest.mark.parametrize("name", sorted(minerals()))
def test_the_sheet_of_a_mineral_shows_every_value_with_a_status(name):
    sheet = mineral_sheet(name)
    assert all(value.status in ("read", "recalled", "computed", "guess") for value in sheet.values)
    chosen = [v for v in sheet.values if v.quantity == "mass susceptibility" and v.preferred]
    assert len(chosen) == 1
    named = {key for value in sheet.values for key in value.source.split(";") if key}
    assert {entry.key for entry in sheet.sources} == named


def test_rolls_are_named_by_construction_and_the_default_is_among_them():
    default = roll_row("fine-100")
    assert (default.roll_radius_mm, default.bore_radius_mm) == (50, 10)
    assert (default.magnet_mm, default.steel_mm, default.belt_mm) == (4, 1, 0.2)
    assert (default.remanence_tesla, default.steel_saturation_tesla) == (1.25, 2.1)
    for roll in roll_rows().values():
        assert roll.bore_radius_mm < roll.roll_radius_mm
        assert 0.5 < roll.remanence_tesla < 1.6
    with pytest.raises(UnknownNameError, match="fine-100"):
        roll_row("coarse-999999")
