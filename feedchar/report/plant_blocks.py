"""Circuits at full size: the table that compares them, the drawing, the belts, the questions."""

from __future__ import annotations

from feedchar.report.answer_blocks import WORTH_TELLING
from feedchar.report.blocks import Block, Column, Findings, Part, Row, Table, Words
from feedchar.report.cautions import cautions_of
from feedchar.report.numbers import DASH, chance_number, share, weight
from feedchar.report.outlook_blocks import APART
from feedchar.report.plant_questions import (
    likely,
    nine_in_ten,
    questions_block,
    sensitivity_block,
    tonnes,
)
from feedchar.report.words import NO_BREAK, name, prose
from feedchar.results.plant import PlantCircuit, PlantStep, ScaleUp
from feedchar.uncertainty.summary import Uncertain


def scale_up_findings(result: ScaleUp) -> Findings:
    """The whole report of `scale-up`.

    Parameters
    ----------
    result : ScaleUp
        The result. [-]

    Returns
    -------
    Findings
        The comparison first, the cautions last. [-]
    """
    chosen = next(one for one in result.circuits if one.circuit == result.chosen)
    basis = f"FEED {result.basis.feed.upper()}, SEPARATION {result.basis.separation.upper()}"
    facts = f"{tonnes(result.feed_t_h)} t/h dry feed"
    if result.wet_feed_t_h is not None and result.water_to_dry_t_h is not None:
        facts += (
            f", {tonnes(result.wet_feed_t_h)} t/h as received: "
            f"{tonnes(result.water_to_dry_t_h)} t/h of water to dry away"
        )
    blocks = (
        _compared(result),
        _drawing(chosen, result.feed_t_h),
        _belts(chosen, result),
        _outlets(chosen),
        questions_block(result.inverse),
        sensitivity_block(result),
        _cautions(result),
    )
    return Findings(name(result.input.name), basis, blocks, facts)


def _compared(result: ScaleUp) -> Block:
    rows = []
    for one in result.circuits:
        iron = likely(one.product.assay_wt_pct["Fe2O3"])
        chance = one.chance_of_meeting_limit
        rows.append(
            Row(
                (
                    name(one.circuit) + (f"{NO_BREAK}*" if one.chosen else ""),
                    tonnes(one.belt_m),
                    tonnes(likely(one.product.t_h) or 0.0),
                    share(likely(one.product.per_100_dry_bag)),
                    weight(iron),
                    share(likely(one.iron_removal_pct)),
                    share(likely(one.sand_lost_pct)),
                    DASH if chance is None else chance_number(chance),
                    f"{one.cost:.1f}",
                ),
                "strong" if one.chosen else "plain",
            )
        )
    table = Table(
        (
            Column("circuit"),
            Column("belt, m", "number"),
            Column("product, t/h", "number"),
            Column("per 100 dry", "number"),
            Column("Fe2O3, wt %", "number"),
            Column("iron removed, %", "number", optional=True),
            Column("sand lost, %", "number"),
            Column("chance", "number"),
            Column("cost", "number"),
        ),
        tuple(rows),
    )
    alike = [note for note in result.notes if note.code == "circuits-alike"]
    parts: list[Part] = [
        Words(f"{name(result.chosen)}. {prose(result.choice)}", "strong"),
        table,
        Words(f"* chosen. Cost in {result.cost_unit}.", "quiet"),
    ]
    parts += [Words(f"{prose(note.text)[0].upper()}{prose(note.text)[1:]}.") for note in alike]
    if any(one.chosen_by == "searched" for one in result.circuits):
        parts.append(Words("Speed and edges of each circuit by a small search.", "quiet"))
    return Block("circuits", "CIRCUITS COMPARED", tuple(parts), f"{result.trials} trials")


def _drawing(one: PlantCircuit, feed_t_h: float) -> Block:
    lines = [f"feed{_dots(one.steps[0].step, 22)} {tonnes(feed_t_h):>6} t/h"]
    for step in one.steps:
        lines.append(f"[{name(step.step)}] {_words_of(step)}")
        own = [stream for stream in one.streams if stream.from_step == step.step]
        for stream in own:
            iron = "" if stream.Fe2O3_wt_pct is None else f"{weight(stream.Fe2O3_wt_pct):>7} %"
            back = " (back)" if stream.returns else ""
            ends = stream.to in ("product", "reject", "dust")
            target = stream.to.upper() if ends else f"[{name(stream.to)}]"
            lines.append(
                f" +- {stream.outlet:<14}{tonnes(stream.t_h):>7} t/h{iron:>10} -> {target}{back}"
            )
    parts = tuple(Words(line.replace(" ", NO_BREAK)) for line in lines)
    closing = Words(
        f"Typical case, % is Fe2O3{_apart(one)}. Mass and oxides close to "
        f"{one.closure_t_h:.0e} t/h.",
        "quiet",
    )
    return Block("circuit", "THE CIRCUIT", (*parts, closing), name(one.circuit))


