"""What stands round each picture: its title, what to see in it, and the same as a table."""

from __future__ import annotations

from feedchar.report.blocks import Column, Row, Table
from feedchar.report.could_be_block import CURVES
from feedchar.report.numbers import DASH, chance_number, share, weight
from feedchar.report.picture_readings import (
    carriers,
    fields_needed,
    forms_of,
    size_irons,
    stay_lines,
)
from feedchar.report.product_readings import curve_at, iron_limit, product_bins, product_trials
from feedchar.report.readings import MICROMETRE, likely, nine_in_ten, size_class
from feedchar.report.report import Picture
from feedchar.report.setting_words import slowest_belt
from feedchar.report.words import FORM_WORDS, NO_BREAK, capital_first, listing, name
from feedchar.results import Characterisation

YIELDS_TOLD_PCT = (70.0, 80.0, 85.0, 90.0, 92.0, 94.0, 95.0, 96.0, 97.0, 98.0, 99.0)


def picture(result: Characterisation, name: str) -> Picture | None:
    """Words and table of one picture.

    Parameters
    ----------
    result : Characterisation
        The result. [-]
    name : str
        iron | curves | stays | product | sizes | field. [-]

    Returns
    -------
    Picture or None
        None where there is nothing to draw. [-]
    """
    made = _MAKERS[name](result)
    return made if made.table.rows else None


def _iron(result: Characterisation) -> Picture:
    found = carriers(result)
    forms = forms_of(found)
    rows = [
        Row(
            (
                carrier.label,
                share(carrier.total),
                *(share(carrier.shares.get(form, 0.0)) for form in forms),
            )
        )
        for carrier in found
    ]
    columns = (
        Column("carrier"),
        Column("of 100 iron", "number"),
        *(Column(FORM_WORDS.get(form, name(form)), "number") for form in forms),
    )
    caption = "The longest bars are what is worth removing. Plain bars are free grains; hatching "
    caption += "tells iron that is tied to other grains, or that no method has found."
    if found:
        first = found[0]
        label = capital_first(first.label)
        caption = f"{label} holds {share(first.total)} of 100 iron. {caption}"
    return Picture("iron", "Iron by carrier and form", caption, Table(columns, tuple(rows)))


def _stays(result: Characterisation) -> Picture:
    lines = stay_lines(result, 0.0)  # the table adds up; the drawing leaves out what has no length
    total = sum(ppm for _, ppm in lines)
    rows = [
        Row(
            (
                name(line.reason),
                _ppm(ppm),
                share(100 * ppm / total),
                line.evidence,
                listing(line.carriers) or DASH,
            )
        )
        for line, ppm in lines
    ]
    columns = (
        Column("why"),
        Column("ppm Fe2O3", "number"),
        Column("%", "number"),
        Column("rests on"),
        Column("carried by"),
    )
    caption = f"Together {_ppm(total)}{NO_BREAK}ppm, the iron of the product. Work on the longest "
    caption += "bar first; hatched bars are assumed or fitted, so measuring them comes before that."
    return Picture("stays", "The iron that stays, by reason", caption, Table(columns, tuple(rows)))


def _curves(result: Characterisation) -> Picture:
    here = result.product.non_magnetics.yield_pct.typical
    asked = sorted({*YIELDS_TOLD_PCT, *([] if here is None else [here])})
    rows = []
    for kept in asked:
        found = [curve_at(result, key, kept) for key, _ in CURVES]
        if any(iron is not None for iron in found):
            mark = "this setting" if kept == here else ""
            role = "strong" if mark else "plain"
            rows.append(Row((share(kept), *(weight(iron) for iron in found), mark), role))
    columns = (
        Column("yield, % of dry bag", "number"),
        *(Column(f"{label}, Fe2O3 wt %", "number") for _, label in CURVES),
        Column(""),
    )
    caption = "Lower is cleaner, further right keeps more sand. Between the lowest line and the "
    caption += "next lies what no magnet sorts; from there to this machine, what the machine "
    caption += "misplaces. Typical case."
    limit = iron_limit(result)
    if limit is not None:
        caption += f" What is asked lies on or below {weight(limit)}{NO_BREAK}%."
    return Picture("curves", "Iron against yield", caption, Table(columns, tuple(rows)))


