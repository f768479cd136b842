"""The plan of a test: cautions first, how much sand, which runs and why."""

from __future__ import annotations

from feedchar.report.blocks import Block, Column, Findings, Part, Row, Table, Words
from feedchar.report.cautions import CHEMICALS, LAST_WORD, caution_sentences
from feedchar.report.numbers import DASH, count, share, weight
from feedchar.report.plan_bag_blocks import bags_block, grams, order_block, splits_block
from feedchar.report.plan_work_blocks import chosen, programme_block
from feedchar.report.readings import likely, nine_in_ten
from feedchar.report.words import name, prose
from feedchar.results.plan import Plan

X_RAYS = (
    "X-rays of the laboratory: sealed, interlocked, licensed and by trained people; fused beads "
    "are poured at over 1000 °C."
)
ROLLS = "Run the roll guarded and earthed, with the dust drawn off where the sand falls."
WORTH_TELLING = 0.05
"""Pale phases that add less to the sampling error are not shown. [-]"""


def plan_findings(result: Plan) -> Findings:
    """The whole plan as it is told.

    Parameters
    ----------
    result : Plan
        The result. [-]

    Returns
    -------
    Findings
        Cautions first. [-]
    """
    basis = f"FEED {result.basis.feed.upper()}, SEPARATION {result.basis.separation.upper()}"
    facts = "" if result.received_dry_kg is None else f"{result.received_dry_kg:.1f} kg dry here. "
    blocks = [
        plan_cautions(result),
        _short(result),
        _masses(result),
        _grains(result),
        programme_block(result),
        splits_block(result),
        bags_block(result),
        order_block(result),
    ]
    warned = [
        Words(prose(note.text), mark="!" if note.severity == "warning" else "STOP")
        for note in result.notes
        if note.severity in ("warning", "stop")
    ]
    if warned:
        blocks.append(Block("checks", "CHECKS THAT TRIPPED", tuple(warned)))
    return Findings(
        f"{name(result.input.name)}: plan of a test",
        basis,
        tuple(blocks),
        (facts + prose(result.sample_note)).strip(),
    )


def plan_cautions(result: Plan) -> Block:
    """Cautions for this feed and this work.

    Parameters
    ----------
    result : Plan
        Its phases and the work it proposes choose the sentences. [-]

    Returns
    -------
    Block
        Words only, never empty. [-]
    """
    proposed = " ".join(one.work for one in result.work if one.chosen)
    sentences = caution_sentences(result.minerals, proposed)
    if CHEMICALS not in sentences:  # a plan is changed at the bench; it says so in any case
        sentences.append(CHEMICALS)
    text = " ".join([*sentences, ROLLS, X_RAYS])
    return Block("cautions", "TAKE CARE", (Words(text), Words(LAST_WORD, "strong")))


