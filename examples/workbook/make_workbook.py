"""Writes crusher_sand.xlsx, an invented sample, beside this script or to the path given.

python examples/workbook/make_workbook.py
"""

from __future__ import annotations

import sys
from pathlib import Path

from feedchar.sample.template import workbook_bytes

SAMPLE = [
    ("section", "key", "value", "explanation"),
    ("", "name", "GR-04 crusher sand", "invented: no quarry, company or laboratory"),
    ("", "note", "Invented example in one workbook.", None),
    ("", "origin", "crushed rock", None),
    ("", "rock", "granite", None),
    ("", "received_kg", 28.0, "kg"),
    ("", "moisture_pct", 1.2, "%"),
    ("", "roll_feed_moisture_pct", 0.06, "%"),
    ("assay", "SiO2", 75.4, "wt %"),
    ("assay", "TiO2", 0.035, "wt %"),
    ("assay", "Al2O3", 13.7, "wt %"),
    ("assay", "Fe2O3", 0.625, "wt %, all iron"),
    ("assay", "MgO", 0.21, "wt %"),
    ("assay", "CaO", 1.41, "wt %"),
    ("assay", "Na2O", 3.28, "wt %"),
    ("assay", "K2O", 5.06, "wt %"),
    ("assay", "P2O5", 0.03, "wt %"),
    ("assay", "MnO", "<0.01", "wt %"),
    ("assay", "LOI", 0.12, "wt %"),
    ("assay_sd", "Fe2O3", 0.015, "wt %"),
    ("limit", "use", "feldspar-quartz sand for amber glass brazil", None),
    ("limit", "yield_min_pct", 80.0, "% of the dry bag"),
]

PHASES = [
    ("phase", "like", "density_kg_m3", "mass_susceptibility_m3_kg", "mass_susceptibility_sd_m3_kg",
     "SiO2_wt_pct", "Al2O3_wt_pct", "Fe2O3_wt_pct", "Fe2O3_sd_wt_pct", "K2O_wt_pct"),
    ("weathered fragment", "oligoclase", 2550.0, 5e-8, 2e-8, 70.0, 15.5, 2.4, 0.6, 4.0),
]  # fmt: skip

SIEVES = [
    ("passing_um", "retained_um", "mass_g", "start_g", "sieving"),
    (500.0, 180.0, 148.2, 251.0, "dry"),
    (180.0, 63.0, 90.4, None, None),
    (63.0, 0.0, 11.3, None, None),
]

MINERALS = [
    ("mineral", "points", "passing_um", "retained_um", "method", "iron_wt_pct"),
    *(
        (name, float(points), passing, retained, "point count", 17.2 if name == "biotite" else None)
        for passing, retained, counts in (
            (500.0, 180.0, (6040, 5700, 5560, 195, 232, 11, 6, 50, 10, 4, 380)),
            (180.0, 63.0, (4010, 3810, 3720, 104, 150, 9, 5, 30, 7, 4, 250)),
        )
        for name, points in zip(
            (
                "quartz", "k-feldspar", "oligoclase", "biotite", "muscovite", "magnetite",
                "ilmenite", "hornblende", "apatite", "zircon", "weathered fragment",
            ),
            counts,
            strict=True,
        )
    ),
]  # fmt: skip

TEXTURES = [
    ("mineral", "host", "form", "share_pct", "grain_size_um", "thickness_um", "words"),
    ("biotite", "quartz", "joined", 15.0, 250.0, 50.0, None),
    ("biotite", None, "free", 85.0, 250.0, 50.0, "books and shreds"),
    ("magnetite", "oligoclase", "joined", 30.0, 120.0, None, None),
    ("magnetite", None, "free", 70.0, 120.0, None, None),
    ("muscovite", None, "free", 95.0, 250.0, 40.0, None),
]


def main(target: Path) -> None:
    """Write the workbook.

    Parameters
    ----------
    target : Path
        The .xlsx file. [-]
    """
    sheets = {
        "sample": SAMPLE,
        "phases": PHASES,
        "sieves": SIEVES,
        "minerals": MINERALS,
        "textures": TEXTURES,
    }
    target.write_bytes(workbook_bytes(sheets))


if __name__ == "__main__":
    main(Path(sys.argv[1]) if len(sys.argv) > 1 else Path(__file__).with_name("crusher_sand.xlsx"))
