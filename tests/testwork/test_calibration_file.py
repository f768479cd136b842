"""The file of a calibration: read as written, refused when changed, no test counted twice."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from feedchar.errors import InputError
from feedchar.sample.records import Determination, TestBag
from feedchar.separation.parameters import draw_parameters
from feedchar.testwork.calibration_file import (
    MOST_DRAWS,
    CalibrationFile,
    calibration_text,
    read_calibration,
    source_words,
)
from feedchar.testwork.counted import CountedTest, checksum, counted_tests, refuse_twice
from feedchar.testwork.scores import calibration_of, draw_scores

TESTS = (CountedTest('GS "05"\n\u202e', "speed 1", "a" * 64), CountedTest("GS", "2", "b" * 64))


@pytest.fixture
def made() -> CalibrationFile:
    prior = calibration_of(draw_scores(1000, 1))
    after = calibration_of(0.5 * draw_scores(1000, 2) + 0.3)
    after = replace(after, machine="permanent-roll", roll="fine-100")
    return CalibrationFile(TESTS, after, prior, "weights", 431.2, 0.15)


def bag(name, product, mass, **more):
    given = {"test": "t 1", "step": None, "repeat": None, "machine": None, "from_bag": None}
    return TestBag(**(given | {"bag": name, "product": product, "mass_g": mass} | more))


def test_a_file_reads_back_as_it_was_written(made, tmp_path):
    path = tmp_path / "machine.toml"
    path.write_text(calibration_text(made), encoding="utf-8")
    read = read_calibration(str(path))
    assert [test.sha256 for test in read.tests] == ["a" * 64, "b" * 64]
    assert read.tests[0].sample == TESTS[0].sample
    assert read.calibration.machine == "permanent-roll"
    assert read.calibration.tests == ("a" * 64, "b" * 64)
    assert len(read.calibration.bypass) == MOST_DRAWS
    drawn = draw_parameters(4000, 1, read.calibration)
    assert drawn.pull_factor[1:].mean() == pytest.approx(made.calibration.pull_factor.mean(), 0.02)
    assert calibration_text(made) == calibration_text(made)


def test_the_four_figures_of_a_machine_stay_together(made, tmp_path):
    path = tmp_path / "machine.toml"
    after = replace(made.calibration, adhesion_N=1e-7 * made.calibration.pull_factor)
    path.write_text(calibration_text(replace(made, calibration=after)), encoding="utf-8")
    read = read_calibration(str(path)).calibration
    assert read.adhesion_N == pytest.approx(1e-7 * read.pull_factor, rel=1e-5)


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("version = 1", "version = 2", "this feedchar reads version 1"),
        ('format = "feedchar-calibration"', 'format = "else"', "is no calibration"),
        ("discrepancy_ln = 0.15", "discrepancy_ln = 0.05", "checksum does not fit"),
        ("[draws]", "[draws", "not TOML"),
        ("[end]", "[ending]", "checksum does not fit"),
    ],
)
def test_a_changed_or_foreign_file_is_refused_by_name(made, tmp_path, old, new, words):
    path = tmp_path / "machine.toml"
    path.write_text(calibration_text(made).replace(old, new), encoding="utf-8")
    with pytest.raises(InputError, match=words) as caught:
        read_calibration(str(path))
    assert str(caught.value).startswith("machine.toml: ")


def test_every_shortened_file_is_refused(made, tmp_path):
    text = calibration_text(made)
    path = tmp_path / "machine.toml"
    for end in np.linspace(0, len(text) - 2, 40).astype(int):
        path.write_text(text[:end], encoding="utf-8")
        with pytest.raises(InputError):
            read_calibration(str(path))


def test_a_missing_file_is_refused(tmp_path):
    with pytest.raises(InputError):
        read_calibration(str(tmp_path / "none.toml"))


def test_a_test_is_known_by_its_figures_not_by_its_names_or_its_order():
    bags = [bag("1M", "magnetics", 60.0), bag("1N", "non-magnetics", 1900.0)]
    assays = [Determination("1N", None, None, "Fe2O3", 0.05, False),
              Determination("feed", None, None, "Fe2O3", 0.15, False)]  # fmt: skip
    first = checksum(bags, assays)
    assert checksum(bags[::-1], assays[::-1]) == first
    assert checksum(bags, assays[:1]) == first
    renamed = [replace(one, test="other", operator="me", date="2024-01-01") for one in bags]
    assert checksum(renamed, assays) == first
    assert checksum([replace(bags[0], mass_g=61.0), bags[1]], assays) != first
    assert checksum(bags, [replace(assays[0], value=0.06)]) != first
    assert [one.test for one in counted_tests("GS", bags[::-1], assays)] == ["t 1"]


def test_a_test_counts_once():
    one = CountedTest("GS", "speed 1", "c" * 64)
    refuse_twice([one], TESTS, "machine.toml")
    with pytest.raises(InputError, match=r"already counted in machine\.toml"):
        refuse_twice([replace(one, sha256="a" * 64)], TESTS, "machine.toml")
    with pytest.raises(InputError, match="already counted in this run"):
        refuse_twice([one, replace(one, sample="twin")], (), "machine.toml")
    with pytest.raises(InputError, match="with other figures"):
        refuse_twice([CountedTest("gs", "2", "d" * 64)], TESTS, "machine.toml")


def test_tests_are_told_in_words():
    assert source_words(TESTS[1:]) == "1 test of GS"
    assert source_words([CountedTest(name, "t", "") for name in "abcd"]) == (
        "4 tests of a, b, c and others"
    )
