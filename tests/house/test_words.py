"""The text of the project speaks of the project alone."""

from __future__ import annotations

import re
import subprocess
from pathlib import Path

import pytest

import feedchar

ROOT = Path(feedchar.__file__).resolve().parents[1]
TEXT = {".py", ".md", ".toml", ".csv", ".txt", ".html", ".j2", ".json", ".cfg", ""}

FORBIDDEN = {
    "a folder of one machine": re.compile(
        r"(?<![\w./:-])/(?:work|root|home|tmp|Users|mnt|opt)/[\w.-]+|[A-Z]:\\Users"
    ),
    "an address of a package index": re.compile(
        r"--(?:extra-)?index-url|--find-links|https?://[^\s\"]+/simple/?\b", re.IGNORECASE
    ),
    "a pinned address": re.compile(r"^[\w.-]+ @ (?:file|https?):", re.MULTILINE),
}


def files() -> list[Path]:
    """Tracked files where git knows them, else every file below the root."""
    if not (ROOT / "pyproject.toml").is_file():
        return []
    listing = subprocess.run(
        ["git", "-C", str(ROOT), "ls-files", "-z", "--cached", "--others", "--exclude-standard"],
        capture_output=True,
        check=False,
        text=True,
    )
    if listing.returncode == 0:
        found = [ROOT / name for name in listing.stdout.split("\0") if name]
    else:
        # What tools leave behind is none of the project's text.
        hidden = {".git", ".venv", "build", "dist", ".hypothesis", ".pytest_cache", ".mypy_cache"}
        hidden |= {".ruff_cache", ".import_linter_cache", ".benchmarks"}
        found = [p for p in ROOT.rglob("*") if not hidden & set(p.relative_to(ROOT).parts)]
    return [p for p in found if p.is_file() and p.suffix in TEXT and p != Path(__file__).resolve()]


@pytest.mark.parametrize("what", sorted(FORBIDDEN))
def test_no_file_names(what):
    if not (ROOT / "pyproject.toml").is_file():
        pytest.skip("only in a working copy")
    guilty = []
    for path in files():
        text = path.read_text(encoding="utf-8", errors="replace")
        hits = [match.group(0) for match in FORBIDDEN[what].finditer(text)]
        if hits:
            guilty.append((path.relative_to(ROOT).as_posix(), hits[:3]))
    assert not guilty
