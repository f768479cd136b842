"""The customer's page: what was asked, what we say, why, what it takes, what is not covered."""

from __future__ import annotations

from feedchar.report.answer_blocks import title_of
from feedchar.report.blocks import Block, Findings, Words
from feedchar.report.carriers import UNSEEN, by_iron
from feedchar.report.cautions import LAST_WORD
from feedchar.report.numbers import DASH, chance_number, share, weight
from feedchar.report.picture_readings import stay_lines
from feedchar.report.product_readings import iron_limit
from feedchar.report.readings import MICROMETRE, adding, likely, nine_in_ten
from feedchar.report.words import NO_BREAK, capital_first, listing, name, prose
from feedchar.results import Characterisation

MOST_LEAVES_PCT = 50.0
"""A phase is said to leave when more of it does. [%]"""
TREATMENTS_TOLD, STEPS_TOLD = 2, 3

_SAYS = {
    "meets": "Likely as received",
    "fails": "Unlikely as received",
    "uncertain": "Open as received",
    "assay needed": "Not before an assay",
    "data disagree": "Not before the data agree",
    "no limit given": "Nothing was asked of the product",
}


def customer_findings(result: Characterisation) -> Findings:
    """One page that can be sent: short sentences, one block.

    Parameters
    ----------
    result : Characterisation
        The result. [-]

    Returns
    -------
    Findings
        Title, basis, and one block of labelled sentences. [-]
    """
    bag, basis, _ = title_of(result)
    use = result.answer.limit.get("use")
    title = f"{bag} for {name(str(use))}" if use else bag
    tested = result.basis.separation == "tested"
    standing = "Prediction beside a test" if tested else "Draft, prediction, no test yet"
    parts = [
        Words(_asked(result), mark="You asked"),
        Words(_say(result), "strong", mark="We say"),
        Words(_numbers(result), mark="As received"),
        *_could_be(result),
        Words(_why(result), mark="Why"),
        Words(_tonnes(result), mark=_of_what(result)),
        Words(_must(result), mark="You must"),
        Words(_not_covered(result), mark="Not covered"),
        Words(_next(result), mark="Next step"),
    ]
    return Findings(title, f"{standing}. {basis.capitalize()}.", (Block("page", "", tuple(parts)),))


def _asked(result: Characterisation) -> str:
    wanted = []
    for row in result.answer.rows:
        if row.quantity == "yield":
            wanted.append(f"at {share(row.asked)}{NO_BREAK}% yield or more")
        else:
            unit = f"{NO_BREAK}%" if row.unit == "wt_pct" else ""
            bound = "at most" if row.bound == "max" else "at least"
            wanted.append(f"{bound} {weight(row.asked)}{unit} {name(row.quantity)}")
    if not wanted:
        return "What dry magnets can do for this sand; no limit was named."
    return f"Can dry magnets bring this sand to {', '.join(wanted)}?"


def _say(result: Characterisation) -> str:
    answer = result.answer
    text = _SAYS.get(answer.status, name(answer.status))
    if answer.chance_of_meeting_limit is not None:
        text += f" ({chance_number(answer.chance_of_meeting_limit)})"
    text += "."
    if answer.status in ("fails", "uncertain"):
        text += _worth_testing(result)
    if answer.status in ("assay needed", "data disagree", "no limit given"):
        text += f" {prose(answer.sentence)}"
    return text


def _worth_testing(result: Characterisation) -> str:
    """The first treatment whose typical product holds less iron than the limit."""
    limit = iron_limit(result)
    for treatment, iron, _ in result.best_possible.other_treatments:
        if limit is not None and iron <= limit:
            return f" Worth a test: {prose(treatment)}."
    return ""


def _numbers(result: Characterisation) -> str:
    clean = result.product.non_magnetics
    iron, kept = clean.assay_wt_pct.get("Fe2O3"), clean.yield_pct
    feed = result.assay.reconciled_wt_pct.get("Fe2O3")
    text = f"Fe2O3 from {weight(likely(feed))} to {weight(likely(iron))}{NO_BREAK}%"
    between = nine_in_ten(iron, weight)
    if between != DASH:
        text += f" ({between} in 9 of 10 cases)"
    text += f"; product {share(likely(kept))}{NO_BREAK}t of each 100{NO_BREAK}t dry"
    between = nine_in_ten(kept, share)
    return f"{text} ({between})." if between != DASH else f"{text}."


