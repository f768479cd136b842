"""Running the command line in this process with readers and model replaced, or for real."""

from __future__ import annotations

import importlib.util
import os
import subprocess
import sys
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest

from feedchar.results import Characterisation
from feedchar.sample.records import Limit, Sample

ROOT = Path(__file__).parents[2]


def _invented() -> Characterisation:
    """The invented result of the report's tests."""
    path = ROOT / "tests" / "report" / "conftest.py"
    spec = importlib.util.spec_from_file_location("invented_result", path)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module.build()  # type: ignore[no-any-return]


@dataclass
class Stage:
    """Stands in for reader and model; what they were called with is kept."""

    result: Characterisation
    sample: Sample
    fault: BaseException | None = None
    calls: list[dict[str, Any]] = field(default_factory=list)

    def read_sample(self, path: str) -> Sample:
        if self.fault is not None:
            raise self.fault
        return self.sample

    def characterise(
        self, sample: Sample, setting: Any = None, limit: Any = None, **options: Any
    ) -> Characterisation:
        self.calls.append({"setting": setting, "limit": limit, **options})
        return self.result


@pytest.fixture
def stage(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Stage:
    """Reader and model replaced by a stage."""
    source = tmp_path / "minerals.csv"
    source.write_text("mineral,mass_pct\nquartz,100\n")
    limit = Limit(max_wt_pct={"Fe2O3": 0.03})
    made = Stage(_invented(), Sample("s", limit=limit, read_paths=(str(source),)))
    for name, attribute in (
        ("feedchar.characterise", "characterise"),
        ("feedchar.sample.read", "read_sample"),
    ):
        module = ModuleType(name)
        setattr(module, attribute, getattr(made, attribute))
        if name == "feedchar.sample.read":
            module.parse_limit = lambda text: Limit(use=text, max_wt_pct={"Fe2O3": 0.05})  # type: ignore[attr-defined]
        monkeypatch.setitem(sys.modules, name, module)
    return made


Run = Callable[..., "subprocess.CompletedProcess[bytes]"]


@pytest.fixture
def run() -> Run:
    """The command in a process of its own, from the top of the repository."""

    def command(
        *arguments: str, env: dict[str, str] | None = None, **options: Any
    ) -> subprocess.CompletedProcess[bytes]:
        surroundings = {
            key: value
            for key, value in os.environ.items()
            if key not in ("COLUMNS", "NO_COLOR", "FORCE_COLOR", "TTY_COMPATIBLE", "LC_ALL")
        }
        return subprocess.run(
            [sys.executable, "-m", "feedchar", *arguments],
            capture_output=True,
            cwd=ROOT,
            env=surroundings | (env or {}),
            timeout=120,
            check=False,
            **options,
        )

    return command
