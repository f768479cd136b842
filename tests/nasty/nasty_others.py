"""Bytes damaged in every kind of file; rolls, circuits, tables of samples, options, places."""

from __future__ import annotations

import io
import itertools
import os
import zipfile
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

from nasty_bags import (
    BATCH,
    CIRCUIT,
    SAMPLE_COMMANDS,
    TAKEN,
    Case,
    Rows,
    roll_text,
    settings,
    table,
    tables,
    write_folder,
    write_workbook,
)

from feedchar.sample.template import csv_text, workbook_bytes

_TURN = itertools.cycle(SAMPLE_COMMANDS)
_NO_TRIALS = ("--trials", "0")


def good(kind: str, folder: Path) -> tuple[Path, list[str]]:
    """A good file of a kind, and the arguments of a command that reads it."""
    if kind == "roll":
        path = folder / "mine.toml"
        path.write_text(roll_text(), "utf-8")
        return path, ["pull", "--roll", str(path), "--mineral", "biotite"]
    if kind == "batch":
        path = folder / "holes.csv"
        path.write_text(csv_text(BATCH), "utf-8")
        return path, ["batch", str(path), "--out", str(folder / "answers.csv")]
    if kind == "parquet":
        path = folder / "holes.parquet"
        write_parquet(path, BATCH)
        return path, ["batch", str(path), "--out", str(folder / "answers.parquet")]
    if kind == "workbook":
        path = write_workbook(folder / "bag.xlsx", tables(), settings())
        return path, [next(_TURN), str(path), *_NO_TRIALS]
    extra = {stem: table(stem) for stem in ("tests", "assays")}
    bag = write_folder(folder / "bag", tables(**extra), settings())
    if kind == "circuit":
        path = folder / "flow.toml"
        path.write_text(CIRCUIT, "utf-8")
        return path, ["scale-up", str(bag), "--circuit", str(path), *_NO_TRIALS]
    return bag / kind, [next(_TURN), str(bag), *_NO_TRIALS]


def write_parquet(path: Path, rows: Rows, types: dict[str, Any] | None = None) -> None:
    """A table of samples as Parquet."""
    import pyarrow as pa
    import pyarrow.parquet as parquet

    columns = {
        name: pa.array([None if r[k] == "" else r[k] for r in rows[1:]], (types or {}).get(name))
        for k, name in enumerate(rows[0])
    }
    parquet.write_table(pa.table(columns), path)


