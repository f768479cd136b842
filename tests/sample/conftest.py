"""Small samples on disk, read or refused."""

from __future__ import annotations

import dataclasses
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from feedchar.errors import InputError
from feedchar.sample.read import read_sample
from feedchar.sample.records import Place, Sample

MINERALS = "mineral,mass_pct\nquartz,97\nbiotite,2\nilmenite,1\n"
SIEVES = "passing_um,retained_um,mass_g\n500,250,60\n250,125,30\n125,pan,10\n"

Files = dict[str, str | bytes]


def write(folder: Path, files: Files) -> Path:
    """A folder of these files and no others."""
    shutil.rmtree(folder, ignore_errors=True)
    folder.mkdir(parents=True)
    for name, content in files.items():
        data = content.encode() if isinstance(content, str) else content
        (folder / name).write_bytes(data)
    return folder


@pytest.fixture
def read(tmp_path: Path) -> Callable[..., Sample]:
    """A folder of these files, with a plain minerals.csv unless one is given, read."""

    def run(files: Files | None = None, minerals: str | bytes | None = MINERALS) -> Sample:
        given: Files = dict(files or {})
        if minerals is not None:
            given.setdefault("minerals.csv", minerals)
        return read_sample(write(tmp_path / "bag", given))

    return run


@pytest.fixture
def refused(read: Callable[..., Sample]) -> Callable[..., InputError]:
    """The error of a folder that must not be read; it always names a file."""

    def run(files: Files | None = None, minerals: str | bytes | None = MINERALS) -> InputError:
        with pytest.raises(InputError) as caught:
            read(files, minerals)
        assert caught.value.file
        assert "\n" not in str(caught.value)
        return caught.value

    return run


def plain(value: Any) -> Any:
    """A sample without the places and files it was read from."""
    if isinstance(value, Place):
        return None
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        left_out = ("files", "read_paths", "notes", "place", "file")
        return {
            f.name: plain(getattr(value, f.name))
            for f in dataclasses.fields(value)
            if f.name not in left_out
        }
    if isinstance(value, list | tuple):
        return [plain(item) for item in value]
    if isinstance(value, dict):
        return {key: plain(item) for key, item in value.items()}
    return value


@pytest.fixture
def same() -> Callable[[Sample, Sample], None]:
    """Asserts that two samples say the same, wherever they were read from."""

    def check(first: Sample, second: Sample) -> None:
        one, other = plain(first), plain(second)
        for name in one:
            assert one[name] == other[name], name

    return check


def codes(sample: Sample) -> list[str]:
    return [note.code for note in sample.notes]
