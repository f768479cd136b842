"""One cell: a number, an interval, or a refusal that says what it is."""

from __future__ import annotations

import math

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from feedchar.sample.cells import CellProblem, read_amount, read_number
from feedchar.sample.decimals import POINT, DecimalMark, decimal_mark, numeral_readings

COMMA = DecimalMark(",")

NUMBERS = st.floats(allow_nan=False, allow_infinity=False).filter(
    lambda x: x == 0 or abs(x) > 1e-300
)


@given(NUMBERS)
def test_a_number_as_python_writes_it_is_read_back_exactly(value):
    assert read_number(repr(value), POINT) == value


@given(NUMBERS)
def test_a_decimal_comma_reads_the_same_number_in_a_file_of_commas(value):
    assert read_number(repr(value).replace(".", ","), COMMA) == value


@given(st.integers(0, 10**9), st.integers(0, 999))
def test_groups_of_three_as_a_spreadsheet_shows_them_are_understood(whole, part):
    for group, mark in ((",", "."), ("\u00a0", "."), ("\u202f", ","), (".", ",")):
        text = f"{whole:,}".replace(",", group) + f"{mark}{part:03d}"
        if group in ",." and whole < 1000:
            continue
        assert read_number(text, DecimalMark(mark)) == float(f"{whole}.{part:03d}")


@given(st.text(max_size=30))
@example("1o2")
@example("٣")
@example("1_000")
@example("0x1p3")
@example("1e400")
@example("nan")
@example("\x00")
@example("５")
@example("10²")
@example("½")
def test_any_text_is_a_finite_number_of_ascii_digits_or_a_refusal(text):
    for mark in (POINT, COMMA, DecimalMark(None), DecimalMark(None, points_are_plain=False)):
        try:
            value = read_number(text, mark)
        except CellProblem:
            continue
        assert math.isfinite(value)
        assert set(text.strip()) <= set("0123456789+-.,eE\u00a0\u202f")


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("1o2", "a letter among its digits"),
        ("l2", "a letter among its digits"),
        ("n.d.", "not detected or not determined"),
        ("N.D.", "not detected or not determined"),
        ("-", "zero, not found or not measured"),
        ("–", "zero, not found or not measured"),
        ("~5", "an estimate without its doubt"),
        ("ca. 5", "an estimate without its doubt"),
        ("nan", "not a finite number"),
        ("NaN", "not a finite number"),
        ("inf", "not a finite number"),
        ("-Infinity", "not a finite number"),
        ("1e400", "too large"),
        ("1e-400", "too small"),
        ("1_000", "underscore"),
        ("٣", "digits other than 0 to 9"),
        ("1²", "digits other than 0 to 9"),
        (">5", "a bound"),
        ("<0", "limit at or below zero"),
        ("<-1", "limit at or below zero"),
        ("<", "has no limit"),
        ("5-6", "a range or a date"),
        ("5 ppm", "more than a number"),
        ("#DIV/0!", "error of a spreadsheet"),
        ("#N/A", "error of a spreadsheet"),
        ("=1+1", "a bound"),
        ("0x10", "more than a number"),
        ("1.2.3", "not a number"),
        ("--5", "not a number"),
        ("(5)", "not a number"),
        ("5'000", "not a number"),
        ("1 000", "not a number"),
        ("", "not a number"),
    ],
)
def test_what_is_no_number_is_refused_by_name(text, says):
    with pytest.raises(CellProblem) as caught:
        read_amount(text, POINT)
    assert says in caught.value.problem


@pytest.mark.parametrize("text", ["<0.01", "< 0.01", "<.01", "<1e-2"])
def test_a_limit_is_an_interval_that_keeps_its_upper_end(text):
    amount = read_amount(text, POINT)
    assert (amount.value, amount.below, amount.trace) == (0.01, True, False)


@pytest.mark.parametrize("text", ["tr", "tr.", "TR", "trace", "Spuren", "trazas"])
def test_a_trace_is_an_interval_whose_end_is_still_open(text):
    amount = read_amount(text, POINT)
    assert (amount.value, amount.below, amount.trace) == (0.0, True, True)


def test_a_percent_sign_belongs_only_into_a_column_of_percent():
    assert read_number("5%", POINT, percent=True) == 5.0
    with pytest.raises(CellProblem):
        read_number("5%", POINT)


@pytest.mark.parametrize("stored", [True, float("nan"), float("inf")])
def test_what_a_workbook_stores_must_be_a_finite_number_too(stored):
    with pytest.raises(CellProblem):
        read_number(stored, POINT)


@pytest.mark.parametrize(
    ("texts", "separator", "mark"),
    [
        (["0,05", "98,5"], ";", ","),
        (["0.05", "98.5"], ",", "."),
        (["1", "2"], ";", None),
        (["1.234", "12"], ";", None),
        (["1,234.5"], ";", "."),
        (["1.234,5"], ";", ","),
        (["1.234.567", "1"], ";", ","),
        (["n.d.", "<0,5"], ";", ","),
        (["0,5 mm"], ";", ","),
    ],
)
def test_the_first_number_that_speaks_decides_the_decimal_mark_of_a_table(texts, separator, mark):
    assert decimal_mark(texts, separator).mark == mark


@pytest.mark.parametrize(
    ("text", "mark", "readings"),
    [
        ("1,234", POINT, [1.234, 1234.0]),
        ("1.234", COMMA, [1.234, 1234.0]),
        ("0,05", POINT, [0.05, 5.0]),
        ("1.234", POINT, [1.234]),
        ("1,234", COMMA, [1.234]),
        ("0,125", DecimalMark(None), [0.125]),
        ("1.234", DecimalMark(None, points_are_plain=False), [1.234, 1234.0]),
        ("1.234", DecimalMark(None), [1.234]),
    ],
)
def test_a_number_that_can_be_read_two_ways_has_both_readings(text, mark, readings):
    assert numeral_readings(text, mark) == readings


def test_the_range_of_the_column_settles_what_nothing_else_does():
    undecided = DecimalMark(None, points_are_plain=False)
    assert read_number("98.500", undecided, low=0, high=100) == 98.5
    with pytest.raises(CellProblem, match=r"1\.234 or as 1234"):
        read_number("1.234", undecided, low=0, high=5000)
