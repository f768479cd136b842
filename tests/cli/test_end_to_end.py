"""The commands on the examples, from files to bytes."""

from __future__ import annotations

import argparse
import csv
import importlib.util
import json
import random
import shlex
import shutil
from pathlib import Path
from typing import Any

import pytest

from feedchar.cli.main import build_parser, main
from feedchar.report.lines import cells

ROOT = Path(__file__).parents[2]
EXAMPLES = ROOT / "examples"
FEW = "20"
GIVEN = ["--belt-speed", "1.5"]
"""A given setting needs no search, so the tests are quick."""


def samples() -> list[str]:
    """Every example that is a sample: a CSV of minerals, a folder with sample.toml, a workbook."""
    tables = [path for path in EXAMPLES.glob("*.csv") if "mineral," in path.read_text("utf-8")]
    found = [*tables, *EXAMPLES.glob("**/*.xlsx")]
    found += [path.parent for path in EXAMPLES.glob("*/sample.toml")]
    return sorted(path.relative_to(EXAMPLES).as_posix() for path in found)


def contract() -> Any:
    """The contract that the report's own tests hold."""
    path = ROOT / "tests" / "report" / "test_document.py"
    spec = importlib.util.spec_from_file_location("contract_of_the_document", path)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def told(capsys: pytest.CaptureFixture[str], *arguments: str) -> str:
    assert main(list(arguments)) == 0
    out, err = capsys.readouterr()
    assert err == ""
    return out


def document(capsys: pytest.CaptureFixture[str], *arguments: str) -> dict[str, Any]:
    tree = json.loads(told(capsys, *arguments, "--json", "-"))
    assert isinstance(tree, dict)
    return tree


def numbers(tree: Any) -> list[float]:
    if isinstance(tree, dict):
        return [number for value in tree.values() for number in numbers(value)]
    if isinstance(tree, list):
        return [number for value in tree for number in numbers(value)]
    return [tree] if isinstance(tree, float) else []


def test_there_is_an_example_of_each_form() -> None:
    names = samples()
    assert "minimal.csv" in names
    assert {"glass_sand", "feldspar"} <= set(names)


@pytest.mark.parametrize("sample", samples())
def test_every_example_is_assessed_and_holds_the_contract(
    sample: str, capsys: pytest.CaptureFixture[str]
) -> None:
    tree = document(capsys, "assess", str(EXAMPLES / sample), "--trials", FEW)
    module = contract()
    for path, keys in module.CONTRACT.items():
        for node in module.places(tree, path) if "*" not in path else safely(module, tree, path):
            assert tuple(node)[: len(keys)] == keys, path
    assert tree["command"] == "assess"
    assert all(number == number and abs(number) < 1e300 for number in numbers(tree))
    assert all("/" not in file["name"] for file in tree["input"]["files"])


def safely(module: Any, tree: Any, path: str) -> list[Any]:
    """Nodes at a path; none where a list on the way is empty."""
    try:
        return list(module.places(tree, path))
    except (KeyError, TypeError):
        return []


