"""The page of a table of samples: one file, nothing fetched, no script, whatever the rows."""

from __future__ import annotations

from feedchar.report.batch_blocks import batch_findings
from feedchar.report.batch_pictures import (
    GROUPS_INCH,
    SPREAD_INCH,
    draw_groups,
    draw_spread,
    groups_words,
    spread_words,
)
from feedchar.report.figures import drawn_svg
from feedchar.report.html import Drawn, Section, _rendered, _resource
from feedchar.results.batch import BatchSummary


def batch_html(summary: BatchSummary) -> str:
    """The whole page.

    Parameters
    ----------
    summary : BatchSummary
        The table as a whole. [-]

    Returns
    -------
    str
        HTML; the same summary gives the same text. [-]
    """
    findings = batch_findings(summary)
    pictures = _pictures(summary)
    sections = tuple(
        Section(block.key, block, pictures.get(block.key, ())) for block in findings.blocks
    )
    return _rendered(
        "batch.html",
        findings=findings,
        sections=sections,
        summary=summary,
        style=_resource("page.css"),
    )


def _pictures(summary: BatchSummary) -> dict[str, tuple[Drawn, ...]]:
    """Pictures by the block below which they stand."""
    out: dict[str, tuple[Drawn, ...]] = {}
    for key, words, draw, tall in (
        ("answer", spread_words(summary), draw_spread, SPREAD_INCH),
        ("tests", groups_words(summary), draw_groups, GROUPS_INCH),
    ):
        if words is not None:
            drawing = drawn_svg(lambda figure, how=draw: how(figure, summary), tall, words.name)  # type: ignore[misc]
            out[key] = (Drawn(words, drawing),)
    return out
