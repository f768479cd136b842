"""The findings of the calculator beside the roll: field, force, grains, speeds."""

from __future__ import annotations

from feedchar.report.blocks import SEVERITIES, Block, Column, Findings, Part, Row, Table, Words
from feedchar.report.cautions import GENERAL, LAST_WORD, QUARTZ_DUST
from feedchar.report.numbers import number
from feedchar.report.pull_grain_blocks import force, grains_block, phases_block, speed_block
from feedchar.report.pull_plot import axis, decades, span
from feedchar.report.readings import MICROMETRE, SQUARED, tesla
from feedchar.report.words import NO_BREAK, capital_first, name, prose
from feedchar.results.pull import PullResult
from feedchar.results.pull_machine import HeightPull


def pull_findings(result: PullResult, *, units: str = "trade") -> Findings:
    """The whole answer of the calculator.

    Parameters
    ----------
    result : PullResult
        The result. [-]
    units : str
        trade (kilogauss and cgs beside SI) or si. [-]

    Returns
    -------
    Findings
        The machine first, the cautions last. [-]
    """
    blocks = [_field_block(result, units), _force_block(result)]
    if result.grains:
        blocks += [phases_block(result, units), grains_block(result)]
        for place, at in enumerate(result.grains[0].at_speed):
            blocks.append(speed_block(result, place, at.belt_speed_m_s, units))
    blocks += [_capacity_block(result), _notes_block(result)]
    measured = result.machine.reading is not None and result.machine.reading.kind == "given"
    basis = "FIELD FROM A READING" if measured else "FIELD COMPUTED, NOT MEASURED"
    title = f"Pull of {name(result.machine.roll)}"
    return Findings(title, basis, tuple(blocks), _facts(result))


def _facts(result: PullResult) -> str:
    machine = result.machine
    if machine.induced is not None:
        built = machine.induced
        parts = [
            f"Induced roll, radius {_mm(machine.roll_radius_m)}",
            f"teeth every {_mm(built.tooth_pitch_m)}, {_mm(built.tooth_depth_m)} deep",
            f"gap {_mm(built.gap_m)}",
            f"{built.current_a:g}{NO_BREAK}A give {number(built.background_tesla, 'T')} in the gap",
        ]
    else:
        parts = [
            f"Permanent roll, radius {_mm(machine.roll_radius_m)}",
            f"bore {_mm(machine.bore_radius_m or 0.0)}",
            f"magnet {_mm(machine.magnet_m or 0.0)}, steel {_mm(machine.steel_m or 0.0)}",
            f"pitch {_mm(machine.pitch_m)}",
            f"belt {_mm(machine.belt_thickness_m)}",
            f"remanence {machine.remanence_at_temperature_tesla or 0.0:.4g}{NO_BREAK}T",
            f"roll {machine.roll_temperature_c:g}{NO_BREAK}\u00b0C",
            f"steel {machine.steel_saturation_tesla:.4g}{NO_BREAK}T",
        ]
    parts.append(f"feed {machine.feed_temperature_c:g}{NO_BREAK}\u00b0C")
    return f"{', '.join(parts)}. {capital_first(name(machine.source, 200))}."


def _field_block(result: PullResult, units: str) -> Block:
    machine, field = result.machine, result.field
    over = ("mid-pole", "mid-magnet") if machine.induced is None else ("tooth", "valley")
    unit = "T" if units == "si" else "T (kG)"
    columns = (
        Column("above, mm", "number"),
        Column(""),
        *(Column(place, "number") for place in over),
        Column("first harmonic", "number", optional=True),
    )
    rows = tuple(
        Row(
            (
                _height(level),
                level.where,
                tesla(level.mid_pole_tesla, units),
                tesla(level.mid_magnet_tesla, units),
                tesla(level.fundamental_tesla, units),
            )
        )
        for level in field.heights
    )
    known = "" if machine.induced is None else ", of the equivalent alternating field"
    text = (
        f"{tesla(field.surface_flux_density_tesla, units)} at the roll face, the first "
        f"harmonic{known}. It, and not the highest reading, tells the pull, which at a distance "
        f"halves every {_mm(field.force_halves_every_m)}."
    )
    parts: list[Part] = [Words(text, mark="B1"), Table(columns, rows)]
    reading = machine.reading
    if reading is not None:
        verb = "Given" if reading.kind == "given" else "Expected"
        text = (
            f"{verb}: at most {tesla(reading.reading_tesla, units)} with an element of "
            f"{_mm(reading.probe_m)}, {_mm(reading.probe_height_m)} above the bare roll."
        )
        parts.append(Words(text, mark="Gaussmeter"))
    return Block("field", "FIELD", tuple(parts), f"{unit}, above the bare roll")


