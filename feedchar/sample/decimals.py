"""Point or comma: what a whole table says of its decimal mark.

`0,05` is understood when every number of the table agrees, and refused with both readings when
not. A lone `1,234` or `1.234` says nothing by itself: it may hold a decimal mark or mark thousands.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass

# What a spreadsheet writes between groups of three: no-break space and narrow no-break space.
GROUP_SPACES = "\u00a0\u202f"

_SPLIT = re.compile(
    r"(?P<sign>[+-]?)(?P<body>[0-9.,\u00a0\u202f]*[0-9][0-9.,\u00a0\u202f]*)"
    r"(?P<exponent>[eE][+-]?[0-9]{1,4})?",
    re.ASCII,
)
_AROUND = re.compile(r"<?\s*(?P<number>\S.*?)\s*(%|um|µm|μm|mm)?")


@dataclass(frozen=True)
class DecimalMark:
    """The decimal mark of a table: "." or ",", or None where nothing decides it.

    `points_are_plain` tells that a lone `1.234` can only be a decimal, as in a table separated
    by commas.
    """

    mark: str | None = None
    points_are_plain: bool = True


POINT = DecimalMark(".")
"""The mark of files in which it is fixed by the format, such as TOML."""


def _grouped(body: str, group: str) -> bool:
    return re.fullmatch(rf"[0-9]{{1,3}}([{group}][0-9]{{3}})+", body) is not None


def _marks(body: str) -> tuple[set[str], bool]:
    """Decimal marks under which `body` is a number, and whether it speaks for them."""
    marks = [c for c in body if c in ".,"]
    if not marks:
        return {".", ","}, False
    first, last = marks[0], marks[-1]
    other = "," if last == "." else "."
    if first != last:
        whole = body.rpartition(last)[0]
        fine = marks.count(last) == 1 and _grouped(whole, re.escape(other))
        return ({last} if fine else set()), True
    if len(marks) > 1:
        return ({other} if _grouped(body, re.escape(last)) else set()), True
    if re.fullmatch(r"[1-9][0-9]{0,2}[.,][0-9]{3}", body):
        return {".", ","}, False
    return {last}, True


def _split(text: str) -> tuple[str, str, str] | None:
    match = _SPLIT.fullmatch(text)
    if match is None:
        return None
    body = match["body"]
    for space in GROUP_SPACES:
        if space in body:
            whole = re.split(r"[.,]", body)[0]
            if not _grouped(whole, space) or space in body[len(whole) :]:
                return None
            body = body.replace(space, "")
    return match["sign"], body, match["exponent"] or ""


def numeral_readings(text: str, mark: DecimalMark) -> list[float]:
    """All numbers that a text can stand for, the likelier first.

    Parameters
    ----------
    text : str
        Digits with marks, sign and exponent; no unit. [-]
    mark : DecimalMark
        What the whole table says. [-]

    Returns
    -------
    list of float
        Nothing when it is not a number, two where it can be read two ways. [-]
    """
    parts = _split(text)
    if parts is None:
        return []
    sign, body, exponent = parts
    possible, speaks = _marks(body)
    if not possible:
        return []

    if "." not in body and "," not in body:
        return [float(sign + body + exponent)]

    def reading(decimal: str) -> list[float]:
        plain = body.replace("," if decimal == "." else ".", "").replace(decimal, ".")
        return [float(sign + plain + exponent)] if plain.count(".") <= 1 else []

    if speaks:
        (decimal,) = possible
        agreed = mark.mark in (None, decimal)
        both = reading(decimal) if agreed else reading(decimal) + reading(mark.mark or ".")
        return list(dict.fromkeys(both))
    written = body[-4]
    if mark.mark == written or (mark.mark is None and written == "." and mark.points_are_plain):
        return reading(written)
    return reading(written) + reading("," if written == "." else ".")


def decimal_mark(texts: Iterable[str], separator: str) -> DecimalMark:
    """What the number cells of a table say together: the first that speaks decides.

    A later cell that contradicts it is refused where it stands, with both readings.

    Parameters
    ----------
    texts : iterable of str
        Text cells of the number columns, in reading order. [-]
    separator : str
        What stands between cells, "" in a workbook. [-]

    Returns
    -------
    DecimalMark
        The mark, None where no cell decides it. [-]
    """
    for text in texts:
        match = _AROUND.fullmatch(text.strip())
        parts = _split(match["number"]) if match else None
        if parts is not None:
            possible, speaks = _marks(parts[1])
            if speaks and len(possible) == 1:
                return DecimalMark(possible.pop())
    return DecimalMark(points_are_plain=separator != ";")
