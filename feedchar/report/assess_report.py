"""What is sent on of a characterisation: its findings, pictures, tables, charts and panel."""

from __future__ import annotations

from dataclasses import replace
from functools import partial

from feedchar import __version__
from feedchar.report.assess_tables import tidy_tables
from feedchar.report.blocks import Block, Findings
from feedchar.report.check_blocks import agreement_block, made_of_block
from feedchar.report.customer_blocks import customer_findings
from feedchar.report.figures import svg
from feedchar.report.findings import assess_findings, check_findings, stays_findings
from feedchar.report.pictures import picture
from feedchar.report.product_readings import iron_limit
from feedchar.report.report import CUSTOMER, BarChart, Drawn, LineChart, Report
from feedchar.report.what_if_panel import panel
from feedchar.report.words import name
from feedchar.results import Characterisation

_BESIDE = {
    CUSTOMER: ("product",),
    "iron": ("iron", "sizes"),
    "response": ("field",),
    "stays": ("stays",),
    "could be": ("curves",),
}
"""Pictures by the block below which they stand."""

_CHARTED = (
    ("iron", "iron by carrier", "of 100 iron of the bag", True),
    ("stays", "stays by reason", "ppm Fe2O3 of product", False),
)
"""Picture, sheet, unit, and whether parts are stacked, of the tables that have bars."""


def assess_report(
    result: Characterisation,
    *,
    units: str = "trade",
    at_grade: float | None = None,
    at_yield: float | None = None,
) -> Report:
    """The whole assessment.

    Parameters
    ----------
    result : Characterisation
        The result. [-]
    units : str
        trade or si. [-]
    at_grade : float or None
        Product Fe2O3 whose yield is asked for. [wt %]
    at_yield : float or None
        Yield whose product Fe2O3 is asked for. [% of dry bag]

    Returns
    -------
    Report
        The customer's side, all findings, all pictures, the panel. [-]
    """
    findings = assess_findings(result, units=units, at_grade=at_grade, at_yield=at_yield)
    findings = _with_feed(findings, agreement_block(result), made_of_block(result))
    made = _report(result, findings)
    return replace(
        made,
        customer=customer_findings(result),
        panel=panel(result),
        panel_after="setting",
    )


def stays_report(
    result: Characterisation, *, at_grade: float | None = None, at_yield: float | None = None
) -> Report:
    """Only the iron that stays.

    Parameters
    ----------
    result : Characterisation
        The result. [-]
    at_grade : float or None
        Product Fe2O3 whose yield is asked for. [wt %]
    at_yield : float or None
        Yield whose product Fe2O3 is asked for. [% of dry bag]

    Returns
    -------
    Report
        Findings with the pictures of what stays and of what could be. [-]
    """
    return _report(result, stays_findings(result, at_grade=at_grade, at_yield=at_yield))


def check_report(result: Characterisation) -> Report:
    """Only the feed.

    Parameters
    ----------
    result : Characterisation
        The result. [-]

    Returns
    -------
    Report
        Findings of the feed; the tables are those of the whole document. [-]
    """
    return _report(result, check_findings(result))


def made_from(title: str, files: tuple[str, ...], trials: int, seed: int) -> str:
    """The line that says what a page was made of.

    Parameters
    ----------
    title : str
        Name of the sample, fit to be shown. [-]
    files : tuple of str
        Base names of the files that were read. [-]
    trials, seed : int
        Of the run. [-]

    Returns
    -------
    str
        One sentence or two. [-]
    """
    told = f" ({', '.join(name(file) for file in files)})" if files else ""
    return (
        f"Fe2O3 means all iron expressed as Fe2O3. Made from {title}{told} by feedchar "
        f"{__version__}, {trials} trials, seed {seed}."
    )


def _report(result: Characterisation, findings: Findings) -> Report:
    charts: list[LineChart | BarChart] = []
    tables = tidy_tables(result)
    if "curves" in tables:
        charts.append(
            LineChart(
                "curves",
                "Iron against yield, typical case",
                "yield, % of dry bag",
                "Fe2O3 of product, wt %",
                iron_limit(result),
                "limit Fe2O3, wt %",
            )
        )
    for key, sheet, unit, parts in _CHARTED:
        drawn = picture(result, key)
        if drawn is not None:
            charts.append(BarChart(sheet, drawn, unit, parts))
    files = tuple(file.name for file in result.input.files)
    return Report(
        findings=findings,
        made_from=made_from(findings.title, files, result.trials, result.seed),
        tables=tables,
        drawings={key: _drawn(result, names) for key, names in _BESIDE.items()},
        charts=tuple(charts),
    )


def _drawn(result: Characterisation, names: tuple[str, ...]) -> tuple[Drawn, ...]:
    found = [(key, picture(result, key)) for key in names]
    return tuple(
        Drawn(words, partial(svg, result, key)) for key, words in found if words is not None
    )


def _with_feed(findings: Findings, *extra: Block) -> Findings:
    """The findings with the tables of the feed behind its agreement."""
    blocks: list[Block] = []
    for block in findings.blocks:
        blocks.append(block)
        if block.key == "feed":
            blocks += extra
    return replace(findings, blocks=tuple(blocks))