@pytest.mark.parametrize("command", ["assess", "check", "what-stays"])
@pytest.mark.parametrize("width", [60, 80, 120])
def test_a_report_fits_its_page(
    command: str, width: int, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COLUMNS", str(width))
    given = [] if command == "check" else GIVEN
    out = told(capsys, command, str(EXAMPLES / "minimal.csv"), "--trials", FEW, *given)
    assert max(cells(line) for line in out.splitlines()) <= width
    assert "nan" not in out.lower().split()


def test_the_same_seed_gives_the_same_bytes_and_another_does_not(
    capsys: pytest.CaptureFixture[str],
) -> None:
    command = ["assess", str(EXAMPLES / "glass_sand"), "--trials", FEW, *GIVEN, "--json", "-"]
    first = told(capsys, *command)
    assert told(capsys, *command) == first
    assert told(capsys, *command, "--seed", "2") != first


def test_bytes_do_not_depend_on_the_machine_around_the_run(run: Any, tmp_path: Path) -> None:
    surroundings = (
        {"PYTHONHASHSEED": "1", "OPENBLAS_NUM_THREADS": "1", "TZ": "UTC"},
        {"PYTHONHASHSEED": "77", "OPENBLAS_NUM_THREADS": "2", "TZ": "Asia/Tokyo", "LANG": "C"},
    )
    told = []
    for env in surroundings:
        done = run("assess", str(EXAMPLES / "feldspar"), "--trials", FEW, "--json", "-", env=env)
        assert done.returncode == 0, done.stderr
        told.append(done.stdout)
    assert told[0] == told[1]


def shuffled(source: Path, target: Path, seed: int) -> None:
    """A copy of a sample with the rows of every table in another order."""
    shutil.copytree(source, target)
    for path in target.glob("*.csv"):
        with path.open(newline="", encoding="utf-8") as file:
            heading, *rows = list(csv.reader(file))
        random.Random(f"{seed} {path.name}").shuffle(rows)
        with path.open("w", newline="", encoding="utf-8") as file:
            csv.writer(file).writerows([heading, *rows])


@pytest.mark.parametrize("sample", ["glass_sand", "feldspar"])
def test_shuffled_rows_give_the_same_numbers_to_the_last_digit(
    sample: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    shuffled(EXAMPLES / sample, tmp_path / sample, seed=5)
    trees = []
    for folder in (EXAMPLES / sample, tmp_path / sample):
        tree = document(capsys, "assess", str(folder), "--trials", FEW, *GIVEN)
        tree["input"].pop("files")
        tree.pop("notes")  # they name rows
        trees.append(json.dumps(tree))
    assert trees[0] == trees[1]


def test_without_trials_only_the_typical_case_is_told(capsys: pytest.CaptureFixture[str]) -> None:
    arguments = ["assess", str(EXAMPLES / "glass_sand"), "--trials", "0", *GIVEN]
    tree = document(capsys, *arguments)
    assert tree["answer"]["chance_of_meeting_limit"] is None
    number = tree["product"]["non_magnetics"]["yield_pct"]
    assert number["typical"] > 0
    assert {number[key] for key in ("mean", "sd", "p05", "p50", "p95")} == {None}
    assert "typical case, adds up" in told(capsys, *arguments)


def test_no_low_iron_is_certified_without_an_assay(capsys: pytest.CaptureFixture[str]) -> None:
    sample = str(EXAMPLES / "minimal.csv")
    limit = ["--limit", "Fe2O3=0.5", "--trials", FEW, *GIVEN]
    tree = document(capsys, "assess", sample, *limit)
    if tree["answer"]["status"] == "assay needed":
        assert tree["answer"]["chance_of_meeting_limit"] is None
        assert main(["assess", sample, *limit, "--require", "0.1"]) == 1
    else:
        assert tree["assay"]["predicted_wt_pct"]["Fe2O3"]["p50"] >= 0.10


def test_grade_and_yield_are_answered(capsys: pytest.CaptureFixture[str]) -> None:
    sample = str(EXAMPLES / "glass_sand")
    asked = ["--at-grade", "0.05", "--at-yield", "90"]
    out = told(capsys, "assess", sample, "--trials", "0", *GIVEN, *asked)
    joined = " ".join(out.split())
    assert "yield at 0.050 % Fe2O3: every grain sorted by hand" in joined
    assert "Fe2O3 at 90.0 % yield:" in joined


def test_a_given_setting_is_used_and_said(capsys: pytest.CaptureFixture[str]) -> None:
    sample = str(EXAMPLES / "glass_sand")
    options = ["--belt-speed", "1.2", "--passes", "2", "--treat", "500-100", "--trials", "0"]
    setting = document(capsys, "assess", sample, *options)["setting"]
    assert (setting["belt_speed_m_s"], setting["passes"]) == (1.2, 2)
    assert (setting["treated_passing_um"], setting["treated_retained_um"]) == (500.0, 100.0)
    out = told(capsys, "assess", sample, *options)
    assert "2 passes, 1.2 m/s" in " ".join(out.split())
    assert "not treated" in out


@pytest.mark.parametrize(
    ("name", "content", "words"),
    [
        ("letter.csv", "mineral,mass_pct\nquartz,9o\n", "row 2"),
        ("group.csv", "mineral,mass_pct\nquartz,99\nmica,1\n", "muscovite"),
        ("name.csv", "mineral,mass_pct\nquartz,99\nmagnatite,1\n", "magnetite"),
        ("twice.csv", "mineral,mass_pct\nquartz,50\nquarzo,50\n", "quartz"),
        ("ragged.csv", "mineral,mass_pct\nquartz\n", "row 2"),
        ("empty.csv", "", "empty.csv"),
        ("escape.csv", "mineral,mass_pct\n\x1b[31mred,100\n", "row 2"),
        ("infinite.csv", "mineral,mass_pct\nquartz,1e400\n", "row 2"),
    ],
)
def test_input_that_cannot_be_used_is_2_and_says_where(
    name: str, content: str, words: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / name).write_text(content)
    for command in ("assess", "check", "what-stays"):
        assert main([command, str(tmp_path / name), "--trials", "0"]) == 2
        out, err = capsys.readouterr()
        assert out == ""
        assert err.startswith("feedchar: error: ")
        assert err.count("\n") == 1
        assert words in err
        assert "\x1b" not in err


def examples_of_help() -> list[str]:
    """The last line of every help."""
    texts = [build_parser().format_help()]
    actions = build_parser()._actions
    found = next(a for a in actions if isinstance(a, argparse._SubParsersAction))
    texts += [parser.format_help() for parser in found.choices.values()]
    return [text.strip().splitlines()[-1].strip() for text in texts]


@pytest.mark.parametrize("example", examples_of_help())
def test_the_example_of_a_help_runs(
    example: str,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    words = shlex.split(example)[1:]
    (tmp_path / "examples").symlink_to(EXAMPLES)
    monkeypatch.chdir(tmp_path)
    if "--trials" in words or words[0] in ("mineral", "new", "pull"):
        few = []
    elif words[0] in ("batch", "calibrate", "compare", "plan"):
        few = ["--trials", "100"]  # a calibration needs as many
    else:
        few = ["--trials", "0"]
    assert main([*words, *few]) == 0


POTASH = """\
name = "[red]x[/] \\u001b[31m \\u202e"
[assay]
SiO2 = 94.0
Al2O3 = 2.0
K2O = 5.0
Fe2O3 = 0.02
[limit]
Fe2O3_max_pct = 0.05
"""


@pytest.fixture
def disagreeing(tmp_path: Path) -> str:
    """A sample with more potash than its minerals can hold, and a name meant to hurt."""
    (tmp_path / "sample.toml").write_text(POTASH)
    (tmp_path / "phases.csv").write_text('phase,like\n"[bold]w[/]",quartz\n')
    table = 'mineral,mass_pct\nquartz,98\nk-feldspar,1\n"[bold]w[/]",1\n'
    (tmp_path / "minerals.csv").write_text(table)
    return str(tmp_path)


def test_data_that_disagree_are_0_with_the_datum_to_doubt(
    disagreeing: str, capsys: pytest.CaptureFixture[str]
) -> None:
    out = " ".join(told(capsys, "check", disagreeing, "--trials", FEW).split())
    assert "DISAGREE." in out
    assert "First repeat the assay of K2O" in out
    assert "STOP" in out
    tree = document(capsys, "assess", disagreeing, "--trials", FEW, *GIVEN)
    assert tree["answer"]["status"] == "data disagree"
    assert tree["answer"]["chance_of_meeting_limit"] is None
    assert main(["assess", disagreeing, "--trials", FEW, *GIVEN, "--require", "0.1"]) == 1


@pytest.mark.parametrize("command", ["assess", "check", "what-stays"])
def test_names_meant_to_hurt_are_shown_as_text(
    command: str, disagreeing: str, capsys: pytest.CaptureFixture[str]
) -> None:
    out = told(capsys, command, disagreeing, "--trials", "0")
    assert out.startswith("[red]x[/] \\x1b[31m \\u202e")
    assert [
        character for character in out if not (character.isprintable() or character == "\n")
    ] == []


def test_an_unknown_limit_is_2_before_anything_is_computed(
    capsys: pytest.CaptureFixture[str],
) -> None:
    for limit in ("Fe203=0.05", "no such use", "Fe2O3=nan", "ordinary glass (in the glass)"):
        assert main(["assess", str(EXAMPLES / "minimal.csv"), "--limit", limit]) == 2
        assert capsys.readouterr().err.count("\n") == 1


@pytest.mark.parametrize("env", [{"LC_ALL": "C"}, {"TERM": "dumb"}, {"COLUMNS": "20"}])
def test_odd_terminals_get_the_report_too(env: dict[str, str], run: Any) -> None:
    done = run("assess", "examples/minimal.csv", "--trials", "0", *GIVEN, env=env)
    assert done.returncode == 0
    assert done.stderr == b""
    assert b"ANSWER" in done.stdout
    assert b"\x1b" not in done.stdout
