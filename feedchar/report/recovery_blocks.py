"""Yields and recoveries of a test on the page."""

from __future__ import annotations

from feedchar.report.blocks import Block, Column, Part, Row, Table, Words
from feedchar.report.numbers import DASH, share
from feedchar.report.words import name, prose
from feedchar.results.comparison import Comparison

FAR = 3.0
"""What stands so many sd from where a balance has it is marked. [-]"""


def yields_block(result: Comparison) -> Block:
    """Yields by weight and by assay.

    Parameters
    ----------
    result : Comparison
        The result. [-]

    Returns
    -------
    Block
        No part where the assays tell none. [-]
    """
    rows = []
    for one in result.yields:
        found = DASH
        if one.by_assay_pct is None:
            continue
        if one.by_assay_sd_pct is not None:
            found = f"{one.by_assay_pct:.2f} ± {one.by_assay_sd_pct:.2f}"
        weighed = DASH if one.weighed_pct is None else f"{one.weighed_pct:.2f}"
        z = DASH if one.z is None else f"{one.z:+.1f}"
        far = one.z is not None and abs(one.z) > FAR
        by = " and ".join(one.oxides)
        rows.append(
            Row(
                (name(one.from_bag), one.product, by, weighed, found, z + (" !" if far else "")),
                "bad" if far else "plain",
            )
        )
    if not rows:
        return Block("yields", "YIELDS", ())
    columns = (
        Column("fed"),
        Column("product"),
        Column("by", optional=True),
        Column("weighed, %", "number"),
        Column("by assay, %", "number"),
        Column("z", "number"),
    )
    why = sorted({one.reason for one in result.yields if one.reason})
    parts: list[Part] = [Table(columns, tuple(rows))]
    text = "Of what the step made; two products from one oxide, three from two. ± is 1 sd."
    if why:
        text += f" Not told by assay: {'; '.join(why[:3])}."
    parts.append(Words(prose(text), "quiet"))
    return Block("yields", "YIELDS, WEIGHED AND BY ASSAY", tuple(parts), "as reported")


def recoveries_block(result: Comparison) -> Block:
    """Where each oxide, and each mineral that one oxide tells, went.

    Parameters
    ----------
    result : Comparison
        The result. [-]

    Returns
    -------
    Block
        No part where nothing was assayed. [-]
    """
    kinds = list(dict.fromkeys(one.of for one in result.recoveries))
    bags = list(dict.fromkeys(one.bag for one in result.recoveries))
    if not bags:
        return Block("recoveries", "RECOVERIES", ())
    found = {(one.bag, one.of): one for one in result.recoveries}
    product = {one.bag: one.product for one in result.recoveries}
    columns = (
        Column("bag"),
        Column("product"),
        *(Column(f"{of}, %", "number", optional=place > 1) for place, of in enumerate(kinds)),
    )
    rows = tuple(
        Row(
            (
                name(bag),
                product[bag],
                *(
                    share(found[bag, of].recovery_pct) if (bag, of) in found else DASH
                    for of in kinds
                ),
            )
        )
        for bag in bags
    )
    text = "Of what went into the first machine of the test, from the closed balance."
    minerals = sorted({f"{one.of} by {one.by}" for one in result.recoveries if one.of != one.by})
    if minerals:
        text += f" {', '.join(minerals)}: it carries nearly all of that oxide in this feed."
    parts = (Table(columns, rows), Words(text, "quiet"))
    return Block("recoveries", "WHERE IT WENT", parts)
