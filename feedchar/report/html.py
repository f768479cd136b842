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
from feedchar.report.assess_report import assess_report
from feedchar.report.blocks import Block
from feedchar.report.findings import assess_findings
from feedchar.report.report import CUSTOMER, Picture, Report
from feedchar.results import Characterisation

if TYPE_CHECKING:
    from jinja2 import Environment


@dataclass(frozen=True)
class _Shown:
    """A picture with its drawing done."""

    words: Picture
    svg: str


@dataclass(frozen=True)
class _Section:
    """A block with its pictures."""

    anchor: str
    block: Block
    pictures: tuple[_Shown, ...]


def page(report: Report) -> str:
    """The whole page of any report.

    Parameters
    ----------
    report : Report
        What to show. [-]

    Returns
    -------
    str
        HTML; the same report gives the same text. [-]
    """
    return _rendered(
        "page.html",
        report=report,
        first=_shown(report, CUSTOMER),
        sections=tuple(
            _Section(block.key.replace(" ", "-"), block, _shown(report, block.key))
            for block in report.findings.blocks
        ),
        style=_resource("page.css"),
        script=_resource("page.js"),
    )


def to_html(
    characterisation: Characterisation,
    *,
    units: str = "trade",
    at_grade: float | None = None,
    at_yield: float | None = None,
) -> str:
    """The whole page of an assessment.

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
    return page(assess_report(characterisation, units=units, at_grade=at_grade, at_yield=at_yield))


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


def _shown(report: Report, key: str) -> tuple[_Shown, ...]:
    return tuple(_Shown(one.words, one.draw()) for one in report.drawings.get(key, ()))


def _rendered(template: str, **values: Any) -> str:
    script = values.get("script", "")
    digest = b64encode(sha256(script.encode()).digest()).decode()
    made = _environment().get_template(template)
    return made.render(version=__version__, script_hash=f"sha256-{digest}", **values)


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
