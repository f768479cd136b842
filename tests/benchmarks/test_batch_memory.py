"""The command `batch` as a process of its own: memory flat, cost linear, from 10^4 rows on.

A million rows are run where FEEDCHAR_BENCHMARK_ROWS says 1000000: about five minutes of one core.
"""

from __future__ import annotations

import csv
import importlib.util
import json
import os
import subprocess
import sys
import time
from pathlib import Path

import pytest

pytestmark = pytest.mark.benchmark

SMALL, LARGE = 10_000, int(os.environ.get("FEEDCHAR_BENCHMARK_ROWS", "100000"))
LEAST_ROWS_A_SECOND = 280.0
"""A million rows in an hour, of one core."""
MOST_BYTES = 2e9
CHILD = """
import json, sys, time
from feedchar.cli.main import main
code = main(sys.argv[1:])
with open("/proc/self/status", encoding="ascii") as status:
    held = next(line.split()[1] for line in status if line.startswith("VmHWM"))
print(json.dumps([time.process_time(), 1024 * int(held)]))
sys.exit(code)
"""
"""The command, then what it used; most bytes held is counted from its own start."""
ON_LINUX = pytest.mark.skipif(
    not Path("/proc/self/status").exists(), reason="reads what Linux tells of a process"
)


def rows_of():
    path = Path(__file__).parent / "test_batch_speed.py"
    spec = importlib.util.spec_from_file_location("batch_rows", path)
    made = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(made)
    return made.invented


def run(folder, count, *options):
    """Processor seconds, seconds, and most bytes held, of one run of the command."""
    table = folder / f"{count}.csv"
    if not table.exists():
        heads, rows = rows_of()(count, False)
        with table.open("w", newline="", encoding="utf-8") as file:
            csv.writer(file).writerows([heads, *rows])
    command = [
        sys.executable, "-c", CHILD, "batch", str(table), "--out", str(folder / "out.csv"),
        "--force", "--limit", "Fe2O3=1", *options,
    ]  # fmt: skip
    start = time.monotonic()
    done = subprocess.run(command, capture_output=True, text=True, check=True)
    processor_s, held = json.loads(done.stdout)
    return processor_s, time.monotonic() - start, held


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    return tmp_path_factory.mktemp("many")


@ON_LINUX
def test_memory_is_flat_and_cost_linear_in_the_rows(folder, record_property):
    start_s = min(run(folder, 10)[0] for _ in range(3))
    small_s, _, small_bytes = min(run(folder, SMALL) for _ in range(3))
    large_s, seconds, large_bytes = run(folder, LARGE)
    each = (small_s - start_s) / SMALL, (large_s - start_s) / LARGE
    for what, figure in (
        ("processor seconds to start", start_s),
        (f"processor ms a row at {SMALL}", 1e3 * each[0]),
        (f"processor ms a row at {LARGE}", 1e3 * each[1]),
        (f"seconds at {LARGE}", seconds),
        (f"MB at {SMALL}", small_bytes / 1e6),
        (f"MB at {LARGE}", large_bytes / 1e6),
    ):
        record_property(what, round(figure, 3))
    assert 1.0 / each[1] > LEAST_ROWS_A_SECOND
    assert large_bytes < MOST_BYTES
    assert large_bytes < small_bytes + 60.0 * LARGE  # names that stand twice: 8 bytes a row
    assert each[1] < 1.25 * each[0]  # a tenth is wanted; processor time itself varies by a tenth


@ON_LINUX
def test_a_page_of_the_whole_table_costs_little_and_stays_short(folder, record_property):
    page = folder / "page.html"
    plain_s, _, _ = run(folder, SMALL)
    paged_s, _, held = run(folder, SMALL, "--html", str(page))
    record_property("processor ms a row for the page", round(1e3 * (paged_s - plain_s) / SMALL, 3))
    record_property("MB with a page", round(held / 1e6))
    record_property("kB of page", round(page.stat().st_size / 1e3))
    assert page.stat().st_size < 1_000_000
    assert paged_s < 3.0 * plain_s
