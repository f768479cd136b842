"""How long a start of the command and the largest inputs that are taken keep a person waiting."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from feedchar import read_sample
from feedchar.sample.table import ROWS_MAX

pytestmark = pytest.mark.benchmark
HEAD = "bag,oxide,value,unit,repeat_of,repeat_kind\nfeed,Fe2O3,0.1,%,,\nb0,Fe2O3,0.1,%,,\n"


def test_help_comes_in_a_blink(benchmark: Any) -> None:
    command = [sys.executable, "-m", "feedchar", "--help"]
    benchmark.pedantic(
        subprocess.run,
        args=(command,),
        kwargs={"stdout": subprocess.DEVNULL, "check": True},
        rounds=5,
    )
    assert benchmark.stats["min"] < 0.15


@pytest.mark.parametrize(
    "row", ["feed,Fe2O3,0.1,%,,reread", "b{n},Fe2O3,0.1,%,b{m},new split", "b{n},Fe2O3,0.1,%,,"]
)
def test_as_many_repeats_as_may_stand_are_read_within_seconds(
    benchmark: Any, tmp_path: Path, row: str
) -> None:
    (tmp_path / "sample.toml").write_text('name = "hill"\n', encoding="utf-8")
    (tmp_path / "minerals.csv").write_text("mineral,mass_pct\nquartz,100\n", encoding="utf-8")
    rows = "\n".join(row.format(n=n, m=n - 1) for n in range(1, ROWS_MAX - 5))
    (tmp_path / "assays.csv").write_text(HEAD + rows + "\n", encoding="utf-8")
    read = benchmark.pedantic(read_sample, args=(tmp_path,), rounds=1)
    assert len(read.determinations) == ROWS_MAX - 4
    assert benchmark.stats["min"] < 10.0
