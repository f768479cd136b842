"""Every reader on damaged files: what is read, or one message that names the file, within limits.

An ordinary run tries a few hundred; `-m fuzz` tries thousands:

    python -m pytest tests/nasty/test_fuzz.py -m fuzz

Readers of samples meet random edits in tests/sample/test_damaged_inputs.py too; here every kind of
file is damaged in its bytes, its cells and its structure.
"""

from __future__ import annotations

import resource
import time
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from nasty_bags import BATCH, CIRCUIT, TABLES, roll_text, run, toml_of
from nasty_bags import settings as good_settings
from nasty_learned import calibration, past_test, sealed_anew
from nasty_others import write_parquet

from feedchar.batch.table import open_table, partitions
from feedchar.cli.main import main
from feedchar.errors import FeedcharError, InputError
from feedchar.field.rolls import read_roll
from feedchar.plant.circuit_file import read_circuit
from feedchar.sample.limit import parse_limit
from feedchar.sample.read import read_sample
from feedchar.sample.template import csv_text, workbook_bytes
from feedchar.tables.names import resolve_mineral
from feedchar.testwork.calibration_file import read_calibration
from feedchar.testwork.past_tests import read_past_test

MOST_SECONDS, MOST_BYTES = 10.0, 1_000_000_000


def read_table(path: str) -> None:
    source = open_table(path)
    for _ in partitions(source):
        pass


READERS: dict[str, tuple[str, Callable[[str], object]]] = {
    "minerals": ("bag.csv", read_sample),
    "roll": ("mine.toml", read_roll),
    "circuit": ("flow.toml", read_circuit),
    "sample": ("sample.toml", read_sample),
    "batch": ("holes.csv", read_table),
    "parquet": ("holes.parquet", read_table),
    "workbook": ("bag.xlsx", read_sample),
    "calibration": ("machine.toml", read_calibration),
    "past test": ("speed.toml", read_past_test),
}
LEARNED = ("calibration", "past test")
OF_TOML = ("roll", "circuit", "sample", *LEARNED)
WORDS = (
    b",", b";", b"\t", b"\n", b"\r", b'"', b"'", b"\x00", b"\xff", b"\xef\xbb\xbf", b"=", b"[",
    b"]", b"{", b"}", b".", b"-", b"<", b"e9", b"nan", b"inf", b"1,5", b"1e400", b"true", b"tr",
    b"9" * 400, b"#", b'"' * 3, "µ".encode(), "\u202e".encode(), b"\x1b[31m", b"mica", b"Fe",
    b"quartz", b"0x",
)  # fmt: skip
EDITS = st.lists(
    st.tuples(
        st.floats(0, 1, exclude_max=True),
        st.integers(0, 40),
        st.one_of(st.binary(max_size=8), st.sampled_from(WORDS)),
        st.integers(1, 3),
    ),
    min_size=1,
    max_size=6,
)
CELLS = st.one_of(
    st.sampled_from(
        ["", "0", "1", "99", "-1", "1e3", "<0.5", "tr", "=1", "quartz", "biotite", "mica", "feed",
         "pan", "no", "yes", "wt_pct", "ppm", "Fe2O3", "magnetics", "2024-01-02", "100-200"]
    ),
    st.floats().map(str),
    st.integers().map(str),
    st.text(max_size=10),
)  # fmt: skip
CALM = settings(
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
    derandomize=True,
)


@pytest.fixture(scope="module")
def originals(tmp_path_factory) -> dict[str, bytes]:
    place = tmp_path_factory.mktemp("good") / "holes.parquet"
    write_parquet(place, BATCH)
    return {
        "minerals": csv_text(TABLES["minerals"]).encode(),
        "roll": roll_text().encode(),
        "circuit": CIRCUIT.encode(),
        "sample": toml_of(good_settings()).encode(),
        "batch": csv_text(BATCH).encode(),
        "parquet": place.read_bytes(),
        "workbook": workbook_bytes({"minerals": TABLES["minerals"], "tests": TABLES["tests"]}),
        "calibration": calibration().encode(),
        "past test": past_test().encode(),
    }


def edited(data: bytes, edits: list[tuple[float, int, bytes, int]]) -> bytes:
    for where, length, text, times in edits:
        at = int(where * (len(data) + 1))
        data = data[:at] + text * times + data[at + length :]
    return data


def refusal(reader: Callable[..., object], *arguments: object) -> FeedcharError | None:
    """The one message, None when everything was read; any other error fails the test."""
    try:
        reader(*arguments)
    except FeedcharError as error:
        return error
    return None


def peak_bytes() -> int:
    """The most that this process ever held, other tests before it included. [B]"""
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * 1024