def _apart(one: PlantCircuit) -> str:
    """The likely iron of the product, where the typical case is not what is likely."""
    iron = one.product.assay_wt_pct.get("Fe2O3")
    if iron is None or iron.p50 is None or not iron.typical:
        return ""
    if abs(iron.typical - iron.p50) <= APART * iron.p50:
        return ""
    return (
        f"; the product holds {weight(iron.typical)}{NO_BREAK}% where {weight(iron.p50)} is likely"
    )


def _dots(target: str, width: int) -> str:
    return f" -> [{name(target)}]".ljust(width)


def _words_of(step: PlantStep) -> str:
    words = f"{tonnes(step.feed_t_h)} t/h in"
    if step.belt_speed_m_s is None:
        cuts = " and ".join(f"{cut:g} \u00b5m" for cut in step.cuts_um)
        return f"{step.kind}, {words}" + (f", cut at {cuts}" if cuts else "")
    edges = f"{1e3 * (step.splitter_m or 0.0):g}"
    if step.splitter_2_m is not None:
        edges += f" and {1e3 * step.splitter_2_m:g}"
    return f"{words}, {step.belt_speed_m_s:g} m/s, edge {edges} mm"


def _belts(one: PlantCircuit, result: ScaleUp) -> Block:
    rows = []
    for step in one.steps:
        if step.belt_m is None or step.unit_width_m is None or step.sauter_mean_um is None:
            continue
        rows.append(
            Row(
                (
                    name(step.step),
                    tonnes(step.feed_t_h),
                    f"{step.sauter_mean_um:.0f}",
                    tonnes(step.capacity_t_h_m or 0.0),
                    tonnes(step.belt_m),
                    f"{step.units} x {step.unit_width_m:g}",
                    f"{step.one_metre_belts}",
                    tonnes(step.feed_t_h_m or 0.0),
                    share(step.magnetics_on_belt_pct),
                    DASH if step.over_bench_rate is None else f"{step.over_bench_rate:.2f}",
                )
            )
        )
    if not rows:
        return Block("belts", "BELTS", (Words("No step of this circuit has a belt."),))
    table = Table(
        (
            Column("step"),
            Column("feed, t/h", "number"),
            Column("d32, µm", "number", optional=True),
            Column("holds, t/h/m", "number"),
            Column("needs, m", "number"),
            Column("belts, m", "number"),
            Column("of 1 m", "number"),
            Column("runs at, t/h/m", "number"),
            Column("magnetics, %", "number"),
            Column("over bench", "number", optional=True),
        ),
        tuple(rows),
    )
    parts: list[Part] = [table]
    if result.bench_belt_kg_h is not None:
        parts.append(
            Words(
                f"A bench roll with a belt of {result.bench_belt_m:g} m imitates the first pass at "
                f"{result.bench_belt_kg_h:.0f} kg/h."
            )
        )
    if result.bench_t_h_m is None:
        parts.append(Words("No bench test tells its feed rate and width.", "quiet"))
    else:
        parts.append(Words(f"The bench tests ran at {tonnes(result.bench_t_h_m)} t/h per metre."))
    parts.append(
        Words(
            "Holds: a full single layer; d32 is the size with the feed's surface. Above "
            f"20{NO_BREAK}% magnetics bury each other. Usual widths 0.5, 1 and 1.5{NO_BREAK}m "
            "(common practice).",
            "quiet",
        )
    )
    return Block("belts", "BELTS", tuple(parts), "typical case, one grain deep")


def _outlets(one: PlantCircuit) -> Block:
    outs = [("product", one.product), ("reject", one.reject), ("dust", one.dust)]
    outs = [(word, out) for word, out in outs if (likely(out.t_h) or 0.0) > 0.0]
    columns = [Column("")]
    for word, _ in outs:
        columns += [Column(word, "number"), Column("9 in 10 cases", "number", optional=True)]

    def row(label: str, values: list[Uncertain], iron: bool) -> Row:
        cells: list[str | float] = [label]
        for value in values:
            at = likely(value)
            cells += [weight(at) if iron else share(at), nine_in_ten(value, iron=iron)]
        return Row(tuple(cells))

    rows = [
        row("t/h", [out.t_h for _, out in outs], True),
        row("per 100 dry bag", [out.per_100_dry_bag for _, out in outs], False),
        row("% of the iron", [out.iron_share_pct for _, out in outs], False),
    ]
    for oxide in one.product.assay_wt_pct:
        values = [out.assay_wt_pct[oxide] for _, out in outs]
        if any((likely(value) or 0.0) >= WORTH_TELLING for value in values):
            rows.append(row(f"{oxide}, wt %", values, True))
    return Block("outlets", "WHAT COMES OUT", (Table(tuple(columns), tuple(rows)),))


def _cautions(result: ScaleUp) -> Block:
    parts: list[Part] = [Words(prose(text), "strong") for text in result.cautions]
    parts += [
        Words(prose(note.text), mark="!" if note.severity == "warning" else "STOP")
        for note in result.notes
        if note.severity in ("warning", "stop")
    ]
    parts += cautions_of(result.minerals, "").parts
    return Block("cautions", "TAKE CARE", tuple(parts))
