"""`feedchar calibrate`, and what other commands do with its file."""

from __future__ import annotations

import contextlib
import io
import json
import re
from dataclasses import dataclass
from pathlib import Path

import pytest

from feedchar.cli.main import main

ROOT = Path(__file__).parents[2]
QUICK = ("--trials", "120")


@dataclass(frozen=True)
class Done:
    returncode: int
    stdout: bytes
    stderr: bytes


def run_once(*arguments: str) -> Done:
    """The command in this process, from the top of the repository."""
    out, err = io.StringIO(), io.StringIO()
    with contextlib.chdir(ROOT), contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        code = main(list(arguments))
    return Done(code, out.getvalue().encode(), err.getvalue().encode())


@pytest.fixture
def run():
    return run_once


def one_test(folder: Path, machine: str = "permanent roll", mass: float = 60.0) -> str:
    """A sample with one run of two bags; invented."""
    folder.mkdir()
    (folder / "sample.toml").write_text(f'name = "{folder.name}"\n', encoding="utf-8")
    (folder / "minerals.csv").write_text(
        "mineral,mass_pct\nquartz,99.3\nbiotite,0.4\nilmenite,0.1\nmuscovite,0.2\n",
        encoding="utf-8",
    )
    (folder / "tests.csv").write_text(
        "test,machine,from_bag,bag,product,mass_g,belt_speed_m_s,splitter_mm\n"
        f"run,{machine},feed,M,magnetics,{mass},1.5,10\n"
        f"run,{machine},feed,N,non-magnetics,1940,1.5,10\n",
        encoding="utf-8",
    )
    return str(folder)


@pytest.fixture(scope="module")
def kept(tmp_path_factory) -> tuple[Path, str, str]:
    """A calibration of one invented test: its file, its report, its sample."""
    folder = tmp_path_factory.mktemp("kept")
    sample = one_test(folder / "sand")
    done = run_once("calibrate", sample, "--out", str(folder / "roll.toml"), *QUICK)
    assert done.returncode == 0, done.stderr
    assert done.stderr == b"feedchar: wrote " + str(folder / "roll.toml").encode() + b"\n"
    return folder / "roll.toml", done.stdout.decode(), sample


def test_before_and_after_stand_side_by_side_and_tests_are_named(kept):
    _, text, _ = kept
    assert re.search(r"before +5 to 95 % +after +5 to 95 %", text)
    for words in ("missed by the machine, %", "sand carried, %", "pull, of that", "adhesion"):
        assert words in text
    assert "1 TEST COUNTED" in text
    assert "run of sand" in text
    assert "\x1b" not in text
    assert all(len(line) <= 80 for line in text.splitlines())


def test_the_document_has_the_keys_that_developers_read(run, kept):
    _, _, sample = kept
    done = run("calibrate", sample, *QUICK, "--json", "-")
    assert done.returncode == 0
    document = json.loads(done.stdout)
    assert document["schema"] == "feedchar-calibrate/1"
    page = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    section = page.split("<!-- document feedchar-calibrate/1 -->")[1].split("```")[1]
    described = set(re.findall(r'"(\w+)"', section))
    inner = {key for name in ("input", "tests") for row in document[name] for key in row}
    inner |= set(document["input"][0]["files"][0])
    assert {"what", "why"} <= described
    assert set(document) | inner == described - {"what", "why"}


def test_a_calibration_narrows_another_sample_and_says_so(run, kept):
    path, _, _ = kept
    asked = ("assess", "examples/minimal.csv", "--belt-speed", "1.5", "--trials", "60")
    plain, known = (
        json.loads(run(*asked, *more, "--json", "-").stdout)
        for more in ((), ("--calibration", str(path)))
    )
    assert not any(note["code"] == "calibrated" for note in plain["notes"])
    assert any("1 test of sand" in note["text"] for note in known["notes"])
    assert plain["product"] != known["product"]
    assumed = known["basis"]["assumptions_that_decide"]
    assert not any("not calibrated" in text for text in assumed)


