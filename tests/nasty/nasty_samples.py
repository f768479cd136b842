"""Samples damaged in cells and structure, in each of the four ways that a sample is given."""

from __future__ import annotations

import itertools
import unicodedata
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

from nasty_bags import (
    SAMPLE_COMMANDS,
    TAKEN,
    Case,
    Rows,
    settings,
    table,
    tables,
    write_folder,
    write_workbook,
)

from feedchar.sample.template import csv_text

HOLDERS = ("csv", "folder", "toml", "workbook")
_TURN = itertools.cycle(SAMPLE_COMMANDS)


def held(holder: str, folder: Path, given: dict[str, Rows], made: dict[str, dict[str, Any]]) -> str:
    """The sample in one of the four ways; a CSV alone holds the minerals only."""
    if holder == "csv":
        path = folder / "bag.csv"
        path.write_bytes(csv_text(given["minerals"]).encode())
        return str(path)
    if holder == "workbook":
        return str(write_workbook(folder / "bag.xlsx", given, made))
    path = write_folder(folder / "bag", given, made)
    return str(path / "sample.toml" if holder == "toml" else path)


def label(holder: str, stem: str) -> str:
    """What a message calls the table."""
    if holder == "csv":
        return "bag.csv"
    return f"bag.xlsx[{stem}]" if holder == "workbook" else f"{stem}.csv"


def of_rows(
    number: int,
    name: str,
    stem: str,
    damage: Callable[[Rows], Rows | None],
    says: tuple[str, ...] = (),
    *,
    ends: str = "refused",
    holders: tuple[str, ...] = HOLDERS,
    compute: bool = False,
) -> Iterator[Case]:
    """The same damage to one table in each way of giving a sample."""
    for holder in holders:
        if holder == "csv" and stem != "minerals":
            continue
        command = next(_TURN) if not compute else "assess"

        def make(folder: Path, holder: str = holder, command: str = command) -> list[str]:
            rows = table(stem)
            rows = damage(rows) or rows
            path = held(holder, folder, tables(**{stem: rows}), settings())
            return [command, path, "--trials", "0"]

        where = (label(holder, stem),) if ends == "refused" else ()
        title = f"{number:02d} {name}, {stem} of a {holder}"
        yield Case(number, title, make, ends, (*where, *says), compute)


def cell(row: int, column: int, value: Any) -> Callable[[Rows], None]:
    """Puts a value in a cell; the heading is row 1."""

    def damage(rows: Rows) -> None:
        rows[row - 1][column] = value

    return damage


def _plus(*more: list[Any]) -> Callable[[Rows], None]:
    return lambda rows: rows.extend(list(one) for one in more)


def _values(*values: Any) -> Callable[[Rows], None]:
    """The percentages of the minerals, in order."""

    def damage(rows: Rows) -> None:
        del rows[len(values) + 1 :]
        for row, value in zip(rows[1:], values, strict=True):
            row[1] = value

    return damage


NOT_NUMBERS = (
    (3, "1o2"), (3, "n.d."), (3, "-"), (3, "~5"), (3, "bdl"), (3, "ca. 5"), (3, ">5"),
    (4, "nan"), (4, "inf"), (4, "1e400"), (4, "1_000"), (4, "١٢"), (4, "½"), (4, "0x10"),
    (4, "1e-400"), (4, "５"), (12, "#REF!"), (12, "2024-05-01"), (12, "3-Jan"), (2, "1.234,5"),
)  # fmt: skip


