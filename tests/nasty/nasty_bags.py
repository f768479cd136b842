"""Good input of every kind, small and invented, to be damaged; and a way to run a command."""

from __future__ import annotations

import contextlib
import copy
import dataclasses
import io
import os
import warnings
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from unittest import mock

from feedchar.batch.run import prepare
from feedchar.cli.main import main
from feedchar.sample.template import csv_text, workbook_bytes

Rows = list[list[Any]]

SAMPLE_COMMANDS = (
    "assess", "check", "what-stays", "scale-up", "plan", "compare", "calibrate",
)  # fmt: skip
COMMANDS = (*SAMPLE_COMMANDS, "pull", "batch", "mineral", "new")

SETTINGS: dict[str, dict[str, Any]] = {
    "": {"name": "invented bag", "origin": "washed", "received_kg": 20.0},
    "assay": {"SiO2": 98.9, "TiO2": 0.1, "Al2O3": 0.4, "Fe2O3": 0.12},
    "limit": {"Fe2O3_max_pct": 0.05},
}
TABLES: dict[str, Rows] = {
    "minerals": [
        ["mineral", "mass_pct"],
        ["quartz", 97.0], ["microcline", 2.0], ["biotite", 0.5], ["kaolinite", 0.4],
        ["ilmenite", 0.1],
    ],
    "sieves": [
        ["passing_um", "retained_um", "mass_g"],
        [500.0, 250.0, 60.0], [250.0, 125.0, 30.0], [125.0, 0.0, 10.0],
    ],
    "assays": [
        ["bag", "oxide", "value", "unit", "below_detection", "laboratory"],
        ["feed", "Fe2O3", 0.12, "wt_pct", "no", "A"], ["feed", "TiO2", 0.10, "wt_pct", "no", "A"],
    ],
    "tests": [
        ["test", "bag", "product", "mass_g", "belt_speed_m_s", "splitter_mm"],
        ["T1", "T1-mag", "magnetics", 20.0, 1.5, 8.0],
        ["T1", "T1-non", "non-magnetics", 980.0, 1.5, 8.0],
    ],
    "textures": [
        ["mineral", "form", "share_pct", "grain_size_um"], ["ilmenite", "free", 80.0, 60.0],
    ],
    "phases": [
        ["phase", "density_kg_m3", "mass_susceptibility_m3_kg", "Fe2O3_wt_pct"],
        ["slag", 3000.0, 2e-7, 12.0],
    ],
}  # fmt: skip
ROLL = {
    "roll": "mine", "roll_radius_mm": 50.0, "bore_radius_mm": 10.0, "magnet_mm": 4.0,
    "steel_mm": 1.0, "remanence_tesla": 1.2, "steel_saturation_tesla": 2.1, "belt_mm": 0.2,
}  # fmt: skip
CIRCUIT = """\
name = "drum, then a roll"
[steps.drum]
kind = "drum"
drum = "weak"
magnetics = "reject"
non_magnetics = "roll 1"
[steps."roll 1"]
kind = "roll"
belt_speed_m_s = 2
splitter_mm = 8
magnetics = "reject"
non_magnetics = "product"
"""
BATCH: Rows = [
    [
        "sample", "origin", "quartz_mass_pct", "biotite_mass_pct", "ilmenite_mass_pct",
        "Fe2O3_wt_pct",
    ],
    ["H1", "as dug", 98.0, 1.6, 0.4, 0.5], ["H2", "as dug", 98.5, 1.2, 0.3, 0.4],
    ["H3", "washed", 99.0, 0.8, 0.2, ""],
]  # fmt: skip


def tables(**changed: Rows) -> dict[str, Rows]:
    """Minerals and sieves, with what is changed or added."""
    return {**copy.deepcopy({k: TABLES[k] for k in ("minerals", "sieves")}), **changed}


def table(stem: str) -> Rows:
    """A copy of one good table."""
    return copy.deepcopy(TABLES[stem])


def settings(**sections: dict[str, Any]) -> dict[str, dict[str, Any]]:
    """The good settings, with keys of sections replaced; `top` stands for those above all."""
    made = copy.deepcopy(SETTINGS)
    for section, keys in sections.items():
        made.setdefault("" if section == "top" else section, {}).update(keys)
    return made


