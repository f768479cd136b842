"""What a person may call a mineral, and what happens to words that are none."""

from __future__ import annotations

import unicodedata

import pytest

from feedchar.errors import UnknownNameError
from feedchar.tables.minerals import mineral, minerals
from feedchar.tables.names import resolve_mineral
from feedchar.tables.sources import status_of


@pytest.mark.parametrize("name", sorted(minerals()))
def test_a_mineral_answers_to_its_own_name_in_any_case_and_spacing(name):
    assert resolve_mineral(name.upper()) == name
    assert resolve_mineral(f"  {name.replace(' ', chr(0xA0))} ") == name
    assert resolve_mineral(name.replace(" ", "_").replace("-", "\u2011")) == name


@pytest.mark.parametrize(
    ("word", "name"),
    [
        ("orthite", "allanite"), ("Ägirin", "aegirine"), ("acmite", "aegirine"),
        ("soda feldspar", "albite"), ("K_feldspar", "k-feldspar"), ("quarz", "quartz"),
    ],
)  # fmt: skip
def test_an_alias_is_understood(word, name):
    assert resolve_mineral(word) == name


def test_composed_and_decomposed_accents_are_one_word():
    word = "Ägirin"
    assert resolve_mineral(unicodedata.normalize("NFC", word)) == "aegirine"
    assert resolve_mineral(unicodedata.normalize("NFD", word)) == "aegirine"


@pytest.mark.parametrize("word", ["mica", "iron oxides", "GARNET", "Feldspat", "iron"])
def test_a_group_word_is_refused_with_its_members(word):
    with pytest.raises(UnknownNameError) as refusal:
        resolve_mineral(word)
    assert len(refusal.value.candidates) > 1
    assert set(refusal.value.candidates) <= set(minerals())
    assert all(name in str(refusal.value) for name in refusal.value.candidates)


@pytest.mark.parametrize(
    ("word", "nearest"),
    [("magnatite", "magnetite"), ("ilmenit e", "ilmenite"), ("biotitte", "biotite")],
)
def test_a_slip_of_the_pen_is_refused_with_the_nearest_name(word, nearest):
    with pytest.raises(UnknownNameError) as refusal:
        resolve_mineral(word)
    assert refusal.value.candidates[0] == nearest


@pytest.mark.parametrize(
    "word", ["", "xyzzy", "x" * 10_000, "[red]x[/]", "<script>", "a\nb", "\u202equartz", "\x1b[31m"]
)
def test_a_hostile_word_is_refused_in_one_short_printable_line(word):
    with pytest.raises(UnknownNameError) as refusal:
        resolve_mineral(word)
    assert len(str(refusal.value)) < 200
    assert str(refusal.value).isprintable()


def test_a_mineral_record_carries_source_and_status():
    biotite = mineral("Bt")
    assert biotite.mineral == "biotite"
    assert biotite.susceptibility.source == "zapletal_1990"
    assert biotite.status == "read"
    assert status_of(biotite.role_how_seen) == "guess"
    assert biotite.is_dark
    assert not mineral("quartz").is_dark
