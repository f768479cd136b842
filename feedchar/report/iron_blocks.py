"""The feed's agreement, where the iron is, and the iron that stays."""

from __future__ import annotations

from feedchar.report.blocks import Block, Column, Part, Row, Table, Words
from feedchar.report.readings import (
    UNSEEN,
    adding,
    adds_up,
    by_iron,
    is_trace,
    likely,
    lines_of,
    nine_in_ten,
    taken_by,
)
from feedchar.report.words import (
    DASH,
    NO_BREAK,
    chance_number,
    listing,
    name,
    prose,
    share,
    weight,
)
from feedchar.results import AgreementResult, Characterisation, MineralResult, StayLine

FEW = 0.5
"""Phases below this share of the iron are gathered in one line. [%]"""

FEW_PPM = 0.5
"""Lines below this are told by `what-stays` only. [ppm]"""

_FORMS = ("free", "joined", "inclusion", "stain", "inside", "not found")

_FORM_WORDS = {
    "free": "free grains",
    "joined": "joined grains",
    "inclusion": "inclusions",
    "inside": "inside crystals",
    "not found": "unseen",
}


def feed_block(result: Characterisation, *, fit: bool = True) -> Block:
    """Does the feed agree: the iron in words, the whole fit in one sentence.

    Parameters
    ----------
    result : Characterisation
        The result. [-]
    fit : bool
        Whether the fit of all oxides is told too. [-]

    Returns
    -------
    Block
        Words only. [-]
    """
    parts = [*_feed_iron(result), _unseen(result)]
    if fit and result.assay.measured_wt_pct:
        parts.append(Words(agreement_words(result.assay.agreement)))
    heading = "DOES THE FEED AGREE" if fit else "ITS IRON"
    return Block("feed", heading, tuple(parts))


def agreement_words(agreement: AgreementResult) -> str:
    """The fit of minerals and assay in words.

    Parameters
    ----------
    agreement : AgreementResult
        The fit. [-]

    Returns
    -------
    str
        One to three sentences. [-]
    """
    if agreement.chi_square is None:
        return "Minerals and assay were not fitted to each other."
    text = f"Minerals against assay: chi-square {agreement.chi_square:.1f}"
    if agreement.degrees_of_freedom:
        text += f" on {agreement.degrees_of_freedom}"
    chance = agreement.predictive_probability
    if chance is not None:
        worse = chance_number(chance).replace("in", "of")
        worse = worse.replace("<", "fewer than ").replace(">", "more than ")
        text += f", worse by chance alone in {worse} cases"
    if agreement.worst:
        worst = max(agreement.worst, key=lambda line: abs(line.residual_sd))
        text += f"; worst {worst.oxide}, {abs(worst.residual_sd):.1f}{NO_BREAK}sd"
        text += " too high" if worst.residual_sd > 0 else " too low"
    text += "."
    if agreement.doubtful:
        text += f" Doubtful: {prose(agreement.doubtful)}."
    if not agreement.settled:
        text += " The fit had not settled: repeat with more trials before trusting the ranges."
    return text


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


def stays_block(result: Characterisation, *, full: bool = False) -> Block:
    """The iron that stays, line by line, adding up to the product's iron.

    Parameters
    ----------
    result : Characterisation
        The result. [-]
    full : bool
        Whether evidence and remedy of each line are told too. [-]

    Returns
    -------
    Block
        A table with bars; in full, a paragraph a line. [-]
    """
    lines = [line for line in result.iron_that_stays if full or _ppm_of(line) >= FEW_PPM]
    lines.sort(key=lambda line: (-_ppm_of(line), line.reason))
    total = sum(_ppm_of(line) for line in result.iron_that_stays)
    most = max((_ppm_of(line) for line in lines), default=0.0)
    columns = (
        Column("why"),
        Column("ppm", "number"),
        Column("", "bar", optional=True),
        Column("%", "number"),
        Column("carried by"),
    )
    rows = tuple(_stays_row(line, most, total) for line in lines)
    subtitle = f"ppm Fe2O3 of product, {adds_up(result)} to {_ppm(total)}"
    parts: list[Part] = [Table(columns, rows)] if rows else [Words("No line was computed.")]
    if full:
        parts += [_remedy(line) for line in lines if _ppm_of(line) > 0]
    return Block("stays", "THE IRON THAT STAYS", tuple(parts), subtitle)