def cell_cases() -> Iterator[Case]:
    """One cell that is no number, in turn in several tables and ways."""
    turn = itertools.cycle(
        [("minerals", 1), ("sieves", 2), ("assays", 2), ("tests", 3), ("minerals", 1)]
    )
    ways = itertools.cycle([("csv", "workbook"), ("folder",), ("toml", "workbook")])
    for number, text in NOT_NUMBERS:
        stem, column = next(turn)
        holders = next(ways)
        holders = ("folder", *holders) if stem != "minerals" else holders
        heading = table(stem)[0][column]
        yield from of_rows(
            number, f"a cell {text}", stem, cell(3, column, text), ("row 3", f'"{heading}"'),
            holders=tuple(dict.fromkeys(holders)),
        )  # fmt: skip
    good = (("<0.01", 3), ("tr", 3), (" 0.5 ", 15), ("0.5%", 6), ("+0.5", 4))
    for text, number in good:
        yield from of_rows(
            number, f"a cell {text}", "minerals", cell(4, 1, text), ends=TAKEN,
            holders=("csv", "workbook"),
        )  # fmt: skip


def amount_cases() -> Iterator[Case]:
    """Amounts that cannot be, sums that do not close, wrong units."""
    yield from of_rows(5, "a negative mass", "minerals", cell(4, 1, -0.5), ("row 4",))
    yield from of_rows(5, "a mass of 150 %", "minerals", cell(2, 1, 150.0), ("row 2",))
    yield from of_rows(5, "a negative sieve mass", "sieves", cell(2, 2, -60.0), ("row 2",))
    yield from of_rows(5, "a sum of 97", "minerals", _values(94.0, 2.0, 0.5, 0.4, 0.1), ("97",))
    yield from of_rows(
        5, "a sum of 98.5", "minerals", _values(95.5, 2.0, 0.5, 0.4, 0.1), ends=TAKEN
    )
    yield from of_rows(5, "a sum of 102.1", "minerals", _values(99.1, 2, 0.5, 0.4, 0.1), ("102.1",))
    yield from of_rows(
        6, "fractions for percent", "minerals", _values(0.97, 0.02, 0.005, 0.004, 0.001),
        ("Fractions",),
    )  # fmt: skip
    yield from of_rows(
        6, "ppm for percent", "minerals", _values(970000.0, 20000.0, 5000.0, 4000.0, 1000.0)
    )
    yield from of_rows(7, "one mineral by two names", "minerals", _plus(["black mica", 0.0]),
                       ("row 7", "row 4"))  # fmt: skip
    yield from of_rows(7, "one mineral twice", "minerals", _plus(["quartz", 0.0]), ("row 7",))
    for name in ("QUARTZ", "quartz\u00a0", "\u2003quartz", "ｑｕａｒｔｚ"):
        yield from of_rows(8, f"quartz as {name!a}", "minerals", cell(2, 0, name), ends=TAKEN,
                           holders=("csv", "workbook"))  # fmt: skip
    for form in ("NFC", "NFD"):
        name = unicodedata.normalize(form, "béryl")
        yield from of_rows(8, f"an accent in {form}", "minerals", cell(6, 0, name), ends=TAKEN,
                           holders=("csv", "workbook"))  # fmt: skip


HOSTILE = (
    "[red]x[/]", "<script>alert(1)</script>", "\x1b[31mred\x1b[0m", "quartz\nand more",
    "\u202equartz", "x" * 9000, "\x9b2J", "]]>", "{{ 7*7 }}", "quartz\u200b\u200b, but not",
)  # fmt: skip


def name_cases() -> Iterator[Case]:
    """Names that would steer what shows them."""
    for k, name in enumerate(HOSTILE):
        # XML cannot hold control characters: a workbook takes what it can.
        holders = ("csv", "toml") if any(ord(c) < 32 or c == "\x9b" for c in name) else HOLDERS
        short = ascii(name[:14])
        yield from of_rows(9, f"a mineral called {short}", "minerals", cell(3, 0, name),
                           ("row 3",), holders=holders[k % 2 :: 2])  # fmt: skip
    for name in ("=1+1", "@x", "+1", "-1", "=HYPERLINK(0)"):
        yield from of_rows(10, f"a mineral called {name}", "minerals", cell(3, 0, name),
                           ("row 3",), holders=("csv", "workbook"))  # fmt: skip
    for name in ("=1+1", "@x", "[red]x[/]", "<script>", "\u202ex", "\x1b[31m", "a\nb"):
        made = settings(top={"name": name})

        def make(folder: Path, made: dict[str, Any] = made) -> list[str]:
            return ["check", held("folder", folder, tables(), made), "--trials", "0"]

        yield Case(9, f"09 a bag called {name!a}", make, TAKEN)


