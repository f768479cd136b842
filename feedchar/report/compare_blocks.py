"""A test on the page: does it balance, what is wrong, does it agree, and why not."""

from __future__ import annotations

from feedchar.report.blocks import Block, Column, Findings, Part, Row, Table, Words
from feedchar.report.cautions import cautions_of
from feedchar.report.compared_blocks import causes_block, compared_block
from feedchar.report.numbers import DASH, chance_number, number, weight
from feedchar.report.recovery_blocks import FAR, recoveries_block, yields_block
from feedchar.report.words import listing, name, prose
from feedchar.results.comparison import ClosedBag, ClosedFigure, Comparison


def compare_findings(result: Comparison) -> Findings:
    """The whole report of `compare`.

    Parameters
    ----------
    result : Comparison
        The result. [-]

    Returns
    -------
    Findings
        The answer first, the cautions last. [-]
    """
    tests = {bag.test for bag in result.balance.bags if bag.test}
    weighed = sum(1 for bag in result.balance.bags if bag.figures[0].measured is not None)
    facts = f"{_count(len(tests), 'test')}, {_count(weighed, 'bag')} weighed"
    blocks = [
        Block("answer", "WHAT THE TEST SAYS", _answer(result)),
        _balance(result),
        _mistakes(result),
        _losses(result),
        yields_block(result),
        recoveries_block(result),
        compared_block(result),
        causes_block(result),
        _checks(result),
        cautions_of(result.minerals, ""),
    ]
    told = tuple(block for block in blocks if block.parts)
    return Findings(name(result.input.name), "TEST AGAINST PREDICTION", told, facts)


def _count(many: int, word: str) -> str:
    return f"{many} {word}" if many == 1 else f"{many} {word}s"


def _answer(result: Comparison) -> tuple[Part, ...]:
    closes = result.balance.closes and not any(one.named for one in result.mistakes)
    role = "good" if closes and result.verdict == "agrees" else "doubtful"
    parts: list[Part] = [Words(prose(result.answer), role if closes else "bad")]
    right = result.put_right
    if right is not None:
        text = (
            f"Put right before the comparison: {right.mistake}. The balance then "
            f"{'closes' if right.p_value >= 0.01 else 'still does not close'} (chance "
            f"{_chance(right.p_value)}). Have it confirmed by assaying both bags again."
        )
        parts.append(Words(prose(text)))
    return tuple(parts)


def _balance(result: Comparison) -> Block:
    made = result.balance
    if made.degrees_of_freedom == 0:
        first = "Nothing was measured that the rest would fix, so no balance can be tested."
    else:
        first = (
            f"All weights and assays moved to the nearest that close: chi-square "
            f"{made.chi_square:.1f} on {made.degrees_of_freedom} degrees of freedom, chance "
            f"{_chance(made.p_value)}."
        )
    parts: list[Part] = [Words(prose(first))]
    if made.to_doubt and made.doubt_p_value < 0.05:
        what = listing(list(made.to_doubt), 4)
        if len(made.to_doubt) > 1:
            what += " (the balance cannot tell them apart)"
        alone = any(one.named and one.found_by == "balance" for one in result.mistakes)
        word = "If one measurement alone is wrong" if alone else "Measurement to doubt first"
        role = "plain" if alone else "strong"
        parts.append(Words(f"{word}: {what}, chance {_chance(made.doubt_p_value)}.", role))
    oxides = [figure.quantity for figure in made.bags[0].figures[1:]]
    shown = [oxide for oxide in ("Fe2O3",) if oxide in oxides] or oxides[:1]
    columns = [
        Column("bag"),
        Column("from"),
        Column("product", optional=True),
        Column("mass, g", "number"),
        Column("closes at, g", "number"),
    ]
    for oxide in shown:
        columns += [
            Column(f"{oxide}, wt %", "number"),
            Column("closes at, wt %", "number"),
        ]
    columns.append(Column("moved most, sd", "number"))
    rows = tuple(_bag_row(bag, shown) for bag in made.bags)
    parts.append(Table(tuple(columns), rows))
    note = f"! moved by more than {FAR:g} sd. {DASH}: not measured, or nothing fixes it."
    if any(bag.product == "feed" and bag.figures[0].measured for bag in made.bags):
        note += " Feeds less the dust that nobody assayed."
    others = [oxide for oxide in oxides if oxide not in shown]
    if others:
        note += f" {', '.join(others)} closed too: see the document or the tables."
    parts.append(Words(note, "quiet"))
    return Block("balance", "DOES IT BALANCE", tuple(parts), "as reported")


