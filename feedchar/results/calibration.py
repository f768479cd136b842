"""What tests of one or several samples taught of one machine, as records."""

from __future__ import annotations

from dataclasses import dataclass

from feedchar.results.characterisation import InputFiles
from feedchar.results.taught import LeftOut, Narrowed, TestedFigure
from feedchar.sample.records import Note


@dataclass(frozen=True)
class TestCounted:
    """A test by its names and the checksum of its figures."""

    __test__ = False  # not a pytest class

    sample: str
    test: str
    sha256: str


@dataclass(frozen=True)
class CalibrationUsed:
    """A calibration as another command used it, with the machine in the middle of its draws."""

    source: str
    """Its tests in words."""
    machine: str
    """permanent-roll | induced-roll; empty where not said"""
    roll: str
    tests: int
    """How many tests it rests on."""
    missed_share: float
    """Mean; the others are medians."""
    carried_share: float
    pull_factor: float
    """Multiplies the pull that the construction gives."""
    adhesion_N: float


@dataclass(frozen=True)
class CalibrationResult:
    """A machine before and after its tests."""

    command: str
    seed: int
    trials: int
    input: tuple[InputFiles, ...]
    machine: str
    """permanent-roll | induced-roll"""
    roll: str
    tests: tuple[TestCounted, ...]
    """Counted now."""
    counted_before: tuple[TestCounted, ...]
    """Counted in the calibration that this one goes on from."""
    method: str
    """weights | Metropolis"""
    effective_trials: float
    """Trials that weights alone would have left. [-]"""
    discrepancy_ln: float
    parameters: tuple[Narrowed, ...]
    figures: tuple[TestedFigure, ...]
    left_out: tuple[LeftOut, ...]
    notes: tuple[Note, ...]
