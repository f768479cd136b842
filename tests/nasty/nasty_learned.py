"""Files of what tests taught, damaged: a calibration, and a past test in a library's folder.

Both end with a checksum. Some are damaged as they are, which the checksum tells; others are made
anew over nonsense, checksum and all, as somebody who means harm would.
"""

from __future__ import annotations

import itertools
import os
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

from nasty_bags import TAKEN, Case, settings, table, tables, write_folder

from feedchar.testwork.calibration_file import CalibrationFile, calibration_text
from feedchar.testwork.counted import CountedTest
from feedchar.testwork.past_tests import FEATURES, PastTest, past_test_text
from feedchar.testwork.scores import calibration_of, draw_scores
from feedchar.testwork.sealed_file import sealed

_NO_TRIALS = ("--trials", "0")
_TURN = itertools.cycle(("assess", "scale-up", "plan", "batch", "calibrate", "check"))
CALIBRATION, PAST = "machine.toml", "speed 1.toml"


def calibration() -> str:
    """A good calibration, of no test that ever was."""
    prior = calibration_of(draw_scores(40, 1))
    after = replace(calibration_of(draw_scores(40, 2)), machine="permanent-roll", roll="fine-100")
    tests = (CountedTest("invented", "speed 1", "a" * 64),)
    return calibration_text(CalibrationFile(tests, after, prior, "weights", 40.0, 0.15))


def past_test() -> str:
    """A good past test, of no sand that ever was."""
    said = {"product Fe2O3": -3.5, "magnetics": -3.0}
    return past_test_text(
        PastTest("invented", "speed 1", "b" * 64, "permanent-roll", "fine-100",
                 tuple(0.5 for _ in FEATURES), said, said)
    )  # fmt: skip


GOOD: dict[str, Callable[[], str]] = {"calibration": calibration, "past test": past_test}


def good(kind: str, folder: Path) -> tuple[Path, list[str]]:
    """A good file of a kind, and the arguments of a command that reads it."""
    extra = {stem: table(stem) for stem in ("tests", "assays")}
    bag = write_folder(folder / "bag", tables(**extra), settings())
    if kind == "past test":
        (folder / "past").mkdir()
        path = folder / "past" / PAST
        path.write_text(past_test(), "utf-8")
        return path, ["assess", str(bag), "--library", str(path.parent), *_NO_TRIALS]
    path = folder / CALIBRATION
    path.write_text(calibration(), "utf-8")
    command = next(_TURN)
    if command == "batch":
        cores = folder / "cores.csv"
        cores.write_text("sample,quartz_mass_pct,ilmenite_mass_pct\na,99,1\n", "utf-8")
        out = ["--out", str(folder / "answers.csv"), *_NO_TRIALS]
        return path, ["batch", str(cores), *out, "--calibration", str(path)]
    return path, [command, str(bag), "--calibration", str(path), *_NO_TRIALS]


def sealed_anew(text: str) -> str:
    """The same with a checksum that fits."""
    return sealed(text.partition("\n[end]\n")[0].split("\n"))


