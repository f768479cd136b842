"""Whether minerals and assay agree, and what is unseen."""

from __future__ import annotations

from feedchar.report.blocks import Block, Words
from feedchar.report.numbers import DASH, chance_number, weight
from feedchar.report.readings import (
    adding,
    likely,
    nine_in_ten,
)
from feedchar.report.words import NO_BREAK, prose
from feedchar.results import AgreementResult, Characterisation


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
