"""Writes that are killed, find the disk full, or meet: the old file or the whole new one.

DEVELOPERS.md tells the counts of a whole run; `-m slow` tries every line where the ordinary run
tries some.
"""

from __future__ import annotations

import shutil
import signal
import sys
from collections.abc import Callable
from pathlib import Path
from unittest import mock

import faults
import pytest
from nasty_bags import BATCH

from feedchar.batch.run import BatchOptions, prepare, run_batch
from feedchar.errors import OutputError
from feedchar.report.folder import write_folder
from feedchar.report.swap import exchange
from feedchar.report.write import write_file
from feedchar.sample.template import csv_text, write_template

pytestmark = pytest.mark.skipif(not hasattr(sys.modules["os"], "fork"), reason="needs fork")

OLD, NEW = b"old " * 50, b"new " * 70
OLD_TABLES, NEW_TABLES = {"a.csv": "old\n", "b.csv": "old\n"}, {"a.csv": "new\n", "c.csv": "new\n"}
WRITERS = ("report/write.py", "report/folder.py", "report/swap.py", "sample/template.py")
BATCHERS = ("batch/run.py", "batch/parts.py", "batch/written.py", "report/write.py")
QUICK = BatchOptions(trials=2)


def files_of(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in folder.iterdir() if path.is_file()}


def steps(action: Callable[[], object], modules: tuple[str, ...], stride: int, undo) -> int:
    """Kills before one line after the other until the action survives; how many were killed."""
    count, step = 0, 1
    while faults.killed_at_line(action, step, modules):
        undo()
        count += 1
        step += stride
    return count


@pytest.mark.parametrize("force", [False, True])
def test_a_file_killed_before_any_line_is_the_old_one_or_the_whole_new_one(tmp_path, force):
    target = tmp_path / "answer.json"
    seen = set()

    def check() -> None:
        found = target.read_bytes() if target.exists() else None
        assert found in ({OLD, NEW} if force else {None, NEW})
        seen.add(found)
        assert set(files_of(tmp_path)) <= {target.name, *faults.litter(tmp_path)}
        for name in faults.litter(tmp_path):
            (tmp_path / name).unlink()
        target.unlink(missing_ok=True)
        if force:
            target.write_bytes(OLD)

    check() if not force else target.write_bytes(OLD)
    count = steps(lambda: write_file(str(target), NEW, force=force), WRITERS, 1, check)
    assert count > 20
    assert len(seen) == 2, "some deaths came before the name was taken, some after"


@pytest.mark.parametrize("happens", [faults.full, faults.dies], ids=["full", "killed"])
@pytest.mark.parametrize("every", [False, pytest.param(True, marks=pytest.mark.slow)])
def test_a_file_broken_off_at_any_byte_leaves_the_old_one(tmp_path, happens, every):
    target = tmp_path / "answer.json"
    target.write_bytes(OLD)
    for room in range(0, len(NEW), 1 if every else 23):
        with mock.patch("os.fdopen", faults.breaking_files(room, happens)):
            code = faults.in_child(lambda: write_file(str(target), NEW, force=True))
        assert code == (2 if happens is faults.full else -signal.SIGKILL)
        assert target.read_bytes() == OLD
        left = faults.litter(tmp_path)
        assert len(left) == (0 if happens is faults.full else 1)
        for name in left:
            (tmp_path / name).unlink()


def test_a_disk_that_the_system_says_is_full_leaves_the_old_files(tmp_path):
    target, tables = tmp_path / "answer.json", tmp_path / "tables"
    target.write_bytes(OLD)
    write_folder(str(tables), OLD_TABLES)
    large = {"a.csv": "x" * 5000, "b.csv": "y" * 9000}
    for room in (0, 1, 4095, 4096, 8999):
        for action in (
            lambda: write_file(str(target), b"z" * 9000, force=True),
            lambda: write_folder(str(tables), large, force=True),
            lambda: write_template(str(tmp_path / "new"), workbook=True),
        ):
            assert faults.in_child(faults.with_room(room, action)) in (
                (2,) if room < 8999 else (0, 2)
            )
        assert target.read_bytes() == OLD
        assert files_of(tables) == {k: v.encode() for k, v in OLD_TABLES.items()}
        assert not (tmp_path / "new").exists() or room == 8999
        assert faults.litter(tmp_path) == []


