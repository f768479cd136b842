"""`feedchar scale-up` from a process of its own."""

from __future__ import annotations

import json
import re
from pathlib import Path

SAND = "examples/glass_sand"
QUICK = ("--trials", "20", "--belt-speed", "1.5", "--circuit", "one pass")


def test_the_report_draws_the_circuit_with_tonnages_and_no_colour(run):
    done = run("scale-up", SAND, "--feed-t-h", "7", *QUICK)
    text = done.stdout.decode()
    assert done.returncode == 0
    assert done.stderr == b""
    assert "\x1b" not in text
    assert re.search(r"feed -> \[roll 1\] +7\.00 t/h", text)
    assert re.search(r"\+- non-magnetics +\d\.\d+ t/h +0\.\d+ % -> PRODUCT", text)
    assert "is not a plant" in text
    assert all(len(line) <= 80 for line in text.splitlines())


def test_the_feed_rate_of_the_sample_is_the_default(run):
    done = run("scale-up", SAND, *QUICK, "--json", "-")
    assert done.returncode == 0
    document = json.loads(done.stdout)
    assert document["schema"] == "feedchar-scale-up/1"
    assert document["feed_t_h"] == 7


def test_a_circuit_from_a_file_is_compared_with_a_standard_one(run, tmp_path: Path):
    path = tmp_path / "own.toml"
    path.write_text(
        'name = "drum first"\n[steps.drum]\nkind = "drum"\nmagnetics = "reject"\n'
        'non_magnetics = "roll"\n[steps.roll]\nkind = "roll"\nmagnetics = "reject"\n'
        'non_magnetics = "product"\n',
        encoding="utf-8",
    )
    done = run("scale-up", SAND, *QUICK, "--circuit", str(path), "--json", "-")
    assert done.returncode == 0, done.stderr
    names = [circuit["circuit"] for circuit in json.loads(done.stdout)["circuits"]]
    assert names == ["one pass", "drum first"]


def test_a_sample_without_a_rate_and_options_of_one_machine_are_refused(run):
    for arguments, words in (
        (("examples/minimal.csv",), b"--feed-t-h"),
        ((SAND, "--passes", "2"), b"--passes"),
        ((SAND, "--belt-price", "3"), b"together"),
        ((SAND, "--circuit", "no such"), b"no such"),
        ((SAND, "--feed-t-h", "0"), b"above 0"),
    ):
        done = run("scale-up", *arguments)
        assert done.returncode == 2
        assert done.stdout == b""
        assert words in done.stderr


def test_a_chance_that_is_not_reached_exits_with_1(run):
    done = run("scale-up", SAND, *QUICK, "--limit", "Fe2O3=0.005", "--require", "0.9")
    assert done.returncode == 1
    assert b"below the 0.9 required" in done.stderr
