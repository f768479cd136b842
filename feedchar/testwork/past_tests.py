"""A library of past tests: a folder of sealed TOML files, one for each test, each once."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import islice
from math import isfinite
from pathlib import Path

from feedchar.errors import InputError
from feedchar.sample.shown import file_label
from feedchar.testwork.sealed_file import damaged, sealed, unsealed
from feedchar.testwork.toml_text import toml_number, toml_string

FORMAT, VERSION = "feedchar-past-test", 1
MOST_TESTS = 2000
"""More files are no library of one laboratory. [-]"""
FEATURES = (
    "ln_feed_Fe2O3_wt_pct",
    "ln_product_Fe2O3_wt_pct",
    "ln_odds_magnetics",
    "belt_speed_m_s",
    "splitter_mm",
    "ln_d50_um",
    "below_125_um",
    "flakes",
)
"""What feed and setting are known by; product and magnetics as predicted, shares 0 to 1."""
PRODUCT, MAGNETICS = "product Fe2O3", "magnetics"
QUANTITIES = (PRODUCT, MAGNETICS)
"""Compared as logarithm of the assay, and of the odds of the share."""
_WHAT, _REMEDY = "past test", "Take it out of the folder, and add the test anew with calibrate"


@dataclass(frozen=True)
class PastTest:
    """One step on a roll, as foretold without any test and as measured."""

    sample: str
    test: str
    sha256: str
    machine: str
    roll: str
    features: tuple[float, ...]
    """In the order of FEATURES."""
    measured: dict[str, float]
    """By quantity, on the scale on which it is compared; what was not measured is absent."""
    predicted: dict[str, float]
    """Median of the trials, on the same scale."""

    @property
    def setting(self) -> tuple[float, float]:
        """Speed and edge, which tell settings apart. [m s⁻¹, mm]"""
        return (
            self.features[FEATURES.index("belt_speed_m_s")],
            self.features[FEATURES.index("splitter_mm")],
        )


def past_test_text(test: PastTest) -> str:
    """Text of the file of one test.

    Parameters
    ----------
    test : PastTest
        The test. [-]

    Returns
    -------
    str
        Sealed TOML. [-]

    References
    ----------
    Definition.
    """
    lines = [
        "# A past test; feedchar reads the folder with --library.",
        f'format = "{FORMAT}"',
        f"version = {VERSION}",
        f"sample = {toml_string(test.sample)}",
        f"test = {toml_string(test.test)}",
        f"sha256 = {toml_string(test.sha256)}",
        f"machine = {toml_string(test.machine)}",
        f"roll = {toml_string(test.roll)}",
        "",
        "[features]",
        *(
            f"{name} = {toml_number(value)}"
            for name, value in zip(FEATURES, test.features, strict=True)
        ),
    ]
    for heading, values in (("measured", test.measured), ("predicted", test.predicted)):
        lines += ["", "# Logarithm of wt %, and of the odds of a share.", f"[{heading}]"]
        lines += [f'"{name}" = {toml_number(value)}' for name, value in sorted(values.items())]
    return sealed(lines)


def read_past_test(path: str) -> PastTest:
    """Read one test of a library.

    Parameters
    ----------
    path : str
        Its file. [-]

    Returns
    -------
    PastTest
        As written. [-]

    Raises
    ------
    InputError
        Another format or version, or a file that was changed or cut.

    References
    ----------
    Definition.
    """
    data = unsealed(path, FORMAT, VERSION, _WHAT, _REMEDY)
    try:
        made = PastTest(
            sample=str(data["sample"]),
            test=str(data["test"]),
            sha256=str(data["sha256"]),
            machine=str(data["machine"]),
            roll=str(data["roll"]),
            features=tuple(float(data["features"][name]) for name in FEATURES),
            measured={str(name): float(value) for name, value in data["measured"].items()},
            predicted={str(name): float(value) for name, value in data["predicted"].items()},
        )
    except (KeyError, TypeError, ValueError, OverflowError, AttributeError):
        raise damaged(path, _WHAT, _REMEDY) from None
    numbers = (*made.features, *made.measured.values(), *made.predicted.values())
    if not all(map(isfinite, numbers)) or not set(made.measured) <= set(made.predicted):
        raise damaged(path, _WHAT, _REMEDY)
    return made


def read_library(folder: str) -> tuple[PastTest, ...]:
    """All tests of a library.

    Parameters
    ----------
    folder : str
        Folder of files that end in .toml. [-]

    Returns
    -------
    tuple of PastTest
        Each once, sorted by checksum. [-]

    Raises
    ------
    InputError
        No folder, nothing in it, too much in it, or a file that cannot be used.

    References
    ----------
    Definition.
    """
    place = Path(folder)
    label = file_label(place)
    try:
        tests = (path for path in place.iterdir() if path.suffix == ".toml")
        files = sorted(islice(tests, MOST_TESTS + 1))
    except (OSError, ValueError):
        problem = "is no folder, or cannot be read"
        remedy = "A library is made by calibrate --library"
        raise InputError(problem, file=label, remedy=remedy) from None
    if not files:
        problem = "holds no past test"
        raise InputError(problem, file=label, remedy="Add tests with calibrate --library")
    if len(files) > MOST_TESTS:
        problem = f"holds more than {MOST_TESTS} files that end in .toml"
        remedy = "Give a folder of past tests alone"
        raise InputError(problem, file=label, remedy=remedy)
    return once(read_past_test(str(path)) for path in files)


def once(tests: Iterable[PastTest]) -> tuple[PastTest, ...]:
    """Each test once, in an order that does not depend on names of files.

    Parameters
    ----------
    tests : iterable of PastTest
        In any order. [-]

    Returns
    -------
    tuple of PastTest
        Sorted by checksum. [-]

    References
    ----------
    Definition.
    """
    found = {test.sha256: test for test in tests}
    return tuple(found[key] for key in sorted(found))
