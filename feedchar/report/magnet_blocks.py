"""What a magnet does with each phase."""

from __future__ import annotations

from feedchar.report.blocks import Block, Column, Part, Row, Table, Words
from feedchar.report.carriers import UNSEEN, by_iron, is_trace, lines_of, machine_for, main_line
from feedchar.report.numbers import DASH, number, share
from feedchar.report.readings import MICROMETRE, SQUARED, size_class, tesla
from feedchar.report.setting_words import slowest_belt
from feedchar.report.words import name
from feedchar.results import (
    Characterisation,
    ResponseLine,
)

_ORDER = ("weak drum", "strong drum", "permanent roll", "stronger machine", "no magnet")

FASTEST_TOLD = 10.0
"""No belt runs faster, so no more is told. [m/s]"""


def response_block(result: Characterisation, units: str) -> Block:
    """Which phases report where, and the field, force product and speed behind it.

    Parameters
    ----------
    result : Characterisation
        The result. [-]
    units : str
        trade (tesla and kilogauss) or si (tesla). [-]

    Returns
    -------
    Block
        What the roll offers, then a row a phase, the strongest answer first. [-]
    """
    setting = result.setting
    field = "field, T" if units == "si" else "field, T (kG)"
    columns = (
        Column("phase"),
        Column(f"size, {MICROMETRE}", "number", optional=True),
        Column("reports to"),
        Column(field, "number"),
        Column(f"force, {SQUARED}", "number"),
        Column("fastest, m/s", "number", optional=True),
        Column("leaves, %", "number"),
    )
    found = [
        line
        for phase in by_iron(result)
        if phase.mineral != UNSEEN and not is_trace(phase)
        for line in [main_line(lines_of(result, phase.mineral))]
        if line is not None
    ]
    roles = {phase.mineral: phase.role or "plain" for phase in result.minerals}
    belt = slowest_belt(setting)
    rows = tuple(_response_row(line, units, roles, belt) for line in sorted(found, key=_strength))
    offered = f"{tesla(setting.surface_flux_density_tesla, units)} at the roll face"
    unit = "T" if units == "si" else "T (kG)"
    text = (
        f"{unit}: {offered}; {number(setting.force_product_at_belt_tesla2_m)} {SQUARED} "
        f"on the {'belt' if setting.belt_thickness_m > 0 else 'roll'}. What needs less at {belt} "
        "is held to the side of the roll; what needs more may still fall short of the edge."
    )
    if setting.machine == "induced-roll":
        text += " A stronger machine is this one, or more than this."
    parts: tuple[Part, ...] = (Table(columns, rows), Words(text, mark="This roll offers"))
    return Block(
        "response",
        "WHAT A MAGNET DOES",
        parts,
        "each phase in the size that holds most of its iron",
    )


def _response_row(line: ResponseLine, units: str, roles: dict[str, str], belt: str) -> Row:
    role = roles.get(line.mineral, "plain")
    own = line.form == "free" or role == "host"
    label = name(line.mineral) if own else f"{name(line.mineral)}, {line.form}"
    force, speed = line.force_product_needed_tesla2_m, line.belt_speed_max_m_s
    caught = line.share_to_magnetics
    return Row(
        (
            label,
            size_class(line.passing_um, line.retained_um),
            machine_for(line.reports_to, speed is not None, belt),
            tesla(line.flux_density_needed_tesla, units),
            DASH if force is None else number(force),
            _speed(speed),
            DASH if caught is None else share(100 * caught),
        ),
        role,
    )


def _speed(metres_per_second: float | None) -> str:
    if metres_per_second is None:
        return DASH
    if metres_per_second > FASTEST_TOLD:
        return f">{FASTEST_TOLD:.0f}"
    return f"{metres_per_second:.1f}"


def _strength(line: ResponseLine) -> tuple[int, float, str]:
    rank = _ORDER.index(line.reports_to) if line.reports_to in _ORDER else len(_ORDER)
    force = line.force_product_needed_tesla2_m
    return rank, float("inf") if force is None else force, line.mineral
