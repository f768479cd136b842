"""Charts of the spreadsheet's own kind, so that they change with its numbers."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from feedchar.report.pictures import Picture

if TYPE_CHECKING:
    from openpyxl.worksheet.worksheet import Worksheet

WIDTH_CM, HEIGHT_CM = 20, 11
INK = "1A1A1A"
_LINES = (("0072B2", "sysDot"), ("D55E00", "dash"), ("009E73", "solid"), (INK, "lgDash"))
_PATTERNS = ("solid", "wdUpDiag", "diagCross", "ltVert", "ltHorz", "wdDnDiag")
_LINE_EMU = 22_000


def add_curve_chart(sheet: Worksheet, limit: float | None) -> None:
    """Product iron against yield beside its table.

    Parameters
    ----------
    sheet : Worksheet
        Yield in the first column, curves in the others, headings on top. [%, wt %]
    limit : float or None
        Most iron asked; it gets a column of its own. [wt %]
    """
    from openpyxl.chart import Reference, ScatterChart, Series

    chart = ScatterChart(scatterStyle="lineMarker")
    chart.title = "Iron against yield, typical case"
    chart.x_axis.title, chart.y_axis.title = "yield, % of dry bag", "Fe2O3 of product, wt %"
    chart.x_axis.delete = chart.y_axis.delete = False
    last, columns = sheet.max_row, sheet.max_column
    if limit is not None:
        columns += 1
        sheet.cell(1, columns, "limit Fe2O3, wt %")
        for row in range(2, last + 1):
            sheet.cell(row, columns, limit)
    yields = Reference(sheet, min_col=1, min_row=2, max_row=last)
    for column, (colour, dash) in zip(range(2, columns + 1), _LINES, strict=False):
        values = Reference(sheet, min_col=column, min_row=1, max_row=last)
        series = Series(values, yields, title_from_data=True)
        series.marker.symbol = "none"
        series.smooth = False
        line = series.graphicalProperties.line
        line.solidFill, line.dashStyle, line.width = colour, dash, _LINE_EMU
        chart.series.append(series)
    chart.width, chart.height = WIDTH_CM, HEIGHT_CM
    sheet.add_chart(chart, f"{chr(ord('A') + columns + 1)}2")


def add_bar_chart(sheet: Worksheet, drawn: Picture, unit: str, last_row: int) -> None:
    """Bars below the table of a picture.

    Parameters
    ----------
    sheet : Worksheet
        Names in the first column, headings on top. [-]
    drawn : Picture
        What the table shows; where a total stands before its parts, the parts are stacked. [-]
    unit : str
        Title of the axis. [-]
    last_row : int
        Last row of the table. [-]
    """
    from openpyxl.chart import BarChart, Reference

    columns = drawn.table.columns
    numbers = [k for k, column in enumerate(columns, start=1) if column.kind == "number"]
    chart = BarChart(barDir="bar", grouping="stacked", overlap=100)
    chart.title, chart.y_axis.title = drawn.title, unit
    chart.x_axis.scaling.orientation = "maxMin"
    chart.x_axis.delete = chart.y_axis.delete = False
    for column in numbers[1:] if drawn.name == "iron" else numbers[:1]:
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
