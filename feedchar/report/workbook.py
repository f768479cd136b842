"""The workbook that a person goes on working with: findings, tables, charts of its own kind.

Text is stored as text and marked so, numbers as numbers with their unit in the heading.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any

from feedchar.report.blocks import Findings, Table, Words
from feedchar.report.report import Card, LineChart, Report
from feedchar.report.words import NO_BREAK, visible
from feedchar.report.workbook_charts import add_bar_chart, add_line_chart
from feedchar.sample.template import saved

if TYPE_CHECKING:
    from openpyxl.worksheet.worksheet import Worksheet

_NUMBER = re.compile(r"[+-]?[0-9]+(\.[0-9]+)?")
_WIDEST, _NARROWEST = 60, 9
_LONGEST = 32_000
"""Characters of a cell; the format allows 32767."""

_UNITS = (
    ("_m3_kg", ", m\u00b3/kg"),
    ("_kg_m3", ", kg/m\u00b3"),
    ("_tesla2_m", ", T\u00b2/m"),
    ("_tesla", ", T"),
    ("_m_s", ", m/s"),
    ("_wt_pct", ", wt %"),
    ("_per_100_g", ", per 100 g"),
    ("_ppm", ", ppm"),
    ("_t_h_m", ", t/h per m"),
    ("_t_h", ", t/h"),
    ("_kg_h", ", kg/h"),
    ("_kg", ", kg"),
    ("_g", ", g"),
    ("_deg", ", \u00b0"),
    ("_pct", ", %"),
    ("_um", ", \u00b5m"),
    ("_m", ", m"),
    ("_c", ", \u00b0C"),
)
_PARTS = {
    "typical": "typical",
    "mean": "mean",
    "sd": "sd",
    "p05": "5 %",
    "p50": "likely",
    "p95": "95 %",
    "low": "least",
    "high": "greatest",
}


def workbook(report: Report) -> bytes:
    """The workbook of any report.

    Parameters
    ----------
    report : Report
        What to show. [-]

    Returns
    -------
    bytes
        Content of an .xlsx file; the same report gives the same bytes. [-]
    """
    from openpyxl import Workbook

    book = Workbook()
    book.remove(book.worksheets[0])
    if report.customer is not None:
        _findings_sheet(book.create_sheet("customer"), report.customer)
    _findings_sheet(book.create_sheet("findings"), report.findings)
    if report.labels:
        _label_sheet(book.create_sheet("labels"), report.labels)
    for name, table in report.tables.items():
        sheet = book.create_sheet(name.replace("_", " "))
        headings = [heading_words(heading) for heading in table.headings]
        _fill(sheet, [headings, *table.rows], 1)
        sheet.freeze_panes = "B2"
        sheet.auto_filter.ref = sheet.dimensions
        _widths(sheet)
    for chart in report.charts:
        if isinstance(chart, LineChart):
            keys = report.tables[chart.table].headings
            drawn = [keys.index(key) + 1 for key in chart.columns or keys[1:]]
            add_line_chart(book[chart.table.replace("_", " ")], chart, drawn)
        else:
            sheet = book.create_sheet(chart.sheet)
            last = _block_table(sheet, 1, chart.words.table) - 1
            _widths(sheet)
            _put(sheet, last + 2, 1, chart.words.caption)
            add_bar_chart(sheet, chart, last)
    return saved(book)


def heading_words(key: str) -> str:
    """Heading of a column for people, with its unit.

    Parameters
    ----------
    key : str
        Name of a field, such as mass_pct_p05. [-]

    Returns
    -------
    str
        Such as "mass, %, 5 %". [-]
    """
    stem, _, last = key.rpartition("_")
    part = ""
    if stem and last in _PARTS:
        key, part = stem, f", {_PARTS[last]}"
    elif key in _PARTS:
        return _PARTS[key]
    for ending, unit in _UNITS:
        if key.endswith(ending):
            return f"{key[: -len(ending)].replace('_', ' ')}{unit}{part}"
    return f"{key.replace('_', ' ')}{part}"


def _findings_sheet(sheet: Worksheet, findings: Findings) -> None:
    from openpyxl.styles import Alignment, Font
    from openpyxl.worksheet.properties import PageSetupProperties

    row = 1
    for text, font in (
        (findings.title, Font(bold=True, size=14)),
        (findings.basis, Font(italic=True)),
        (findings.facts, Font()),
    ):
        if text:
            _put(sheet, row, 1, text).font = font
            row += 1
    for block in findings.blocks:
        row += 1
        if block.heading:
            _put(sheet, row, 1, block.heading).font = Font(bold=True)
            if block.subtitle:
                _put(sheet, row, 2, block.subtitle)
            row += 1
        for part in block.parts:
            if isinstance(part, Words):
                _put(sheet, row, 1, part.mark).font = Font(bold=True)
                said = _put(sheet, row, 2, part.text)
                said.alignment = Alignment(wrap_text=True, vertical="top")
                sheet.merge_cells(start_row=row, end_row=row, start_column=2, end_column=8)
                sheet.row_dimensions[row].height = 15.0 * (1 + len(part.text) // 95)
                row += 1
            else:
                row = _block_table(sheet, row, part)
    sheet.column_dimensions["A"].width = 34
    for letter in "BCDEFGH":
        sheet.column_dimensions[letter].width = 16
    sheet.page_setup.paperSize = 9
    sheet.page_setup.fitToHeight = 0
    sheet.sheet_properties.pageSetUpPr = PageSetupProperties(fitToPage=True)


def _label_sheet(sheet: Worksheet, labels: tuple[Card, ...]) -> None:
    """A row a label, to go on with in a program that prints labels."""
    longest = max(len(label.lines) for label in labels)
    headings = ["label", *(f"line {place}" for place in range(1, longest + 1))]
    _fill(sheet, [headings, *((label.title, *label.lines) for label in labels)], 1)
    _widths(sheet)


def _block_table(sheet: Worksheet, row: int, table: Table) -> int:
    from openpyxl.styles import Font

    kept = [place for place, column in enumerate(table.columns) if column.kind != "bar"]
    for column, place in enumerate(kept, start=1):
        _put(sheet, row, column, table.columns[place].heading).font = Font(bold=True)
    for line in table.rows:
        row += 1
        for column, place in enumerate(kept, start=1):
            value = line.cells[place]
            number = table.columns[place].kind == "number"
            _put(sheet, row, column, value, number=number)
    return row + 1


def _fill(sheet: Worksheet, rows: list[Any], first: int) -> None:
    from openpyxl.styles import Alignment, Font

    for row, values in enumerate(rows, start=first):
        for column, value in enumerate(values, start=1):
            cell = _put(sheet, row, column, value)
            if row == first:
                cell.font = Font(bold=True)
                cell.alignment = Alignment(wrap_text=True, vertical="top")


def _put(sheet: Worksheet, row: int, column: int, value: Any, *, number: bool = False) -> Any:
    """A cell; text that reads as a number is one only where its column holds numbers."""
    cell = sheet.cell(row, column)
    if value is None or value == "":
        return cell
    if not isinstance(value, str):
        cell.value = value
        return cell
    if number and _NUMBER.fullmatch(value):
        cell.value = float(value)
        decimals = len(value.partition(".")[2])
        cell.number_format = f"0.{'0' * decimals}" if decimals else "0"
        return cell
    cell.value = visible(value).replace(NO_BREAK, " ")[:_LONGEST]  # people search for what they see
    cell.data_type = "s"
    cell.quotePrefix = True
    return cell


def _widths(sheet: Worksheet) -> None:
    from openpyxl.utils import get_column_letter

    for place, cells in enumerate(sheet.iter_cols(1, None, 1, min(60, sheet.max_row)), start=1):
        longest = max((len(str(cell.value)) for cell in cells[1:] if cell.value), default=0)
        heading = max((len(word) for word in str(cells[0].value or "").split()), default=0)
        width = min(_WIDEST, max(_NARROWEST, longest + 2, heading + 3))
        sheet.column_dimensions[get_column_letter(place)].width = width