def ends_well(kind: str, folder: Path, data: bytes) -> None:
    name, reader = READERS[kind]
    path = folder / name
    path.write_bytes(data)
    started, held = time.process_time(), peak_bytes()
    error = refusal(reader, str(path))
    # What these four say is escaped by the command line; what a sample says is so from the start.
    assert str(error or "").isprintable() or kind in (
        "roll",
        "circuit",
        "batch",
        "parquet",
        *LEARNED,
    )
    assert len(str(error or "")) < 900
    assert error is None or name in str(error), error
    assert time.process_time() - started < MOST_SECONDS
    assert peak_bytes() - held < MOST_BYTES


def _bytes_damaged(kind, tmp_path, originals, edits):
    ends_well(kind, tmp_path, edited(originals[kind], edits))


@pytest.mark.parametrize("kind", READERS)
@settings(CALM, max_examples=30)
@given(edits=EDITS)
def test_bytes_damaged_anywhere_are_read_or_refused(kind, tmp_path, originals, edits):
    _bytes_damaged(kind, tmp_path, originals, edits)


@pytest.mark.fuzz
@pytest.mark.parametrize("kind", READERS)
@settings(CALM, max_examples=400, derandomize=False)
@given(edits=EDITS)
def test_thousands_damaged_in_bytes_are_read_or_refused(kind, tmp_path, originals, edits):
    _bytes_damaged(kind, tmp_path, originals, edits)


@st.composite
def damaged_rows(draw, good):
    """Rows with cells replaced, rows and columns dropped, doubled, swapped and cut."""
    rows = [list(row) for row in good]
    for _ in range(draw(st.integers(1, 5))):
        at = draw(st.integers(0, len(rows) - 1))
        column = draw(st.integers(0, max(len(rows[at]) - 1, 0)))
        what = draw(
            st.sampled_from(["cell", "cell", "cell", "drop", "double", "cut", "swap", "blank"])
        )
        if what == "cell" and rows[at]:
            rows[at][column] = draw(CELLS)
        elif what == "drop" and len(rows) > 1:
            del rows[at]
        elif what == "double":
            rows.insert(at, list(rows[at]))
        elif what == "cut":
            rows[at] = rows[at][:column]
        elif what == "swap":
            for row in rows:
                row[:] = row[::-1]
        elif what == "blank":
            rows.insert(at, [])
    return rows


def _cells_damaged(stem, tmp_path, data):
    folder = tmp_path / "bag"
    folder.mkdir(exist_ok=True)
    for old in folder.iterdir():
        old.unlink()
    (folder / "sample.toml").write_text(toml_of(good_settings()), "utf-8")
    if stem == "batch":
        rows = data.draw(damaged_rows(BATCH))
        ends_well("batch", tmp_path, csv_text(rows).encode("utf-8", "replace"))
        return
    for other in ("minerals", "sieves"):
        (folder / f"{other}.csv").write_text(csv_text(TABLES[other]), "utf-8")
    rows = data.draw(damaged_rows(TABLES[stem]))
    path = folder / f"{stem}.csv"
    path.write_bytes(csv_text(rows).encode("utf-8", "replace"))
    error = refusal(read_sample, folder)
    assert error is None or (isinstance(error, InputError) and error.file)
    assert str(error or "").isprintable()


STEMS = (*TABLES, "batch")


@pytest.mark.parametrize("stem", STEMS)
@settings(CALM, max_examples=25)
@given(data=st.data())
def test_cells_and_rows_damaged_are_read_or_refused(stem, tmp_path, data):
    _cells_damaged(stem, tmp_path, data)


@pytest.mark.fuzz
@pytest.mark.parametrize("stem", STEMS)
@settings(CALM, max_examples=300, derandomize=False)
@given(data=st.data())
def test_thousands_damaged_in_cells_are_read_or_refused(stem, tmp_path, data):
    _cells_damaged(stem, tmp_path, data)


VALUES = st.recursive(
    st.one_of(
        st.booleans(), st.integers(), st.floats(), st.text(max_size=6),
        st.sampled_from(["roll", "drum", "product", "reject", "split", "screen"]),
    ),
    lambda inner: st.one_of(
        st.lists(inner, max_size=2), st.dictionaries(st.text(max_size=4), inner, max_size=2)
    ),
    max_leaves=4,
)  # fmt: skip


def toml_value(value: object) -> str:
    """A value as TOML writes it."""
    import json

    if isinstance(value, dict):
        inside = ", ".join(f"{json.dumps(k)} = {toml_value(v)}" for k, v in value.items())
        return "{" + inside + "}"
    if isinstance(value, list):
        return "[" + ", ".join(map(toml_value, value)) + "]"
    if isinstance(value, float):
        return str(value) if value == value and abs(value) != float("inf") else "nan"
    return json.dumps(value)


