"""What the README shows is what the program does."""

from __future__ import annotations

import argparse
import re
import shlex
from pathlib import Path

import pytest

from feedchar.cli.main import build_parser, main
from feedchar.sample.limit import parse_limit

ROOT = Path(__file__).parents[2]
README = (ROOT / "README.md").read_text(encoding="utf-8")


def block(marker: str) -> str:
    """The fenced block below a marker."""
    return README.split(f"<!-- {marker} -->")[1].split("```")[1].split("\n", 1)[1]


def every_help() -> str:
    """Helps of all commands, one below the other."""
    actions = build_parser()._actions
    found = next(one for one in actions if isinstance(one, argparse._SubParsersAction))
    return "\n".join(parser.format_help() for parser in found.choices.values())


IN_ORDER = "<!-- in this order -->\n"


def shown_commands() -> list[str]:
    """Every line that calls feedchar in a shell block of README, or as code beside an example."""
    blocks = re.findall(r"```sh\n(.*?)```", README.replace(f"{IN_ORDER}```sh", "```"), re.DOTALL)
    lines = [line for text in blocks for line in text.splitlines()]
    for page in sorted((ROOT / "examples").rglob("README.md")):
        lines += re.findall(r"`(feedchar [a-z-]+ examples/[^`]*)`", page.read_text("utf-8"))
    # Examples of a help are run by the tests of the commands.
    known = set(re.findall(r"^  (feedchar .*)$", every_help(), re.MULTILINE))
    return [
        line for line in dict.fromkeys(lines) if line.startswith("feedchar ") and line not in known
    ]


def sessions() -> list[list[str]]:
    """Commands that are told in an order, since one needs what another has made."""
    blocks = re.findall(rf"{IN_ORDER}```sh\n(.*?)```", README, flags=re.DOTALL)
    return [text.splitlines() for text in blocks]


def few_trials(words: list[str]) -> list[str]:
    """Options that make a command quick, where it has trials at all."""
    if words[0] in ("mineral", "new", "pull"):
        return []
    return ["--trials", "0" if words[0] == "scale-up" else "20"]


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
    assert main([*words, *few_trials(words)]) == 0
    out, err = capsys.readouterr()
    assert out or words[0] == "batch"
    assert all(line.startswith("feedchar: wrote ") for line in err.splitlines())


@pytest.mark.parametrize("session", sessions(), ids=lambda lines: lines[0])
def test_a_newcomer_can_follow_the_readme_word_for_word(
    session: list[str],
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.chdir(tmp_path)
    for name, text in re.findall(r"<!-- file: (.*?) -->\n```\w+\n(.*?)```", README, re.DOTALL):
        (tmp_path / name).write_text(text, encoding="utf-8")
    for command in session:
        words = shlex.split(command)[1:]
        assert main([*words, *few_trials(words)]) == 0, command
        assert capsys.readouterr().out or words[0] == "new"


def test_the_readme_says_which_names_are_taken(capsys: pytest.CaptureFixture[str]) -> None:
    uses = re.findall(r'--limit "(.*?)"', README)
    assert uses
    for use in uses:
        assert parse_limit(use).use == use


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
