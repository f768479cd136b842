"""The template: explains every column, reads as it stands, never overwrites."""

from __future__ import annotations

from pathlib import Path

import pytest

from feedchar.errors import InputError, OutputError
from feedchar.sample import template
from feedchar.sample.gathered import SPECS
from feedchar.sample.read import read_sample
from feedchar.sample.sections import SECTIONS
from feedchar.sample.template import write_template


def test_a_template_reads_as_it_stands_and_fills_every_table(tmp_path):
    written = write_template(tmp_path / "new")
    sample = read_sample(tmp_path / "new")
    assert {path.name for path in written} == {path.name for path in (tmp_path / "new").iterdir()}
    for part in (
        sample.minerals, sample.phases, sample.sieves, sample.assay, sample.determinations,
        sample.textures, sample.fractions, sample.diagnostics, sample.tests,
        sample.susceptibility, sample.limit,
    ):  # fmt: skip
        assert part
    assert not [note for note in sample.notes if note.severity != "note"]
    assert not sample.extras


def test_a_template_workbook_is_the_same_sample_as_the_folder(tmp_path, same):
    write_template(tmp_path / "new")
    (path,) = write_template(tmp_path / "book", workbook=True)
    assert path.name == "sample.xlsx"
    same(read_sample(tmp_path / "new"), read_sample(path))


def test_a_template_workbook_may_be_named(tmp_path):
    (path,) = write_template(tmp_path / "mine.xlsx", workbook=True)
    assert path == tmp_path / "mine.xlsx"
    assert read_sample(path).minerals


def test_every_column_and_key_is_explained_and_said_to_be_invented(tmp_path):
    write_template(tmp_path / "new")
    columns = (tmp_path / "new" / "COLUMNS.md").read_text(encoding="utf-8")
    toml = (tmp_path / "new" / "sample.toml").read_text(encoding="utf-8")
    for spec in SPECS.values():
        assert f"## {spec.stem}.csv" in columns
        for column in spec.columns:
            assert column.help
            assert f"| `{column.name}` |" in columns
    for section, (_, keys) in SECTIONS.items():
        assert not section or f"[{section}]" in toml
        for key in keys:
            assert f"{key.name} = " in toml
    assert "invented" in columns
    assert "invented" in toml


def test_every_row_of_a_template_is_as_long_as_its_heading(tmp_path):
    for heading, rows in template.TABLES.values():
        assert {len(row) for row in rows} == {len(heading)}


@pytest.mark.parametrize("workbook", [False, True])
def test_a_template_never_goes_over_what_exists_unless_forced(tmp_path, workbook):
    folder = tmp_path / "new"
    (first, *_) = write_template(folder, workbook=workbook)
    first.write_bytes(b"mine")
    with pytest.raises(OutputError, match="exists"):
        write_template(folder, workbook=workbook)
    assert first.read_bytes() == b"mine"
    write_template(folder, workbook=workbook, force=True)
    assert first.read_bytes() != b"mine"
    assert not [p.name for p in folder.iterdir() if p.name.startswith(".feedchar-")]


def test_a_template_joins_an_existing_folder_of_other_files(tmp_path):
    (tmp_path / "photo.jpg").write_bytes(b"x")
    write_template(tmp_path)
    assert (tmp_path / "photo.jpg").read_bytes() == b"x"
    assert read_sample(tmp_path).minerals


@pytest.mark.parametrize("name", ["", "a\x00b", "no/such/parent"])
def test_a_folder_that_cannot_be_made_is_refused(tmp_path, name):
    with pytest.raises(OutputError):
        write_template(f"{tmp_path}/{name}" if name.startswith("no") else name)


def test_a_file_in_place_of_the_folder_is_refused(tmp_path):
    (tmp_path / "new").write_text("x")
    with pytest.raises(OutputError, match="not a folder"):
        write_template(tmp_path / "new")


def test_a_link_in_place_of_a_file_is_not_written_through(tmp_path):
    folder = tmp_path / "new"
    folder.mkdir()
    victim = tmp_path / "victim"
    victim.write_text("precious")
    (folder / "sample.toml").symlink_to(victim)
    with pytest.raises(OutputError):
        write_template(folder)
    write_template(folder, force=True)
    assert victim.read_text() == "precious"


def test_a_disk_that_fails_half_way_leaves_no_folder(tmp_path, monkeypatch):
    filled = []

    def fail_at_the_fourth(path: Path, data: bytes) -> None:
        filled.append(path)
        if len(filled) == 4:
            raise OSError(28, "No space left on device")
        path.write_bytes(data)

    monkeypatch.setattr(template, "_fill", fail_at_the_fourth)
    with pytest.raises(OutputError, match="No space left"):
        write_template(tmp_path / "new")
    assert list(tmp_path.iterdir()) == []


def test_a_folder_without_its_tables_still_explains_what_is_missing(tmp_path):
    write_template(tmp_path / "new")
    for stem in SPECS:
        (tmp_path / "new" / f"{stem}.csv").unlink()
    sample = read_sample(tmp_path / "new")
    assert sample.assay
    (tmp_path / "new" / "sample.toml").unlink()
    with pytest.raises(InputError, match="feedchar new"):
        read_sample(tmp_path / "new")
