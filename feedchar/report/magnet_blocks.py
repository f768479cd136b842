"""What a magnet does with each phase, and the setting that was assessed."""

from __future__ import annotations

from feedchar.report.blocks import Block, Column, Part, Row, Table, Words
from feedchar.report.readings import (
    MICROMETRE,
    SQUARED,
    UNSEEN,
    by_iron,
    is_trace,
    lines_of,
    main_line,
    size_class,
    tesla,
    typical,
)
from feedchar.report.words import DASH, NO_BREAK, name, number, share, weight
from feedchar.results import (
    Characterisation,
    MachineRun,
    MachinesCompared,
    ResponseLine,
    SearchedSetting,
    SettingResult,
)

_ORDER = ("weak drum", "strong drum", "permanent roll", "stronger machine", "no magnet")

FASTEST_TOLD = 10.0
"""No belt runs faster, so no more is told. [m/s]"""

_CHOSEN = {
    "given": "as given; what was not given is the default",
    "default": "the default, as none was given",
    "searched": "chosen by the search below, as none was given",
}


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
    rows = tuple(_response_row(line, units, roles) for line in sorted(found, key=_strength))
    offered = f"{tesla(setting.surface_flux_density_tesla, units)} at the roll face"
    unit = "T" if units == "si" else "T (kG)"
    text = (
        f"{unit}: {offered}; {number(setting.force_product_at_belt_tesla2_m)} {SQUARED} "
        f"on the {'belt' if setting.belt_thickness_m > 0 else 'roll'}. What needs less is held to "
        "the side of the roll; what needs more may still fall short of the edge."
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


def setting_block(result: Characterisation) -> Block:
    """The machine as assessed, and the settings that were tried.

    Parameters
    ----------
    result : Characterisation
        The result. [-]

    Returns
    -------
    Block
        Words; a table where a search was made. [-]
    """
    setting = result.setting
    parts: list[Part] = [Words(setting_words(setting))]
    if result.searched:
        columns = (
            Column("speed, m/s", "number"),
            Column("edge, mm", "number"),
            Column("passes", "number"),
            Column("Fe2O3, wt %", "number"),
            Column("yield, %", "number"),
            Column(""),
        )
        best = [tried for tried in result.searched if tried.efficient or tried.chosen]
        best.sort(key=lambda tried: (-tried.yield_pct, tried.Fe2O3_wt_pct))
        shown = _around_the_chosen(best)
        parts.append(Table(columns, tuple(_searched_row(tried) for tried in shown)))
        text = (
            f"Typical case, the least loss first: {len(shown)} of {len(best)} settings that none "
            f"of {len(result.searched)} tried beats in both iron and loss."
        )
        parts.append(Words(text, "quiet"))
        buried = _buried(result)
        if buried is not None:
            parts.append(buried)
    if result.machines is not None:
        parts.append(Words(_machines(result.machines), mark="Other machine"))
    return Block("setting", "SETTING", tuple(parts), _CHOSEN.get(setting.chosen_by, ""))


def _buried(result: Characterisation) -> Words | None:
    """Where magnetics bury each other, which the settings were compared without."""
    chosen = next((tried for tried in result.searched if tried.chosen), None)
    product = result.product.non_magnetics
    iron = typical(product.assay_wt_pct.get("Fe2O3"))
    kept = typical(product.yield_pct)
    if chosen is None or iron is None or kept is None:
        return None
    if (weight(iron), share(kept)) == (weight(chosen.Fe2O3_wt_pct), share(chosen.yield_pct)):
        return None
    text = (
        "Settings are compared as if magnetics did not bury each other on the belt; as they do, "
        f"the chosen one holds {weight(iron)}{NO_BREAK}% at a yield of {share(kept)}{NO_BREAK}%."
    )
    return Words(text, "quiet")


def _machines(compared: MachinesCompared) -> str:
    """Both kinds of roll on this feed in one sentence."""

    def told(run: MachineRun) -> str:
        size = "no upper size"
        if run.top_size_m is not None:
            size = f"grains up to {_mm(run.top_size_m)}"
        return (
            f"{run.machine.replace('-', ' ')} at {run.belt_speed_m_s:g} m/s "
            f"{weight(run.Fe2O3_wt_pct)} % Fe2O3, yield {share(run.yield_pct)} %, sand lost "
            f"{share(run.sand_lost_pct)}, {size}"
        )

    return (
        f"{told(compared.other)}; here {told(compared.assessed)}. Typical case; the figures of an "
        "induced roll are guesses."
    )


def setting_words(setting: SettingResult) -> str:
    """The machine in one sentence, in trade units.

    Parameters
    ----------
    setting : SettingResult
        The machine as assessed. [-]

    Returns
    -------
    str
        Roll, passes, speed, edges, window, temperatures. [-]
    """
    drum = f"{setting.drum_first} drum, then " if setting.drum_first else ""
    built = (
        f"radius {_mm(setting.roll_radius_m)}, pitch {_mm(setting.pitch_m)}, "
        f"belt {_mm(setting.belt_thickness_m)}"
    )
    parts = [
        f"{drum}{name(setting.machine.replace('-', ' '))} {name(setting.roll)} ({built})",
        f"{setting.passes} pass" + ("es" if setting.passes != 1 else ""),
    ]
    if len(set(setting.each_pass)) > 1:
        each = [_one_pass(at.belt_speed_m_s, at.splitter_m, at.splitter_2_m)
                for at in setting.each_pass]  # fmt: skip
        parts[-1] += ": " + "; then ".join(each)
    else:
        parts.append(_one_pass(setting.belt_speed_m_s, setting.splitter_m, setting.splitter_2_m))
    if setting.retreat != "non-magnetics":
        parts.append(f"{setting.retreat} go on to the next pass")
    if setting.treated_passing_um is None and setting.treated_retained_um is None:
        parts.append("whole bag treated")
    else:
        window = size_class(setting.treated_passing_um, setting.treated_retained_um)
        parts.append(f"treated {window}{NO_BREAK}{MICROMETRE}")
    parts.append(
        f"feed {setting.feed_temperature_c:g}, roll {setting.roll_temperature_c:g}{NO_BREAK}\u00b0C"
    )
    text = ", ".join(parts)
    return f"{text[0].upper()}{text[1:]}."


def _one_pass(speed_m_s: float, edge_m: float, edge_2_m: float | None) -> str:
    middlings = "" if edge_2_m is None else f", middlings to {_mm(edge_2_m)}"
    return f"{speed_m_s:g}{NO_BREAK}m/s, edge {_mm(edge_m)} beyond the roll{middlings}"


def _response_row(line: ResponseLine, units: str, roles: dict[str, str]) -> Row:
    role = roles.get(line.mineral, "plain")
    own = line.form == "free" or role == "host"
    label = name(line.mineral) if own else f"{name(line.mineral)}, {line.form}"
    force, speed = line.force_product_needed_tesla2_m, line.belt_speed_max_m_s
    caught = line.share_to_magnetics
    return Row(
        (
            label,
            size_class(line.passing_um, line.retained_um),
            line.reports_to,
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


def _around_the_chosen(best: list[SearchedSetting]) -> list[SearchedSetting]:
    """Both ends of the search and the neighbours of the chosen setting."""
    chosen = next((place for place, tried in enumerate(best) if tried.chosen), 0)
    kept = {0, chosen - 1, chosen, chosen + 1, len(best) - 1}
    return [tried for place, tried in enumerate(best) if place in kept]


def _searched_row(tried: SearchedSetting) -> Row:
    return Row(
        (
            f"{tried.belt_speed_m_s:g}",
            f"{1000 * tried.splitter_m:g}",
            f"{tried.passes}",
            weight(tried.Fe2O3_wt_pct),
            share(tried.yield_pct),
            "chosen" if tried.chosen else "",
        ),
        "strong" if tried.chosen else "plain",
    )


def _mm(metres: float) -> str:
    return f"{1000 * metres:.4g}{NO_BREAK}mm"
