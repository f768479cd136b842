"""What a table of many samples says, in words and tables."""

from __future__ import annotations

from feedchar.report.batch_readings import (
    SAYS,
    label,
    no_chance,
    row_cells,
    setting_words,
    wanted_words,
)
from feedchar.report.blocks import Block, Column, Findings, Part, Row, Table, Words
from feedchar.report.cautions import cautions_of
from feedchar.report.numbers import DASH, chance_number, share, spread, weight
from feedchar.report.readings import MICROMETRE
from feedchar.report.words import NO_BREAK, name, prose
from feedchar.results.batch import BatchGroups, BatchSummary

ROLES = {"meets": "good", "uncertain": "doubtful", "fails": "bad", "data disagree": "doubtful"}

_SAMPLE = (Column("sample"), Column("row", "number", optional=True))
_ANSWER = (
    Column("chance", "number"),
    Column("Fe2O3 of product, wt %", "number"),
    Column("9 in 10 cases", "number"),
    Column("yield, % of dry bag", "number"),
    Column("iron removed, %", "number", optional=True),
    Column("says"),
)


def batch_findings(summary: BatchSummary) -> Findings:
    """The whole page in words and tables.

    Parameters
    ----------
    summary : BatchSummary
        The table as a whole. [-]

    Returns
    -------
    Findings
        Blocks in the order in which they are read. [-]
    """
    blocks = (
        _answer(summary),
        _order(summary),
        _assays(summary),
        _doubts(summary),
        _tests(summary),
        _unusable(summary),
        _basis(summary),
        cautions_of(summary.phases, ""),
    )
    return Findings(
        title=name(summary.table),
        basis="predictions, none of them tested here",
        blocks=tuple(block for block in blocks if block.parts),
        facts=f"{_rows(summary.rows)}, {_of_rows(summary.assayed)} with an assay of iron",
    )


def _rows(number: int) -> str:
    return f"{number}{NO_BREAK}row" if number == 1 else f"{number}{NO_BREAK}rows"


def _of_rows(number: int) -> str:
    return "none" if number == 0 else str(number)


def _answer(summary: BatchSummary) -> Block:
    parts: list[Part] = [Words(_sentence(summary), "strong")]
    points = summary.product_Fe2O3_points_wt_pct
    if points:
        half, most = spread(weight(points[1]), weight(points[3])), spread(
            weight(points[0]), weight(points[4])
        )  # fmt: skip
        text = f"Product iron, by the likely figure of each row: {weight(points[2])}{NO_BREAK}% "
        text += f"Fe2O3 in the middle; half the rows hold {half}, 9 in 10 hold {most}."
        parts.append(Words(text))
    rows = tuple(
        Row(
            (SAYS[word], str(number), share(100.0 * number / summary.rows), number / summary.rows),
            ROLES.get(word, "plain"),
        )
        for word, number in summary.counts
    )
    columns = (Column("says"), Column("rows", "number"), Column("%", "number"), Column("", "bar"))
    parts.append(Table(columns, rows))
    if summary.twins:
        text = f"{summary.twins} sample names stand in more than one row."
        parts.append(Words(text, "doubtful", "note"))
    return Block("answer", "THE TABLE AS A WHOLE", tuple(parts), wanted_words(summary.limit))


def _sentence(summary: BatchSummary) -> str:
    counts = dict(summary.counts)
    if not summary.limit:
        return "Nothing was asked of the product, so rows stand by their product iron."
    meets = _of_rows(counts.get("meets", 0))
    text = f"Of {_rows(summary.rows)} {meets} {'is' if meets == '1' else 'are'} likely to meet "
    text += "what is asked"
    text += f", {_of_rows(counts.get('uncertain', 0))} open"
    text += f", {_of_rows(counts.get('fails', 0))} unlikely to."
    waiting = counts.get("assay needed", 0)
    if waiting:
        text += f" {waiting} get no chance before their iron is assayed."
    return text


def _order(summary: BatchSummary) -> Block:
    if not summary.best:
        return Block("samples", "SAMPLES", ())
    by = "by product iron" if no_chance(summary) else "by chance"
    rows = [Row(row_cells(row), ROLES.get(row.status, "plain")) for row in summary.best]
    parts: list[Part] = []
    if summary.last:
        text = f"The first {len(summary.best)} and the last {len(summary.last)} in that order; "
        text += f"all rows stand in {name(summary.out)}."
        parts.append(Words(text, "quiet"))
    parts.append(Table((*_SAMPLE, *_ANSWER), tuple(rows)))
    if summary.last:
        parts.append(Words("The last in the same order:"))
        rows = [Row(row_cells(row), ROLES.get(row.status, "plain")) for row in summary.last]
        parts.append(Table((*_SAMPLE, *_ANSWER), tuple(rows)))
    return Block("samples", "SAMPLES IN ORDER", tuple(parts), by)