def _without(stem: str, row: int, keep: int) -> Callable[[Rows], None]:
    def damage(rows: Rows) -> None:
        rows[row - 1] = rows[row - 1][:keep]

    return damage


def structure_cases() -> Iterator[Case]:
    """Rows and headings out of shape; sieves that do not fit each other."""
    text = ("csv", "folder")  # the cells of a sheet have no ends
    for stem in ("minerals", "sieves", "tests", "assays", "textures", "phases"):
        yield from of_rows(15, "a short row", stem, _without(stem, 2, 1), ("row 2",), holders=text)
        yield from of_rows(15, "a heading alone", stem, lambda rows: rows[:1],
                           holders=("csv", "folder", "workbook"), ends="either")  # fmt: skip
        yield from of_rows(12, "a heading in two rows", stem,
                           lambda rows: [rows[0], ["(unit)"] * len(rows[0]), *rows[1:]],
                           ("row 2",), holders=("folder", "workbook"))  # fmt: skip
        yield from of_rows(15, "a long row", stem, lambda rows: [rows[0], [*rows[1], "x"]],
                           ("row 2",), holders=("folder",))  # fmt: skip
        yield from of_rows(15, "a heading twice", stem,
                           lambda rows: [[*r, r[0]] for r in rows], ("row 1",),
                           holders=("toml", "workbook"))  # fmt: skip
    sieves: dict[str, tuple[Callable[[Rows], None], str]] = {
        "sieves that overlap": (cell(3, 0, 300.0), "refused"),
        "sieves with a gap": (cell(3, 0, 200.0), "refused"),
        "a class reversed": (lambda rows: rows[2].__setitem__(slice(0, 2), [125, 250]), "refused"),
        "a class of no width": (cell(3, 1, 250.0), "refused"),
        "one class": (lambda rows: rows.__delitem__(slice(2, None)), "either"),
        "a class of nothing": (cell(3, 2, 0.0), TAKEN),
        "all classes of nothing": (lambda r: [r[0], *([*x[:2], 0.0] for x in r[1:])], "refused"),
        "a negative opening": (cell(4, 1, -5.0), "refused"),
        "a sieve of 1e9 um": (cell(2, 0, 1e9), "refused"),
        "a sieve of 1e-9 um": (cell(4, 1, 1e-9), "either"),
    }
    for name, (damage, ends) in sieves.items():
        yield from of_rows(16, name, "sieves", damage, ends=ends, holders=("folder", "workbook"))
    yield from of_rows(
        16, "a class in minerals that is not in the sieves", "minerals",
        lambda rows: [[*r, *x] for r, x in zip(
            rows, [["passing_um", "retained_um"], *[[800.0, 600.0]] * 5], strict=True)],
        holders=("folder", "workbook"),
    )  # fmt: skip


