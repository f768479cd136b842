"""Bytes to text, text to cells: what other programs write, and what they damage."""

from __future__ import annotations

import pytest

HEAD = "mineral,mass_pct\n"


def test_a_byte_order_mark_of_utf8_is_taken_off(read):
    assert read(minerals=b"\xef\xbb\xbfmineral,mass_pct\nquartz,100\n").minerals[0].value == 100


@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
def test_any_line_end_is_a_line_end_and_the_last_may_be_missing(read, end):
    text = end.join(["mineral,mass_pct", "quartz,99", "biotite,1"])
    assert [m.value for m in read(minerals=text).minerals] == [99, 1]
    assert [m.place.row for m in read(minerals=text + end).minerals] == [2, 3]


@pytest.mark.parametrize(
    ("encoding", "name"),
    [
        ("utf-16", "UTF-16, little endian"),
        ("utf-16-be", "UTF-16, big endian, without a mark"),
        ("utf-16-le", "UTF-16, little endian, without a mark"),
        ("utf-32", "UTF-32"),
    ],
)
def test_utf16_and_utf32_are_refused_by_name(refused, encoding, name):
    text = (HEAD + "quartz,100\n").encode(encoding)
    assert name in refused(minerals=text).problem


def test_a_windows_micro_sign_is_refused_with_its_byte_row_and_letter(refused):
    error = refused(minerals=(HEAD + "quartz,99\nbiotite µ,1\n").encode("cp1252"))
    assert error.row == 3
    assert "0xB5" in error.problem
    assert "µ" in error.problem


def test_nul_is_refused_with_its_row(refused):
    error = refused(minerals=b"mineral,mass_pct\nquartz,99\nbio\x00tite,1\n")
    assert (error.row, "NUL" in error.problem) == (3, True)


@pytest.mark.parametrize("data", [b"", b"\n\n", b"  \r\n", b"\xef\xbb\xbf"])
def test_an_empty_file_is_refused(refused, data):
    assert refused(minerals=data).problem == "is empty"


def test_a_heading_alone_is_no_sample(refused):
    assert "neither minerals nor a head assay" in refused(minerals=HEAD).problem


def test_an_unclosed_quote_names_the_row_where_it_opens(refused):
    error = refused(minerals=HEAD + 'quartz,99\n"biotite,1\nilmenite,0\n')
    assert (error.row, "never closed" in error.problem) == (3, True)


def test_text_after_a_closing_quote_is_refused(refused):
    assert refused(minerals=HEAD + 'quartz,99\n"biotite"x,1\n').row == 3


@pytest.mark.parametrize("row", ["biotite", "biotite,1,2", "biotite,1,", "biotite;1"])
def test_a_row_shorter_or_longer_than_the_heading_is_refused(refused, row):
    error = refused(minerals=HEAD + f"quartz,99\n{row}\n")
    assert (error.row, "the heading 2" in error.problem) == (3, True)


def test_a_short_row_is_an_error_even_where_blanks_are_allowed(refused):
    error = refused(minerals="mineral,mass_pct,method\nquartz,99,x\nbiotite,1\n")
    assert error.row == 3


def test_a_decimal_comma_between_commas_is_suspected(refused):
    assert "decimal comma" in refused(minerals=HEAD + "quartz,98,5\n").remedy


def test_blank_lines_and_lines_of_separators_are_passed_over(read):
    rows = read(minerals=HEAD + "\nquartz,99\n,\n\nbiotite,1\n").minerals
    assert [m.place.row for m in rows] == [3, 6]


@pytest.mark.parametrize("separator", [";", "\t", ","])
def test_semicolons_and_tabs_separate_too(read, separator):
    text = "mineral,mass_pct\nquartz,99\nbiotite,1\n".replace(",", separator)
    assert [m.value for m in read(minerals=text).minerals] == [99, 1]


def test_decimal_commas_are_read_where_the_whole_file_agrees(read):
    rows = read(minerals="mineral;mass_pct\nquartz;98,5\nbiotite;1,5\n").minerals
    assert [m.value for m in rows] == [98.5, 1.5]


def test_decimal_commas_and_points_in_one_file_are_refused_with_both_readings(refused):
    error = refused(minerals="mineral;mass_pct\nquartz;98,5\nbiotite;0.05\n")
    assert error.row == 3
    assert error.column == "mass_pct"
    assert "0.05 or as 5" in error.problem


def test_a_quoted_comma_number_in_a_file_of_points_is_refused_with_both_readings(refused):
    error = refused(minerals=HEAD + 'quartz,98.5\nbiotite,"1,234"\n')
    assert "1.234 or as 1234" in error.problem


def test_a_heading_twice_is_refused(refused):
    assert "stands twice" in refused(minerals="mineral,mass_pct,Mass pct\nquartz,100,1\n").problem


def test_a_value_without_a_heading_is_refused(refused):
    error = refused(minerals="mineral,mass_pct,\nquartz,100,7\n")
    assert "no heading" in error.problem


def test_columns_without_heading_and_values_do_not_hurt(read):
    assert read(minerals="mineral,mass_pct,,\nquartz,100,,\n").minerals[0].value == 100


def test_a_cell_of_ten_kilobytes_as_a_name_is_refused(refused):
    error = refused(minerals=HEAD + "q" * 10_240 + ",100\n")
    assert (error.row, len(str(error)) < 400) == (2, True)


def test_a_file_beyond_the_cap_is_refused_before_it_is_read(refused):
    assert "larger than 20 MB" in refused(minerals=b"m" * 20_000_001).problem
