"""Where the iron of the feed is."""

from __future__ import annotations

from feedchar.report.blocks import Block, Column, Part, Row, Table, Words
from feedchar.report.carriers import UNSEEN, by_iron, is_trace, lines_of, taken_by
from feedchar.report.numbers import DASH, share, weight
from feedchar.report.readings import adding, adds_up
from feedchar.report.setting_words import slowest_belt
from feedchar.report.words import FORM_WORDS, NO_BREAK, name
from feedchar.results import Characterisation, MineralResult

FEW = 0.5
"""Phases below this share of the iron are gathered in one line. [%]"""


def iron_block(result: Characterisation) -> Block:
    """Where the iron is: by phase with what takes it, then by form.

    Parameters
    ----------
    result : Characterisation
        The result. [-]

    Returns
    -------
    Block
        A table and one line. [-]
    """
    pale = [phase for phase in by_iron(result) if phase.role == "host"]
    dark = [phase for phase in by_iron(result) if phase.role != "host"]
    shown = [p for p in dark if (adding(p.share_of_iron_pct) or 0.0) >= FEW or p.mineral == UNSEEN]
    rest = [phase for phase in dark if phase not in shown and not is_trace(phase)]
    rows = [_iron_row(result, phase) for phase in shown]
    if rest:
        rows.append(_gathered_row(f"{len(rest)} more dark or heavy", rest))
    if pale:
        rows.append(_gathered_row(f"{len(pale)} pale phases", pale))
    columns = (
        Column("phase"),
        Column("wt % of bag", "number"),
        Column("% of iron", "number"),
        Column("what takes it"),
        Column("leaves, %", "number"),
    )
    parts: list[Part] = [Table(columns, tuple(rows))]
    forms = _by_form(result)
    if forms:
        parts.append(Words(forms, mark="By form, typical case"))
    return Block("iron", "WHERE THE IRON IS", tuple(parts), adds_up(result))


def _iron_row(result: Characterisation, phase: MineralResult) -> Row:
    lines = lines_of(result, phase.mineral)
    label = "unseen iron" if phase.mineral == UNSEEN else name(phase.mineral)
    return Row(
        (
            label,
            weight(adding(phase.mass_pct)),
            share(adding(phase.share_of_iron_pct)),
            taken_by(lines, slowest_belt(result.setting)),
            share(_leaves(phase)),
        ),
        phase.role or "plain",
    )


def _gathered_row(label: str, phases: list[MineralResult]) -> Row:
    mass = sum(adding(phase.mass_pct) or 0.0 for phase in phases)
    iron = sum(adding(phase.share_of_iron_pct) or 0.0 for phase in phases)
    taken = [(_leaves(phase), adding(phase.mass_pct) or 0.0) for phase in phases]
    leaves = None
    if mass > 0 and all(part is not None for part, _ in taken):
        leaves = sum((part or 0.0) * weight_of for part, weight_of in taken) / mass
    return Row((label, weight(mass), share(iron), DASH, share(leaves)), "plain")


def _leaves(phase: MineralResult) -> float | None:
    return adding(phase.to_magnetics_pct)


def _by_form(result: Characterisation) -> str:
    shares: dict[str, float] = {}
    for line in result.iron:
        shares[line.form] = shares.get(line.form, 0.0) + line.share_of_iron_pct
    ordered = [form for form in FORM_WORDS if form in shares]
    ordered += sorted(set(shares) - set(FORM_WORDS))
    return ", ".join(
        f"{FORM_WORDS.get(form, form)}{NO_BREAK}{share(shares[form])}" for form in ordered
    )
