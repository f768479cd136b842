"""What is sent on of a table of samples: one page, whatever the rows."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from feedchar import __version__
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
from feedchar.report.report import Drawn, Picture, Report
from feedchar.report.words import name
from feedchar.results.batch import BatchSummary

if TYPE_CHECKING:
    from matplotlib.figure import Figure


def batch_report(summary: BatchSummary) -> Report:
    """The table as a whole, ready for a page.

    Parameters
    ----------
    summary : BatchSummary
        The table as a whole. [-]

    Returns
    -------
    Report
        Findings and pictures; the rows themselves stand in the file of results. [-]
    """
    return Report(
        findings=batch_findings(summary),
        made_from=(
            f"Fe2O3 means all iron expressed as Fe2O3. Made from {name(summary.table)} "
            f"(SHA-256 {summary.sha256}) by feedchar {__version__}, {summary.trials} trials a row, "
            f"seed {summary.seed}."
        ),
        tables={},
        drawings={
            "answer": _drawn(summary, spread_words(summary), draw_spread, SPREAD_INCH),
            "tests": _drawn(summary, groups_words(summary), draw_groups, GROUPS_INCH),
        },
    )


def _drawn(
    summary: BatchSummary,
    words: Picture | None,
    draw: Callable[[Figure, BatchSummary], None],
    tall_inch: float,
) -> tuple[Drawn, ...]:
    """The picture with its drawing; none where there are no words for it."""
    if words is None:
        return ()
    return (
        Drawn(
            words, lambda: drawn_svg(lambda figure: draw(figure, summary), tall_inch, words.name)
        ),
    )