def key_cases() -> Iterator[Case]:
    """Keys of the settings, in TOML and as a sheet."""
    bad: list[tuple[int, str, dict[str, Any], str]] = [
        (5, "a negative assay", {"assay": {"SiO2": -1.0}}, "refused"),
        (5, "an assay of 120 %", {"assay": {"SiO2": 120.0}}, "refused"),
        (6, "an assay in ppm", {"assay": {"Fe2O3": 1200.0}}, "refused"),
        (17, "an assay of exactly 0", {"assay": {"TiO2": 0.0}}, TAKEN),
        (17, "a doubt of 0", {"assay_sd": {"Fe2O3": 0.0}}, "either"),
        (17, "a negative doubt", {"assay_sd": {"Fe2O3": -0.1}}, "refused"),
        (18, "Fe and Fe2O3 both", {"assay": {"Fe": 0.1}}, "refused"),
        (18, "Fe, FeO and Fe2O3", {"assay": {"Fe": 0.1, "FeO": 0.1}}, "refused"),
        (9, "an unknown key", {"top": {"nmae": "x"}}, "refused"),
        (9, "Fe203 with a nought", {"assay": {"Fe203": 0.1}}, "refused"),
        (3, "words for a number", {"assay": {"TiO2": "about 0.1"}}, "refused"),
        (3, "a limit of detection", {"assay": {"TiO2": "<0.01"}}, TAKEN),
        (2, "a decimal comma in quotes", {"assay": {"TiO2": "0,01"}}, "either"),
        (5, "more moisture than bag", {"top": {"moisture_pct": 140.0}}, "refused"),
        (20, "a bag of no weight", {"top": {"received_kg": 0.0}}, "refused"),
        (20, "a feed of 1e300 degrees", {"top": {"feed_temperature_c": 1e300}}, "refused"),
        (20, "magnets at 900 degrees", {"top": {"roll_temperature_c": 900.0}}, "refused"),
        (5, "a limit above 100 %", {"limit": {"Fe2O3_max_pct": 140.0}}, "refused"),
        (16, "a window reversed", {"limit": {"passing_um": 100, "retained_um": 500}}, "refused"),
        (9, "a use nobody knows", {"limit": {"use": "[red]glass[/]"}}, "refused"),
        (12, "a truth for a number", {"top": {"received_kg": True}}, "refused"),
    ]
    for number, name, changed, ends in bad:
        for holder in ("toml", "workbook"):
            made = settings(**changed)
            command = next(_TURN)

            def make(
                folder: Path, made: Any = made, holder: str = holder, command: str = command
            ) -> list[str]:
                return [command, held(holder, folder, tables(), made), "--trials", "0"]

            file = "sample.toml" if holder == "toml" else "bag.xlsx"
            says = (file,) if ends == "refused" else ()
            yield Case(number, f"{number:02d} {name}, by {holder}", make, ends, says)


def whole_cases() -> Iterator[Case]:
    """Odd but possible samples that go through the whole calculation."""
    whole: dict[str, tuple[int, Callable[[Rows], Any]]] = {
        "one mineral": (19, lambda rows: [rows[0], ["quartz", 100.0]]),
        "nothing but magnetite": (19, lambda rows: [rows[0], ["magnetite", 100.0]]),
        "a trace of everything dark": (19, lambda rows: [
            rows[0], ["quartz", 99.4], *([m, 0.05] for m in (
                "biotite", "ilmenite", "magnetite", "hematite", "goethite", "almandine",
                "augite", "chromite", "epidote", "muscovite", "zircon", "rutile")),
        ]),
        "hardly any of the host": (5, lambda rows: [
            rows[0], ["quartz", 0.001], ["ilmenite", 99.999]]),
        "an interval": (3, cell(4, 1, "<0.5")),
    }  # fmt: skip
    for name, (number, damage) in whole.items():
        yield from of_rows(number, name, "minerals", damage, ends=TAKEN, holders=("csv",),
                           compute=True)  # fmt: skip
    for name, key in (("assay 0", {"Fe2O3": 0.0}), ("assay below", {"Fe2O3": "<0.001"})):
        made = settings(assay=key)

        def make(folder: Path, made: Any = made) -> list[str]:
            return ["check", held("folder", folder, tables(), made), "--trials", "0"]

        yield Case(17, f"17 {name}, through the fit", make, "either", (), True)


SAMPLES = [
    *cell_cases(), *amount_cases(), *name_cases(), *structure_cases(), *key_cases(),
    *whole_cases(),
]  # fmt: skip