def _assays(summary: BatchSummary) -> Block:
    if not summary.assays:
        return Block("assays", "WHICH TO ASSAY FIRST", ())
    text = "An assay of iron in the bag would narrow these products most: rows by the variance of "
    text += "product iron that one assay removes, each taken alone. What stays is the machine, and "
    text += "where the iron sits."
    rows = tuple(
        Row(
            (
                label(line.row),
                str(line.row.row),
                weight(line.row.product_Fe2O3_wt_pct),
                weight(line.product_sd_wt_pct),
                weight(line.product_sd_after_wt_pct),
                share(100.0 * line.variance_removed_share),
                line.variance_removed_share,
                SAYS[line.row.status],
            )
        )
        for line in summary.assays
    )
    columns = (
        *_SAMPLE,
        Column("Fe2O3 of product, wt %", "number"),
        Column("its sd now", "number"),
        Column("its sd then", "number"),
        Column("variance removed, %", "number"),
        Column("", "bar"),
        Column("says"),
    )
    return Block("assays", "WHICH TO ASSAY FIRST", (Words(text), Table(columns, rows)))


def _doubts(summary: BatchSummary) -> Block:
    if not summary.doubts:
        return Block("doubts", "DATA THAT DISAGREE", ())
    text = f"{_rows(summary.doubtful)} hold a datum more than 2 sd from what all else says; beyond "
    text += "4 sd no chance is given. Look at the datum first: a slip of a column or of a unit is "
    text += "likelier than a new mineral."
    rows = tuple(
        Row(
            (label(line.row), str(line.row.row), f"{line.residual_sd:.1f}", prose(line.row.notes)),
            ROLES.get(line.row.status, "plain"),
        )
        for line in summary.doubts
    )
    columns = (*_SAMPLE, Column("sd away", "number"), Column("what disagrees"))
    return Block("doubts", "DATA THAT DISAGREE", (Words(text), Table(columns, rows)))


def _tests(summary: BatchSummary) -> Block:
    heading = "WHICH TO TEST FOR THE REST"
    if summary.groups is None:
        return Block("tests", heading, ())
    return Block("tests", heading, _groups(summary.groups))


def _groups(found: BatchGroups) -> tuple[Part, ...]:
    text = f"{len(found.groups)} samples stand for all, chosen by what the machine makes of them: "
    text += (
        "product iron, yield, share of iron removed, share of iron unseen. Between these groups "
    )
    text += f"lie {share(100.0 * found.explained_share)}{NO_BREAK}% of the differences, the rest "
    text += "in them. A stand-in serves when a bag is used up. Predictions chose them, so test one "
    text += "stand-in too: if it answers unlike its sample, the groups are too wide."
    rows = tuple(
        Row(
            (
                str(number),
                label(group.representative),
                str(group.representative.row),
                str(group.rows),
                weight(group.product_Fe2O3_p50_wt_pct),
                spread(
                    weight(group.product_Fe2O3_p05_wt_pct), weight(group.product_Fe2O3_p95_wt_pct)
                ),
                share(group.representative.yield_pct),
                share(group.representative.iron_removal_pct),
                share(group.representative.unseen_iron_share_pct),
                ", ".join(label(row) for row in group.stand_ins) or DASH,
            )
        )
        for number, group in enumerate(found.groups, start=1)
    )
    columns = (
        Column("group", "number"),
        Column("test"),
        Column("row", "number", optional=True),
        Column("stands for rows", "number"),
        Column("Fe2O3 of product of the group, wt %", "number"),
        Column("9 in 10 of its rows", "number"),
        Column("yield, %", "number"),
        Column("iron removed, %", "number"),
        Column("unseen, of 100 iron", "number"),
        Column("or, nearest"),
    )
    parts: list[Part] = [Words(text), Table(columns, rows)]
    if found.odd:
        names = ", ".join(
            f"{label(row)} ({weight(row.product_Fe2O3_wt_pct)}{NO_BREAK}% Fe2O3, yield "
            f"{share(row.yield_pct)}{NO_BREAK}%)"
            for row in found.odd
        )
        parts.append(Words(f"Least like any of them: {names}.", mark="odd"))
    return tuple(parts)


def _unusable(summary: BatchSummary) -> Block:
    if not summary.unusable:
        return Block("unusable", "ROWS THAT CANNOT BE USED", ())
    number = dict(summary.counts).get("not usable", 0)
    rows = tuple(
        Row((label(row), str(row.row), prose(row.notes)), "bad") for row in summary.unusable
    )
    text = f"{_rows(number)}; the first {len(rows)} are shown." if number > len(rows) else ""
    parts: tuple[Part, ...] = (Words(text, "quiet"),) if text else ()
    table = Table((*_SAMPLE, Column("why")), rows)
    return Block("unusable", "ROWS THAT CANNOT BE USED", (*parts, table))


def _basis(summary: BatchSummary) -> Block:
    sizes = "Rows without a d50_um take" if summary.has_sizes else "All rows take"
    sizes += f" a guessed size: log-normal about 200{NO_BREAK}{MICROMETRE}. All minerals of a row "
    sizes += "are sized alike. How grains are joined, what the machine misses and what sand it "
    sizes += "carries over are stated defaults, drawn in every trial."
    chance = "A chance is that of the mean of the bag over the trials, laboratory error left out. "
    chance += "Minerals are taken as by diffraction."
    setting = f"{setting_words(summary)} It is one setting for all rows; none is searched."
    text: tuple[str, ...] = (setting, sizes, chance)
    if not no_chance(summary):
        sure = chance_number(0.9)
        text = (*text, f"Likely is from {sure}, unlikely to {chance_number(0.1)}.")
    return Block("basis", "WHAT THIS RESTS ON", tuple(Words(line) for line in text))