def _feed_iron(result: Characterisation) -> list[Words]:
    measured = result.assay.measured_wt_pct.get("Fe2O3")
    predicted = result.assay.predicted_wt_pct.get("Fe2O3")
    fitted = result.assay.reconciled_wt_pct.get("Fe2O3")
    between = nine_in_ten(predicted, weight)
    guess = f"{weight(likely(predicted))}{NO_BREAK}%"
    if between != DASH:
        guess += f" ({between})"
    if measured is None:
        return [
            Words(
                f"Not assayed. Predicted from the minerals and the unseen iron: {guess}.",
                mark="Fe2O3",
            )
        ]
    if measured.below_detection:
        text = (
            f"below {weight(measured.value)}{NO_BREAK}% measured, so anywhere from nothing to that"
        )
    else:
        text = f"{weight(measured.value)}{NO_BREAK}% measured (sd {weight(measured.sd)})"
    text += f"; {weight(likely(fitted))}{NO_BREAK}% fitted"
    if any(note.code == "minerals-assumed" for note in result.notes):
        text += "; no minerals were found that it could be held against."
    else:
        text += f"; {guess} expected before the assay."
    return [Words(text, mark="Fe2O3")]


def _unseen(result: Characterisation) -> Words:
    iron = adding(result.assay.reconciled_wt_pct.get("Fe2O3")) or 0.0
    unseen = result.unseen_iron.Fe2O3_wt_pct
    hidden = adding(unseen) or 0.0
    text = (
        f"Named phases carry {weight(max(0.0, iron - hidden))} of {weight(iron)}{NO_BREAK}%; "
        f"{weight(hidden)}{NO_BREAK}% is unseen"
    )
    between = nine_in_ten(unseen, weight)
    if between != DASH:
        text += f" ({between})"
    text += ": stain, dust, or grains below detection"
    if result.assay.measured_wt_pct:
        text += "; only its sum with undetected oxides is well known"
    return Words(f"{text}.", mark="Unseen")


def _iron_row(result: Characterisation, phase: MineralResult) -> Row:
    lines = lines_of(result, phase.mineral)
    label = "unseen iron" if phase.mineral == UNSEEN else name(phase.mineral)
    return Row(
        (
            label,
            weight(adding(phase.mass_pct)),
            share(adding(phase.share_of_iron_pct)),
            taken_by(lines),
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
    ordered = [form for form in _FORMS if form in shares]
    ordered += sorted(set(shares) - set(_FORMS))
    return ", ".join(
        f"{_FORM_WORDS.get(form, form)}{NO_BREAK}{share(shares[form])}" for form in ordered
    )


def _ppm(value: float) -> str:
    return f"{value:.0f}" if value >= 9.95 else f"{value:.1f}"


def _ppm_of(line: StayLine) -> float:
    mean = line.mean_Fe2O3_ppm_of_product
    return line.Fe2O3_ppm_of_product if mean is None else mean


def _stays_row(line: StayLine, most: float, total: float) -> Row:
    ppm = _ppm_of(line)
    return Row(
        (
            name(line.reason),
            _ppm(ppm),
            ppm / most if most > 0 else 0.0,
            share(100.0 * ppm / total if total > 0 else 0.0),
            listing(line.carriers, 2) or DASH,
        ),
        "stays",
    )


def _remedy(line: StayLine) -> Words:
    return Words(
        f"{name(line.reason)} ({line.evidence}): {prose(line.remedy)}.",
        mark="-",
    )
