"""The iron that stays in the product, line by line."""

from __future__ import annotations

from feedchar.report.blocks import Block, Column, Part, Row, Table, Words
from feedchar.report.numbers import DASH, share
from feedchar.report.readings import (
    adds_up,
)
from feedchar.report.words import listing, name, prose
from feedchar.results import Characterisation, StayLine

FEW_PPM = 0.5
"""Lines below this are told by `what-stays` only. [ppm]"""


def stays_block(result: Characterisation, *, full: bool = False) -> Block:
    """The iron that stays, line by line, adding up to the product's iron.

    Parameters
    ----------
    result : Characterisation
        The result. [-]
    full : bool
        Whether evidence and remedy of each line are told too. [-]

    Returns
    -------
    Block
        A table with bars; in full, a paragraph a line. [-]
    """
    lines = [line for line in result.iron_that_stays if full or _ppm_of(line) >= FEW_PPM]
    lines.sort(key=lambda line: (-_ppm_of(line), line.reason))
    total = sum(_ppm_of(line) for line in result.iron_that_stays)
    most = max((_ppm_of(line) for line in lines), default=0.0)
    columns = (
        Column("why"),
        Column("ppm", "number"),
        Column("", "bar", optional=True),
        Column("%", "number"),
        Column("carried by"),
    )
    rows = tuple(_stays_row(line, most, total) for line in lines)
    subtitle = f"ppm Fe2O3 of product, {adds_up(result)} to {_ppm(total)}"
    parts: list[Part] = [Table(columns, rows)] if rows else [Words("No line was computed.")]
    if full:
        parts += [_remedy(line) for line in lines if _ppm_of(line) > 0]
    return Block("stays", "THE IRON THAT STAYS", tuple(parts), subtitle)


_EVIDENCE = {"prior": "guess"}
"""How the evidence behind a line is told."""


def _ppm(value: float) -> str:
    return f"{value:.0f}" if value >= 9.95 else f"{value:.1f}"


def _ppm_of(line: StayLine) -> float:
    mean = line.mean_Fe2O3_ppm_of_product
    return line.Fe2O3_ppm_of_product if mean is None else mean


def _stays_row(line: StayLine, most: float, total: float) -> Row:
    ppm = _ppm_of(line)
    return Row(
        (
            name(line.reason),
            _ppm(ppm),
            ppm / most if most > 0 else 0.0,
            share(100.0 * ppm / total if total > 0 else 0.0),
            listing(line.carriers, 2) or DASH,
        ),
        "stays",
    )


def _remedy(line: StayLine) -> Words:
    evidence = _EVIDENCE.get(line.evidence, line.evidence)
    return Words(f"{name(line.reason)} ({evidence}): {prose(line.remedy)}.", mark="-")