def _values_damaged(kind, tmp_path, originals, data):
    lines = originals[kind].decode().splitlines()
    for _ in range(data.draw(st.integers(1, 3))):
        at = data.draw(st.integers(0, len(lines) - 1))
        if " = " in lines[at]:
            lines[at] = f"{lines[at].split(' = ')[0]} = {toml_value(data.draw(VALUES))}"
        else:
            del lines[at]
            lines = lines or ["x = 1"]
    text = "\n".join(lines)
    if kind in LEARNED:
        text = sealed_anew(text)
    ends_well(kind, tmp_path, text.encode("utf-8", "replace"))


@pytest.mark.parametrize("kind", OF_TOML)
@settings(CALM, max_examples=40)
@given(data=st.data())
def test_values_of_every_kind_under_known_keys_are_read_or_refused(kind, tmp_path, originals, data):
    _values_damaged(kind, tmp_path, originals, data)


@pytest.mark.fuzz
@pytest.mark.parametrize("kind", OF_TOML)
@settings(CALM, max_examples=400, derandomize=False)
@given(data=st.data())
def test_thousands_damaged_in_values_are_read_or_refused(kind, tmp_path, originals, data):
    _values_damaged(kind, tmp_path, originals, data)


@settings(CALM, max_examples=150)
@given(st.text(max_size=30))
def test_any_text_as_a_limit_or_a_name_is_read_or_refused(text):
    for reader in (parse_limit, resolve_mineral, read_roll):
        assert len(str(refusal(reader, text) or "")) < 900


OPTIONS = st.sampled_from(
    ["--size-um", "--belt-speed", "--rpm", "--height-mm", "--density", "--susceptibility",
     "--iron-wt-pct", "--magnet-mm", "--steel-mm", "--roll-radius-mm", "--belt-mm", "--current",
     "--gap-mm", "--tooth-pitch-mm", "--roll-temperature", "--feed-temperature", "--side-slope",
     "--coverage", "--reading-tesla", "--probe-mm", "--probe-height-mm", "--remanence"]
)  # fmt: skip
FIGURES = st.one_of(
    st.floats(allow_nan=False, allow_infinity=False).map(lambda x: f"{abs(x):.3g}"),
    st.floats(1e-3, 1e3).map(lambda x: f"{x:.3g}"),
    st.text(max_size=5),
)


def _options(pairs, machine):
    arguments = [part for option, value in pairs for part in (f"{option}={value}",)]
    outcome = run("pull", "--mineral", "biotite", "--machine", machine, *arguments)
    assert outcome.code in (0, 2), outcome.err
    assert "nan" not in outcome.out.lower().split()
    if outcome.code == 2:
        assert outcome.out == ""


@settings(CALM, max_examples=30)
@given(st.lists(st.tuples(OPTIONS, FIGURES), max_size=4),
       st.sampled_from(["permanent-roll", "induced-roll"]))  # fmt: skip
def test_any_figures_for_the_calculator_end_in_an_answer_or_one_message(pairs, machine):
    _options(pairs, machine)


@pytest.mark.fuzz
@settings(CALM, max_examples=1500, derandomize=False)
@given(st.lists(st.tuples(OPTIONS, FIGURES), max_size=4),
       st.sampled_from(["permanent-roll", "induced-roll"]))  # fmt: skip
def test_thousands_of_figures_for_the_calculator_end_likewise(pairs, machine):
    _options(pairs, machine)


AMOUNTS = st.lists(st.floats(0.001, 40), min_size=2, max_size=9)
NAMES = ("quartz", "microcline", "biotite", "kaolinite", "ilmenite", "magnetite", "hematite",
         "muscovite", "rutile")  # fmt: skip


def _whole(tmp_path, amounts, origin):
    total = sum(amounts)
    shares = [f"{100 * amount / total:.4f}" for amount in amounts]
    rows = [["mineral", "mass_pct"], *zip(NAMES, shares, strict=False)]
    folder = tmp_path / "bag"
    folder.mkdir(exist_ok=True)
    (folder / "minerals.csv").write_text(csv_text(rows), "utf-8")
    (folder / "sample.toml").write_text(f'origin = "{origin}"\n', "utf-8")
    started = time.process_time()
    assert main(["check", str(folder), "--trials", "0", "--json", "-"]) == 0
    assert time.process_time() - started < 2 * MOST_SECONDS


@settings(CALM, max_examples=3)
@given(AMOUNTS, st.sampled_from(["as dug", "washed", "crushed rock", "plant product"]))
def test_any_mixture_of_minerals_is_computed(tmp_path, capsys, amounts, origin):
    _whole(tmp_path, amounts, origin)


@pytest.mark.fuzz
@settings(CALM, max_examples=100, derandomize=False)
@given(AMOUNTS, st.sampled_from(["as dug", "washed", "crushed rock", "plant product"]))
def test_a_hundred_mixtures_of_minerals_are_computed(tmp_path, capsys, amounts, origin):
    _whole(tmp_path, amounts, origin)
