"""The invented sample that a template holds, and the words that explain every column.

No figure was measured; they agree with each other, so that the template can be assessed as it is.
"""

from __future__ import annotations

from collections.abc import Sequence

from feedchar.sample.columns import Column, TableSpec
from feedchar.sample.gathered import SPECS
from feedchar.sample.sections import SECTIONS

Cells = Sequence[str | float | None]

INVENTED = "Template of feedchar. Every figure is invented: write yours over them."

_COLUMNS_INTRODUCTION = (
    "Needed: minerals.csv, or an assay in sample.toml. Every other table may be deleted. A column "
    "may be left out unless it is marked needed; every row has as many cells as the heading. Sizes "
    "are micrometres, or a sieve by name (`0.5 mm`, `No. 35`). Decimal commas are read where all "
    "numbers of a file have them."
)

VALUES: dict[tuple[str, str], str | float] = {
    ("", "name"): "template sand",
    ("", "note"): "Invented figures, to be written over",
    ("", "origin"): "washed",
    ("", "rock"): "sand",
    ("", "received_kg"): 25.0,
    ("", "moisture_pct"): 3.0,
    ("", "roll_feed_moisture_pct"): 0.05,
    ("", "feed_temperature_c"): 20.0,
    ("", "roll_temperature_c"): 20.0,
    ("assay", "basis"): "dried",
    ("assay", "SiO2"): 98.4,
    ("assay", "TiO2"): 0.09,
    ("assay", "Al2O3"): 0.75,
    ("assay", "MnO"): "<0.005",
    ("assay", "MgO"): 0.03,
    ("assay", "CaO"): "<0.01",
    ("assay", "Na2O"): 0.11,
    ("assay", "K2O"): 0.43,
    ("assay", "LOI"): 0.04,
    ("assay_sd", "TiO2"): 0.004,
    ("limit", "use"): "insulating fibre",
    ("limit", "Fe2O3_max_pct"): 0.08,
    ("limit", "yield_min_pct"): 85.0,
    ("limit", "passing_um"): 600.0,
    ("limit", "retained_um"): 75.0,
    ("feed", "t_h"): 5.0,
    ("susceptibility", "value"): -0.3,
    ("susceptibility", "sd"): 0.5,
    ("susceptibility", "unit"): "1e-8 m3/kg",
    ("susceptibility", "flux_density_tesla"): 0.0005,
}
"""Keys of the sample; what is not here is written as a comment."""

OXIDE_KEYS = ("SiO2", "TiO2", "Al2O3", "MnO", "MgO", "CaO", "Na2O", "K2O", "LOI")

TABLES: dict[str, tuple[tuple[str, ...], tuple[Cells, ...]]] = {
    "phases": (
        ("phase", "like", "density_kg_m3", "Fe2O3_wt_pct", "Fe2O3_sd_wt_pct"),
        (("brown aggregate", "kaolinite", 2500.0, 6.0, 2.0),),
    ),
    "sieves": (
        ("passing_um", "retained_um", "mass_g", "start_g", "sieving", "Fe2O3"),
        (
            (600.0, 500.0, 3.1, 200.4, "wet", 0.11),
            (500.0, 355.0, 27.0, None, None, 0.12),
            (355.0, 250.0, 62.8, None, None, 0.13),
            (250.0, 180.0, 59.3, None, None, 0.15),
            (180.0, 125.0, 31.6, None, None, 0.20),
            (125.0, 75.0, 12.2, None, None, 0.30),
            (75.0, "pan", 4.0, None, None, 0.62),
        ),
    ),
    "fractions": (
        ("fraction", "mass_g", "from_g"),
        (("heavy sinks", 2.25, 500.0),),
    ),
    "minerals": (
        ("mineral", "mass_pct", "grains", "fraction", "sd_pct", "method", "detection_limit_pct"),
        (
            ("quartz", 96.0, None, None, 0.6, "point count", None),
            ("k-feldspar", 2.4, None, None, 0.3, "point count", None),
            ("albite", 0.7, None, None, 0.2, "point count", None),
            ("muscovite", 0.35, None, None, 0.1, "point count", None),
            ("biotite", 0.2, None, None, 0.06, "point count", None),
            ("ilmenite", 0.08, None, None, 0.03, "point count", None),
            ("hematite", 0.03, None, None, 0.02, "point count", None),
            ("schorl", 0.06, None, None, 0.03, "point count", None),
            ("rutile", 0.05, None, None, 0.03, "point count", None),
            ("zircon", 0.03, None, None, 0.02, "point count", None),
            ("brown aggregate", 0.1, None, None, 0.05, "point count", None),
            ("magnetite", "tr", None, None, None, "point count", 0.02),
            ("biotite", None, 418.0, "heavy sinks", None, "grain count", None),
            ("ilmenite", None, 41.0, "heavy sinks", None, "grain count", None),
            ("hematite", None, 5.0, "heavy sinks", None, "grain count", None),
            ("schorl", None, 18.0, "heavy sinks", None, "grain count", None),
            ("rutile", None, 11.0, "heavy sinks", None, "grain count", None),
            ("zircon", None, 6.0, "heavy sinks", None, "grain count", None),
        ),
    ),
    "assays": (
        (
            "bag", "oxide", "value", "unit", "laboratory", "method", "repeat_of", "repeat_kind",
            "mill",
        ),
        (
            ("feed", "Fe2O3", 0.166, "wt_pct", "invented", "fused bead", None, None, "agate"),
            ("feed", "Fe2O3", 0.165, "wt_pct", "invented", "fused bead", None, "reread", "agate"),
            ("feed", "Fe2O3", 0.168, "wt_pct", "invented", "fused bead", None, "new bead", "agate"),
            ("B", "Fe2O3", 0.171, "wt_pct", "invented", "fused bead", "feed", "new split", "agate"),
            ("feed", "Cr2O3", "<2", "ppm", "invented", "ICP", None, None, "agate"),
            ("magnetics 1", "Fe2O3", 4.2, "wt_pct", "invented", "fused bead", None, None, "agate"),
            ("product 1", "Fe2O3", 0.068, "wt_pct", "invented", "fused bead", None, None, "agate"),
        ),
    ),
    "textures": (
        ("mineral", "host", "form", "share_pct", "grain_size_um", "thickness_um", "words"),
        (
            ("biotite", "quartz", "joined", 6.0, 300.0, 30.0, None),
            ("biotite", None, "free", 94.0, 300.0, 30.0, "thin books, some bent"),
            ("muscovite", None, "free", 97.0, 300.0, 25.0, None),
            ("ilmenite", "quartz", "inclusion", 10.0, 30.0, None, None),
            ("ilmenite", None, "free", 90.0, 220.0, None, None),
            ("hematite", "quartz", "stain", 40.0, None, None, "red skins in pits of the grains"),
        ),
    ),
    "diagnostics": (
        ("treatment", "mass_in_g", "mass_out_g", "Fe2O3_in_wt_pct", "Fe2O3_out_wt_pct"),
        (
            ("scrub", 500.0, 493.5, 0.167, 0.142),
            ("hand-picked clear grains", 2.0, None, None, 0.012),
        ),
    ),
    "tests": (
        (
            "test", "step", "machine", "from_bag", "bag", "product", "mass_g", "belt_speed_m_s",
            "splitter_mm", "feed_kg_h", "belt_width_mm",
        ),
        (
            ("T1", "1", "roll", "feed", "magnetics 1", "magnetics", 47.5, 1.5, 10.0, 120.0, 100.0),
            ("T1", "1", "roll", "feed", "product 1", "non-mags", 1948.2, 1.5, 10.0, 120.0, 100.0),
        ),
    ),
}  # fmt: skip
"""Heading and rows of every table."""


