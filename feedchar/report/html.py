"""The page that is sent on: the customer's side first, then everything the engineer has.

One file, nothing fetched: style, script, pictures and data stand in it.
"""

from __future__ import annotations

from base64 import b64encode
from dataclasses import dataclass
from functools import lru_cache
from hashlib import sha256
from importlib.resources import files
from typing import TYPE_CHECKING, Any

from feedchar import __version__
from feedchar.report.blocks import Block, Findings
from feedchar.report.check_blocks import agreement_block, made_of_block
from feedchar.report.customer_blocks import customer_findings
from feedchar.report.figures import svg
from feedchar.report.findings import assess_findings
from feedchar.report.pictures import Picture, picture
from feedchar.report.what_if_panel import panel
from feedchar.results import Characterisation

if TYPE_CHECKING:
    from jinja2 import Environment

_BESIDE = {
    "answer": ("product",),
    "iron": ("iron", "sizes"),
    "response": ("field",),
    "stays": ("stays",),
    "could be": ("curves",),
}
"""Pictures by the block below which they stand."""


@dataclass(frozen=True)
class Drawn:
    """A picture with its drawing."""

    words: Picture
    svg: str


@dataclass(frozen=True)
class Section:
    """A block with its pictures."""

    anchor: str
    block: Block
    pictures: tuple[Drawn, ...]


def to_html(
    characterisation: Characterisation,
    *,
    units: str = "trade",
    at_grade: float | None = None,
    at_yield: float | None = None,
) -> str:
    """The whole page.

    Parameters
    ----------
    characterisation : Characterisation
        The result. [-]
    units : str
        trade or si. [-]
    at_grade : float or None
        Product Fe2O3 whose yield is asked for. [wt %]
    at_yield : float or None
        Yield whose product Fe2O3 is asked for. [% of dry bag]

    Returns
    -------
    str
        HTML; the same result gives the same text. [-]
    """
    findings = assess_findings(characterisation, units=units, at_grade=at_grade, at_yield=at_yield)
    extra = (agreement_block(characterisation), made_of_block(characterisation))
    blocks = _in_order(findings, extra)
    return _rendered(
        "page.html",
        customer=customer_findings(characterisation),
        findings=findings,
        sections=tuple(_section(characterisation, block) for block in blocks),
        panel=panel(characterisation),
        result=characterisation,
        style=_resource("page.css"),
        script=_resource("page.js"),
    )


def repr_html(characterisation: Characterisation) -> str:
    """The result as it shows itself in a notebook: the answer, the product, where the iron is.

    Parameters
    ----------
    characterisation : Characterisation
        The result. [-]

    Returns
    -------
    str
        A fragment of HTML without script or pictures. [-]
    """
    findings = assess_findings(characterisation)
    told = ("answer", "product", "balance", "iron", "stays")
    blocks = tuple(block for block in findings.blocks if block.key in told)
    return _rendered("notebook.html", findings=findings, blocks=blocks)


def _in_order(findings: Findings, extra: tuple[Block, ...]) -> list[Block]:
    """The blocks of the terminal, with the tables of the feed behind its agreement."""
    blocks: list[Block] = []
    for block in findings.blocks:
        blocks.append(block)
        if block.key == "feed":
            blocks += extra
    return blocks


def _section(result: Characterisation, block: Block) -> Section:
    drawn = []
    for name in _BESIDE.get(block.key, ()):
        words = picture(result, name)
        if words is not None:
            drawn.append(Drawn(words, svg(result, name)))
    return Section(block.key.replace(" ", "-"), block, tuple(drawn))


def _rendered(template: str, **values: Any) -> str:
    script = values.get("script", "")
    digest = b64encode(sha256(script.encode()).digest()).decode()
    page = _environment().get_template(template)
    return page.render(version=__version__, script_hash=f"sha256-{digest}", **values)


@lru_cache(maxsize=1)
def _environment() -> Environment:
    from jinja2 import Environment, FunctionLoader, StrictUndefined

    return Environment(
        loader=FunctionLoader(_resource),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )


def _resource(name: str) -> str:
    return files("feedchar.report").joinpath("page", name).read_text(encoding="utf-8")
