"""The top of the report: the answer and what it rests on, the product, where mass and iron go."""

from __future__ import annotations

from collections.abc import Callable

from feedchar.report.blocks import Block, Column, Row, Table, Words
from feedchar.report.numbers import DASH, chance_number, chance_word, count, share, spread, weight
from feedchar.report.readings import MICROMETRE, adding, adds_up, likely, nine_in_ten
from feedchar.report.words import NO_BREAK, listing, name, prose
from feedchar.results import Characterisation, LimitRow, OutletResult
from feedchar.uncertainty.summary import Uncertain

_ROLES = {"meets": "good", "fails": "bad", "data disagree": "bad", "no limit given": "strong"}
"""By status; any other is doubtful."""

WEIGHTIEST = 2
"""Assumptions told with the answer, so that the product is on the first screen too."""

WORTH_TELLING = 0.0005
"""Oxides below this are not listed unless they are asked for. [wt %]"""

_OUTLETS = (
    ("untreated", "not treated"),
    ("magnetics", "magnetics"),
    ("middlings", "middlings"),
    ("non_magnetics", "product"),
)


def title_of(result: Characterisation) -> tuple[str, str, str]:
    """Title, basis and facts of the report.

    Parameters
    ----------
    result : Characterisation
        The result. [-]

    Returns
    -------
    tuple of str
        The bag; what the answer rests on; what is said of the bag. [-]
    """
    basis = f"FEED {result.basis.feed.upper()}, SEPARATION {result.basis.separation.upper()}"
    facts = []
    if result.received_kg is not None:
        facts.append(f"{result.received_kg:g}{NO_BREAK}kg in")
    if result.moisture_pct is not None:
        facts.append(f"{result.moisture_pct:g}{NO_BREAK}% wet")
    if result.origin:
        facts.append(name(result.origin))
    said = [", ".join(facts)] if facts else []
    if result.sample_note:
        said.append(prose(name(result.sample_note, 100)))
    return name(result.input.name), basis, ". ".join(said)


def answer_block(result: Characterisation) -> Block:
    """The answer, its chance in number and word, and what decides it.

    Parameters
    ----------
    result : Characterisation
        The result. [-]

    Returns
    -------
    Block
        Words only. [-]
    """
    answer = result.answer
    status = answer.status.upper()
    parts = [Words(f"{status}. {prose(answer.sentence)}", _ROLES.get(answer.status, "doubtful"))]
    use = answer.limit.get("use")
    if use:
        parts.append(Words(f"{name(str(use))}; your contract goes before it.", mark="Asked for"))
    held = "For this bag, not the pit; the laboratory's own error left out."
    if result.basis.separation == "not tested":
        held += " No test run on this sand has checked the machine model."
    parts.append(Words(held, "quiet"))
    assumed = result.basis.assumptions_that_decide
    if assumed:
        parts.append(Words("What it rests on, the weightiest first:", "quiet"))
        parts += [Words(prose(text), mark="-") for text in assumed[:WEIGHTIEST]]
    if len(assumed) > WEIGHTIEST:
        parts.append(Words(f"{len(assumed) - WEIGHTIEST} more under HOW SURE", mark="-"))
    return Block("answer", "ANSWER", tuple(parts))


def product_block(result: Characterisation) -> Block:
    """The product against what is asked of it.

    Parameters
    ----------
    result : Characterisation
        The result. [-]

    Returns
    -------
    Block
        One table. [-]
    """
    product = result.product
    clean = product.non_magnetics
    told = ("Fe2O3", *(row.quantity for row in result.answer.rows), "TiO2")
    shown = [oxide for oxide in clean.assay_wt_pct if oxide in told]
    dark = f"dark grains >250{NO_BREAK}{MICROMETRE}/100 g"
    quantities: list[tuple[str, str, Uncertain | None, Callable[[float | None], str]]] = [
        ("Fe2O3", "Fe2O3, all iron, wt %", clean.assay_wt_pct.get("Fe2O3"), weight),
        ("yield", "yield, % of dry bag", clean.yield_pct, share),
        ("", "yield, % of roll feed", clean.yield_of_roll_feed_pct, share),
        *(
            (oxide, f"{oxide}, wt %", clean.assay_wt_pct[oxide], weight)
            for oxide in shown
            if oxide != "Fe2O3"
        ),
        ("specks", dark, clean.specks_per_100_g, count),
        ("", "iron removed, % of bag's", product.iron_removal_pct, share),
    ]
    if product.refractory_grains_per_100_g is not None:
        grains = product.refractory_grains_per_100_g
        quantities.insert(-1, ("", "refractory grains/100 g", grains, count))
    rows = []
    for quantity, label, value, show in quantities:
        bounds: list[LimitRow | None] = [
            row for row in result.answer.rows if quantity and row.quantity == quantity
        ]
        rows += [_product_row(label, value, bound, show) for bound in bounds or [None]]
    known = {quantity for quantity, *_ in quantities}
    rows += [_asked_row(row) for row in result.answer.rows if row.quantity not in known]
    columns: tuple[Column, ...] = (
        Column(""),
        Column("likely", "number"),
        Column("9 in 10 cases", "number"),
        Column("asked", "number"),
        Column("chance", "number"),
        Column("so", optional=True),
    )
    if not result.answer.rows:
        columns = columns[:3]
        rows = [Row(row.cells[:3], row.role) for row in rows]
    parts: list[Table | Words] = [Table(columns, tuple(rows))]
    others = [
        f"{oxide}{NO_BREAK}{weight(likely(value))}"
        for oxide, value in clean.assay_wt_pct.items()
        if oxide not in known and (likely(value) or 0.0) >= WORTH_TELLING
    ]
    if others:
        parts.append(Words(f"{', '.join(others)}.", mark="Also, wt %"))
    absent = [oxide for oxide in shown if _is_nowhere(clean.assay_wt_pct[oxide])]
    if absent:
        parts.append(Words(_absent_words(result, absent), "doubtful"))
    return Block("product", "PRODUCT", tuple(parts))


