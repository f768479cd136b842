"""Everything the tables hold on one mineral, every value with its source and status."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from feedchar.tables.minerals import Mineral, mineral
from feedchar.tables.priors import iron_priors
from feedchar.tables.read import Row, read_table
from feedchar.tables.sources import Source, sources, status_of
from feedchar.tables.susceptibility import magnetic_values


@dataclass(frozen=True)
class SheetValue:
    """One published, recalled or computed value."""

    quantity: str
    """What it is, in words."""
    low: float | None
    typical: float | str | None
    high: float | None
    unit: str
    source: str
    """One key of sources.csv, or several separated by semicolons; empty for none."""
    status: str
    """read | recalled | computed | guess"""
    how_seen: str
    preferred: bool
    """True for the values the calculation takes."""
    remark: str = ""


@dataclass(frozen=True)
class MineralSheet:
    """The sheet of one mineral."""

    mineral: Mineral
    aliases: tuple[str, ...]
    values: tuple[SheetValue, ...]
    sources: tuple[Source, ...]
    """Every source a value names, in order of first use."""


def mineral_sheet(word: str) -> MineralSheet:
    """Everything known of a mineral.

    Parameters
    ----------
    word : str
        Name or alias. [-]

    Returns
    -------
    MineralSheet
        All rows, not only the preferred ones. [-]

    Raises
    ------
    UnknownNameError
        For a group word or an unknown name.
    """
    record = mineral(word)
    values = (
        *_taken(record),
        *_magnetic(record.mineral),
        *_listed(record.mineral, "densities.csv", "density", "kg/m3", "kind"),
        *_listed(record.mineral, "iron_contents.csv", "iron", "wt %", "basis"),
        *_priors(record.mineral),
    )
    keys = dict.fromkeys(key for value in values for key in value.source.split(";") if key)
    rows = read_table("aliases.csv")
    aliases = tuple(row.text("alias") for row in rows if row.text("mineral") == record.mineral)
    return MineralSheet(record, aliases, values, tuple(sources()[key] for key in keys))


def _taken(record: Mineral) -> Iterator[SheetValue]:
    """What the calculation takes from minerals.csv and mineral_roles.csv."""

    def value(
        quantity: str,
        typical: float | str,
        unit: str,
        source: str,
        how_seen: str,
        low: float | None = None,
        high: float | None = None,
    ) -> SheetValue:
        status = status_of(how_seen)
        return SheetValue(quantity, low, typical, high, unit, source, status, how_seen, True)

    yield value("formula", record.formula, "-", record.iron_source, record.iron_how_seen)
    yield value("molar mass", record.molar_mass_g_mol, "g/mol", "", "computed")
    yield value(
        "density",
        record.density_kg_m3,
        "kg/m3",
        record.density_source,
        record.density_how_seen,
        record.density_low_kg_m3,
        record.density_high_kg_m3,
    )
    yield value(
        "iron",
        record.iron_typical_wt_pct,
        "wt %",
        record.iron_source,
        record.iron_how_seen,
        record.iron_low_wt_pct,
        record.iron_high_wt_pct,
    )
    yield value("shape", record.shape, "-", "project_memory", "memory")
    yield value("magnetic order", record.magnetic_order, "-", "project_memory", "memory")
    if record.saturation_field_tesla is not None:
        yield value("saturation field", record.saturation_field_tesla, "T", "", "computed")
    yield value("role", record.role, "-", "", record.role_how_seen)
    yield value(
        "grain-to-grain ln-sd of susceptibility",
        record.grain_ln_sd,
        "-",
        "",
        record.role_how_seen,
    )


def _magnetic(name: str) -> Iterator[SheetValue]:
    words = {
        "mass_susceptibility_m3_kg": ("mass susceptibility", "m3/kg"),
        "high_field_susceptibility_m3_kg": ("high-field mass susceptibility", "m3/kg"),
        "saturation_magnetisation_A_m2_kg": ("saturation magnetisation", "A m2/kg"),
    }
    for row in magnetic_values():
        if row.mineral == name:
            quantity, unit = words[row.quantity]
            at = "" if row.iron_wt_pct is None else f"at {row.iron_wt_pct:g} wt % Fe; "
            yield SheetValue(
                quantity,
                row.low,
                row.typical,
                row.high,
                unit,
                row.source,
                row.status,
                row.how_seen,
                row.preferred,
                f"{at}{row.conditions}" + (f"; {row.reason}" if row.reason else ""),
            )


def _listed(name: str, table: str, quantity: str, unit: str, kind: str) -> Iterator[SheetValue]:
    """All rows of a table of published figures."""
    stem = "density_{}_kg_m3" if quantity == "density" else "iron_wt_pct_{}"

    def cell(row: Row, end: str) -> float | None:
        return row.optional(stem.format(end))

    for row in read_table(table):
        if row.text("mineral") == name:
            how_seen = row.text("how_seen")
            yield SheetValue(
                quantity,
                cell(row, "low"),
                cell(row, "typical"),
                cell(row, "high"),
                unit,
                row.text("source"),
                status_of(how_seen),
                how_seen,
                False,
                "; ".join(part for part in (row.text(kind), row.text("note")) if part),
            )


def _priors(name: str) -> Iterator[SheetValue]:
    for prior in iron_priors().values():
        if prior.mineral == name:
            low, _, typical, _, high = (round(value, 3) for value in prior.Fe_wt_pct)
            yield SheetValue(
                f"iron, {prior.setting}",
                low,
                typical,
                high,
                "wt %",
                prior.source,
                prior.status,
                prior.how_seen,
                False,
                f"{prior.analyses} analyses of {prior.samples} samples; {prior.note}",
            )
