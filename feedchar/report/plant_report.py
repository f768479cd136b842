"""What is sent on of circuits at full size: findings, drawing, tables, charts."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from functools import partial
from typing import Any

from feedchar.report.assess_report import made_from
from feedchar.report.blocks import Block, Column, Findings, Row, Table, Words
from feedchar.report.circuit_drawing import circuit_svg
from feedchar.report.document import plain
from feedchar.report.numbers import DASH, weight
from feedchar.report.plant_blocks import scale_up_findings
from feedchar.report.plant_questions import tonnes
from feedchar.report.report import BarChart, Drawn, Picture, Report, Tidy
from feedchar.report.tables import table_of
from feedchar.report.words import name, prose
from feedchar.results.plant import PlantCircuit, ScaleUp

_UNITS = {
    "t_h": "t_h",
    "per_100_dry_bag": "pct_of_dry_bag",
    "iron_share_pct": "pct_of_iron",
}


def scale_up_report(result: ScaleUp) -> Report:
    """Everything that is sent on of `scale-up`.

    Parameters
    ----------
    result : ScaleUp
        The result. [-]

    Returns
    -------
    Report
        The chosen circuit drawn; all circuits in the tables. [-]
    """
    chosen = next(one for one in result.circuits if one.circuit == result.chosen)
    findings = scale_up_findings(result)
    streams = _streams_table(chosen)
    caption = (
        f"{name(chosen.circuit)}: {prose(chosen.words)}. Thick lines carry much, thin ones little. "
        "Typical case, dry tonnes."
    )
    words = Picture("circuit", "The circuit", caption, streams)
    files = tuple(file.name for file in result.input.files)
    return Report(
        findings=replace(_with_streams(findings, streams), title=f"{findings.title}: at full size"),
        made_from=made_from(findings.title, files, result.trials, result.seed),
        tables=plant_tables(result),
        drawings={"circuit": (Drawn(words, partial(circuit_svg, chosen, result.feed_t_h)),)},
        charts=tuple(_charts(findings)),
    )


def plant_tables(result: ScaleUp) -> dict[str, Tidy]:
    """All tables of a comparison of circuits by name, empty ones left out.

    Parameters
    ----------
    result : ScaleUp
        The result. [-]

    Returns
    -------
    dict of str to Tidy
        In the order in which one reads them. [-]
    """
    tree = plain(result)
    circuits = tree["circuits"]
    made = {
        "circuits": table_of(_circuit(one) for one in circuits),
        "streams": table_of(_of_circuit(circuits, "streams")),
        "steps": table_of(_of_circuit(circuits, "steps")),
        "outlets": table_of(row for one in circuits for row in _outlets(one)),
        "asked_backwards": table_of([{"circuit": tree["chosen"], **tree["inverse"]}]),
        "if_something_changes": table_of(tree["sensitivity"]),
        "notes": table_of(tree["notes"]),
    }
    return {key: table for key, table in made.items() if table.rows}


def _circuit(one: dict[str, Any]) -> dict[str, Any]:
    product = one["product"]
    return {
        "circuit": one["circuit"],
        "words": one["words"],
        "chosen": one["chosen"],
        "chosen_by": one["chosen_by"],
        "status": one["status"],
        "chance_of_meeting_limit": one["chance_of_meeting_limit"],
        "product_Fe2O3_wt_pct": product["assay_wt_pct"]["Fe2O3"],
        "product_t_h": product["t_h"],
        "product_per_100_dry_bag": product["per_100_dry_bag"],
        "iron_removal_pct": one["iron_removal_pct"],
        "sand_lost_pct": one["sand_lost_pct"],
        "belt_m": one["belt_m"],
        "lost_t_h": one["lost_t_h"],
        "cost": one["cost"],
    }


def _of_circuit(circuits: list[dict[str, Any]], key: str) -> Iterator[dict[str, Any]]:
    for one in circuits:
        for record in one[key]:
            cuts = {"cuts_um": "; ".join(f"{cut:g}" for cut in record.get("cuts_um", []))}
            yield {"circuit": one["circuit"], **record, **(cuts if key == "steps" else {})}


def _outlets(one: dict[str, Any]) -> Iterator[dict[str, Any]]:
    for outlet in ("product", "reject", "dust"):
        values = one[outlet]
        if not values["t_h"]["typical"]:
            continue
        for key, unit in _UNITS.items():
            yield _quantity(one, outlet, key.removesuffix("_pct"), unit, values[key])
        for oxide, value in values["assay_wt_pct"].items():
            yield _quantity(one, outlet, oxide, "wt_pct", value)


def _quantity(
    one: dict[str, Any], outlet: str, quantity: str, unit: str, value: dict[str, Any]
) -> dict[str, Any]:
    words = quantity.replace("_", " ") if unit != "t_h" else "rate"
    return {"circuit": one["circuit"], "outlet": outlet, "quantity": words, "unit": unit, **value}


def _streams_table(one: PlantCircuit) -> Table:
    rows = tuple(
        Row(
            (
                name(stream.from_step),
                stream.outlet,
                f"{name(stream.to)}{' (back)' if stream.returns else ''}",
                tonnes(stream.t_h),
                DASH if stream.Fe2O3_wt_pct is None else weight(stream.Fe2O3_wt_pct),
            )
        )
        for stream in one.streams
    )
    columns = (
        Column("from"),
        Column("outlet"),
        Column("to"),
        Column("t/h", "number"),
        Column("Fe2O3, wt %", "number"),
    )
    return Table(columns, rows)


def _with_streams(findings: Findings, streams: Table) -> Findings:
    """The findings with a table where the terminal draws with characters."""

    def told(block: Block) -> Block:
        if block.key != "circuit":
            return block
        closing = [part for part in block.parts if isinstance(part, Words)][-1]
        return replace(block, parts=(streams, closing))

    return replace(findings, blocks=tuple(told(block) for block in findings.blocks))


def _charts(findings: Findings) -> Iterator[BarChart]:
    """Iron of the circuits, and what changes do to it, from the tables of the findings."""
    tables = {
        block.key: next((part for part in block.parts if isinstance(part, Table)), None)
        for block in findings.blocks
    }
    compared, changes = tables.get("circuits"), tables.get("sensitivity")
    if compared is not None:
        place = [column.heading for column in compared.columns].index("Fe2O3, wt %")
        order = (0, place, *(k for k in range(1, len(compared.columns)) if k != place))
        words = Picture(
            "circuits",
            "Product iron by circuit",
            "Likely case; the shorter the cleaner. The sheet circuits has the ranges.",
            _reordered(compared, order),
        )
        yield BarChart("iron by circuit", words, "Fe2O3 of product, wt %")
    if changes is not None and changes.rows:
        words = Picture(
            "changes",
            "What a change does to product iron",
            "Change of the product's Fe2O3, one thing at a time, typical case.",
            _reordered(changes, (0, 2, 1, *range(3, len(changes.columns)))),
        )
        yield BarChart("iron by change", words, "change, ppm Fe2O3 of product")


def _reordered(table: Table, order: tuple[int, ...]) -> Table:
    return Table(
        tuple(table.columns[k] for k in order),
        tuple(Row(tuple(row.cells[k] for k in order), row.role) for row in table.rows),
    )
