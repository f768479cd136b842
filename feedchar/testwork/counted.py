"""Which test a test is: a checksum of its weights, settings and assays, so that none counts twice.

Names of files and samples, operators and dates do not enter: the same figures under another name
are the same test.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from feedchar.errors import InputError
from feedchar.sample.names import fold
from feedchar.sample.records import Determination, TestBag
from feedchar.sample.shown import shown

_BAG_FIELDS = (
    "step", "repeat", "machine", "from_bag", "bag", "product", "mass_g", "belt_speed_m_s",
    "splitter_m", "splitter_2_m", "feed_kg_h", "belt_width_m", "current_a", "side_slope_deg",
    "feed_temperature_c", "roll_temperature_c", "passing_um", "retained_um",
)  # fmt: skip
_ASSAY_FIELDS = (
    "bag", "passing_um", "retained_um", "oxide", "value", "below_detection", "repeat_of",
    "repeat_kind",
)  # fmt: skip


@dataclass(frozen=True)
class CountedTest:
    """A test that has been counted."""

    sample: str
    test: str
    sha256: str


def checksum(bags: Iterable[TestBag], determinations: Iterable[Determination]) -> str:
    """Checksum of one test, the same in any order of rows.

    Parameters
    ----------
    bags : iterable of TestBag
        Its weighed bags. [-]
    determinations : iterable of Determination
        Assays, of which those of its bags are taken. [-]

    Returns
    -------
    str
        SHA-256 in hexadecimal. [-]

    References
    ----------
    Definition; FIPS 180-4 (from memory).
    """
    rows = list(bags)
    names = {fold(row.bag) for row in rows}
    lines = [_line(row, _BAG_FIELDS) for row in rows]
    lines += [_line(row, _ASSAY_FIELDS) for row in determinations if fold(row.bag) in names]
    return hashlib.sha256("\n".join(sorted(lines)).encode(errors="replace")).hexdigest()


def counted_tests(
    sample: str, bags: Sequence[TestBag], determinations: Sequence[Determination]
) -> tuple[CountedTest, ...]:
    """The tests of a sample with their checksums, by name.

    Parameters
    ----------
    sample : str
        Name of the sample. [-]
    bags : sequence of TestBag
        All its weighed bags. [-]
    determinations : sequence of Determination
        All its assays. [-]

    Returns
    -------
    tuple of CountedTest
        Sorted by name of the test. [-]

    References
    ----------
    Definition.
    """
    named = sorted({row.test for row in bags})
    return tuple(
        CountedTest(sample, name, checksum([b for b in bags if b.test == name], determinations))
        for name in named
    )


def refuse_twice(new: Sequence[CountedTest], counted: Sequence[CountedTest], where: str) -> None:
    """Refuse a test that has been counted.

    Parameters
    ----------
    new : sequence of CountedTest
        Tests to be counted, in the order in which they were given. [-]
    counted : sequence of CountedTest
        Tests that have been. [-]
    where : str
        What holds the counted ones, for the message. [-]

    Raises
    ------
    InputError
        A test with the same figures, or with the same names and other figures.

    References
    ----------
    Bayes' rule: the same datum enters once (derived).
    """
    seen: list[tuple[CountedTest, str]] = [(one, where) for one in counted]
    for test in new:
        for old, place in seen:
            if old.sha256 == test.sha256:
                problem = (
                    f"the test {shown(test.test)} of {shown(test.sample)} is already counted in "
                    f"{place}, as {shown(old.test)} of {shown(old.sample)}"
                )
                raise InputError(problem, remedy="A test counts once; leave this sample out")
            if (fold(old.sample), fold(old.test)) == (fold(test.sample), fold(test.test)):
                problem = (
                    f"the test {shown(test.test)} of {shown(test.sample)} is already counted in "
                    f"{place} with other figures"
                )
                raise InputError(
                    problem, remedy="Calibrate anew from the corrected files, or name it otherwise"
                )
        seen.append((test, "this run"))


def _line(record: object, names: tuple[str, ...]) -> str:
    return "\x1f".join(f"{name}={_text(getattr(record, name))}" for name in names)


def _text(value: object) -> str:
    if isinstance(value, bool) or value is None:
        return repr(value)
    if isinstance(value, float):
        return f"{value:.9g}"
    return fold(str(value))