def _force_block(result: PullResult) -> Block:
    levels = [level for level in result.field.heights if level.force_product_mean_tesla2_m]
    means = [level.force_product_mean_tesla2_m or 0.0 for level in levels]
    most = [level.force_product_greatest_tesla2_m or 0.0 for level in levels]
    powers = decades(min(means), max(most))
    columns = (
        Column("above, mm", "number"),
        Column("least", "number"),
        Column("mean", "number"),
        Column("most", "number"),
        Column(axis(powers)),
    )
    rows = tuple(
        Row(
            (
                _height(level),
                force(level.force_product_least_tesla2_m),
                force(level.force_product_mean_tesla2_m),
                force(level.force_product_greatest_tesla2_m),
                span(
                    level.force_product_least_tesla2_m or 0.0,
                    level.force_product_mean_tesla2_m or 0.0,
                    level.force_product_greatest_tesla2_m or 0.0,
                    powers,
                ),
            ),
            "strong" if level.where == "belt" else "plain",
        )
        for level in levels
    )
    where = (
        "least over a magnet, most beside the steel"
        if result.machine.induced is None
        else "most over a tooth; a valley pushes off (below 0)"
    )
    text = f"[ least, o mean, ] most along the axis, {SQUARED}, on a logarithmic axis; {where}."
    others = ", ".join(
        f"{other.machine} {number(other.force_product_tesla2_m)}" for other in result.other_machines
    )
    told = f"{others} (orders of magnitude)."
    return Block(
        "force",
        "FORCE AGAINST HEIGHT",
        (Table(columns, rows), Words(text, "quiet"), Words(told, mark=f"Others, {SQUARED}")),
        f"flux density times its gradient, {SQUARED}",
    )


def _capacity_block(result: PullResult) -> Block:
    speeds = list(dict.fromkeys(entry.belt_speed_m_s for entry in result.capacity))
    sizes = list(dict.fromkeys(entry.size_um for entry in result.capacity))
    found = {(entry.size_um, entry.belt_speed_m_s): entry for entry in result.capacity}
    columns = (
        Column(f"sand of, {MICROMETRE}", "number"),
        *(Column(f"at {speed:g} m/s", "number") for speed in speeds),
    )
    rows = tuple(
        Row(
            (
                f"{size:g}",
                *(number(found[size, speed].single_layer_t_h_m) for speed in speeds),
            )
        )
        for size in sizes
    )
    subtitle = (
        f"t/h per metre of belt; {100 * result.coverage:.0f} % of it under grains of "
        f"{result.sand_density_kg_m3:.0f} kg/m3"
    )
    parts: tuple[Part, ...] = (Table(columns, rows),)
    if not result.grains:
        text = "Name phases, as in --mineral biotite, to see what this does with their grains."
        parts = (*parts, Words(text, "quiet"))
    return Block("capacity", "A SINGLE LAYER CARRIES", parts, prose(subtitle))


def _notes_block(result: PullResult) -> Block:
    notes = [
        Words(
            f"{capital_first(prose(note.text))}.",
            mark=SEVERITIES[note.severity][0],
        )
        for note in result.notes
    ]
    text = f"{GENERAL} {QUARTZ_DUST}"
    return Block("cautions", "TAKE CARE", (*notes, Words(text), Words(LAST_WORD, "strong")))


def _height(level: HeightPull) -> str:
    return f"{1e3 * level.height_m:.3g}"


def _mm(metres: float) -> str:
    return f"{1e3 * metres:.3g}{NO_BREAK}mm"
