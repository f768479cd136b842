"""feedchar: what is in a bag of sand, where its iron sits, and what a magnet can do about it.

    >>> import feedchar
    >>> callable(feedchar.read_sample) and callable(feedchar.characterise)
    True

The road: `read_sample(path)` gives a `Sample`, `characterise(sample)` a `Characterisation`,
`to_json(characterisation)` the document that the command line writes.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from feedchar.front_door import front_door

if TYPE_CHECKING:
    from feedchar.assembly.compare import compare
    from feedchar.characterise import characterise
    from feedchar.report.document import to_json
    from feedchar.report.html import repr_html, to_html
    from feedchar.results import Characterisation
    from feedchar.sample.read import read_sample

__version__ = "0.1.0"

__all__ = [
    "Characterisation",
    "__version__",
    "characterise",
    "compare",
    "read_sample",
    "repr_html",
    "to_html",
    "to_json",
]

__getattr__ = front_door(
    __name__,
    {
        "Characterisation": "feedchar.results",
        "characterise": "feedchar.characterise",
        "compare": "feedchar.assembly.compare",
        "read_sample": "feedchar.sample.read",
        "repr_html": "feedchar.report.html",
        "to_html": "feedchar.report.html",
        "to_json": "feedchar.report.document",
    },
)