def toml_of(made: dict[str, dict[str, Any]]) -> str:
    """Settings as TOML; text is quoted as JSON quotes it, which TOML understands."""
    import json

    lines = []
    for section, keys in made.items():
        lines += [f"[{section}]"] if section else []
        lines += [f"{key} = {json.dumps(value)}" for key, value in keys.items()]
    return "\n".join(lines) + "\n"


def roll_text(**changed: Any) -> str:
    """A roll as TOML; None leaves a key out."""
    made = {k: v for k, v in {**ROLL, **changed}.items() if v is not None}
    return toml_of({"": made})


def write_folder(folder: Path, given: dict[str, Rows], made: dict[str, dict[str, Any]]) -> Path:
    """A sample as a folder."""
    folder.mkdir()
    (folder / "sample.toml").write_text(toml_of(made), "utf-8")
    for stem, rows in given.items():
        (folder / f"{stem}.csv").write_bytes(csv_text(rows).encode())
    return folder


def write_workbook(path: Path, given: dict[str, Rows], made: dict[str, dict[str, Any]]) -> Path:
    """The same as a workbook."""
    keys = [[section, key, v] for section, pairs in made.items() for key, v in pairs.items()]
    path.write_bytes(workbook_bytes({"sample": [["section", "key", "value"], *keys], **given}))
    return path


@dataclass
class Outcome:
    """What a command came to."""

    code: int
    out: str
    err: str
    taken: bool
    """Whether everything was read and checked and the computation had its turn."""


class _TakenError(Exception):
    """Raised in place of the computation."""


def _stop(*_: object, **__: object) -> None:
    raise _TakenError


_PREPARED: dict[str, Any] = {}


def _prepare_once(source: Any, options: Any) -> Any:
    """The machine of a batch takes seconds and does not depend on the file: once is enough."""
    columns = dataclasses.replace(source.columns, file="")
    key = repr((columns, options.trials, options.seed, options.setting, options.limit))
    if key not in _PREPARED:
        _PREPARED[key] = prepare(source, options)
    return _PREPARED[key]


@contextlib.contextmanager
def _computing(compute: bool) -> Iterator[None]:
    if compute:
        with mock.patch("feedchar.batch.run.prepare", _prepare_once):
            yield
        return
    with (
        mock.patch("feedchar.characterise.characterise", _stop),
        mock.patch("feedchar.assembly.scale_up.scale_up", _stop),
        mock.patch("feedchar.assembly.plan.plan", _stop),
        mock.patch("feedchar.assembly.compare.compare", _stop),
        mock.patch("feedchar.assembly.calibrate.calibrate", _stop),
        mock.patch("feedchar.batch.run.prepare", _stop),
    ):
        yield


def run(*arguments: str, compute: bool = False) -> Outcome:
    """The command in this process; without `compute` it ends where the calculation would begin."""
    out, err = io.StringIO(), io.StringIO()
    taken = False
    with (
        warnings.catch_warnings(),
        contextlib.redirect_stdout(out),
        contextlib.redirect_stderr(err),
        _computing(compute),
    ):
        warnings.simplefilter("error")
        code = main(list(arguments))
    if code == 70 and "_TakenError" in err.getvalue():
        code, taken = 0, True
    return Outcome(code, out.getvalue(), err.getvalue(), taken or code == 0)


def listing(folder: Path) -> dict[str, bytes | None]:
    """Everything below a folder, contents of plain files included."""
    return {
        os.fspath(path.relative_to(folder)): path.read_bytes()
        if path.is_file() and not path.is_symlink()
        else None
        for path in sorted(folder.rglob("*"))
    }


REFUSED, TAKEN = "refused", "taken"
Make = Callable[[Path], list[str]]


@dataclass(frozen=True)
class Case:
    """One bad (or odd but good) input."""

    number: int
    """Which kind of trouble, 1 to 25."""
    name: str
    make: Make
    """Writes the input into an empty folder and gives the arguments."""
    ends: str = REFUSED
    says: tuple[str, ...] = ()
    """Words of the one message: the file, the place, what was found."""
    compute: bool = False
    """Whether the whole calculation runs."""
    surroundings: tuple[tuple[str, str], ...] = ()
    """Variables of the environment."""
