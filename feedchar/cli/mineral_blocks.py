"""The reference tables as findings: the list of minerals, and the sheet of one."""

from __future__ import annotations

from dataclasses import dataclass

from feedchar.report.blocks import Block, Column, Findings, Row, Table, Words
from feedchar.report.numbers import DASH, number, weight
from feedchar.report.words import NO_BREAK
from feedchar.tables.minerals import minerals
from feedchar.tables.sheet import MineralSheet, SheetValue, mineral_sheet
from feedchar.units import M3_KG_PER_CM3_G

_SI = "m3/kg"

SUSCEPTIBILITY_SI = 1e-9
"""Mass susceptibilities are shown in multiples of this. [m3/kg]"""
SUSCEPTIBILITY_CGS = 1e-6
"""And in trade units in multiples of this. [cm3/g]"""

_STATUS_WORDS = (
    "read: seen in the text named; recalled: from memory, check before relying on it; computed: "
    "by a stated relation; guess: common practice at best."
)


def all_minerals(units: str) -> Findings:
    """Every mineral in one line.

    Parameters
    ----------
    units : str
        trade (cgs beside SI) or si. [-]

    Returns
    -------
    Findings
        One table. [-]
    """
    columns = (
        Column("mineral"),
        Column("density, kg/m3", "number"),
        Column("Fe, wt %", "number"),
        _susceptibility_column(units),
        Column("status"),
        Column("order at 20 C", optional=True),
        Column("role", optional=True),
    )
    rows = tuple(
        Row(
            (
                record.mineral,
                f"{record.density_kg_m3:.0f}",
                weight(record.iron_typical_wt_pct) if record.iron_typical_wt_pct else "0",
                _susceptibility(record.susceptibility.typical, units),
                record.status,
                record.magnetic_order,
                record.role,
            )
        )
        for record in minerals().values()
    )
    words = Words(f"Status of the susceptibility. {_STATUS_WORDS}")
    unit = "cgs; times 12.57 it is 1e-9 m3/kg" if units == "trade" else "SI"
    parts = (Table(columns, rows), words)
    block = Block("minerals", "MINERALS", parts, f"mass susceptibility in {unit}")
    hint = "feedchar mineral NAME shows one in full"
    return Findings(f"Reference tables: {len(rows)} minerals", hint, (block,))


def one_mineral(word: str, units: str) -> Findings:
    """Everything the tables hold on one mineral.

    Parameters
    ----------
    word : str
        Name or alias. [-]
    units : str
        trade (cgs beside SI) or si. [-]

    Returns
    -------
    Findings
        What is taken, what else was found, remarks, sources. [-]

    Raises
    ------
    UnknownNameError
        For an unknown name or a group word.
    """
    sheet = mineral_sheet(word)
    figures = [value for value in sheet.values if not isinstance(value.typical, str)]
    taken = [value for value in figures if value.preferred]
    others = [value for value in figures if not value.preferred]
    remarks = dict.fromkeys(value.remark for value in (*taken, *others) if value.remark)
    marks = _Marks(
        sources={source.key: f"{place}" for place, source in enumerate(sheet.sources, start=1)},
        remarks={remark: _letter(place) for place, remark in enumerate(remarks)},
        cgs=units == "trade",
    )
    blocks = [
        _about(sheet, marks),
        Block("taken", "WHAT THE CALCULATION TAKES", (_values(taken, marks),)),
    ]
    if others:
        table = _values(others, marks)
        blocks.append(Block("others", "WHAT ELSE WAS FOUND", (table,), "not taken"))
    if marks.remarks:
        parts = tuple(Words(f"{remark}.", mark=mark) for remark, mark in marks.remarks.items())
        blocks.append(Block("remarks", "REMARKS", parts))
    listed = tuple(
        Words(f"{source.key}: {source.citation}; {source.how_seen}.", mark=mark)
        for source, mark in zip(sheet.sources, marks.sources.values(), strict=True)
    )
    blocks.append(Block("sources", "SOURCES", (*listed, Words(_STATUS_WORDS, "quiet"))))
    return Findings(sheet.mineral.mineral, sheet.mineral.group, tuple(blocks))