DAMAGED: dict[str, tuple[int, Callable[[bytes], bytes]]] = {
    "no bytes": (15, lambda d: b""),
    "blank lines": (15, lambda d: b"\n\n"),
    "UTF-16": (1, lambda d: d.decode().encode("utf-16")),
    "half of it": (13, lambda d: d[: len(d) // 2]),
    "a digit changed": (13, lambda d: d.replace(b"0.5", b"0.6").replace(b"0.0", b"0.1")),
    "an unclosed quote": (15, lambda d: d + b'"'),
    "a NUL": (15, lambda d: d[:200] + b"\x00" + d[200:]),
    "a picture": (15, lambda d: b"\x89PNG\r\n\x1a\n" + bytes(range(256))),
    "a pickle": (13, lambda d: b"\x80\x04cposix\nsystem\n(S'true'\ntR."),
    "another file": (13, lambda d: b'name = "sand"\n'),
    "brackets 40 000 deep": (9, lambda d: b"x = " + b"[" * 40_000 + d),
    "twenty megabytes": (14, lambda d: d + b"# " + b"x" * 20_000_000),
}


def _first_draw(column: str, value: str) -> tuple[str, str]:
    """The first draw of a column, as written, and another in its place: no column gets longer."""
    _, _, rest = calibration().partition(f"{column} = [\n  ")
    first = rest.partition(",")[0]
    return f"{column} = [\n  {first},", f"{column} = [\n  {value},"


NONSENSE: dict[str, dict[str, tuple[int, str, str]]] = {
    "calibration": {
        "draws that are not numbers": (4, *_first_draw("bypass", "nan")),
        "draws without end": (4, *_first_draw("bypass", "inf")),
        "a share beyond 1": (3, *_first_draw("bypass", "7.0")),
        "a negative pull": (3, *_first_draw("pull_factor", "-1.0")),
        "a pull without end": (4, *_first_draw("pull_factor", "inf")),
        "an adhesion without end": (4, *_first_draw("adhesion_N", "inf")),
        "a draw more in one column": (15, "adhesion_N = [\n", "adhesion_N = [1e-8,\n"),
        "a draw of 400 digits": (4, *_first_draw("bypass", "1" + "0" * 400)),
        "text for a draw": (4, *_first_draw("bypass", '"x"')),
        "lists in lists": (9, *_first_draw("bypass", "[[0.1]]")),
        "a discrepancy of nan": (4, "discrepancy_ln = 0.15", "discrepancy_ln = nan"),
        "trials without end": (4, "effective_trials = 40.0", "effective_trials = inf"),
        "tests that are no list": (15, "[[tests]]", "[tests]"),
        "no machine": (15, 'machine = "permanent-roll"\n', ""),
        "version 2": (13, "version = 1", "version = 2"),
        "a version of truth": (13, "version = 1", "version = true"),
    },
    "past test": {
        "a feature that is not a number": (4, "ln_d50_um = 0.5", "ln_d50_um = nan"),
        "a feature of 400 digits": (4, "ln_d50_um = 0.5", f"ln_d50_um = 1{'0' * 400}"),
        "a feature missing": (15, "ln_d50_um = 0.5\n", ""),
        "text for a feature": (4, "ln_d50_um = 0.5", 'ln_d50_um = "x"'),
        "an assay without end": (4, '"product Fe2O3" = -3.5', '"product Fe2O3" = -inf'),
        "a figure that nobody foretold": (15, "[measured]\n", '[measured]\n"gold" = 1.0\n'),
        "measured that is no table": (15, "[measured]", "[[measured]]"),
        "version 2": (13, "version = 1", "version = 2"),
    },
}


def damaged_cases() -> Iterator[Case]:
    """Bytes of both, and nonsense under a checksum that fits."""
    for kind, (name, (number, damage)) in itertools.product(GOOD, DAMAGED.items()):

        def make(folder: Path, kind: str = kind, damage: Any = damage) -> list[str]:
            path, arguments = good(kind, folder)
            path.write_bytes(damage(path.read_bytes()))
            return arguments

        file = PAST if kind == "past test" else CALIBRATION
        yield Case(number, f"{number:02d} {name}, {kind}", make, says=(file,))
    for kind, rows in NONSENSE.items():
        for name, (number, old, new) in rows.items():

            def make(folder: Path, kind: str = kind, old: str = old, new: str = new) -> list[str]:
                path, arguments = good(kind, folder)
                text = path.read_text("utf-8")
                assert old in text, old
                path.write_text(sealed_anew(text.replace(old, new, 1)), "utf-8")
                return arguments

            file = PAST if kind == "past test" else CALIBRATION
            yield Case(number, f"{number:02d} {name}, sealed anew, {kind}", make, says=(file,))


def odd_but_good_cases() -> Iterator[Case]:
    """What is odd and harmless, and what the folder of a library may hold beside tests."""
    for kind in GOOD:
        for name, change in {
            "no change": lambda text: text,
            "a mark": lambda text: "\ufeff" + text,
            "line ends of DOS": lambda text: text.replace("\n", "\r\n"),
            "a name of markup": lambda text: sealed_anew(
                text.replace('"invented"', '"[red]x[/]\\u001b[31m<script>=1+1"')),
        }.items():  # fmt: skip

            def make(folder: Path, kind: str = kind, change: Any = change) -> list[str]:
                path, arguments = good(kind, folder)
                path.write_bytes(change(path.read_text("utf-8")).encode())
                return arguments

            ends = "either" if "DOS" in name or "a mark" in name else TAKEN
            yield Case(9 if "markup" in name else 1, f"01 {name}, {kind}", make, ends)
    beside: dict[str, tuple[str, Callable[[Path], object], str]] = {
        "a letter": ("letter.txt", lambda p: p.write_text("dear"), TAKEN),
        "a folder that is called a test": ("x.toml", lambda p: p.mkdir(), "either"),
        "a link to nothing": ("x.toml", lambda p: p.symlink_to(p.parent / "no"), "refused"),
        "a link in a circle": ("x.toml", lambda p: p.symlink_to(p), "refused"),
        "a pipe": ("x.toml", lambda p: os.mkfifo(p), "refused"),
        "a device": ("x.toml", lambda p: p.symlink_to("/dev/zero"), "refused"),
        "a second copy": ("x.toml", lambda p: p.write_text(past_test(), "utf-8"), TAKEN),
        "three thousand files": ("x.toml", lambda p: [
            (p.parent / f"{n}.toml").touch() for n in range(3000)], "refused"),
    }  # fmt: skip
    for name, (file, put, ends) in beside.items():

        def make(folder: Path, file: str = file, put: Any = put) -> list[str]:
            path, arguments = good("past test", folder)
            put(path.parent / file)
            return arguments

        yield Case(21, f"21 {name} beside a past test", make, ends)
    for kind, option in (("calibration", "--calibration"), ("past test", "--library")):
        for word in ("", "x\x00y", "/dev/zero", "/dev/full", "nobody's", "x" * 5000):

            def make(folder: Path, option: str = option, word: str = word) -> list[str]:
                bag = write_folder(folder / "bag", tables(), settings())
                return ["assess", str(bag), option, word, *_NO_TRIALS]

            yield Case(21, f"21 assess {option} {word[:24]!a}, {kind}", make)


LEARNED = [*damaged_cases(), *odd_but_good_cases()]
