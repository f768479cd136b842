"""The keys of sample.toml, one declaration for the reader and for the template."""

from __future__ import annotations

from feedchar.sample.bases import basis_column
from feedchar.sample.columns import Column, choices
from feedchar.sample.names import TEXT_MAX_CHARACTERS

TABLES = (
    "phases",
    "sieves",
    "fractions",
    "minerals",
    "assays",
    "textures",
    "diagnostics",
    "tests",
)
"""Stems of the CSV files and names of the sheets, in the order they are read."""

ORIGINS = choices(
    "as dug",
    "washed",
    "crushed rock",
    "plant product",
    as_dug="dug;raw;pit run",
    crushed_rock="crushed",
    plant_product="product",
)
ROCKS = choices(
    "granite",
    "pegmatite",
    "gneiss or schist",
    "syenite",
    "sand",
    gneiss_or_schist="gneiss;schist;gneiss/schist",
    syenite="nepheline syenite",
)

SECTIONS: dict[str, tuple[str, tuple[Column, ...]]] = {
    "": (
        "The bag.",
        (
            Column("name", "name of the sample; the folder's or file's when not given"),
            Column("note", "anything worth knowing", longest=TEXT_MAX_CHARACTERS),
            Column(
                "origin",
                "as dug, washed, crushed rock or plant product: decides how much iron goes unseen",
                "choice",
                choices=ORIGINS,
            ),
            Column(
                "rock",
                "granite, pegmatite, gneiss or schist, syenite, sand: sets their usual iron",
                "choice",
                choices=ROCKS,
            ),
            Column("received_kg", "mass received, wet", "number", "kg", 0, 1e9, True),
            Column("moisture_pct", "moisture of the bag as received", "number", "%", 0, 90),
            Column(
                "roll_feed_moisture_pct", "moisture of what meets the roll", "number", "%", 0, 90
            ),
            Column(
                "feed_temperature_c", "temperature of the sand on the roll", "number", "C", -50, 300
            ),
            Column("roll_temperature_c", "temperature of the roll", "number", "C", -50, 300),
        ),
    ),
    "assay": (
        "Head assay of the bag, in wt %: SiO2, Fe2O3, ... and LOI. `<0.01` in quotes.",
        (basis_column("assay"),),
    ),
    "assay_sd": ("Standard deviations of the head assay, by the same names, in wt %.", ()),
    "limit": (
        (
            "What is asked of the product: `use` names a key of the product limits; "
            "Fe2O3_max_pct, TiO2_max_pct, SiO2_min_pct and so on go before it."
        ),
        (
            Column("use", "a key of the product limits, such as colourless container"),
            Column("yield_min_pct", "least yield, of the dry bag", "number", "%", 0, 100),
            Column("specks_per_100_g_max", "most dark grains in 100 g", "number", "-", 0, 1e9),
            Column("passing_um", "size window of the product: upper end", "size", "um"),
            Column("retained_um", "size window of the product: lower end", "size or pan", "um"),
        ),
    ),
    "feed": ("The plant.", (Column("t_h", "dry feed", "number", "t/h", 0, 1e5, True),)),
    "susceptibility": (
        "Magnetic susceptibility of the bulk.",
        (
            Column("value", "the reading", "number", "", -1e9, 1e9),
            Column("sd", "its standard deviation, in the same unit", "number", "", 0, 1e9),
            Column("unit", "m3/kg, 1e-8 m3/kg, cm3/g, emu/g/Oe; SI or cgs need density_kg_m3"),
            Column("flux_density_tesla", "field of the instrument", "number", "T", 0, 20),
            Column(
                "density_kg_m3",
                "density of what was measured, for volume units",
                "number",
                "kg/m3",
                100,
                23_000,
            ),
        ),
    ),
    "files": (
        "Tables under other names, inside this folder, such as minerals = 'xrd/minerals.csv'.",
        tuple(
            Column(stem, f"file that takes the place of {stem}.csv", longest=1000)
            for stem in TABLES
        ),
    ),
}