def settings_rows() -> list[tuple[str, str, str | float | None, str]]:
    """Section, key, value and explanation of every key that a sample may hold.

    Returns
    -------
    list of tuple
        In the order of the file; the value is None where the template gives none. [-]
    """
    rows: list[tuple[str, str, str | float | None, str]] = []
    for section, (_, columns) in SECTIONS.items():
        for column in columns:
            value = VALUES.get((section, column.name))
            rows.append((section, column.name, value, explained(column)))
        if section in ("assay", "assay_sd"):
            what = "wt %" if section == "assay" else "standard deviation, wt %"
            for key in OXIDE_KEYS:
                rows.append((section, key, VALUES.get((section, key)), what))
        if section == "limit":
            rows += [
                (section, key, VALUES.get((section, key)), "wt % of the product")
                for key in ("Fe2O3_max_pct", "TiO2_max_pct", "SiO2_min_pct")
            ]
    return rows


def explained(column: Column) -> str:
    """One line that says what a column or key takes.

    Parameters
    ----------
    column : Column
        Its declaration. [-]

    Returns
    -------
    str
        Meaning, unit and range. [-]
    """
    parts = [column.help]
    if column.unit not in ("", "-"):
        parts.append(f"[{column.unit}]")
    if column.is_number and column.high < float("inf") and column.high <= 1000:
        low = f"above {column.low:g}" if column.above else f"{column.low:g}"
        parts.append(f"({low} to {column.high:g})")
    if column.kind == "amount":
        parts.append("or < and a limit")
    return " ".join(parts)


def toml_text() -> str:
    """sample.toml of the template, every key with a comment.

    Returns
    -------
    str
        TOML. [-]
    """
    lines = [f"# {INVENTED}", "# COLUMNS.md explains the tables beside this file.", ""]
    section = ""
    for row in settings_rows():
        if row[0] != section:
            section = row[0]
            lines += ["", f"[{section}]", f"# {SECTIONS[section][0]}"]
        value = row[2]
        shown = (
            f'"{value}"' if isinstance(value, str) else f"{value:g}" if value is not None else ""
        )
        lines.append(f"{row[1]} = {shown}  # {row[3]}" if shown else f"# {row[1]} =   # {row[3]}")
    return "\n".join(lines) + "\n"


def columns_text() -> str:
    """COLUMNS.md of the template: every table and column.

    Returns
    -------
    str
        Markdown. [-]
    """
    lines = ["# What the tables take", "", INVENTED, "", _COLUMNS_INTRODUCTION]
    for spec in SPECS.values():
        lines += [
            "",
            f"## {spec.stem}.csv",
            "",
            spec.help,
            "",
            "| column | what it takes |",
            "|---|---|",
        ]
        lines += [f"| `{name}` | {text} |" for name, text in column_lines(spec)]
    lines += ["", "## sample.toml", ""]
    for section, (text, _) in SECTIONS.items():
        lines.append(f"- {f'`[{section}]`' if section else 'above all sections'}: {text}")
    return "\n".join(lines) + "\n"


def column_lines(spec: TableSpec) -> list[tuple[str, str]]:
    """Name and explanation of every column of a table.

    Parameters
    ----------
    spec : TableSpec
        Declaration of the table. [-]

    Returns
    -------
    list of tuple of str
        In the order of the declaration. [-]
    """
    lines = [
        (c.name, explained(c).replace("|", "/") + (", needed" if c.needed else ""))
        for c in spec.columns
    ]
    if spec.oxides:
        lines.append(("Fe2O3, Fe2O3_wt_pct, Cr2O3_ppm, ...", "oxides, in wt % or ppm"))
    if spec.oxides == "values and sd":
        lines.append(("Fe2O3_sd_wt_pct, ...", "their standard deviations"))
    return lines
