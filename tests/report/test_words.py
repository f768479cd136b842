"""Numbers and names as a reader meets them."""

from __future__ import annotations

import pytest

from feedchar.report.numbers import chance_number, chance_word, count, number, share, weight
from feedchar.report.words import NO_BREAK, capital_first, listing, name, prose, visible


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (98.84, "98.8"),
        (1.104, "1.10"),
        (0.1823, "0.182"),
        (0.0405, "0.041"),
        (0.03, "0.030"),
        (0.0996, "0.100"),
        (0.00049, "0.00049"),
        (0.0, "<0.00001"),
        (None, "-"),
    ],
)
def test_weight_per_cents_keep_what_the_trade_reads(value: float | None, text: str) -> None:
    assert weight(value) == text


def test_nothing_is_ever_free_of_iron_or_specks() -> None:
    assert weight(0.0).startswith("<")
    assert count(0.0) == "<1"
    assert share(0.01) == "<0.1"


@pytest.mark.parametrize(
    ("value", "text"), [(210.4, "210"), (3.4, "3"), (14.6, "15"), (0.96, "1"), (1234.0, "1200")]
)
def test_grains_are_counted_to_two_digits(value: float, text: str) -> None:
    assert count(value) == text


@pytest.mark.parametrize(
    ("value", "text"),
    [(0.312, "0.31"), (38.2, "38"), (310.0, "310"), (2.0, "2.0"), (4e7, "4.00e+07"), (0, "0")],
)
def test_other_numbers_have_about_three_digits(value: float, text: str) -> None:
    assert number(value) == text
    assert number(value, "T") == f"{text}{NO_BREAK}T"


@pytest.mark.parametrize("chance", [0.0, 0.004, 0.0996, 0.1004, 0.5, 0.8996, 0.9004, 0.997, 1.0])
def test_the_number_of_a_chance_never_contradicts_its_word(chance: float) -> None:
    shown = chance_number(chance)
    assert not shown.startswith("0")
    assert "100" not in shown.split(NO_BREAK)[0]
    if shown[0].isdigit():
        assert chance_word(float(shown.split(NO_BREAK)[0]) / 100) == chance_word(chance)


def test_the_word_of_a_chance_changes_with_the_status() -> None:
    words = [chance_word(chance) for chance in (0.05, 0.10, 0.101, 0.899, 0.90, 0.99)]
    assert words == ["unlikely", "unlikely", "open", "open", "likely", "likely"]


def test_control_and_direction_characters_are_shown_not_obeyed() -> None:
    hostile = "a\x1b[31mb\nc\u202ed\u200be\x9bf\ud800g\u2028h\ti"
    assert visible(hostile) == "a\\x1b[31mb\\nc\\u202ed\\u200be\\x9bf\\ud800g\\u2028h\\x09i"


def test_a_name_of_ten_kilobytes_is_shortened() -> None:
    assert len(name("x" * 10_000)) == 48
    assert name("x" * 10_000).endswith("\u2026")
    assert name("\x1b" * 10_000, 20).count("\x1b") == 0


def test_long_lists_of_names_are_counted() -> None:
    assert listing(["a", "b"]) == "a, b"
    assert listing(["a", "b", "c", "d", "e"], 2).replace(NO_BREAK, " ") == "a, b and 3 more"


def test_numbers_in_sentences_are_tied_to_their_units() -> None:
    said = prose("at most 0.03 % Fe2O3: about 7 in 100, above 250 um, 3 minerals, 12 t/h")
    assert "0.03\u00a0% Fe2O3" in said
    assert "7\u00a0in\u00a0100" in said
    assert "250\u00a0\u00b5m" in said
    assert "3 minerals" in said
    assert "12\u00a0t/h" in said


def test_a_sentence_begins_large_and_keeps_units_and_names_of_files() -> None:
    text = "from a reading of 1.05 T; from Bay_2.toml"
    assert capital_first(text) == "From a reading of 1.05 T; from Bay_2.toml"
    assert capital_first("") == ""