def test_other_commands_take_the_file(run, kept, tmp_path):
    path, _, _ = kept
    known = ("--calibration", str(path), "--trials", "20")
    sand = "examples/minimal.csv"
    for command in (
        ("what-stays", sand, "--belt-speed", "1.5", *known),
        ("check", sand, *known),
        (
            "scale-up",
            sand,
            "--feed-t-h",
            "5",
            "--belt-speed",
            "1.5",
            "--circuit",
            "one pass",
            *known,
        ),
        ("batch", "examples/boreholes.csv", "--out", str(tmp_path / "out.csv"), *known),
    ):
        done = run(*command)
        assert done.returncode == 0, done.stderr


def test_compare_takes_the_file_and_says_that_its_own_test_proves_little(run, kept):
    path, _, sample = kept
    asked = ("compare", sample, "--trials", "60")
    plain, known = (
        json.loads(run(*asked, *more, "--json", "-").stdout)
        for more in ((), ("--calibration", str(path)))
    )
    assert plain["calibration"] is None
    assert list(known)[-2:] == ["calibration", "minerals"]
    used = known["calibration"]
    assert (used["source"], used["tests"], used["roll"]) == ("1 test of sand", 1, "fine-100")
    assert 0.0 < used["missed_share"] < 0.2
    assert plain["compared"] != known["compared"]
    codes = {note["code"]: note["text"] for note in known["notes"]}
    assert "counted in the calibration: run" in codes["tests-in-calibration"]
    assert not {note["code"] for note in plain["notes"]} & {"tests-in-calibration", "calibrated"}
    text = " ".join(run(*asked, "--calibration", str(path)).stdout.decode().split())
    assert "60 trials, machine by calibration: 1 test of sand on fine-100" in text


def test_the_calculator_counts_the_pull_of_the_file(run, kept):
    path, _, _ = kept
    asked = ("pull", "--mineral", "biotite", "--size-um", "300")
    plain, known = (
        json.loads(run(*asked, *more, "--json", "-").stdout)
        for more in ((), ("--calibration", str(path)))
    )
    assert plain["calibration"] is None
    assert list(known)[-1] == "calibration"
    factor = known["calibration"]["pull_factor"]
    assert factor != 1.0
    before, after = plain["grains"][0], known["grains"][0]
    assert after["pull_m_s2"] == pytest.approx(factor * before["pull_m_s2"], rel=1e-5)
    squared = (after["belt_speed_max_m_s"] / before["belt_speed_max_m_s"]) ** 2
    assert squared == pytest.approx(factor, rel=1e-4)
    same = "force_product_offered_tesla2_m"
    assert after[same] == before[same]
    assert known["field"] == plain["field"]
    text = " ".join(run(*asked, "--calibration", str(path)).stdout.decode().split())
    assert f"1 test of sand on fine-100. Its pull, {factor:.2f} times" in text


def test_a_plan_says_whose_machine_it_takes(run, kept):
    path, _, _ = kept
    asked = ("plan", "examples/minimal.csv", "--trials", "20", "--belt-speed", "1.5")
    known = json.loads(run(*asked, "--calibration", str(path), "--json", "-").stdout)
    assert any("1 test of sand" in note["text"] for note in known["notes"])


def test_a_test_counts_once(run, kept, tmp_path):
    path, _, sample = kept
    again = run("calibrate", sample, "--calibration", str(path), *QUICK)
    assert again.returncode == 2
    assert again.stdout == b""
    assert b"already counted in roll.toml" in again.stderr
    twice = run("calibrate", sample, sample, *QUICK)
    assert twice.returncode == 2
    assert b"already counted in this run" in twice.stderr


def test_a_calibration_goes_on_from_another(run, kept, tmp_path):
    path, _, _ = kept
    other = one_test(tmp_path / "other", mass=70.0)
    done = run("calibrate", other, "--calibration", str(path), *QUICK, "--json", "-")
    assert done.returncode == 0, done.stderr
    document = json.loads(done.stdout)
    assert [test["sample"] for test in document["tests"]] == ["other"]
    assert [test["sample"] for test in document["counted_before"]] == ["sand"]


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (lambda text: text.replace("version = 1", "version = 9"), b"version"),
        (lambda text: text.replace("[draws]", "[drawn]"), b"checksum"),
        (lambda text: text[: len(text) // 2], b"roll.toml"),
        (lambda text: "mineral,mass_pct\nquartz,100\n", b"is no calibration"),
    ],
)
def test_a_file_that_cannot_be_used_is_refused_in_one_line(run, kept, tmp_path, change, words):
    path = tmp_path / "roll.toml"
    path.write_text(change(kept[0].read_text(encoding="utf-8")), encoding="utf-8")
    done = run("assess", "examples/minimal.csv", "--calibration", str(path))
    assert done.returncode == 2
    assert done.stdout == b""
    assert words in done.stderr
    assert done.stderr.count(b"\n") == 1


