"""Every way the command can end, and what each puts on which stream."""

from __future__ import annotations

import argparse
import json
import os
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import pytest

from feedchar.cli.main import build_parser, main
from feedchar.errors import InputError, UnknownNameError

HEAVY = ("numpy", "scipy", "pandas", "pymatgen", "sklearn", "rich", "matplotlib", "openpyxl")


def commands() -> dict[str, argparse.ArgumentParser]:
    """Every command's own parser."""
    actions = build_parser()._actions
    found = next(a for a in actions if isinstance(a, argparse._SubParsersAction))
    return dict(found.choices)


@pytest.mark.parametrize("command", [None, *commands()])
def test_every_help_ends_in_an_example(
    command: str | None, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main([command, "--help"] if command else ["--help"]) == 0
    out, err = capsys.readouterr()
    *_, before, example = out.strip().splitlines()
    assert before == "example:"
    assert example.startswith(f"  feedchar {command or 'assess'} ")
    assert err == ""


def test_help_imports_nothing_heavy() -> None:
    timed = subprocess.run(
        [sys.executable, "-X", "importtime", "-m", "feedchar", "assess", "--help"],
        capture_output=True,
        text=True,
        check=True,
    )
    imported = {line.rsplit("|", 1)[-1].strip().split(".")[0] for line in timed.stderr.splitlines()}
    assert imported.isdisjoint(HEAVY)
    assert "argparse" in imported


@pytest.mark.parametrize(
    "arguments",
    [
        [],
        ["assay", "x"],
        ["assess"],
        ["assess", "x", "--js", "-"],
        ["assess", "x", "--trials", "1_000"],
        ["assess", "x", "--trials", "-1"],
        ["assess", "x", "--seed", "1.5"],
        ["assess", "x", "--belt-speed", "nan"],
        ["assess", "x", "--belt-speed", "0"],
        ["assess", "x", "--belt-speed", "1e3"],
        ["assess", "x", "--belt-speed", "\u0661"],
        ["assess", "x", "--treat", "100"],
        ["assess", "x", "--treat", "100-100"],
        ["assess", "x", "--require", "90"],
        ["assess", "x", "--at-yield", "101"],
        ["assess", "x", "--passes", "0"],
        ["assess", "x", "--units", "imperial"],
        ["check", "x", "--limit", "Fe2O3=0.1"],
    ],
)
def test_a_wrong_command_line_is_2_and_explained(
    arguments: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(arguments) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert err.startswith("feedchar: error: ")
    assert err.endswith("--help\n")
    assert err.count("\n") == 1


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        ([], "COMMAND is missing; see feedchar --help"),
        (["asses", "x"], "found 'asses', perhaps assess was meant; see feedchar --help"),
        (["assess"], "SAMPLE is missing; see feedchar assess --help"),
        (["assess", "x", "--limt", "5"], "no option '--limt' here, perhaps --limit was meant"),
        (["pull", "--min", "biotite"], "no option '--min' here, perhaps --mineral was meant"),
        (["assess", "x", "--trails=5"], "no option '--trails' here, perhaps --trials was meant"),
        (["--quiet", "assess", "x"], "no option '--quiet' here; see feedchar --help"),
        (["assess", "x", "y"], "'y' is one more than can be taken; see feedchar assess --help"),
        (["assess", "x", "--json"], "--json needs a value"),
        (["assess", "x", "--machine", "permanent"], "perhaps permanent-roll was meant"),
        (["assess", "x", "--seed", "9" * 5000], "..."),
        (["assess", "x", "--\x1b[31m"], r"'--\x1b[31m'"),
    ],
)
def test_a_wrong_word_is_named_with_the_one_that_was_meant(
    arguments: list[str], said: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(arguments) == 2
    err = capsys.readouterr().err
    assert said in err
    assert len(err) < 450


def test_a_decimal_comma_is_answered_with_the_point(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["assess", "x", "--belt-speed", "1,5"]) == 2
    assert "such as 1.5; found '1,5'" in capsys.readouterr().err


def test_the_report_goes_to_stdout_alone(stage: object, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["assess", "x"]) == 0
    out, err = capsys.readouterr()
    assert "ANSWER" in out
    assert err == ""


def test_json_on_stdout_comes_without_a_report(
    stage: object, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["assess", "x", "--json", "-"]) == 0
    out, err = capsys.readouterr()
    assert json.loads(out)["schema"] == "feedchar/1"
    assert err == ""


def test_json_in_a_file_comes_beside_the_report(
    stage: object, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    target = tmp_path / "out.json"
    assert main(["what-stays", "x", "--json", str(target)]) == 0
    out, err = capsys.readouterr()
    assert "THE IRON THAT STAYS" in out
    assert "wrote" in err
    assert json.loads(target.read_text())["seed"] == 1


def test_an_old_file_is_kept_unless_forced(
    stage: object, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    target = tmp_path / "out.json"
    target.write_text("old")
    assert main(["check", "x", "--json", str(target)]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert "--force" in err
    assert target.read_text() == "old"
    assert stage.calls == []  # type: ignore[attr-defined]
    assert main(["check", "x", "--json", str(target), "--force"]) == 0
    assert json.loads(target.read_text())


def test_input_is_never_written_over(
    stage: object, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    source = tmp_path / "minerals.csv"
    assert main(["assess", "x", "--json", str(source), "--force"]) == 2
    assert "was read" in capsys.readouterr().err
    assert source.read_text().startswith("mineral,")


@pytest.mark.parametrize(
    ("required", "code"), [("0", 0), ("0.07", 0), ("0.0701", 1), ("0.9", 1), ("1", 1)]
)
def test_a_demand_that_is_not_reached_is_1(
    required: str, code: int, stage: object, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["assess", "x", "--require", required]) == code
    out, err = capsys.readouterr()
    assert "ANSWER" in out
    assert ("below the" in err) is (code == 1)


def test_a_demand_without_a_chance_is_not_reached(
    stage: object, capsys: pytest.CaptureFixture[str]
) -> None:
    answer = replace(
        stage.result.answer,  # type: ignore[attr-defined]
        chance_of_meeting_limit=None,
        status="assay needed",
    )
    stage.result = replace(stage.result, answer=answer)  # type: ignore[attr-defined]
    assert main(["assess", "x", "--require", "0.5"]) == 1
    assert "assay needed" in capsys.readouterr().err


def test_a_demand_that_nothing_can_answer_is_2(
    stage: object, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["assess", "x", "--require", "0.5", "--trials", "0"]) == 2
    stage.sample = replace(stage.sample, limit=None)  # type: ignore[attr-defined]
    assert main(["assess", "x", "--require", "0.5"]) == 2
    assert "--limit" in capsys.readouterr().err
    assert main(["assess", "x", "--require", "0.05", "--limit", "some use"]) == 0


def test_options_reach_the_model(stage: object) -> None:
    assert main(["assess", "x", "--trials", "7", "--seed", "3", "--limit", "u"]) == 0
    call = stage.calls[0]  # type: ignore[attr-defined]
    assert (call["trials"], call["seed"], call["command"]) == (7, 3, "assess")
    assert call["limit"].use == "u"
    assert call["setting"] is None


def test_input_that_cannot_be_used_is_2_in_one_line(
    stage: object, capsys: pytest.CaptureFixture[str]
) -> None:
    stage.fault = InputError(  # type: ignore[attr-defined]
        "must be 0 to 100; found '\x1b[31m1o2\n'", file="minerals.csv", row=7, column="mass_pct"
    )
    assert main(["assess", "x"]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert err == (
        'feedchar: error: minerals.csv, row 7, column "mass_pct": must be 0 to 100; '
        "found '\\x1b[31m1o2\\n'\n"
    )


def test_a_fault_of_ours_is_70_without_a_traceback(
    stage: object, capsys: pytest.CaptureFixture[str]
) -> None:
    stage.fault = ZeroDivisionError("division by zero")  # type: ignore[attr-defined]
    assert main(["assess", "x"]) == 70
    err = capsys.readouterr().err
    assert "ZeroDivisionError: division by zero" in err
    assert "Traceback" not in err
    assert main(["assess", "x", "--debug"]) == 70
    assert "Traceback" in capsys.readouterr().err


def test_an_interrupt_is_130(stage: object, capsys: pytest.CaptureFixture[str]) -> None:
    stage.fault = KeyboardInterrupt()  # type: ignore[attr-defined]
    assert main(["check", "x"]) == 130
    assert "interrupted" in capsys.readouterr().err


def test_debug_shows_where_a_refusal_arose(
    stage: object, capsys: pytest.CaptureFixture[str]
) -> None:
    stage.fault = UnknownNameError("no such thing", ())  # type: ignore[attr-defined]
    assert main(["check", "x", "--debug"]) == 2
    err = capsys.readouterr().err
    assert "Traceback" in err
    assert err.endswith("feedchar: error: no such thing\n")


def test_a_reader_who_leaves_early_is_no_error() -> None:
    script = f"{sys.executable} -m feedchar mineral; echo code $? >&2"
    for reader in ("head -c 1", "true"):
        piped = subprocess.run(
            ["bash", "-c", f"({script}) | {reader}"], capture_output=True, text=True, check=True
        )
        assert piped.stderr.strip() == "code 0"


def test_help_into_a_closed_pipe_is_silent() -> None:
    script = f"({sys.executable} -m feedchar --help; echo code $? >&2) | true"
    piped = subprocess.run(["bash", "-c", script], capture_output=True, text=True, check=True)
    assert piped.stderr.strip() == "code 0"


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="no device that is always full here")
def test_a_full_device_is_told_once() -> None:
    with Path("/dev/full").open("wb") as full:
        done = subprocess.run(
            [sys.executable, "-m", "feedchar", "mineral"],
            stdout=full,
            stderr=subprocess.PIPE,
            text=True,
            check=False,
        )
    assert done.returncode == 2
    assert done.stderr.count("\n") == 1
    assert "no space left" in done.stderr


def test_a_closed_stdout_is_told_and_closed_streams_are_survived() -> None:
    for closing, said in ((">&-", True), (">&- 2>&-", False)):
        script = f"{sys.executable} -m feedchar mineral quartz {closing}; exit $?"
        done = subprocess.run(["bash", "-c", script], capture_output=True, text=True, check=False)
        assert done.returncode == 2
        assert ("standard output is closed" in done.stderr) is said


def test_the_version_is_that_of_the_package(capsys: pytest.CaptureFixture[str]) -> None:
    from feedchar import __version__

    assert main(["--version"]) == 0
    assert capsys.readouterr().out == f"feedchar {__version__}\n"


@pytest.mark.parametrize(
    "env",
    [
        {"LC_ALL": "C"},
        {"LC_ALL": "C", "PYTHONUTF8": "0", "PYTHONCOERCECLOCALE": "0"},
        {"PYTHONIOENCODING": "latin-1"},
        {"TERM": "dumb"},
        {"COLUMNS": "20"},
        {"HOME": "/nowhere"},
        {"FORCE_COLOR": "1", "NO_COLOR": "1"},
    ],
)
def test_odd_surroundings_are_survived(env: dict[str, str]) -> None:
    done = subprocess.run(
        [sys.executable, "-m", "feedchar", "mineral", "magnetite"],
        capture_output=True,
        env=dict(os.environ) | env,
        check=False,
    )
    assert done.returncode == 0
    assert done.stderr == b""
    assert b"5201" in done.stdout
    if "LC_ALL" in env or "PYTHONIOENCODING" in env:
        assert done.stdout.isascii()
