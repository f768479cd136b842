"""Bags of a plan: how the sample is split, what each bag is, what the laboratory does with it."""

from __future__ import annotations

from feedchar.report.blocks import Block, Column, Row, Table, Words
from feedchar.report.numbers import DASH, weight
from feedchar.report.report import Card
from feedchar.report.words import NO_BREAK, name
from feedchar.results.plan import Plan, PlanBag

ERROR_OF_REPEAT = {
    "reread": "instrument",
    "new bead": "bead",
    "new split": "split",
    "new bag": "run",
}
"""Which error each kind of repeat shows."""


def grams(value: float) -> str:
    """A mass as one would weigh it.

    Parameters
    ----------
    value : float
        Mass. [g]

    Returns
    -------
    str
        Two figures below a hundred grams, whole grams above. [g]
    """
    return f"{value:.0f}" if value >= 99.5 else f"{value:.2g}"


def splits_block(result: Plan) -> Block:
    """The parts of the bag received.

    Parameters
    ----------
    result : Plan
        The plan. [-]

    Returns
    -------
    Block
        A table. [-]
    """
    table = Table(
        (Column("part"), Column("g dry", "number"), Column("for")),
        tuple(Row((one.part, grams(one.grams), name(one.words, 60))) for one in result.splits),
    )
    parts = (
        Words("Dry, mix, and split by a rotary or riffle splitter: never by scoop."),
        table,
    )
    return Block("splits", "SPLIT THE BAG", parts)


def bags_block(result: Plan) -> Block:
    """Every bag, in the order of the work.

    Parameters
    ----------
    result : Plan
        The plan. [-]

    Returns
    -------
    Block
        A table. [-]
    """
    rows = []
    fed_on = {one.from_bag for one in result.bags}
    for one in result.bags:
        onward = "fed on" if one.product == "non-magnetics" and one.bag in fed_on else DASH
        expected = DASH if one.expected_g is None else grams(one.expected_g)
        rows.append(
            Row(
                (
                    one.bag,
                    name(one.from_bag),
                    one.product,
                    machine_words(one),
                    expected,
                    weight(one.expected_Fe2O3_wt_pct),
                    "yes" if one.assayed else onward,
                ),
                "strong" if one.product == "feed" else "plain",
            )
        )
    table = Table(
        (
            Column("bag"),
            Column("from"),
            Column("what"),
            Column("machine"),
            Column("expect, g", "number"),
            Column("Fe2O3, wt %", "number", optional=True),
            Column("assay"),
        ),
        tuple(rows),
    )
    parts = (
        table,
        Words(
            "Weigh every bag to 0.01 g or a thousandth, whichever is more, before it is split. "
            "Expected figures are the typical case: a bag far off is looked at before the next "
            "run. What is fed on is fed whole: no split is taken of it. Note the "
            "temperatures of sand and roll, and the humidity.",
            "quiet",
        ),
    )
    return Block("bags", "BAGS TO FILL AND WEIGH", parts)


def order_block(result: Plan) -> Block:
    """What the laboratory is asked for.

    Parameters
    ----------
    result : Plan
        The plan. [-]

    Returns
    -------
    Block
        A table in the order of the mill. [-]
    """
    rows = []
    for one in result.order:
        rows.append(
            Row(
                (
                    str(one.line),
                    name(one.bag),
                    one.kind,
                    grams(one.pulverise_g) if one.pulverise_g else DASH,
                    name(one.words, 60),
                )
            )
        )
    table = Table(
        (
            Column("no.", "number"),
            Column("bag"),
            Column("kind"),
            Column("grind, g", "number"),
            Column("what"),
        ),
        tuple(rows),
    )
    oxides = dict.fromkeys(oxide for one in result.order for oxide in one.oxides)
    parts = (
        Words(
            "Mill: agate (or zirconia where Zr is not asked for), never steel. In this order: the "
            "clean before the rich, the mill cleaned with quartz between products and magnetics.",
            "strong",
        ),
        table,
        Words(
            f"Oxides: {', '.join(oxides)}; repeats of one bag and blanks Fe2O3 alone. Dried at "
            f"105{NO_BREAK}°C, all iron as Fe2O3, with the limit of determination of each oxide. "
            f"{_repeats(result)}Blanks go into diagnostics.csv as mill blank. Half of each bag of "
            "magnetics and middlings is kept for the microscope.",
            "quiet",
        ),
    )
    return Block("order", "LABORATORY ORDER", parts)


def _repeats(result: Plan) -> str:
    """Which errors the repeats of this order show."""
    ordered = {line.kind for line in result.order}
    shown = [error for kind, error in ERROR_OF_REPEAT.items() if kind in ordered]
    return f"The repeats show the errors of {', '.join(shown)}. " if shown else ""


def machine_words(bag: PlanBag) -> str:
    """Machine and setting of a bag in one cell.

    Parameters
    ----------
    bag : PlanBag
        The bag. [-]

    Returns
    -------
    str
        Speeds in m/s, edges in mm. [-]
    """
    if bag.product == "feed":
        return f"charge: {bag.test}" + ("" if bag.repeat == "1" else f", repeat {bag.repeat}")
    if bag.product == "screened":
        top = "" if bag.passing_um is None else f"-{bag.passing_um:g}"
        bottom = f"+{bag.retained_um:g}" if bag.retained_um else ""
        return f"sieve {top}{bottom} µm"
    if bag.belt_speed_m_s is None:
        return bag.machine
    edges = f"{1e3 * (bag.splitter_m or 0.0):g}"
    if bag.splitter_2_m is not None:
        edges += f" and {1e3 * bag.splitter_2_m:g}"
    return f"roll {bag.belt_speed_m_s:g} m/s, edge {edges}{NO_BREAK}mm"


def label_cards(result: Plan) -> tuple[Card, ...]:
    """A label for each bag, each split that is kept, and each split for the laboratory.

    Parameters
    ----------
    result : Plan
        The plan. [-]

    Returns
    -------
    tuple of Card
        To print and cut out. [-]
    """
    title = name(result.input.name)
    cards = []
    for bag in result.bags:
        expected = "" if bag.expected_g is None else f", expect {grams(bag.expected_g)} g"
        cards.append(
            Card(
                bag.bag,
                (
                    title,
                    f"{bag.product} from {bag.from_bag}{expected}",
                    machine_words(bag),
                    "gross ________ g   tare ________ g",
                    "net __________ g   date __________",
                ),
            )
        )
    for part in result.splits:
        if part.part.startswith(("head", "reserve", "treatment")):
            words = (title, part.words, f"about {grams(part.grams)} g", "net __________ g")
            cards.append(Card(part.part, words))
    for line in result.order:
        if line.kind in ("first", "new bag", "new split", "blank"):
            words = (
                title,
                f"order {line.line}: {line.kind}"
                + (f" of {line.repeat_of}" if line.repeat_of else ""),
                f"pulverise {grams(line.pulverise_g)} g, {line.mill} mill",
                ", ".join(line.oxides),
            )
            cards.append(Card(f"{line.bag} / lab", words))
    return tuple(cards)
