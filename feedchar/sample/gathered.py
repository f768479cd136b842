"""What was found on disk, before anything is understood: keys, tables, checksums."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path

from feedchar.sample import (
    assays,
    diagnostics,
    fractions,
    minerals,
    phases,
    sieves,
    testbags,
    textures,
)
from feedchar.sample.columns import TableSpec
from feedchar.sample.decimals import POINT, DecimalMark
from feedchar.sample.decode import decode, read_bytes, source_file
from feedchar.sample.delimited import parse_csv
from feedchar.sample.records import Note, SourceFile
from feedchar.sample.settings import Entry
from feedchar.sample.shown import file_label
from feedchar.sample.table import Table

SPECS: dict[str, TableSpec] = {
    spec.stem: spec
    for spec in (
        phases.SPEC,
        sieves.SPEC,
        fractions.SPEC,
        minerals.SPEC,
        assays.SPEC,
        textures.SPEC,
        diagnostics.SPEC,
        testbags.SPEC,
    )
}
"""Declaration of every table, in the order they are read."""


@dataclass
class Gathered:
    """Everything of one sample as written."""

    name: str
    """Name to use when the sample states none."""
    entries: list[Entry] = field(default_factory=list)
    mark: DecimalMark | None = POINT
    """Decimal mark of texts among the entries, None to let them decide."""
    tables: dict[str, Table] = field(default_factory=dict)
    files: list[SourceFile] = field(default_factory=list)
    read_paths: list[str] = field(default_factory=list)
    notes: list[Note] = field(default_factory=list)

    def take(self, path: Path) -> bytes:
        """Bytes of a file, which is then one of those that were read."""
        data = read_bytes(path)
        self.files.append(source_file(path, data))
        self.read_paths.append(str(path.resolve()))
        return data

    def take_table(self, stem: str, path: Path) -> None:
        """Read a CSV file as the table of a stem."""
        text = decode(self.take(path), file_label(path))
        self.tables[stem] = parse_csv(text, file_label(path), SPECS[stem].understood)