@dataclass(frozen=True)
class _Marks:
    """What stands in a table for a source and for a remark, and the units wanted."""

    sources: dict[str, str]
    remarks: dict[str, str]
    cgs: bool

    def of_sources(self, keys: str) -> str:
        """Numbers of sources from their keys; "-" without any."""
        return ", ".join(self.sources[key] for key in keys.split(";") if key) or DASH


def _about(sheet: MineralSheet, marks: _Marks) -> Block:
    """What it is, in words; each fact of a table with its status and source."""
    record = sheet.mineral
    ions = ", ".join(f"{ion} {atoms:g}" for ion, atoms in record.ions.items())
    lines = [("Kind", "a series, mixture or stand-in" if record.is_generic else "one mineral")]
    for value in sheet.values:
        if isinstance(value.typical, str):
            source = f", source {marks.of_sources(value.source)}" if value.source else ""
            text = f"{value.typical} ({value.status}{source})"
            lines.append((f"{value.quantity[0].upper()}{value.quantity[1:]}", text))
    lines += [
        ("Also called", ", ".join(sheet.aliases)),
        ("Ions that answer a field, atoms per formula", ions),
        ("Its moment in a field", record.field_rule),
        ("Specks", "dark" if record.is_dark else "pale"),
        ("In the melt", "refractory" if record.is_refractory else "melts in time"),
        ("Note", record.note),
    ]
    parts = tuple(Words(f"{text}.", mark=mark) for mark, text in lines if text)
    return Block("about", "WHAT IT IS", parts)


def _values(values: list[SheetValue], marks: _Marks) -> Table:
    has_cgs = marks.cgs and any(value.unit == _SI for value in values)
    columns = [
        Column("quantity"),
        Column("low", "number"),
        Column("typical", "number"),
        Column("high", "number"),
        *([Column("1e-6 cm3/g", "number")] if has_cgs else []),
        Column("status"),
        Column("source", "number"),
        Column("remark", "number"),
    ]
    rows = []
    for value in values:
        magnetic = value.unit == _SI
        unit = ("1e-9 m3/kg" if magnetic else value.unit).replace(" ", NO_BREAK)
        cgs = [_susceptibility(value.typical, "trade") if magnetic else ""] if has_cgs else []
        rows.append(
            Row(
                (
                    f"{value.quantity}, {unit}" if unit != "-" else value.quantity,
                    *(_shown(part, magnetic) for part in (value.low, value.typical, value.high)),
                    *cgs,
                    value.status,
                    marks.of_sources(value.source),
                    marks.remarks.get(value.remark, ""),
                )
            )
        )
    return Table(tuple(columns), tuple(rows))


def _letter(place: int) -> str:
    """a to z, then aa, ab and so on."""
    last = chr(ord("a") + place % 26)
    return last if place < 26 else _letter(place // 26 - 1) + last


def _shown(value: float | str | None, magnetic: bool) -> str:
    if not isinstance(value, float | int):
        return value or DASH
    return _susceptibility(value, "si") if magnetic else _figure(value)


def _figure(value: float) -> str:
    """As many digits as the table has, up to five."""
    return f"{value:.5g}" if abs(value) < 1e5 else number(value)


def _susceptibility(value: float | str | None, units: str) -> str:
    if not isinstance(value, float | int):
        return DASH
    step = SUSCEPTIBILITY_SI
    if units == "trade":
        step = SUSCEPTIBILITY_CGS * M3_KG_PER_CM3_G
    return f"{value / step:.3g}" if abs(value / step) < 1000 else f"{value / step:.0f}"


def _susceptibility_column(units: str) -> Column:
    return Column("1e-6 cm3/g" if units == "trade" else "1e-9 m3/kg", "number")
