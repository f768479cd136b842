"""Folders: what is read, what is noted, and that nothing outside is touched."""

from __future__ import annotations

import hashlib
import os
from pathlib import Path

import pytest

from feedchar.errors import InputError
from feedchar.sample.read import read_sample

MINERALS = "mineral,mass_pct\nquartz,100\n"


def test_names_checksums_and_paths_of_all_files_are_kept(read, tmp_path):
    sample = read({"sample.toml": 'note = "x"\n'}, minerals=MINERALS)
    assert sample.name == "bag"
    assert [f.name for f in sample.files] == ["sample.toml", "minerals.csv"]
    assert sample.files[1].sha256 == hashlib.sha256(MINERALS.encode()).hexdigest()
    folder = (tmp_path / "bag").resolve()
    assert sample.read_paths == (str(folder / "sample.toml"), str(folder / "minerals.csv"))


def test_the_same_sample_by_folder_file_and_table(read, tmp_path, same):
    whole = read({"sample.toml": 'name = "minerals"\n'}, minerals=MINERALS)
    same(whole, read_sample(tmp_path / "bag" / "sample.toml"))
    same(whole, read_sample(str(tmp_path / "bag" / "minerals.csv")))


def test_case_of_a_file_name_does_not_count(tmp_path):
    (tmp_path / "Minerals.CSV").write_text(MINERALS)
    assert read_sample(tmp_path).minerals


@pytest.mark.parametrize("name", ["mineral.csv", "sieve.csv", "assay.csv", "samples.toml"])
def test_a_file_named_almost_like_a_table_is_refused(refused, name):
    minerals = None if name == "mineral.csv" else MINERALS
    assert "Did you mean" in refused({name: "a\n"}, minerals=minerals).remedy


def test_other_files_are_left_alone_and_other_tables_noted(read):
    sample = read({"README.md": "x", "photo.jpg": b"\xff\xd8", "my_list.csv": "a,b\n"})
    assert [n.code for n in sample.notes] == ["file-not-read"]


@pytest.mark.parametrize(
    "target", ["../minerals.csv", "/etc/hostname", "a/../../x.csv", "C:\\\\x.csv", "~/x.csv", ""]
)
def test_a_path_in_the_sample_file_may_not_leave_the_folder(read, refused, target):
    files = {"sample.toml": f'[files]\nminerals = "{target}"\n'}
    if not target:
        assert read(files).minerals
        return
    error = refused(files)
    assert error.row == 2
    assert "inside this folder" in error.problem


def test_a_table_may_stand_under_another_name_below_the_folder(tmp_path):
    (tmp_path / "xrd").mkdir()
    (tmp_path / "xrd" / "bulk.csv").write_text(MINERALS)
    (tmp_path / "sample.toml").write_text('[files]\nminerals = "xrd/bulk.csv"\n')
    assert read_sample(tmp_path).files[1].name == "bulk.csv"


def test_a_symbolic_link_that_leaves_the_folder_is_not_followed(tmp_path):
    outside = tmp_path / "outside.csv"
    outside.write_text(MINERALS)
    folder = tmp_path / "bag"
    folder.mkdir()
    (folder / "minerals.csv").symlink_to(outside)
    with pytest.raises(InputError, match="leads out of the folder"):
        read_sample(folder)
    (folder / "minerals.csv").unlink()
    (folder / "real.csv").write_text(MINERALS)
    (folder / "minerals.csv").symlink_to("real.csv")
    assert read_sample(folder).minerals


def test_a_link_in_a_circle_is_refused(tmp_path):
    (tmp_path / "minerals.csv").symlink_to("minerals.csv")
    with pytest.raises(InputError):
        read_sample(tmp_path)


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no pipes on this system")
def test_a_pipe_is_refused_and_not_waited_for(tmp_path):
    os.mkfifo(tmp_path / "minerals.csv")
    with pytest.raises(InputError, match="not a regular file"):
        read_sample(tmp_path)


@pytest.mark.parametrize("path", ["", "a\x00b", "nowhere", "nowhere/at/all.csv", "x" * 5000])
def test_a_path_that_leads_nowhere_is_refused(path):
    with pytest.raises(InputError):
        read_sample(path)


def test_a_folder_of_nothing_and_a_file_of_another_kind_are_refused(tmp_path):
    with pytest.raises(InputError, match="neither"):
        read_sample(tmp_path)
    for name in ("a.pdf", "a", "a.json"):
        (tmp_path / name).write_text("x")
        with pytest.raises(InputError):
            read_sample(tmp_path / name)


def test_a_folder_in_place_of_a_table_is_refused(tmp_path):
    (tmp_path / "minerals.csv").mkdir()
    with pytest.raises(InputError, match="not a regular file"):
        read_sample(tmp_path)


def test_reading_changes_nothing_in_the_folder(tmp_path):
    path = tmp_path / "minerals.csv"
    path.write_text(MINERALS)
    before = sorted((p.name, p.stat().st_mtime_ns) for p in Path(tmp_path).iterdir())
    read_sample(tmp_path)
    assert sorted((p.name, p.stat().st_mtime_ns) for p in Path(tmp_path).iterdir()) == before
