"""What the README shows is what the program does."""

from __future__ import annotations

import re
import shlex
from pathlib import Path

import pytest

from feedchar.cli.main import build_parser, main

ROOT = Path(__file__).parents[2]
README = (ROOT / "README.md").read_text(encoding="utf-8")


def block(marker: str) -> str:
    """The fenced block below a marker."""
    return README.split(f"<!-- {marker} -->")[1].split("```")[1].split("\n", 1)[1]


def shown_commands() -> list[str]:
    """Every line of a shell block that calls feedchar."""
    blocks = re.findall(r"```sh\n(.*?)```", README, flags=re.DOTALL)
    lines = [line for text in blocks for line in text.splitlines()]
    return [line for line in lines if line.startswith("feedchar ")]


def test_there_are_two_commands_to_start_with() -> None:
    assert block("main command").strip().endswith("feedchar assess examples/glass_sand")
    assert " -m pytest" in block("test command")
    for marker in ("main command", "test command"):
        assert block(marker).count("\n") == 1
        assert "-c constraints.txt" in block(marker)


@pytest.mark.parametrize("command", shown_commands())
def test_a_command_of_the_readme_runs(
    command: str,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    (tmp_path / "examples").symlink_to(ROOT / "examples")
    monkeypatch.chdir(tmp_path)  # some of them write
    words = shlex.split(command)[1:]
    few = ["--trials", "20"] if words[0] != "mineral" else []
    assert main([*words, *few]) == 0
    out, err = capsys.readouterr()
    assert out
    assert all(line.startswith("feedchar: wrote ") for line in err.splitlines())


def test_every_command_is_in_the_table() -> None:
    help_text = build_parser().format_help()
    shown = set(re.findall(r"^\| `feedchar ([a-z-]+)", README, flags=re.MULTILINE))
    listed = set(re.findall(r"^    ([a-z-]+)(?:\s|$)", help_text, flags=re.MULTILINE))
    assert shown == listed


def test_exit_codes_are_those_of_the_help() -> None:
    help_text = build_parser().format_help()
    table = dict(re.findall(r"^\| (\d+) \| (.*?) \|$", README.replace("`", ""), re.MULTILINE))
    told = dict(re.findall(r"^  (\d+) +(.*)$", help_text, flags=re.MULTILINE))
    assert table == told


def test_the_picture_is_what_the_command_prints(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(ROOT)
    monkeypatch.delenv("COLUMNS", raising=False)
    for variable in ("LC_ALL", "LC_CTYPE", "LANG"):
        monkeypatch.setenv(variable, "C.UTF-8")
    assert main(["assess", "examples/glass_sand", "--trials", "200"]) == 0
    out = capsys.readouterr().out
    picture = block("picture: feedchar assess examples/glass_sand")

    def headings(text: str) -> list[str]:
        found = [re.split(r"  |$", line)[0] for line in text.splitlines()]
        return [line for line in found if line.isupper()]

    assert headings(picture) == headings(out)
    assert picture.splitlines()[0] == out.splitlines()[0]
    assert max(len(line) for line in picture.splitlines()) <= 80


@pytest.mark.parametrize(
    "word", ["implants", "nip points", "quartz dust", "Hot sand", "Static", "trained", "fibrous",
             "radioactive", "Local codes"]
)  # fmt: skip
def test_the_cautions_are_there(word: str) -> None:
    assert word in README.split("## Take care")[1]
