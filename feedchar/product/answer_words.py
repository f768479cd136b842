"""The answer in a sentence: what is likely, and which condition decides."""

from __future__ import annotations

from feedchar.chemistry.mineralogy import Mineralogy
from feedchar.product.limit_rows import UNKNOWN, LimitRow
from feedchar.uncertainty.summary import LIKELY_FROM, UNLIKELY_TO

AGREEMENT = "disagreement"
"""Code of the note on the fit; any other that stops is a rule of the trade."""


_BEGUN = {
    "meets": "Likely to meet", "fails": "Unlikely to meet", "uncertain": "Open whether it meets",
}  # fmt: skip


def in_100(chance: float) -> str:
    """A chance in plain words, never 0 or 100 in 100.

    Parameters
    ----------
    chance : float
        0 to 1. [-]

    Returns
    -------
    str
        Such as `about 44 in 100`, with decimals where rounding would contradict the status. [-]

    References
    ----------
    common practice, no source
    """
    if not 0.005 < chance < 0.995:
        return f"{'more than 99' if chance > 0.5 else 'fewer than 1'} in 100"
    for decimals in range(5):
        told = f"{100.0 * chance:.{decimals}f}"
        if standing(float(told) / 100.0) == standing(chance):
            break
    return f"about {told} in 100"


def standing(chance: float) -> str:
    """Status of an answer whose chance is known.

    Parameters
    ----------
    chance : float
        Chance that everything asked is met. [-]

    Returns
    -------
    str
        meets, fails or uncertain. [-]

    References
    ----------
    common practice, no source (0.90 and 0.10)
    """
    return "meets" if chance >= LIKELY_FROM else "fails" if chance <= UNLIKELY_TO else "uncertain"


def _what(row: LimitRow) -> str:
    bound = "at most" if row.bound == "max" else "at least"
    if row.quantity == "yield":
        return f"a yield of {bound} {row.asked:g} % of the dry bag"
    if row.quantity == "specks":
        return f"{bound} {row.asked:g} dark grains above 250 um in 100 g"
    return f"{bound} {row.asked:g} % {row.quantity}"


def sentence_of(
    status: str, chance: float | None, rows: tuple[LimitRow, ...], mineralogy: Mineralogy
) -> str:
    """The answer as one or two plain sentences.

    Parameters
    ----------
    status : str
        One of STATUSES. [-]
    chance : float or None
        Joint chance. [-]
    rows : tuple of LimitRow
        What is asked. [-]
    mineralogy : Mineralogy
        For the datum to doubt. [-]

    Returns
    -------
    str
        Text for the reader. [-]

    References
    ----------
    common practice, no source
    """
    if status == "data disagree":
        doubt = mineralogy.agreement.doubtful
        broken = [n.text for n in mineralogy.notes if n.severity == "stop" and n.code != AGREEMENT]
        if broken:
            tail = f" Settle first: {broken[0]}."
        else:
            tail = f" Doubt first: {doubt}." if doubt else ""
        return f"The data of the feed disagree beyond 4 sd, so no chance is given.{tail}"
    if status == "assay needed":
        return (
            "Too much of the iron of this feed is unseen, or there is too little of it, to answer "
            "without an assay: have Fe2O3 of the dry bag determined."
        )
    if status == "no limit given":
        return "No limit was given; what the product is likely to be is shown below."
    known = [row for row in rows if row.value is not UNKNOWN]
    unknown = [row.quantity for row in rows if row.value is UNKNOWN]
    wish = ", ".join(_what(row) for row in (known or rows))
    caveat = (
        f" Left out: {', '.join(unknown)}, which nothing listed carries: only an assay of the "
        "product can tell."
        if unknown
        else ""
    )
    if chance is None and not known:
        return f"Nothing that is asked is known of this feed.{caveat}"
    if chance is None:
        met = "meets" if all(row.typical_meets for row in known) else "does not meet"
        return f"The typical case {met} {wish}; no trials were run, so no chance is given.{caveat}"
    partly = status == "uncertain" and chance >= LIKELY_FROM
    begun = "What is known is likely to meet" if partly else _BEGUN[status]
    text = f"{begun} {wish}: {in_100(chance)}, for the mean of this bag."
    worst = min(rows, key=lambda row: 1.0 if row.chance is None else row.chance)
    if chance < LIKELY_FROM and len(known) > 1 and worst.chance is not None:
        text += f" What decides is {_what(worst)} ({in_100(worst.chance)} by itself)."
    return text + caveat