def test_what_is_no_test_and_what_does_not_go_together_is_refused(run, kept, tmp_path):
    path, _, sample = kept
    induced = one_test(tmp_path / "induced", machine="induced roll", mass=61.0)
    odd = one_test(tmp_path / "odd", machine="jig", mass=62.0)
    for arguments, words in (
        (("calibrate", "examples/glass_sand", *QUICK), b"no tests in"),
        (("calibrate", odd, *QUICK), b"jig"),
        (("calibrate", sample, induced, *QUICK), b"two kinds of machine"),
        (("calibrate", induced, "--calibration", str(path), *QUICK), b"one machine"),
        (("calibrate", sample, "--trials", "10"), b"at least"),
        (("calibrate", sample, "--out", "-", *QUICK), b"--out"),
        (("calibrate", sample, "--out", str(path), *QUICK), b"exists"),
        (("calibrate", sample, "--out", f"{sample}/tests.csv", "--force", *QUICK), b"read"),
        (("assess", "examples/minimal.csv", "--machine", "induced-roll",
          "--calibration", str(path)), b"permanent-roll"),
        (("plan", "examples/minimal.csv", "--machine", "induced-roll", "--trials", "20",
          "--belt-speed", "1", "--calibration", str(path)), b"permanent-roll"),
        (("pull", "--machine", "induced-roll", "--calibration", str(path)), b"permanent-roll"),
        (("compare", induced, "--trials", "20", "--calibration", str(path)), b"permanent-roll"),
        (("compare", sample, "--calibration", f"{sample}/none.toml"), b"none.toml"),
        (("pull", "--calibration", f"{sample}/none.toml"), b"none.toml"),
        (("pull", "--calibration", str(path), "--json", str(path), "--force"), b"read"),
    ):  # fmt: skip
        done = run(*arguments)
        assert done.returncode == 2, arguments
        assert done.stdout == b""
        assert words in done.stderr, (arguments, done.stderr)
        assert done.stderr.count(b"\n") == 1


def test_the_same_tests_and_seed_give_the_same_file(run, kept, tmp_path):
    path, _, sample = kept
    again = tmp_path / "again.toml"
    done = run("calibrate", sample, "--out", str(again), *QUICK)
    assert done.returncode == 0
    assert again.read_bytes() == path.read_bytes()


def test_past_tests_are_kept_once_and_told_beside_the_answer(run, tmp_path):
    folder = tmp_path / "past"
    sample = one_test(tmp_path / "sand", mass=65.0)
    done = run("calibrate", sample, "--library", str(folder), *QUICK)
    assert done.returncode == 0, done.stderr
    assert b"1 past tests added" in done.stderr
    again = run("calibrate", sample, "--library", str(folder), *QUICK)
    assert b"0 past tests added, 1 held already" in again.stderr
    assert len(list(folder.iterdir())) == 1
    asked = ("assess", "examples/minimal.csv", "--belt-speed", "1.5", "--trials", "60")
    plain = json.loads(run(*asked, "--json", "-").stdout)
    known = json.loads(run(*asked, "--library", str(folder), "--json", "-").stdout)
    past = known.pop("past_tests")
    assert known == plain
    assert not any(one["used"] for one in past["corrections"])
    page = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    section = page.split("<!-- document past_tests -->")[1].split("```")[1]
    described = set(re.findall(r'"(\w+)"', section))
    assert {"past_tests", *past, *past["corrections"][0]} == described
    text = run(*asked, "--library", str(folder)).stdout.decode()
    assert "WHAT PAST TESTS SAY" in text
    assert "fewer than 3 samples" in text


def test_a_library_that_cannot_be_read_is_refused(run, tmp_path):
    (tmp_path / "odd").mkdir()
    (tmp_path / "odd" / "one.toml").write_text("a = 1\n", encoding="utf-8")
    for folder, words in (("none", b"no folder"), ("odd", b"one.toml")):
        done = run("assess", "examples/minimal.csv", "--library", str(tmp_path / folder))
        assert done.returncode == 2
        assert words in done.stderr
