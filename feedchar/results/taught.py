"""What tests and past tests taught, as records; present only where there are some."""

from __future__ import annotations

from dataclasses import dataclass

from feedchar.uncertainty.summary import Uncertain


@dataclass(frozen=True)
class Narrowed:
    """One quantity before and after the tests."""

    quantity: str
    unit: str
    before: Uncertain
    after: Uncertain
    narrower_share: float | None
    """Part of the 5 to 95 % range that the tests took off; negative when it grew. [-]"""


@dataclass(frozen=True)
class TestedFigure:
    """One measured figure of a test beside what was said of it."""

    __test__ = False  # not a pytest class

    sample: str
    test: str
    bag: str
    product: str
    quantity: str
    """weight (share of the outlets of its step), or an oxide."""
    unit: str
    measured: float
    before: Uncertain
    after: Uncertain
    off_sd: float | None
    """(measured - after) over both errors and the stated discrepancy. [-]"""


@dataclass(frozen=True)
class LeftOut:
    """What was not counted, and why."""

    what: str
    why: str


@dataclass(frozen=True)
class TestsTaught:
    """What the tests of a sample taught of its feed and its machine."""

    __test__ = False  # not a pytest class

    tests: tuple[str, ...]
    method: str
    """weights | Metropolis"""
    effective_trials: float
    """Trials that weights alone would have left. [-]"""
    discrepancy_ln: float
    figures: tuple[TestedFigure, ...]
    machine: tuple[Narrowed, ...]
    feed: tuple[Narrowed, ...]
    product: tuple[Narrowed, ...]
    """At the setting assessed."""
    left_out: tuple[LeftOut, ...] = ()


@dataclass(frozen=True)
class PastCorrection:
    """What a library of past tests says of one quantity of the next test here."""

    quantity: str
    unit: str
    method: str
    """none | shift | Gaussian process"""
    used: bool
    why: str
    tests: int
    samples: int
    settings: int
    coverage: float | None
    """Share of the tests left out inside their own 90 % interval. [-]"""
    skill: float | None
    """1 - mean square error over that of the plain prediction, samples left out. [-]"""
    plain: Uncertain
    """As predicted without the library."""
    corrected: Uncertain | None
    """Median and 90 % interval of the next test; None where the library is not used."""


@dataclass(frozen=True)
class PastTests:
    """The library and what it says here."""

    corrections: tuple[PastCorrection, ...]
    chance_of_iron_limit: float | None
    """That a next test meets the limit for Fe2O3 by the corrected figure; None where there is no
    limit, or nothing is corrected. [-]"""
    note: str
