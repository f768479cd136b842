"""What the tests reach, by line and by branch; fails below what the project holds itself to.

    python .ci/reach.py coverage.json

Takes the JSON report of coverage.py. Code that runs only in a child process (the workers of a
batch, a reader that closes the pipe early) counts as not reached.
"""

from __future__ import annotations

import json
import sys
from pathlib import Path

LEAST_PCT = {"line": 95.0, "branch": 90.0}
SHOWN = 12


def main() -> int:
    found = json.loads(Path(sys.argv[1]).read_text(encoding="utf-8"))
    total = found["totals"]
    reached = {
        "line": (total["covered_lines"], total["num_statements"]),
        "branch": (total["covered_branches"], total["num_branches"]),
    }
    low = 0
    for kind, (hit, whole) in reached.items():
        share = 100.0 * hit / whole
        low += share < LEAST_PCT[kind]
        print(f"{kind:6} {share:6.2f} %  ({hit} of {whole}, at least {LEAST_PCT[kind]:g} %)")
    print("least reached modules, by line:")
    modules = sorted(
        found["files"].items(), key=lambda one: one[1]["summary"]["percent_statements_covered"]
    )
    for name, module in modules[:SHOWN]:
        print(f"  {module['summary']['percent_statements_covered']:5.1f} %  {name}")
    return 1 if low else 0


if __name__ == "__main__":
    sys.exit(main())
