"""Write manifest.csv: rows, columns and checksum of every table in this folder.

Run it after a deliberate change of a table, so that the change shows twice in a review:

    python reference_tables/make_manifest.py
"""

from __future__ import annotations

import csv
import hashlib
import io
from pathlib import Path

HERE = Path(__file__).resolve().parent
MANIFEST = "manifest.csv"
HEADING = ("table", "rows", "columns", "sha256")


def manifest_rows(folder: Path) -> list[tuple[str, int, int, str]]:
    """Name, rows below the heading, columns and SHA-256 of every table, by name."""
    rows = []
    for path in sorted(folder.glob("*.csv")):
        if path.name == MANIFEST:
            continue
        content = path.read_bytes().replace(b"\r\n", b"\n")
        lines = [line for line in csv.reader(io.StringIO(content.decode("utf-8"))) if line]
        rows.append((path.name, len(lines) - 1, len(lines[0]), hashlib.sha256(content).hexdigest()))
    return rows


def main() -> None:
    """Write the manifest beside the tables."""
    with (HERE / MANIFEST).open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(HEADING)
        writer.writerows(manifest_rows(HERE))


if __name__ == "__main__":
    main()
