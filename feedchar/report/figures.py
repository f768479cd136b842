"""The door of the plotting library: each picture as a figure, and as SVG to put into a page.

Figures stand on a canvas of their own, without the library's global list of windows.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from io import StringIO
from typing import TYPE_CHECKING

from feedchar.errors import UnknownNameError
from feedchar.report import feed_pictures, product_pictures
from feedchar.report.picture_style import SETTINGS
from feedchar.results import Characterisation

if TYPE_CHECKING:
    from matplotlib.figure import Figure

WIDTH_INCH = 7.2

_Drawing = Callable[["Figure", Characterisation], None]
_Height = float | Callable[[Characterisation], float]

_PICTURES: dict[str, tuple[_Drawing, _Height]] = {
    "iron": (feed_pictures.draw_iron, feed_pictures.iron_height),
    "curves": (product_pictures.draw_curves, 4.2),
    "stays": (feed_pictures.draw_stays, feed_pictures.stays_height),
    "product": (product_pictures.draw_product, 2.9),
    "sizes": (feed_pictures.draw_sizes, 4.8),
    "field": (product_pictures.draw_field, 4.0),
}

NAMES = tuple(_PICTURES)

_TAG = re.compile(r"<[^<>]+>")
_NAMED = re.compile(r'( id="|href="#|url\(#)')


def figure(characterisation: Characterisation, name: str) -> Figure:
    """One picture of a result.

    Parameters
    ----------
    characterisation : Characterisation
        The result. [-]
    name : str
        iron | curves | stays | product | sizes | field. [-]

    Returns
    -------
    matplotlib.figure.Figure
        To be shown, changed or saved. [-]

    Raises
    ------
    UnknownNameError
        When there is no picture of that name.
    """
    if name not in _PICTURES:
        message = f"there is no picture {name!r}; there are {', '.join(NAMES)}"
        raise UnknownNameError(message, NAMES)
    from matplotlib import rc_context
    from matplotlib.figure import Figure

    draw, height = _PICTURES[name]
    tall = height(characterisation) if callable(height) else height
    with rc_context(SETTINGS):
        made = Figure(figsize=(WIDTH_INCH, tall), layout="constrained")
        draw(made, characterisation)
    return made


def svg(characterisation: Characterisation, name: str) -> str:
    """One picture as an SVG element that stands in a page among others.

    Parameters
    ----------
    characterisation : Characterisation
        The result. [-]
    name : str
        As for `figure`. [-]

    Returns
    -------
    str
        No prolog, date or foreign address in it; names of its parts begin with that of the
        picture; the same result gives the same text. [-]

    Raises
    ------
    UnknownNameError
        When there is no picture of that name.
    """
    return svg_of(figure(characterisation, name), name)


def svg_of(made: Figure, name: str) -> str:
    """A figure as an SVG element that stands in a page among others.

    Parameters
    ----------
    made : matplotlib.figure.Figure
        The figure; its grounds become transparent. [-]
    name : str
        Unique in the page; letters and digits. [-]

    Returns
    -------
    str
        As for `svg`. [-]
    """
    from matplotlib import rc_context
    from matplotlib.backends.backend_svg import FigureCanvasSVG

    for ground in (made.patch, *(axes.patch for axes in made.axes)):
        ground.set_visible(False)
    page = StringIO()
    with rc_context({**SETTINGS, "svg.hashsalt": f"feedchar {name}"}):
        # The plain way of saving draws everything twice, to be sure of the layout.
        canvas = FigureCanvasSVG(made)
        canvas.print_svg(page, metadata=dict.fromkeys(_METADATA))
    text = page.getvalue()
    text = text[text.index("<svg") :].strip()
    text = re.sub(r"<metadata>.*?</metadata>", "", text, flags=re.DOTALL)
    return _TAG.sub(lambda tag: _own(tag[0], name), text)


def _own(tag: str, picture: str) -> str:
    """A tag whose names belong to its picture, with typefaces to fall back on."""
    tag = _NAMED.sub(rf"\g<1>{picture}-", tag)
    return tag.replace("'DejaVu Sans'", "'DejaVu Sans', Verdana, sans-serif")


_METADATA = ("Date", "Creator", "Format", "Type")