def _short(result: Plan) -> Block:
    charges = [bag for bag in result.bags if bag.product == "feed"]
    assays = sum(one.in_table for one in result.order)
    done = chosen(result)
    wet = ""
    if result.moisture_pct:
        damp = result.take_kg / (1.0 - result.moisture_pct / 100.0)
        wet = f" ({damp:.1f} kg at {result.moisture_pct:g} % moisture)"
    parts: list[Part] = [
        Words(
            prose(
                f"Take {result.take_kg:.1f} kg dry{wet} from the lot, in 30 increments or more "
                f"(common practice). Run {len(charges)} charges ({result.kg_used:.1f} kg, about "
                f"{result.hours:.0f} h of work), weigh {len(result.bags)} bags, order {assays} "
                "assays."
            ),
            "strong",
        )
    ]
    if result.basis.feed == "not assayed":
        told = "The iron of the bag is not assayed: have the head assayed before anything is run."
        parts.insert(0, Words(told, "strong"))
    if done and done[-1].removed_together > 0.0:
        parts.append(
            Words(
                f"This removes {100.0 * done[-1].removed_together:.0f} % of the variance of "
                "product iron, half of the weight on the setting assessed, half on the other "
                "speeds, edges and passes."
            )
        )
    else:
        told = "Too few trials to tell which run is worth its sand: the usual programme."
        parts.append(Words(told))
    setting, rate = result.setting, result.rate
    iron = result.product_Fe2O3_wt_pct
    parts.append(
        Words(
            f"About the setting {setting.belt_speed_m_s:g} m/s, edge {1e3 * setting.splitter_m:g} "
            f"mm, {setting.passes} pass{'es' if setting.passes > 1 else ''}"
            f" ({setting.chosen_by}): product {weight(likely(iron))} % Fe2O3"
            + (f" ({nine_in_ten(iron, weight)})" if iron.p05 is not None else "")
            + (
                f", asked {result.limit_Fe2O3_wt_pct:g} %."
                if result.limit_Fe2O3_wt_pct is not None
                else "."
            )
        )
    )
    plant = ""
    if rate.plant_t_h is not None:
        plant = f", as {rate.plant_t_h:g} t/h on {rate.plant_belt_m:g} m of plant belt"
    parts.append(
        Words(
            prose(
                f"Feed the bench roll at {rate.bench_kg_h:.0f} kg/h over "
                f"{1e3 * rate.bench_belt_m:.0f} mm of belt: {rate.plant_t_h_m:.2f} t/h per metre"
                f"{plant}. A full single layer carries {rate.single_layer_t_h_m:.2f}."
            )
        )
    )
    parts.append(Words(f"Rate: {rate.how}.", "quiet"))
    return Block("short", "IN SHORT", tuple(parts))


def _masses(result: Plan) -> Block:
    rows = tuple(
        Row(
            (
                one.stage,
                f"{one.top_size_um:.0f}",
                grams(one.needed_g),
                grams(one.kept_g),
                f"{100.0 * one.relative_sd:.2f}",
            )
        )
        for one in result.masses
    )
    table = Table(
        (
            Column("stage"),
            Column("top size, µm", "number"),
            Column("sampling needs, g", "number"),
            Column("plan, g", "number"),
            Column("sd left, %", "number"),
        ),
        rows,
    )
    whole = 100.0 * result.wanted_relative_sd
    parts = (
        Words(
            f"Sampling may add {whole:.1f} % (relative sd) to the product's iron: "
            f"{result.wanted_how}. Each of the four stages may spend half of it."
        ),
        table,
        Words(
            "Needs: the fundamental sampling error over every class of grains (size, density, "
            "joined or free), at the iron of feed or product, whichever asks for more. The plan "
            "takes more where belt, mill or balance need it. Segregation, a bad splitter and "
            "lost dust come on top.",
            "quiet",
        ),
    )
    return Block("masses", "HOW MUCH SAND", parts)


def _grains(result: Plan) -> Block:
    rows = tuple(
        Row(
            (
                name(one.mineral),
                weight(one.mass_pct),
                share(one.share_of_iron_pct),
                f"{one.size_um:.0f}",
                share(100.0 * one.sampling_variance_share),
                count(one.grains_in_split),
                DASH if one.mass_for_grains_g is None else grams(one.mass_for_grains_g),
                DASH if one.short_formula_g is None else grams(one.short_formula_g),
            )
        )
        for one in result.grains
        if one.mass_for_grains_g is not None or one.sampling_variance_share >= WORTH_TELLING
    )
    table = Table(
        (
            Column("phase"),
            Column("wt %", "number", optional=True),
            Column("% of iron", "number"),
            Column("size, µm", "number"),
            Column("% of error", "number"),
            Column("grains in split", "number"),
            Column("by count, g", "number"),
            Column("by formula, g", "number", optional=True),
        ),
        rows,
    )
    parts = (
        table,
        Words(
            "Grains in the product split that is pulverised, counted as grains of one size that "
            "would sample as well. By count: product in which chance (Poisson) leaves the "
            "stage's sd; by formula: the short formula of sampling for that phase alone, whose "
            "factors for size range and locking are rough.",
            "quiet",
        ),
    )
    return Block("grains", "GRAINS THAT CARRY THE PRODUCT'S IRON", parts)