TEXTS = ("minerals.csv", "sieves.csv", "tests.csv", "sample.toml", "roll", "circuit", "batch")
BYTES: dict[str, tuple[int, Callable[[bytes], bytes], str]] = {
    "a mark": (1, lambda d: b"\xef\xbb\xbf" + d, TAKEN),
    "UTF-16": (1, lambda d: d.decode().encode("utf-16"), "refused"),
    "UTF-16 without a mark": (1, lambda d: d.decode().encode("utf-16-le"), "refused"),
    "a sign of Windows-1252 at the end": (1, lambda d: d + b"# 5 \xb5m", "refused"),
    "a sign of Windows-1252 after 20 kB": (
        1, lambda d: d + b"\n" * 20_000 + b"# 5 \xb5m", "refused"),
    "no bytes": (15, lambda d: b"", "refused"),
    "blank lines": (15, lambda d: b"\n \r\n\n", "refused"),
    "no last newline": (15, lambda d: d.rstrip(b"\n"), TAKEN),
    "line ends of old": (15, lambda d: d.replace(b"\n", b"\r"), TAKEN),
    "line ends of DOS": (15, lambda d: d.replace(b"\n", b"\r\n"), TAKEN),
    "an unclosed quote": (15, lambda d: d + b'"', "refused"),
    "a quote in the heading": (15, lambda d: b'"' + d, "refused"),
    "a NUL": (15, lambda d: d[: len(d) // 2] + b"\x00" + d[len(d) // 2 :], "refused"),
    "a picture": (15, lambda d: b"\x89PNG\r\n\x1a\n" + bytes(range(256)), "refused"),
    "a megabyte in one cell": (9, lambda d: d + b"x" * 1_000_000, "refused"),
    "brackets 40 000 deep": (9, lambda d: d + b"x = " + b"[" * 40_000, "refused"),
}  # fmt: skip


def byte_cases() -> Iterator[Case]:
    """Bytes of every text file, whatever reads it."""
    for kind, (name, (number, damage, ends)) in itertools.product(TEXTS, BYTES.items()):
        toml = kind in ("sample.toml", "roll", "circuit")
        if toml and name == "line ends of old":
            ends = "either"  # the standard of TOML knows no bare carriage return
        if kind == "batch" and name.startswith("brackets"):
            ends = TAKEN  # one more row, which gets its note

        def make(folder: Path, kind: str = kind, damage: Any = damage) -> list[str]:
            path, arguments = good(kind, folder)
            path.write_bytes(damage(path.read_bytes()))
            return arguments

        file = {"roll": "mine.toml", "circuit": "flow.toml", "batch": "holes.csv"}.get(kind, kind)
        yield Case(number, f"{number:02d} {name}, {kind}", make, ends,
                   (file,) if ends == "refused" else ())  # fmt: skip
    for kind in ("workbook", "parquet"):
        damages: dict[str, Callable[[bytes], bytes]] = {
            "no bytes": lambda d: b"",
            "half of it": lambda d: d[: len(d) // 2],
            "its middle gone": lambda d: d[: len(d) // 3] + d[len(d) // 2 :],
            "a byte changed in ten": lambda d: bytes(
                b ^ 255 if k % 10 == 5 else b for k, b in enumerate(d)),
            "a text": lambda d: b"mineral,mass_pct\nquartz,100\n",
            "an old workbook": lambda d: b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + d,
        }  # fmt: skip
        for name, damage in damages.items():

            def make(folder: Path, kind: str = kind, damage: Any = damage) -> list[str]:
                path, arguments = good(kind, folder)
                path.write_bytes(damage(path.read_bytes()))
                return arguments

            file = "bag.xlsx" if kind == "workbook" else "holes.parquet"
            yield Case(13, f"13 {name}, {kind}", make, says=(file,))


def _zip(folder: Path, name: str, parts: dict[str, bytes]) -> list[str]:
    with zipfile.ZipFile(folder / name, "w", zipfile.ZIP_DEFLATED) as archive:
        for part, body in parts.items():
            archive.writestr(part, body)
    return ["check", str(folder / name), *_NO_TRIALS]


def _parts(**changed: bytes) -> dict[str, bytes]:
    data = workbook_bytes({"minerals": table("minerals")})
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        made = {name: archive.read(name) for name in archive.namelist()}
    sheet = "xl/worksheets/sheet1.xml"
    for key, value in changed.items():
        made[sheet] = made[sheet].replace(key.encode(), value) if key != "whole" else value
    return made


def _entities() -> bytes:
    lines = b"".join(b'<!ENTITY a%d "%s">' % (n + 1, b"&a%d;" % n * 10) for n in range(9))
    return b'<?xml version="1.0"?><!DOCTYPE x [<!ENTITY a0 "ha">' + lines + b"]><x>&a9;</x>"


def workbook_cases() -> Iterator[Case]:
    """What a workbook can hide."""
    made: list[tuple[int, str, Callable[[Path], list[str]], str]] = [
        (13, "a bomb of zeros", lambda f: _zip(
            f, "bag.xlsx", {**_parts(), "xl/media/x": bytes(60_000_000)}), "refused"),
        (13, "a dense part", lambda f: _zip(
            f, "bag.xlsx", {**_parts(), "xl/media/x": bytes(3_000_000)}), "refused"),
        (13, "entities in entities", lambda f: _zip(
            f, "bag.xlsx", {**_parts(), "xl/workbook.xml": _entities()}), "refused"),
        (13, "an entity that reads a file", lambda f: _zip(
            f, "bag.xlsx", {**_parts(), "xl/sharedStrings.xml":
                b'<!DOCTYPE x [<!ENTITY e SYSTEM "file:///etc/hostname">]><sst>&e;</sst>'}),
            "refused"),
        (13, "two thousand parts", lambda f: _zip(
            f, "bag.xlsx", {**_parts(), **{f"x/{n}": b"" for n in range(2100)}}), "refused"),
        (13, "a part that climbs", lambda f: _zip(
            f, "bag.xlsx", {**_parts(), "../../evil": b"x"}), "either"),
        (13, "no sheet", lambda f: _zip(f, "bag.xlsx", {"x": b"y"}), "refused"),
        (13, "an .xls", lambda f: _zip(f, "bag.xls", _parts()), "refused"),
        (13, "an .xlsm", lambda f: _zip(f, "bag.xlsm", _parts()), "refused"),
        (13, "an .ods", lambda f: _zip(f, "bag.ods", _parts()), "refused"),
        (11, "a formula without a value", lambda f: _zip(
            f, "bag.xlsx", _parts(**{"<v>97</v>": b"<f>96+1</f>"})), "refused"),
        (11, "a formula with a value", lambda f: _zip(
            f, "bag.xlsx", _parts(**{"<v>97</v>": b"<f>96+1</f><v>97</v>"})), TAKEN),
        (12, "an error cell", lambda f: _zip(
            f, "bag.xlsx", _parts(**{'t="n"><v>97</v>': b't="e"><v>#DIV/0!</v>'})), "refused"),
        (12, "a truth", lambda f: _zip(
            f, "bag.xlsx", _parts(**{'t="n"><v>97</v>': b't="b"><v>1</v>'})), "refused"),
        (12, "a hidden row", lambda f: _zip(
            f, "bag.xlsx", _parts(**{'<row r="3"': b'<row r="3" hidden="1"'})), "refused"),
        (12, "merged cells", lambda f: _zip(f, "bag.xlsx", _parts(**{
            "</sheetData>": b'</sheetData><mergeCells><mergeCell ref="A2:A3"/></mergeCells>'
        })), "refused"),
        (14, "100 000 empty rows", lambda f: _zip(f, "bag.xlsx", _parts(**{
            "</sheetData>": b"".join(b'<row r="%d" s="1"/>' % n for n in range(7, 100_007))
            + b"</sheetData>"})), "either"),
        (14, "a size that is a lie", lambda f: _zip(f, "bag.xlsx", _parts(**{
            '<dimension ref="A1:B6"': b'<dimension ref="A1:XFD1048576"'})), TAKEN),
        (4, "not a number in a number cell", lambda f: _zip(
            f, "bag.xlsx", _parts(**{"<v>97</v>": b"<v>NaN</v>"})), "refused"),
        (4, "infinity in a number cell", lambda f: _zip(
            f, "bag.xlsx", _parts(**{"<v>97</v>": b"<v>1e999</v>"})), "refused"),
        (12, "numbers as text", lambda f: _zip(
            f, "bag.xlsx", _parts(**{
                't="n"><v>97</v>': b't="inlineStr"><is><t>97</t></is>'})), TAKEN),
    ]  # fmt: skip
    for number, name, make, ends in made:
        yield Case(number, f"{number:02d} {name} in a workbook", make, ends,
                   ("bag.xls",) if ends == "refused" and "xl" in name else ())  # fmt: skip


def roll_cases() -> Iterator[Case]:
    """Rolls that cannot be built, in a file and by options."""
    for name, changed in {
        "pitch beyond the radius": {"magnet_mm": 60.0},
        "a belt thicker than the pitch": {"belt_mm": 9.0},
        "no magnet": {"magnet_mm": 0.0},
        "a bore beyond the roll": {"bore_radius_mm": 60.0},
        "a negative radius": {"roll_radius_mm": -50.0},
        "a radius of 1e300": {"roll_radius_mm": 1e300},
        "a radius of 1e-300": {"roll_radius_mm": 1e-300},
        "a remanence of 40 T": {"remanence_tesla": 40.0},
        "no remanence": {"remanence_tesla": None},
        "text for a number": {"magnet_mm": "4"},
        "truth for a number": {"magnet_mm": True},
        "an unknown key": {"magnte_mm": 4.0},
        "a name of markup": {"roll": "[red]x[/]\x1b[31m"},
        "a reading beside the remanence": {
            "reading_tesla": 1.0, "probe_mm": 1.0, "probe_height_mm": 0.5},
    }.items():  # fmt: skip

        def make(folder: Path, changed: dict[str, Any] = changed) -> list[str]:
            (folder / "mine.toml").write_text(roll_text(**changed), "utf-8")
            return ["pull", "--roll", str(folder / "mine.toml"), "--mineral", "biotite"]

        ends = TAKEN if "markup" in name else "refused"
        yield Case(20, f"20 {name}, a roll", make, ends)
    for name, text in {
        "nan": "magnet_mm = nan", "inf": "magnet_mm = inf", "a list": "magnet_mm = [4]",
        "a key twice": "magnet_mm = 4\nmagnet_mm = 4", "hexadecimal": "magnet_mm = 0xFFFFFFFFFFFF",
        "a number of 5000 digits": "magnet_mm = " + "9" * 5000, "a date": "magnet_mm = 2024-01-01",
    }.items():  # fmt: skip

        def make(folder: Path, text: str = text) -> list[str]:
            (folder / "mine.toml").write_text(roll_text(magnet_mm=None) + text + "\n", "utf-8")
            return ["pull", "--roll", str(folder / "mine.toml"), "--mineral", "biotite"]

        yield Case(4, f"04 {name}, a roll", make, says=("mine.toml",))


def circuit_cases() -> Iterator[Case]:
    """Circuits that cannot be built."""
    for name, (old, new) in {
        "a route to nowhere": ('"product"', '"nowhere"'),
        "no product": ('"product"', '"reject"'),
        "a circle": ('"product"', '"drum"'),
        "no kind": ('kind = "roll"\n', ""),
        "another kind": ('kind = "roll"', 'kind = "sluice"'),
        "speed 0": ("= 2", "= 0"),
        "a negative speed": ("= 2", "= -2"),
        "speed nan": ("= 2", "= nan"),
        "speed inf": ("= 2", "= inf"),
        "speed of 400 digits": ("= 2", "= 1" + "0" * 400),
        "speed true": ("= 2", "= true"),
        "speed in quotes": ("= 2", '= "2"'),
        "an edge of 1e9 mm": ("= 8", "= 1e9"),
        "another roll": ("splitter_mm", 'roll = "../../etc/passwd"\nsplitter_mm'),
        "a roll that is a folder": ("splitter_mm", 'roll = "."\nsplitter_mm'),
        "a step called by markup": ('"roll 1"', '"[red]\\u001b[31m"'),
        "no steps": (CIRCUIT, 'name = "x"\n'),
        "steps that are a list": (CIRCUIT, "steps = [1]\n"),
        "an unknown key": ("drum = ", "durm = "),
        "a name that is a number": ('"drum, then a roll"', "5"),
    }.items():

        def make(folder: Path, old: str = old, new: str = new) -> list[str]:
            path, arguments = good("circuit", folder)
            assert old in CIRCUIT
            path.write_text(CIRCUIT.replace(old, new), "utf-8")
            return arguments

        ends = TAKEN if "markup" in name else "refused"
        says = () if ends == TAKEN or "roll that" in name or "another roll" in name else (
            "flow.toml",)  # fmt: skip
        yield Case(20, f"20 {name}, a circuit", make, ends, says)


def batch_cases() -> Iterator[Case]:
    """Tables of many samples."""
    wide = {
        "a name twice": (25, lambda r: r[2].__setitem__(0, "H1"), TAKEN),
        "a column named like an answer": (25, lambda r: r[0].__setitem__(0, "notes"), "refused"),
        "a column twice": (25, lambda r: r[0].__setitem__(3, "quartz_mass_pct"), "refused"),
        "one mineral by two names": (7, lambda r: r[0].__setitem__(4, "bt_mass_pct"), "refused"),
        "a mineral of markup": (9, lambda r: r[0].__setitem__(3, "[red]_mass_pct"), "refused"),
        "a mineral of control codes": (9, lambda r: r[0].__setitem__(3, "\x1b[2J_mass_pct"),
                                       "refused"),
        "a group for a mineral": (7, lambda r: r[0].__setitem__(3, "mica_mass_pct"), "refused"),
        "iron twice": (18, lambda r: r[0].__setitem__(1, "FeO_wt_pct"), "refused"),
        "no unit": (6, lambda r: r[0].__setitem__(5, "Fe2O3"), "refused"),
        "a column without a heading": (15, lambda r: r[0].__setitem__(1, ""), TAKEN),
        "a heading alone": (15, lambda r: r.__delitem__(slice(1, None)), "refused"),
        "nothing of use": (15, lambda r: r.__setitem__(0, list("abcdef")), "refused"),
    }  # fmt: skip
    for name, (number, damage, ends) in wide.items():
        for kind in ("batch", "parquet"):
            if kind == "parquet" and name in ("a column twice", "a heading alone"):
                continue

            def make(folder: Path, kind: str = kind, damage: Any = damage) -> list[str]:
                path, arguments = good(kind, folder)
                rows = [list(row) for row in BATCH]
                damage(rows)
                if kind == "batch":
                    path.write_text(csv_text(rows), "utf-8")
                else:
                    write_parquet(path, rows)
                return arguments

            file = "holes.csv" if kind == "batch" else "holes.parquet"
            yield Case(number, f"{number:02d} {name}, {kind}", make, ends,
                       (file,) if ends == "refused" else ())  # fmt: skip

    rows = [
        ("words in a cell", ["H9", "as dug", "1o2", 1, 1, 0.1]),
        ("a negative share", ["H9", "as dug", -5, 1, 1, 0.1]),
        ("a sum of 40", ["H9", "as dug", 38, 1, 1, 0.1]),
        ("an origin nobody knows", ["H9", "moon", 98, 1, 1, 0.1]),
        ("a short row", ["H9", "as dug"]),
        ("a long row", ["H9", "as dug", 98, 1, 1, 0.1, "x", "y"]),
        ("nan", ["H9", "as dug", "nan", 1, 1, 0.1]),
        ("1e400", ["H9", "as dug", "1e400", 1, 1, 0.1]),
        ("a formula", ["=1+1", "as dug", 98, 1, 1, 0.1]),
        ("ppm for percent", ["H9", "as dug", 98, 1, 1, 900]),
        ("markup", ["[red]x[/]\x1b[31m", "as dug", 98, 1, 1, 0.1]),
    ]
    for name, row in rows:
        for strict in (False, True):

            def make(folder: Path, row: Any = row, strict: bool = strict) -> list[str]:
                path, arguments = good("batch", folder)
                path.write_text(csv_text([*BATCH, row]), "utf-8")
                return [*arguments, "--trials", "2", *(["--strict"] if strict else [])]

            said = name not in ("a formula", "markup", "a long row", "ppm for percent")
            ends = ("refused" if said else "either") if strict else TAKEN
            says = ("holes.csv", "row 5") if ends == "refused" else ()
            yield Case(25, f"25 a row with {name}{', strict' if strict else ''}", make, ends, says,
                       True)  # fmt: skip

    import pyarrow as pa

    mixed: dict[str, tuple[list[Any], Any]] = {
        "text among numbers": (["98", "x", "99"], pa.string()),
        "dates": ([0, 1, 2], pa.date32()),
        "lists": ([[1], [2], [3]], pa.list_(pa.int64())),
        "bytes": ([b"\xff", b"98", b""], pa.binary()),
        "truth": ([True, False, None], pa.bool_()),
        "decimals": ([1, 2, 3], pa.decimal128(10, 2)),
        "nothing": ([None, None, None], pa.null()),
        "nan and inf": ([float("nan"), float("inf"), 99.0], pa.float64()),
        "large whole numbers": ([2**62, 98, 99], pa.int64()),
        "unsigned": ([1, 98, 99], pa.uint64()),
        "half numbers": ([1.0, 98.0, 99.0], pa.float16()),
        "times": ([0, 1, 2], pa.timestamp("ns", tz="UTC")),
    }
    for name, (values, kind) in mixed.items():
        for column in (2, 0):

            def make(
                folder: Path, values: Any = values, kind: Any = kind, column: int = column
            ) -> list[str]:
                path, arguments = good("parquet", folder)
                rows = [list(row) for row in BATCH]
                for row, value in zip(rows[1:], values, strict=True):
                    row[column] = value
                import numpy as np

                if kind == pa.float16():
                    for row in rows[1:]:
                        row[column] = np.float16(row[column])
                write_parquet(path, rows, {rows[0][column]: kind})
                return [*arguments, "--trials", "2"]

            where = "amounts" if column else "names"
            yield Case(25, f"25 {name} as {where} in Parquet", make, "either", (), True)


OPTIONS: list[tuple[int, list[str], str]] = [
    (20, ["pull", "--mineral", "biotite", "--size-um", "0"], "refused"),
    (20, ["pull", "--mineral", "biotite", "--size-um", "0.001"], "either"),
    (20, ["pull", "--mineral", "biotite", "--size-um", "1"], "either"),
    (20, ["pull", "--mineral", "biotite", "--size-um", "1e9"], "either"),
    (20, ["pull", "--mineral", "biotite", "--size-um", "100,-5"], "refused"),
    (20, ["pull", "--mineral", "biotite", "--belt-speed", "0"], "refused"),
    (20, ["pull", "--mineral", "biotite", "--belt-speed", "1e-12"], "either"),
    (20, ["pull", "--mineral", "biotite", "--belt-speed", "1e12"], "either"),
    (20, ["pull", "--mineral", "biotite", "--belt-speed", "1e300"], "either"),
    (20, ["pull", "--height-mm", "1e300"], "either"),
    (20, ["pull", "--height-mm", "1e-300"], "either"),
    (20, ["pull", "--roll-temperature", "5000"], "refused"),
    (20, ["pull", "--density", "1e-300", "--susceptibility", "1e-7"], "either"),
    (20, ["pull", "--density", "1e300", "--susceptibility", "1e-7"], "either"),
    (20, ["pull", "--susceptibility", "1e300"], "either"),
    (20, ["pull", "--magnet-mm", "1e300"], "refused"),
    (20, ["pull", "--machine", "induced-roll", "--current", "1e300"], "either"),
    (20, ["pull", "--machine", "induced-roll", "--gap-mm", "1e300"], "either"),
    (20, ["pull", "--machine", "induced-roll", "--gap-mm", "1e-300"], "either"),
    (20, ["pull", "--machine", "induced-roll", "--tooth-pitch-mm", "0.0004"], "refused"),
    (20, ["pull", "--machine", "induced-roll", "--tooth-pitch-mm", "0.1"], "either"),
    (20, ["pull", "--mineral", "biotite", "--side-slope", "1e300"], "either"),
    (20, ["pull", "--mineral", "biotite", "--iron-wt-pct", "1e300"], "refused"),
    (20, ["pull", "--mineral", "biotite", "--rpm", "1e-300"], "either"),
    (4, ["pull", "--mineral", "biotite", "--size-um", "nan"], "refused"),
    (4, ["pull", "--mineral", "biotite", "--size-um", "1_000"], "refused"),
    (4, ["pull", "--mineral", "biotite", "--size-um", "١٠٠"], "refused"),
    (2, ["pull", "--mineral", "biotite", "--size-um", "0,5"], "either"),
    (9, ["pull", "--mineral", "\x1b[31m"], "refused"),
    (9, ["pull", "--mineral", "x" * 100_000], "refused"),
    (9, ["pull", "--roll", "\x1b[31m"], "refused"),
    (9, ["pull", "--roll", "x\x00y"], "refused"),
    (9, ["mineral", "[red]x[/]"], "refused"),
    (9, ["mineral", "<script>"], "refused"),
    (9, ["mineral", "quartz\nquartz"], "refused"),
    (9, ["mineral", "\u202equartz"], "refused"),
    (9, ["mineral", "x" * 10_000], "refused"),
    (9, ["mineral", ""], "refused"),
    (10, ["mineral", "=1+1"], "refused"),
    (8, ["mineral", "QUARTZ\u00a0"], TAKEN),
    (7, ["mineral", "mica"], "refused"),
    (21, ["new", ""], "refused"),
    (21, ["new", "x\x00y"], "refused"),
    (21, ["new", "/dev/null"], "refused"),
    (21, ["new", "/dev/null/x"], "refused"),
    (21, ["new", "/proc/x"], "refused"),
    (9, ["new", "x" * 300], "refused"),
    (15, ["check", ""], "refused"),
    (15, ["check", "x\x00y"], "refused"),
    (15, ["check", "x" * 5000], "refused"),
    (21, ["check", "/dev/full"], "refused"),
    (21, ["check", "/dev/zero"], "refused"),
    (21, ["batch", "/dev/zero", "--out", "x.csv"], "refused"),
    (21, ["batch", "x" * 5000, "--out", "x.csv"], "refused"),
    (21, ["batch", "x\x00y", "--out", "x.csv"], "refused"),
    (24, ["mineral", "quartz"], TAKEN),
    (24, ["pull", "--mineral", "biotite"], TAKEN),
]
SURROUNDINGS = (
    ("COLUMNS", "20"), ("COLUMNS", "0"), ("COLUMNS", "wide"), ("TERM", "dumb"), ("LC_ALL", "C"),
    ("HOME", "/nowhere"), ("NO_COLOR", "1"),
)  # fmt: skip


def option_cases() -> Iterator[Case]:
    """Values of options, and surroundings."""
    for number, arguments, ends in OPTIONS:
        if number == 24:
            for name, value in SURROUNDINGS:
                title = f"24 {arguments[0]} with {name}={value}"
                yield Case(24, title, lambda f, a=arguments: list(a), ends, (), False,
                           ((name, value),))  # fmt: skip
            continue
        word = " ".join(ascii(a[:24]) for a in arguments[1:])
        yield Case(number, f"{number:02d} {arguments[0]} {word}", lambda f, a=arguments: list(a),
                   ends)  # fmt: skip
    for option, value in (
        ("--belt-speed", "0"), ("--belt-speed", "nan"), ("--belt-speed", "0,5"),
        ("--splitter-mm", "-3"), ("--passes", "0"), ("--passes", "10"), ("--treat", "500-500"),
        ("--treat", "1-2-3"), ("--limit", ""), ("--limit", "Fe2O3=0,05"), ("--limit", "[red]=1"),
        ("--limit", "Fe2O3=nan"), ("--limit", "Fe203=1"), ("--at-grade", "101"),
        ("--require", "1.5"), ("--trials", "-1"), ("--trials", "1e3"), ("--seed", "x"),
        ("--roll", "/dev/zero"), ("--roll", "nobody's"), ("--splitter-2-mm", "1"),
    ):  # fmt: skip

        def make(folder: Path, option: str = option, value: str = value) -> list[str]:
            (folder / "bag.csv").write_text(csv_text(table("minerals")), "utf-8")
            return ["assess", str(folder / "bag.csv"), option, value]

        yield Case(20, f"20 assess {option} {value}", make)


def _aim(kind: str, folder: Path, read: Path) -> Path:
    """A place that must not be written."""
    target = folder / f"aim{read.suffix if kind == 'a link to the input' else ''}"
    if kind == "the input":
        return read
    if kind == "a link to the input":
        target.symlink_to(read)
    elif kind == "a second name of the input":
        os.link(read, target)
    elif kind == "a pipe":
        os.mkfifo(target)
    elif kind == "a folder":
        target.mkdir()
    elif kind == "a file that exists":
        target.write_text("precious")
    elif kind == "a full device":
        return Path("/dev/full")
    elif kind == "a folder that is not there":
        return folder / "no" / "where"
    elif kind == "a link to nothing":
        target.symlink_to(folder / "nothing")
    elif kind == "a link in a circle":
        target.symlink_to(target)
    elif kind == "a name of 300 letters":
        return folder / ("x" * 300)
    return target


AIMS = (
    "the input", "a link to the input", "a second name of the input", "a pipe", "a folder",
    "a file that exists", "a full device", "a folder that is not there", "a link to nothing",
    "a link in a circle", "a name of 300 letters",
)  # fmt: skip


def place_cases() -> Iterator[Case]:
    """Places to write, for every option that writes."""
    for aim, way in itertools.product(
        AIMS, ("check --json", "check --html", "check --xlsx", "check --csv", "scale-up --json",
               "pull --json", "pull --png", "batch --out", "compare --xlsx", "plan --json",
               "plan --write")
    ):  # fmt: skip
        if way in ("check --csv", "plan --write") and aim == "a folder":
            aim = "a folder with more than tables"

        def make(folder: Path, aim: str = aim, way: str = way) -> list[str]:
            command, option = way.split()
            kind = {"pull": "roll", "batch": "batch"}.get(command, "minerals.csv")
            read, arguments = good(kind, folder)
            target = _aim(aim, folder, read)
            if aim == "a folder with more than tables":
                target.mkdir()
                (target / "letter.txt").write_text("precious")
            if command == "batch":
                arguments = arguments[:2]
            else:
                arguments = [command, *arguments[1:]]
            forced = ["--force"] if "exists" not in aim and "nothing" not in aim else []
            return [*arguments, option, str(target), *forced]

        number = 23 if "exists" in aim else 22 if aim == "a full device" else 21
        yield Case(number, f"{number} {way} into {aim}", make)


OTHERS = [
    *byte_cases(), *workbook_cases(), *roll_cases(), *circuit_cases(), *batch_cases(),
    *option_cases(), *place_cases(),
]  # fmt: skip
