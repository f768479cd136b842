"""Charts of the spreadsheet's own kind, so that they change with its numbers."""

from __future__ import annotations

from itertools import cycle
from typing import TYPE_CHECKING, Any

from feedchar.report.report import BarChart, LineChart

if TYPE_CHECKING:
    from openpyxl.worksheet.worksheet import Worksheet

WIDTH_CM, HEIGHT_CM = 20, 11
INK = "1A1A1A"
_LINES = (("0072B2", "sysDot"), ("D55E00", "dash"), ("009E73", "solid"), (INK, "lgDash"))
_PATTERNS = ("solid", "wdUpDiag", "diagCross", "ltVert", "ltHorz", "wdDnDiag")
_LINE_EMU = 22_000


def add_line_chart(sheet: Worksheet, asked: LineChart, columns: list[int]) -> None:
    """Columns of numbers as lines beside their table.

    Parameters
    ----------
    sheet : Worksheet
        What lies across in the first column, lines in the others, headings on top. [any]
    asked : LineChart
        Titles, and a level that gets a column of its own. [-]
    columns : list of int
        Columns that are drawn, the first of the sheet being 1. [-]
    """
    from openpyxl.chart import Reference, ScatterChart, Series
    from openpyxl.utils import get_column_letter

    chart = ScatterChart(scatterStyle="lineMarker")
    chart.title = asked.title
    chart.x_axis.title, chart.y_axis.title = asked.across, asked.up
    chart.x_axis.delete = chart.y_axis.delete = False
    if asked.logarithmic:
        chart.y_axis.scaling.logBase = 10
    last = sheet.max_row
    if asked.level is not None:
        columns = [*columns, sheet.max_column + 1]
        sheet.cell(1, columns[-1], asked.level_heading)
        for row in range(2, last + 1):
            sheet.cell(row, columns[-1], asked.level)
    across = Reference(sheet, min_col=1, min_row=2, max_row=last)
    for column, (colour, dash) in zip(columns, cycle(_LINES), strict=False):
        values = Reference(sheet, min_col=column, min_row=1, max_row=last)
        series = Series(values, across, title_from_data=True)
        series.marker.symbol = "none"
        series.smooth = False
        line = series.graphicalProperties.line
        line.solidFill, line.dashStyle, line.width = colour, dash, _LINE_EMU
        chart.series.append(series)
    chart.width, chart.height = WIDTH_CM, HEIGHT_CM
    sheet.add_chart(chart, f"{get_column_letter(sheet.max_column + 2)}2")


def add_bar_chart(sheet: Worksheet, asked: BarChart, last_row: int) -> None:
    """Bars below the table of a picture.

    Parameters
    ----------
    sheet : Worksheet
        Names in the first column, headings on top. [-]
    asked : BarChart
        What the table shows; where a total stands before its parts, the parts are stacked. [-]
    last_row : int
        Last row of the table. [-]
    """
    from openpyxl.chart import BarChart, Reference

    columns = asked.words.table.columns
    numbers = [k for k, column in enumerate(columns, start=1) if column.kind == "number"]
    chart = BarChart(barDir="bar", grouping="stacked", overlap=100)
    chart.title, chart.y_axis.title = asked.words.title, asked.unit
    chart.x_axis.scaling.orientation = "maxMin"
    chart.x_axis.delete = chart.y_axis.delete = False
    for column in numbers[1:] if asked.parts else numbers[:1]:
        values = Reference(sheet, min_col=column, min_row=1, max_row=last_row)
        chart.add_data(values, titles_from_data=True)
    chart.set_categories(Reference(sheet, min_col=1, min_row=2, max_row=last_row))
    for series, pattern in zip(chart.series, _PATTERNS, strict=False):
        _hatch(series, pattern)
    chart.width, chart.height = WIDTH_CM, HEIGHT_CM
    sheet.add_chart(chart, f"A{last_row + 4}")


def _colour(code: str) -> Any:
    from openpyxl.drawing.colors import ColorChoice

    made = ColorChoice()
    made.srgbClr = code
    return made


def _hatch(series: Any, pattern: Any) -> None:
    from openpyxl.chart.shapes import GraphicalProperties
    from openpyxl.drawing.fill import PatternFillProperties

    if pattern == "solid":
        series.graphicalProperties = GraphicalProperties(solidFill="56B4E9")
    else:
        fill = PatternFillProperties(prst=pattern)
        fill.fgClr, fill.bgClr = _colour(INK), _colour("FFFFFF")
        series.graphicalProperties = GraphicalProperties(pattFill=fill)
    series.graphicalProperties.line.solidFill = INK