def _bag_row(bag: ClosedBag, shown: list[str]) -> Row:
    mass, by_oxide = bag.figures[0], {one.quantity: one for one in bag.figures[1:]}
    cells: list[str] = [name(bag.bag), name(bag.from_bag) if bag.from_bag else DASH, bag.product]
    cells += [_grams(mass.measured), _grams(mass.closing)]
    for oxide in shown:
        cells += [weight(by_oxide[oxide].measured), weight(by_oxide[oxide].closing)]
    most = max(
        (one for one in bag.figures if one.adjustment_sd is not None),
        key=lambda one: abs(one.adjustment_sd or 0.0),
        default=None,
    )
    cells.append(_moved(most))
    far = most is not None and abs(most.adjustment_sd or 0.0) > FAR
    return Row(tuple(cells), "bad" if far else "plain")


def _moved(most: ClosedFigure | None) -> str:
    if most is None or most.adjustment_sd is None:
        return DASH
    what = "mass" if most.quantity == "mass_g" else most.quantity
    mark = " !" if abs(most.adjustment_sd) > FAR else ""
    return f"{what} {most.adjustment_sd:+.1f}{mark}"


def _mistakes(result: Comparison) -> Block:
    if not result.mistakes:
        return Block("mistakes", "MISTAKES", ())
    rows = tuple(
        Row(
            (
                one.kind + (" *" if one.named else ""),
                listing(list(one.bags), 4) if one.bags else DASH,
                prose(one.detail),
                f"{one.score:.0f}" if one.found_by == "balance" else DASH,
                one.found_by,
            ),
            "strong" if one.named else "plain",
        )
        for one in result.mistakes
    )
    columns = (
        Column("mistake"),
        Column("bags"),
        Column("what"),
        Column("log odds", "number"),
        Column("found by", optional=True),
    )
    told = "* beyond chance. Log odds: how much better all closes when this one mistake is undone."
    parts = (Table(columns, rows), Words(told, "quiet"))
    return Block("mistakes", "MISTAKES THAT WOULD EXPLAIN IT", parts)


def _losses(result: Comparison) -> Block:
    rows = tuple(
        Row(
            (
                name(one.from_bag),
                _grams(one.mass_in_g),
                _grams(one.mass_out_g),
                f"{one.loss_pct:+.2f}",
                one.severity,
            ),
            "doubtful" if one.severity == "warning" else "plain",
        )
        for one in result.losses
    )
    if not rows:
        text = "No feed of a test was weighed, so no loss is known: weigh in what is fed, as a "
        return Block("losses", "MASS LOST", (Words(f'{text}row whose product is "feed".'),))
    columns = (
        Column("split"),
        Column("in, g", "number"),
        Column("out, g", "number"),
        Column("lost, %", "number"),
        Column("is that usual"),
    )
    return Block("losses", "MASS LOST", (Table(columns, rows),), "dust counted as found")


def _checks(result: Comparison) -> Block:
    order = {"stop": 0, "warning": 1, "note": 2}
    notes = sorted(result.notes, key=lambda one: order.get(one.severity, 3))
    parts: list[Part] = [
        Words(
            prose(one.text),
            {"stop": "bad", "warning": "doubtful"}.get(one.severity, "plain"),
            one.severity,
        )
        for one in notes
    ]
    by_reason: dict[str, list[str]] = {}
    for bag, reason in result.not_predicted.items():
        by_reason.setdefault(reason, []).append(bag)
    parts += [
        Words(prose(f"{listing(bags, 6)} not predicted: {reason}"), "plain", "note")
        for reason, bags in by_reason.items()
    ]
    return Block("checks", "TO KNOW", tuple(parts))


def _grams(value: float | None) -> str:
    if value is None:
        return DASH
    return number(value) if abs(value) < 10 else f"{value:.1f}"


def _chance(value: float) -> str:
    return chance_number(value) if value >= 0.001 else "below 0.001"
