"""What is sent on of the calculator: findings, pictures of field and paths, tables, a chart."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from functools import partial
from typing import Any

from feedchar import __version__
from feedchar.report.blocks import Block, Column, Findings, Row, Table
from feedchar.report.document import plain
from feedchar.report.numbers import DASH
from feedchar.report.pull_blocks import pull_findings
from feedchar.report.pull_figure import field_svg, paths_svg
from feedchar.report.readings import SQUARED
from feedchar.report.report import Drawn, LineChart, Picture, Report, Tidy
from feedchar.report.tables import table_of
from feedchar.report.words import name
from feedchar.results.pull import PullResult
from feedchar.results.pull_picture import GrainPath, PullPicture

_FORCES = tuple(f"force_product_{which}_tesla2_m" for which in ("least", "mean", "greatest"))


def pull_report(result: PullResult, drawn: PullPicture, *, units: str = "trade") -> Report:
    """Everything that is sent on of `pull`.

    Parameters
    ----------
    result : PullResult
        The result. [-]
    drawn : PullPicture
        Field and paths. [SI]
    units : str
        trade or si. [-]

    Returns
    -------
    Report
        Field lines below the field, paths below each belt speed. [-]
    """
    findings = pull_findings(result, units=units)
    drawings = {"field": (Drawn(_field_words(result), partial(field_svg, result, drawn)),)}
    for place, speed in enumerate(dict.fromkeys(path.belt_speed_m_s for path in drawn.paths)):
        paths = [path for path in drawn.paths if path.belt_speed_m_s == speed]
        words = _paths_words(paths, speed, place)
        picture = Drawn(words, partial(paths_svg, result, drawn, speed, place))
        drawings[f"speed_{place + 1}"] = (picture,)
    chart = LineChart(
        "heights",
        "Force against height",
        "above the bare roll, m",
        f"flux density times its gradient, {SQUARED}",
        columns=_FORCES,
        logarithmic=True,
    )
    return Report(
        findings=_without_axis(findings),
        made_from=f"Made by feedchar {__version__} from the figures above.",
        tables=pull_tables(result),
        drawings=drawings,
        charts=(chart,),
    )


def pull_tables(result: PullResult) -> dict[str, Tidy]:
    """All tables of the calculator by name, empty ones left out.

    Parameters
    ----------
    result : PullResult
        The result. [-]

    Returns
    -------
    dict of str to Tidy
        In the order in which one reads them. [-]
    """
    tree = plain(result)
    machine = {k: v for k, v in tree["machine"].items() if not isinstance(v, dict)}
    made = {
        "machine": table_of([machine]),
        "heights": table_of(tree["field"]["heights"]),
        "phases": table_of(tree["phases"]),
        "grains": table_of(_without(grain, "at_speed") for grain in tree["grains"]),
        "speeds": table_of(_speeds(tree["grains"])),
        "capacity": table_of(tree["capacity"]),
        "other_machines": table_of(tree["other_machines"]),
        "notes": table_of(tree["notes"]),
    }
    return {key: table for key, table in made.items() if table.rows}


def _without(record: dict[str, Any], key: str) -> dict[str, Any]:
    return {each: value for each, value in record.items() if each != key}


def _speeds(grains: list[dict[str, Any]]) -> Iterator[dict[str, Any]]:
    for grain in grains:
        for at in grain["at_speed"]:
            yield {"phase": grain["phase"], "size_um": grain["size_um"], **at}


def _without_axis(findings: Findings) -> Findings:
    """The findings without the column that draws an axis with characters."""

    def told(block: Block) -> Block:
        if block.key != "force":
            return block
        first = block.parts[0]
        if not isinstance(first, Table):
            return block
        table = Table(first.columns[:-1], tuple(Row(r.cells[:-1], r.role) for r in first.rows))
        return replace(block, parts=(table, *block.parts[2:]))

    return replace(findings, blocks=tuple(told(block) for block in findings.blocks))


def _field_words(result: PullResult) -> Picture:
    rows = tuple(
        Row(
            (
                f"{1e3 * level.height_m:g}",
                f"{level.mid_pole_tesla:.2f}",
                f"{level.mid_magnet_tesla:.2f}",
            )
        )
        for level in result.field.heights
    )
    columns = (
        Column("above, mm", "number"),
        Column("mid-pole, T", "number"),
        Column("mid-magnet, T", "number"),
    )
    caption = (
        "Where lines crowd the field is strong, and where it changes fast over a short way it "
        "pulls. The pull fades within a height of about the pitch."
    )
    return Picture("pullfield", "Field lines above the roll", caption, Table(columns, rows))


def _paths_words(paths: list[GrainPath], speed: float, place: int) -> Picture:
    def mm(value: float | None) -> str:
        return DASH if value is None else f"{1e3 * value:.0f}"

    rows = tuple(
        Row(
            (
                name(path.phase),
                f"{path.size_um:g}",
                mm(path.landing_least_m),
                mm(path.landing_greatest_m),
            )
        )
        for path in paths
    )
    columns = (
        Column("phase"),
        Column("size, \u00b5m", "number"),
        Column("lands from, mm", "number"),
        Column("to, mm", "number"),
    )
    caption = (
        "Grains that curve under the roll go to the magnetics; what lands beyond the dotted face "
        "is thrown off. An edge parts two grains only where their bars do not overlap."
    )
    title = f"Where grains go at {speed:g} m/s"
    return Picture(f"pullpaths{place}", title, caption, Table(columns, rows))
