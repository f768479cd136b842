"""What to tell whom: terminal, documents and figures, all from results alone.

>>> import feedchar.report
>>> callable(feedchar.report.figure)
True
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from feedchar.front_door import front_door

if TYPE_CHECKING:
    from feedchar.report.figures import figure
    from feedchar.report.html import repr_html, to_html

__all__ = ["figure", "repr_html", "to_html"]

__getattr__ = front_door(
    __name__,
    {
        "figure": "feedchar.report.figures",
        "repr_html": "feedchar.report.html",
        "to_html": "feedchar.report.html",
    },
)
