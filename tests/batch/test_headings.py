"""Headings of a table of samples: what is understood, and what is refused before any row."""

from __future__ import annotations

from pathlib import Path

import pytest

from feedchar.batch.columns import ADDED, NUMBERS, read_columns
from feedchar.chemistry.mineralogy import OXIDES
from feedchar.errors import InputError


def read(*headings):
    return read_columns(headings, "cores.csv")


def test_minerals_by_alias_oxides_sizes_and_what_is_carried_over():
    columns = read(
        "Sample", "origin", "depth", "Orthoclase_mass_pct", "quartz_volume_pct", "Fe2O3_wt_pct",
        "Cr2O3_ppm", "d50_um", "d90_um",
    )  # fmt: skip
    assert columns.plain == {"sample": 0, "origin": 1, "d50_um": 7, "d90_um": 8}
    assert [(c.phase, c.basis) for c in columns.phases] == [
        ("k-feldspar", "mass_pct"),
        ("quartz", "volume_pct"),
    ]
    assert [(c.heading.name, c.heading.per_wt_pct) for c in columns.oxides] == [
        ("Fe2O3", 1.0),
        ("Cr2O3", 1e4),
    ]


@pytest.mark.parametrize("name", [ADDED[0], "NOTES", "assay_needed", NUMBERS[-1]])
def test_a_column_named_like_one_that_is_added_is_refused(name):
    with pytest.raises(InputError, match="adds"):
        read("sample", "quartz_mass_pct", name)


@pytest.mark.parametrize(
    ("headings", "words"),
    [
        (("quartz_mass_pct", "quartz_mass_pct"), "twice"),
        (("k-feldspar_mass_pct", "orthoclase_mass_pct"), "k-feldspar"),
        (("quartz_mass_pct", "mica_mass_pct"), "group"),
        (("quartz_mass_pct", "biotitte_mass_pct"), "biotite"),
        (("quartz_wt_pct",), "quartz_mass_pct"),
        (("quartz_mass_pct", "Fe2O3"), "Fe2O3_wt_pct"),
        (("quartz_mass_pct", "Fe203_wt_pct"), "Fe2O3"),
        (("quartz_mass_pct", "Fe2O3_wt_pct", "FeO_wt_pct"), "more than once"),
        (("quartz_mass_pct", "orign"), "origin"),
        (("quartz_mass_pct", "d90_um"), "d50_um"),
        (("sample", "colour"), "neither"),
    ],
)  # fmt: skip
def test_a_heading_that_could_be_misread_is_refused_by_name(headings, words):
    with pytest.raises(InputError, match=words):
        read(*headings)


def test_the_added_columns_are_those_that_the_developers_are_told():
    text = (Path(__file__).parents[2] / "DEVELOPERS.md").read_text(encoding="utf-8")
    told = text[text.index("### The table of `batch`") :]
    told = told[: told.index("How it is fast")]
    for name in ADDED:
        if "_predicted_" not in name:
            assert f"`{name}`" in told
    listed = told[told.index("and so on for ") + len("and so on for ") :].split(" |")[0]
    assert ("SiO2", *listed.split(", ")) == OXIDES[:-1]