def test_a_folder_killed_before_any_line_is_the_old_one_or_the_whole_new_one(tmp_path):
    if not exchange_works(tmp_path):
        pytest.skip("this file system cannot exchange names")
    target = tmp_path / "tables"
    old, new = ({k: v.encode() for k, v in t.items()} for t in (OLD_TABLES, NEW_TABLES))
    write_folder(str(target), OLD_TABLES)
    seen = []

    def check() -> None:
        found = files_of(target)
        assert found in (old, new)
        seen.append(found == new)
        for name in faults.litter(tmp_path):
            shutil.rmtree(tmp_path / name)
        write_folder(str(target), OLD_TABLES, force=True)

    count = steps(lambda: write_folder(str(target), NEW_TABLES, force=True), WRITERS, 1, check)
    assert count > 40
    assert {True, False} == set(seen)


def exchange_works(folder: Path) -> bool:
    one, two = folder / "one", folder / "two"
    one.mkdir()
    two.mkdir()
    (one / "in one").touch()
    done = exchange(one, two)
    assert (two / "in one").exists() is done
    shutil.rmtree(one)
    shutil.rmtree(two)
    return done


def test_where_names_cannot_be_exchanged_the_old_folder_comes_back(tmp_path, monkeypatch):
    target = tmp_path / "tables"
    write_folder(str(target), OLD_TABLES)
    monkeypatch.setattr("feedchar.report.folder.exchange", lambda *_: False)
    write_folder(str(target), NEW_TABLES, force=True)
    assert set(files_of(target)) == set(NEW_TABLES)
    real = Path.rename

    def fails(self: Path, to: Path) -> Path:
        if self.suffix == ".part":
            raise OSError(5, "Input/output error")
        return real(self, to)

    monkeypatch.setattr(Path, "rename", fails)
    with pytest.raises(OutputError, match="input/output error"):
        write_folder(str(target), OLD_TABLES, force=True)
    assert set(files_of(target)) == set(NEW_TABLES)
    assert [path.name for path in tmp_path.iterdir()] == ["tables"]


def test_a_template_killed_before_any_line_is_absent_or_whole(tmp_path):
    target = tmp_path / "sand"
    whole = {path.name for path in write_template(tmp_path / "whole")}

    def check() -> None:
        assert not target.exists() or set(files_of(target)) == whole
        for name in faults.litter(tmp_path):
            shutil.rmtree(tmp_path / name)
        shutil.rmtree(target, ignore_errors=True)

    assert steps(lambda: write_template(str(target)), WRITERS[3:], 97, check) > 5


def test_folders_that_may_not_be_written_are_told_and_left_alone():
    folder = faults.open_folder()
    try:
        (folder / "answer.json").write_bytes(OLD)
        for action in (
            lambda: write_file(str(folder / "answer.json"), NEW, force=True),
            lambda: write_file(str(folder / "new.json"), NEW),
            lambda: write_folder(str(folder / "tables"), NEW_TABLES),
            lambda: write_template(str(folder / "sand")),
            lambda: write_template(str(folder), force=True),
        ):
            folder.chmod(0o555)
            assert faults.in_child(faults.as_nobody(action)) == 2
            assert files_of(folder) == {"answer.json": OLD}
    finally:
        folder.chmod(0o755)
        shutil.rmtree(folder)


@pytest.mark.parametrize("force", [False, True])
@pytest.mark.parametrize("kind", ["file", "folder"])
def test_of_two_runs_to_one_name_one_is_whole(tmp_path, force, kind):
    import os

    wins = 0
    for number in range(25):
        target = tmp_path / f"{kind}{number}"
        ready = os.pipe()
        children = []
        for word in ("one", "two"):
            child = os.fork()
            if child == 0:
                os.close(ready[1])
                os.read(ready[0], 1)  # both start when the other end closes
                code = 2
                try:
                    if kind == "file":
                        write_file(str(target), word.encode() * 5000, force=force)
                    else:
                        write_folder(str(target), {"a.csv": word, "b.csv": word}, force=force)
                    code = 0
                except OutputError:
                    pass
                finally:
                    os._exit(code)
            children.append(child)
        os.close(ready[0])
        os.close(ready[1])
        codes = [os.WEXITSTATUS(os.waitpid(child, 0)[1]) for child in children]
        assert 0 in codes
        wins += codes.count(0)
        if kind == "file":
            assert target.read_bytes() in (b"one" * 5000, b"two" * 5000)
            assert force or codes.count(0) == 1
        else:
            assert files_of(target) in [{"a.csv": w, "b.csv": w} for w in (b"one", b"two")]
        assert faults.litter(tmp_path) == []
    assert wins >= 25


