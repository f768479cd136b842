"""A plot in text: the range of a quantity on a logarithmic axis, readable without colour."""

from __future__ import annotations

from math import ceil, floor, log10

from feedchar.report.words import NO_BREAK

PER_DECADE = 6
LEAST, MEAN, GREATEST, BETWEEN = "[", "o", "]", "-"
MOST_DECADES = 5


def decades(smallest: float, largest: float) -> tuple[int, int]:
    """Whole powers of ten around some values, the largest five at most.

    Parameters
    ----------
    smallest, largest : float
        Ends of the values, above 0. [any]

    Returns
    -------
    tuple of int
        First and last power of ten. [-]
    """
    last = ceil(log10(largest))
    first = min(floor(log10(smallest)), last - 1)
    return max(first, last - MOST_DECADES), last


def axis(powers: tuple[int, int]) -> str:
    """Heading of a column of ranges: each power of ten where it stands.

    Parameters
    ----------
    powers : tuple of int
        First and last power of ten. [-]

    Returns
    -------
    str
        Such as "1     10    100"; its spaces do not break. [-]
    """
    marks = [_power(power) for power in range(powers[0], powers[1])]
    text = "".join(mark.ljust(PER_DECADE) for mark in marks) + _power(powers[1])
    return text.replace(" ", NO_BREAK)


def span(least: float, mean: float, greatest: float, powers: tuple[int, int]) -> str:
    """One range on the axis: [ least, o mean, ] greatest.

    Parameters
    ----------
    least, mean, greatest : float
        The range; what lies below the axis stands at its start. [any]
    powers : tuple of int
        First and last power of ten. [-]

    Returns
    -------
    str
        Characters whose place is the value; its spaces do not break. [-]
    """
    low, middle, high = (_place(value, powers) for value in (least, mean, greatest))
    cells = [" "] * (PER_DECADE * (powers[1] - powers[0]) + 1)
    cells[low : high + 1] = BETWEEN * (high + 1 - low)
    cells[low], cells[high] = LEAST, GREATEST
    cells[middle] = MEAN  # last, so that the mean shows where the three fall together
    return "".join(cells).rstrip().replace(" ", NO_BREAK)


def _place(value: float, powers: tuple[int, int]) -> int:
    first, last = powers
    if value <= 10.0**first:
        return 0
    return min(round(PER_DECADE * (log10(value) - first)), PER_DECADE * (last - first))


def _power(power: int) -> str:
    """A power of ten in at most PER_DECADE - 1 characters."""
    if power > 4 or power < -2:
        return f"1e{power}"
    return f"{10**power}" if power >= 0 else f"{10.0**power:.{-power}f}"
