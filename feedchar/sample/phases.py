"""phases.csv: phases of the user's own, such as rock fragments or slag."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from feedchar.errors import UnknownNameError
from feedchar.sample.columns import Column, TableSpec
from feedchar.sample.iron import as_oxides
from feedchar.sample.naming import UNIDENTIFIED
from feedchar.sample.records import Phase
from feedchar.sample.rows import Row
from feedchar.sample.sums import CLOSURE_EDGE_PCT
from feedchar.tables.names import plain_word, resolve_mineral

SPEC = TableSpec(
    "phases",
    "Phases of your own: a rock fragment, slag, a mixed clay. Oxides in columns such as "
    "Fe2O3_wt_pct and Fe2O3_sd_wt_pct; they need not sum to 100.",
    (
        Column("phase", "its name, as minerals.csv has it", needed=True),
        Column("like", "a mineral to borrow from what is not given here"),
        Column("density_kg_m3", "density", "number", "kg/m3", 500, 23_000),
        Column("mass_susceptibility_m3_kg", "mass susceptibility", "number", "m3/kg", -1e-6, 2e-3),
        Column(
            "mass_susceptibility_sd_m3_kg", "its standard deviation", "number", "m3/kg", 0, 2e-3
        ),
    ),
    oxides="values and sd",
)


def read_phases(rows: Sequence[Row]) -> tuple[Phase, ...]:
    """The user's phases.

    Parameters
    ----------
    rows : sequence of Row
        Rows of phases.csv. [-]

    Returns
    -------
    tuple of Phase
        In reading order. [-]

    Raises
    ------
    InputError
        For a phase that can neither be weighed nor borrowed, an unknown `like`, or oxides that
        sum to more than 100.
    """
    return tuple(_phase(row) for row in rows)


def _phase(row: Row) -> Phase:
    name = row.text("phase") or ""
    like = row.text("like")
    if like is not None:
        try:
            like = resolve_mineral(like)
        except UnknownNameError as error:
            raise row.error(str(error), "like") from None
    density = row.number_of("density_kg_m3")
    if like is None and density is None and plain_word(name) != UNIDENTIFIED:
        problem = "has neither a density nor a mineral to borrow from"
        raise row.error(
            problem,
            "like",
            "Give density_kg_m3, or the nearest mineral in `like`",
        )
    sds = row.oxides_sd or {}
    named = {reading.name for reading in row.oxides}
    for oxide in sds:
        if oxide not in named:
            problem = f"{oxide} has a standard deviation and no value"
            raise row.error(problem, "phase")
    readings = as_oxides([replace(r, sd=sds.get(r.name)) for r in row.oxides])
    for oxide, reading in readings.items():
        if reading.below:
            problem = f"{oxide} is below detection"
            raise row.error(
                problem,
                "phase",
                "Give a value and its sd: half of the limit each",
            )
    total = sum(reading.value for reading in readings.values())
    if total > 100.0 + CLOSURE_EDGE_PCT:
        problem = f"the oxides sum to {total:.6g} %"
        raise row.error(problem, "phase", "ppm for percent?")
    chi_sd = row.number_of("mass_susceptibility_sd_m3_kg")
    chi = row.number_of("mass_susceptibility_m3_kg")
    if chi is None and chi_sd is not None:
        problem = "a standard deviation without a value"
        raise row.error(problem, "mass_susceptibility_sd_m3_kg")
    return Phase(
        phase=UNIDENTIFIED if plain_word(name) == UNIDENTIFIED else name,
        like=like,
        density_kg_m3=density,
        mass_susceptibility_m3_kg=chi,
        mass_susceptibility_sd_m3_kg=chi_sd,
        oxides_wt_pct={oxide: r.value for oxide, r in readings.items()},
        oxides_sd_wt_pct={oxide: r.sd for oxide, r in readings.items() if r.sd is not None},
        place=row.place("phase"),
    )
