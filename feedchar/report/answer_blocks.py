"""The top of the report: the answer and what it rests on, the product, where mass and iron go."""

from __future__ import annotations

from collections.abc import Callable

from feedchar.report.blocks import Block, Column, Row, Table, Words
from feedchar.report.readings import MICROMETRE, likely, nine_in_ten, typical
from feedchar.report.words import (
    DASH,
    NO_BREAK,
    chance_number,
    chance_word,
    count,
    name,
    prose,
    share,
    spread,
    weight,
)
from feedchar.results import Characterisation, LimitRow, OutletResult
from feedchar.uncertainty.summary import Uncertain

_ROLES = {"meets": "good", "fails": "bad", "data disagree": "bad", "no limit given": "strong"}
"""By status; any other is doubtful."""

_OUTLETS = (
    ("untreated", "not treated"),
    ("magnetics", "magnetics"),
    ("middlings", "middlings"),
    ("non_magnetics", "product"),
)


def title_of(result: Characterisation) -> tuple[str, str]:
    """Title and basis of the report.

    Parameters
    ----------
    result : Characterisation
        The result. [-]

    Returns
    -------
    tuple of str
        The bag; what the answer rests on. [-]
    """
    parts = [name(result.input.name)]
    if result.sample_note:
        parts.append(name(result.sample_note, 60))
    bag = []
    if result.received_kg is not None:
        bag.append(f"{result.received_kg:g}{NO_BREAK}kg in")
    if result.moisture_pct is not None:
        bag.append(f"{result.moisture_pct:g}{NO_BREAK}% wet")
    if bag:
        parts.append(", ".join(bag))
    basis = f"FEED {result.basis.feed.upper()}, SEPARATION {result.basis.separation.upper()}"
    return "; ".join(parts), basis


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
    for place, text in enumerate(result.basis.assumptions_that_decide):
        parts.append(Words(prose(text), mark="-" if place else "It rests on"))
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
    asked = {row.quantity: row for row in result.answer.rows}
    rows = [
        _product_row(
            "Fe2O3, all iron, wt %", clean.assay_wt_pct.get("Fe2O3"), asked.pop("Fe2O3", None)
        ),
        _product_row("yield, % of dry bag", clean.yield_pct, asked.pop("yield", None), share),
        _product_row("yield, % of roll feed", clean.yield_of_roll_feed_pct, None, share),
    ]
    oxides = [oxide for oxide in clean.assay_wt_pct if oxide in asked or oxide == "TiO2"]
    for oxide in sorted(set(oxides) - {"Fe2O3"}, key=list(clean.assay_wt_pct).index):
        rows.append(
            _product_row(f"{oxide}, wt %", clean.assay_wt_pct[oxide], asked.pop(oxide, None))
        )
    dark = f"dark grains > 250{NO_BREAK}{MICROMETRE}, in 100 g"
    rows.append(_product_row(dark, clean.specks_per_100_g, asked.pop("specks", None), count))
    if product.refractory_grains_per_100_g is not None:
        rows.append(
            _product_row(
                "refractory grains, in 100 g", product.refractory_grains_per_100_g, None, count
            )
        )
    rows += [_asked_row(row) for row in asked.values()]
    rows.append(_product_row("iron removed, % of the bag's", product.iron_removal_pct, None, share))
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
    return Block("product", "PRODUCT", (Table(columns, tuple(rows)),))


def balance_block(result: Characterisation) -> Block:
    """Where 100 of the dry bag and 100 of its iron go; the typical case, which adds up.

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
        if field == "non_magnetics" or typical(getattr(product, field).yield_pct)
    ]
    rows = [
        _balance_row(
            heading,
            typical(outlet.yield_pct),
            typical(outlet.iron_share_pct),
            outlet.assay_wt_pct.get("Fe2O3"),
        )
        for heading, outlet in outlets
    ]
    iron = [typical(outlet.iron_share_pct) for _, outlet in outlets]
    known = [part for part in iron if part is not None]
    rows.append(
        _balance_row(
            "bag",
            sum(typical(outlet.yield_pct) or 0.0 for _, outlet in outlets),
            sum(known) if len(known) == len(iron) else None,
            result.assay.reconciled_wt_pct.get("Fe2O3"),
        )
    )
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
    return Block("balance", "WHERE MASS AND IRON GO", tuple(parts), "typical case, adds up")


def _balance_row(
    label: str, mass_pct: float | None, iron_pct: float | None, iron: Uncertain | None
) -> Row:
    """One outlet, or the whole bag."""
    return Row((label, share(mass_pct), share(iron_pct), weight(typical(iron))))


def _product_row(
    label: str,
    value: Uncertain | None,
    asked: LimitRow | None = None,
    show: Callable[[float | None], str] = weight,
) -> Row:
    """A quantity of the product, and what is asked of it if anything is."""
    middle, between = likely(value), nine_in_ten(value, show)
    if asked is None:
        return Row((label, show(middle), between, DASH, DASH, ""))
    if asked.p05 is not None and asked.p95 is not None:
        between = spread(show(asked.p05), show(asked.p95))
    bound = f"{asked.bound}{NO_BREAK}{show(asked.asked)}"
    chance = chance_number(asked.chance) if asked.chance is not None else DASH
    word = chance_word(asked.chance) if asked.chance is not None else "no chance given"
    middle_text = _told_apart(asked.likely, asked.asked, show)
    return Row((label, middle_text, between, bound, chance, word), _role(asked.chance))


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