def balance_block(result: Characterisation) -> Block:
    """Where 100 of the dry bag and 100 of its iron go; in a way that adds up.

    Parameters
    ----------
    result : Characterisation
        The result. [-]

    Returns
    -------
    Block
        A table, and the sand lost. [-]
    """
    product = result.product
    outlets: list[tuple[str, OutletResult]] = [
        (heading, getattr(product, field))
        for field, heading in _OUTLETS
        if field == "non_magnetics" or adding(getattr(product, field).yield_pct)
    ]
    rows = _balance_rows(result, outlets)
    columns = (
        Column(""),
        Column("of 100 dry bag", "number"),
        Column("of 100 iron", "number"),
        Column("Fe2O3, wt %", "number"),
    )
    parts: list[Table | Words] = [Table(columns, tuple(rows))]
    lost = product.sand_lost_pct
    if lost is not None:
        text = f"{share(likely(lost))} of 100 pale grains treated"
        between = nine_in_ten(lost, share)
        if between != DASH:
            text += f" ({between} in 9 of 10 cases)"
        if product.sand_lost_mostly_below_um:
            text += f", mostly below {product.sand_lost_mostly_below_um:.0f}{NO_BREAK}{MICROMETRE}"
        parts.append(Words(f"{text}.", mark="Sand lost"))
    return Block("balance", "WHERE MASS AND IRON GO", tuple(parts), adds_up(result))


def _balance_rows(result: Characterisation, outlets: list[tuple[str, OutletResult]]) -> list[Row]:
    """Mass, iron and assay of every outlet and of the bag: mass times assay is the iron."""
    masses = [adding(outlet.yield_pct) for _, outlet in outlets]
    irons = [adding(outlet.Fe2O3_wt_pct_of_bag) for _, outlet in outlets]
    if None in irons or None in masses:
        assays = [adding(outlet.assay_wt_pct.get("Fe2O3")) for _, outlet in outlets]
        shares = [adding(outlet.iron_share_pct) for _, outlet in outlets]
        bag = adding(result.assay.reconciled_wt_pct.get("Fe2O3"))
    else:
        bag = sum(iron or 0.0 for iron in irons)
        shares = [100.0 * (iron or 0.0) / bag if bag else None for iron in irons]
        assays = [
            100.0 * (iron or 0.0) / mass if mass else None
            for iron, mass in zip(irons, masses, strict=True)
        ]
    rows = [
        Row((heading, share(mass), share(iron), weight(assay)))
        for (heading, _), mass, iron, assay in zip(outlets, masses, shares, assays, strict=True)
    ]
    whole = None if None in shares else sum(part or 0.0 for part in shares)
    total = sum(mass or 0.0 for mass in masses)
    return [*rows, Row(("bag", share(total), share(whole), weight(bag)))]


def _product_row(
    label: str,
    value: Uncertain | None,
    asked: LimitRow | None = None,
    show: Callable[[float | None], str] = weight,
) -> Row:
    """A quantity of the product, and what is asked of it if anything is."""
    bound = DASH if asked is None else f"{asked.bound}{NO_BREAK}{show(asked.asked)}"
    if value is not None and show is weight and _is_nowhere(value):
        return Row((label, DASH, DASH, bound, DASH, "" if asked is None else "not known"))
    between = nine_in_ten(value, show)
    if asked is None:
        return Row((label, show(likely(value)), between, DASH, DASH, ""))
    if asked.p05 is not None and asked.p95 is not None:
        between = spread(show(asked.p05), show(asked.p95))
    chance = chance_number(asked.chance) if asked.chance is not None else DASH
    word = chance_word(asked.chance) if asked.chance is not None else "no chance given"
    middle = DASH if asked.likely is None else _told_apart(asked.likely, asked.asked, show)
    return Row((label, middle, between, bound, chance, word), _role(asked.chance))


def _absent_words(result: Characterisation, absent: list[str]) -> str:
    """What can be said of oxides that no phase carries: no more than the bag holds can stay."""
    text = f"No phase listed carries {listing(absent)}, so nothing is known of its way."
    found = []
    for oxide in absent:
        measured = result.assay.measured_wt_pct.get(oxide)
        if measured is not None:
            below = "below " if measured.below_detection else ""
            sd = "" if measured.below_detection else f" (sd {weight(measured.sd)})"
            found.append(f"{below}{weight(measured.value)}{NO_BREAK}% {oxide}{sd}")
    if found:
        text += f" The bag holds {listing(found)}: the product, at most that over its yield."
    return text


def _is_nowhere(value: Uncertain) -> bool:
    """Whether no phase of any trial carries it."""
    return not value.typical and not value.p95


def _asked_row(asked: LimitRow) -> Row:
    """Something asked that has no line of its own."""
    unit = {"wt_pct": "wt %"}.get(asked.unit, asked.unit.replace("_", " "))
    return _product_row(f"{name(asked.quantity)}, {unit}", None, asked)


def _told_apart(value: float, asked: float, show: Callable[[float | None], str]) -> str:
    """The value with as many digits as tell it from what is asked."""
    if show(value) != show(asked) or value == asked:
        return show(value)
    for digits in range(3, 7):
        if f"{value:.{digits}g}" != f"{asked:.{digits}g}":
            return f"{value:.{digits}g}"
    return show(value)


def _role(chance: float | None) -> str:
    if chance is None:
        return "doubtful"
    return {"likely": "good", "unlikely": "bad"}.get(chance_word(chance), "doubtful")