@pytest.fixture(scope="module")
def prepared(tmp_path_factory):
    """A batch of six rows in partitions of two, its machine prepared once."""
    from feedchar.batch.table import open_table

    path = tmp_path_factory.mktemp("holes") / "holes.csv"
    rows = [BATCH[0], *([f"{n} {row[0]}", *row[1:]] for n in (1, 2) for row in BATCH[1:])]
    path.write_text(csv_text(rows), "utf-8")
    return path, prepare(open_table(str(path)), QUICK)


@pytest.fixture
def batch(prepared, monkeypatch):
    from feedchar.batch.table import partitions

    path, made = prepared
    monkeypatch.setattr("feedchar.batch.run.prepare", lambda *_: made)
    monkeypatch.setattr("feedchar.batch.run.PARTITION_ROWS", 2)
    monkeypatch.setattr("feedchar.batch.run.partitions", lambda source: partitions(source, 2))
    return lambda out, options=QUICK: run_batch(str(path), str(out), options)


def _killed_batches(batch, tmp_path, stride) -> int:
    whole, out = tmp_path / "whole.csv", tmp_path / "out.csv"
    batch(whole)
    taken = []

    def goes_on() -> None:
        if not out.exists():
            taken.append(batch(out).taken_over)
        assert out.read_bytes() == whole.read_bytes()
        out.unlink()
        shutil.rmtree(tmp_path / ".out.csv.parts", ignore_errors=True)
        for name in faults.litter(tmp_path):
            (tmp_path / name).unlink()

    count = steps(lambda: batch(out), BATCHERS, stride, goes_on)
    assert len(set(taken)) > 1, "sometimes more was taken over, sometimes less"
    return count


def test_a_batch_killed_at_some_lines_goes_on_to_the_same_bytes(batch, tmp_path):
    assert _killed_batches(batch, tmp_path, 41) > 6


@pytest.mark.slow
def test_a_batch_killed_before_any_line_goes_on_to_the_same_bytes(batch, tmp_path):
    assert _killed_batches(batch, tmp_path, 1) > 250


def test_a_batch_on_a_full_disk_goes_on_when_there_is_room(batch, tmp_path):
    whole, out = tmp_path / "whole.csv", tmp_path / "out.csv"
    batch(whole)
    size = len(whole.read_bytes())
    assert faults.in_child(faults.with_room(size - 1, lambda: batch(out))) == 2
    assert not out.exists()
    assert batch(out).taken_over == 6
    assert out.read_bytes() == whole.read_bytes()


def test_two_batches_to_one_file_do_not_mix(batch, tmp_path):
    from feedchar.batch.parts import Parts

    out = tmp_path / "out.csv"
    parts = Parts(out, {"another": "run"})
    with pytest.raises(OutputError, match="another run"):
        batch(out)
    parts.close()
    assert batch(out).rows == 6


def test_parts_whose_owner_is_gone_are_never_taken_over(batch, tmp_path):
    out = tmp_path / "out.csv"
    folder = tmp_path / ".out.csv.parts"
    folder.mkdir()
    (folder / "part-00000000-0").write_text("what a removal that broke off left\n")
    assert batch(out).taken_over == 0
    assert "broke off" not in out.read_text()
    assert not folder.exists()


def test_a_full_disk_for_temporary_files_is_no_fault_of_ours(tmp_path):
    from nasty_bags import run, tables

    path = tmp_path / "bag.csv"
    path.write_text(csv_text(tables()["minerals"]), "utf-8")
    with mock.patch(
        "feedchar.characterise.characterise", side_effect=lambda *_, **__: faults.full()
    ):
        outcome = run("check", str(path), compute=True)
    assert (outcome.code, outcome.out) == (2, "")
    assert "no space left" in outcome.err.lower()