def _could_be(result: Characterisation) -> list[Words]:
    told = sorted(result.best_possible.other_treatments, key=lambda entry: entry[1])
    if not told:
        return []
    words = [
        f"{prose(treatment)}: {weight(iron)}{NO_BREAK}% at {share(part)}{NO_BREAK}% yield"
        for treatment, iron, part in told[:TREATMENTS_TOLD]
    ]
    here = result.best_possible.at_product_yield.get("this_roll")
    compared = f", where this gives {weight(here)}{NO_BREAK}%" if here is not None else ""
    text = f"{'; '.join(words)} (typical case{compared})."
    return [Words(capital_first(text), mark="Could be")]


def _why(result: Characterisation) -> str:
    leaving = [
        phase.mineral
        for phase in by_iron(result)
        if phase.mineral != UNSEEN
        and phase.role != "host"
        and (adding(phase.to_magnetics_pct) or 0.0) > MOST_LEAVES_PCT
    ]
    staying = [line.reason for line, _ in stay_lines(result)]
    text = f"Mostly leaves: {listing(leaving)}. " if leaving else "No dark phase mostly leaves. "
    if staying:
        text += f"What iron stays: {listing(staying)}."
    return text


def _tonnes(result: Characterisation) -> str:
    product = result.product
    feed = result.feed_t_h
    of, unit, show = (1.0, "t", share) if feed is None else (feed / 100.0, "t/h", weight)
    parts = [
        (product.non_magnetics, "product"),
        (product.magnetics, "magnetics"),
        (product.middlings, "middlings, thrown away"),
        (product.untreated, "not treated (dust, oversize)"),
    ]
    told = [
        f"{show((adding(part.yield_pct) or 0.0) * of)}{NO_BREAK}{unit} {words}"
        for part, words in parts
        if words == "product" or adding(part.yield_pct)
    ]
    setting = result.setting
    times = {1: "once", 2: "twice"}.get(setting.passes, f"{setting.passes} times")
    basis = "mean of the trials" if result.trials else "typical case"
    speeds = dict.fromkeys(one.belt_speed_m_s for one in setting.each_pass)
    speed = " then ".join(f"{one:g}" for one in speeds or (setting.belt_speed_m_s,))
    speed += f"{NO_BREAK}m/s"
    return f"{', '.join(told)} ({basis}); over the roll {times} at {speed}."


def _of_what(result: Characterisation) -> str:
    feed = result.feed_t_h
    return f"Of 100{NO_BREAK}t dry" if feed is None else f"At {feed:g}{NO_BREAK}t/h dry"


def _must(result: Characterisation) -> str:
    wanted = [f"dry below 0.1{NO_BREAK}% moisture"]
    setting = result.setting
    if setting.treated_retained_um:
        cut = f"{setting.treated_retained_um:.0f}{NO_BREAK}{MICROMETRE}"
        wanted.append(f"take out what is finer than {cut}")
    if setting.treated_passing_um:
        cut = f"{setting.treated_passing_um:.0f}{NO_BREAK}{MICROMETRE}"
        wanted.append(f"take out what is coarser than {cut}")
    if setting.drum_first:
        wanted.append(f"pass a {name(setting.drum_first)} drum first")
    wanted += ["feed one grain deep", "keep steel and rust out behind the roll"]
    text = f"{', '.join(wanted)}. Fine dust, strong magnets, moving rolls: take care. {LAST_WORD}"
    return capital_first(text)


def _not_covered(result: Characterisation) -> str:
    asked = {row.quantity for row in result.answer.rows}
    titania = likely(result.product.non_magnetics.assay_wt_pct.get("TiO2"))
    text = "Other parts of the pit, "
    if titania and "TiO2" not in asked:
        text += f"TiO2 ({weight(titania)}{NO_BREAK}% stays), "
    text += "stones in glass, colour, brightness, price, permits; the laboratory's own error. "
    left_out = [row.quantity for row in result.answer.rows if row.chance is None]
    if left_out:
        text += f"No chance is given for {listing(left_out)}. "
    return f"{text}A prediction for one bag is no guarantee of a plant."


def _next(result: Characterisation) -> str:
    told = [prose(step.measurement) for step in result.measure_next[:STEPS_TOLD]]
    if not told:
        return "A test on this bag at this setting, product and magnetics assayed."
    steps = "; ".join(f"{place}{NO_BREAK}{text}" for place, text in enumerate(told, start=1))
    return f"{steps}. Then a test on this bag before anything is built."
