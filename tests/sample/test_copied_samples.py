"""A sample copied with rows to fill in: files as they were, tables in their own manner."""

from __future__ import annotations

from pathlib import Path

import pytest

from feedchar.sample import testbags
from feedchar.sample.copied import folder_texts, with_rows
from feedchar.sample.delimited import parse_csv
from feedchar.sample.read import read_sample
from feedchar.tables.locate import examples_folder

COLUMNS = ("test", "step", "bag", "product", "mass_g", "belt_speed_m_s", "splitter_mm")
ROW = {"test": "P", "step": "1", "bag": "Z1M", "product": "magnetics", "belt_speed_m_s": "1.25",
       "splitter_mm": "10"}  # fmt: skip


def written(texts: dict[str, str], folder: Path) -> Path:
    for name, text in texts.items():
        place = folder / name
        place.parent.mkdir(parents=True, exist_ok=True)
        place.write_text(text, encoding="utf-8")
    return folder


def test_files_are_copied_as_they_were(tmp_path):
    source = examples_folder() / "glass_sand"
    texts = folder_texts(str(source), {"tests": (COLUMNS, [ROW])})
    assert set(texts) == {path.name for path in source.iterdir() if path.suffix != ".md"} | {
        "tests.csv"
    }
    for name in set(texts) - {"tests.csv"}:
        assert texts[name].encode() == (source / name).read_bytes()
    again = read_sample(written(texts, tmp_path / "copy"))
    first = read_sample(source)
    assert (again.minerals, again.assay, again.limit) == (first.minerals, first.assay, first.limit)
    assert again.tests == ()


def test_rows_go_behind_those_that_are_there(tmp_path):
    source = examples_folder() / "test_result"
    texts = folder_texts(str(source), {"tests": (COLUMNS, [ROW | {"mass_g": "12.5"}])})
    again = read_sample(written(texts, tmp_path / "copy"))
    before = read_sample(source).tests
    assert [bag.bag for bag in again.tests] == [*(bag.bag for bag in before), "Z1M"]
    assert again.tests[-1].belt_speed_m_s == 1.25
    assert [bag.mass_g for bag in again.tests[:-1]] == [bag.mass_g for bag in before]


def test_semicolons_and_decimal_commas_are_kept():
    text = "test;bag;product;mass_g;own remark\nA;1M;magnetics;10,5;wet\nA;1N;dust;90,25;\n"
    table = parse_csv(text, "tests.csv", testbags.SPEC.understood)
    made = with_rows(table, testbags.SPEC, COLUMNS, [ROW])
    lines = made.splitlines()
    assert lines[0] == "test;bag;product;mass_g;own remark;step;belt_speed_m_s;splitter_mm"
    assert lines[1] == "A;1M;magnetics;10,5;wet;;;"
    assert lines[3] == "P;Z1M;magnetics;;;1;1,25;10"


def test_a_workbook_becomes_a_folder_that_says_the_same(tmp_path):
    source = examples_folder() / "workbook" / "crusher_sand.xlsx"
    again = read_sample(written(folder_texts(str(source), {}), tmp_path / "copy"))
    first = read_sample(source)
    for field in ("name", "rock", "origin", "moisture_pct", "limit", "received_kg"):
        assert getattr(again, field) == getattr(first, field)
    amounts = [(one.mineral, one.value) for one in first.minerals]
    assert [(one.mineral, one.value) for one in again.minerals] == amounts
    assert [one.value for one in again.assay.values()] == [
        one.value for one in first.assay.values()
    ]
    assert len(again.sieves) == len(first.sieves)
    assert len(again.phases) == len(first.phases)


def test_a_bare_table_keeps_its_name(tmp_path):
    source = examples_folder() / "minimal.csv"
    again = read_sample(written(folder_texts(str(source), {}), tmp_path / "other"))
    assert again.name == "minimal"
    assert len(again.minerals) == len(read_sample(source).minerals)


def test_a_toml_file_of_another_name_becomes_the_sample_of_its_folder(tmp_path):
    folder = tmp_path / "bag"
    (folder / "lab").mkdir(parents=True)
    (folder / "mine.toml").write_text('name = "X"\n[files]\nminerals = "lab/list.csv"\n')
    (folder / "lab" / "list.csv").write_text("mineral,mass_pct\nquartz,100\n")
    texts = folder_texts(str(folder / "mine.toml"), {"tests": (COLUMNS, [ROW])})
    assert set(texts) == {"sample.toml", "lab/list.csv", "tests.csv"}
    assert read_sample(written(texts, tmp_path / "copy")).name == "X"


@pytest.mark.parametrize("name", ['a quote " inside', "tab\tinside", "back\\slash"])
def test_a_name_that_needs_quoting_stays_itself(tmp_path, name):
    source = tmp_path / f"{name.replace('/', '_')}.csv"
    source.write_text("mineral,mass_pct\nquartz,100\n")
    again = read_sample(written(folder_texts(str(source), {}), tmp_path / "copy"))
    assert again.name == read_sample(source).name