def _product(result: Characterisation) -> Picture:
    iron = result.product.non_magnetics.assay_wt_pct.get("Fe2O3")
    limit = iron_limit(result)
    if likely(iron) is None:
        return Picture("product", "", "", Table((), ()))
    rows = [Row(("likely", weight(likely(iron))))]
    between = nine_in_ten(iron, weight)
    if between != DASH:
        rows.append(Row(("9 in 10 cases", between)))
    caption = f"The likely product holds {weight(likely(iron))}{NO_BREAK}% Fe2O3"
    caption += f"; 9 in 10 cases fall from {between}." if between != DASH else "."
    if limit is not None:
        rows.append(Row(("limit", weight(limit))))
        chance = next((r.chance for r in result.answer.rows if r.quantity == "Fe2O3"), None)
        if chance is not None:
            text = chance_number(chance)
            rows.append(Row(("chance to stay within it", text)))
            caption += f" Bars left of the limit are cases that meet it: {text}."
    trials = product_trials(result)
    if len(trials) > 1 and trials.min() < trials.max():
        edges, parts = product_bins(trials, limit)
        rows += [
            Row((f"trials from {weight(low)} to {weight(high)}, of 100", share(float(part))))
            for low, high, part in zip(edges[:-1], edges[1:], parts, strict=True)
        ]
    columns = (Column("Fe2O3 of product, wt %"), Column("", "number"))
    return Picture("product", "How sure the product is", caption, Table(columns, tuple(rows)))


def _sizes(result: Characterisation) -> Picture:
    found = size_irons(result)
    rows = [
        Row(
            (
                row.label,
                share(row.leaves + row.stays),
                share(row.leaves),
                share(row.stays),
                share(row.pale_lost_pct),
                "" if row.treated >= 1 else "in part treated" if row.treated > 0 else "not treated",
            )
        )
        for row in found
    ]
    columns = (
        Column(f"size, {MICROMETRE}"),
        Column("of 100 iron", "number"),
        Column("leaves with the magnetics", "number"),
        Column("does not", "number"),
        Column("pale grains lost, % of this size", "number"),
        Column(""),
    )
    caption = "A size that loses many pale grains for little iron is better screened out before "
    caption += "the roll. Typical case; pale phases weighed by their share of the bag."
    return Picture("sizes", "Size by size", caption, Table(columns, tuple(rows)))


def _field(result: Characterisation) -> Picture:
    found = fields_needed(result)
    sizes = sorted({size for phase in found for size in phase.sizes}, reverse=True)
    rows = []
    for phase in found:
        needed = dict(zip(phase.sizes, phase.tesla, strict=True))
        cells = [f"{needed[size]:.2f}" if size in needed else DASH for size in sizes]
        rows.append(Row((phase.label, *cells)))
    offered = result.setting.surface_flux_density_tesla
    if rows:
        rows.append(Row(("this machine offers", *[f"{offered:.2f}"] * len(sizes)), "strong"))
    columns = (
        Column("field, T, at each size"),
        *(Column(f"{size_class(*size)}{NO_BREAK}{MICROMETRE}", "number") for size in sizes),
    )
    caption = f"At {slowest_belt(result.setting)}, what lies in the shaded part is "
    caption += "held to the side of the roll; what lies above needs a slower belt or a stronger "
    caption += "machine. Phases that no magnet attracts are not drawn."
    return Picture("field", "Field needed and offered", caption, Table(columns, tuple(rows)))


def _ppm(value: float) -> str:
    return f"{value:.0f}" if value >= 9.95 else f"{value:.1f}"


_MAKERS = {
    "iron": _iron,
    "stays": _stays,
    "curves": _curves,
    "product": _product,
    "sizes": _sizes,
    "field": _field,
}
