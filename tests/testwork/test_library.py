"""A library of past tests corrects where samples left out are foretold better, and only there."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from feedchar.errors import InputError
from feedchar.testwork.library import NONE, PROCESS, SHIFT, correction, shrunk_shift
from feedchar.testwork.past_tests import (
    FEATURES,
    PRODUCT,
    PastTest,
    once,
    past_test_text,
    read_library,
    read_past_test,
)


def past(k, remainder, speed=1.5, iron=-2.0, sample=None):
    features = (iron, -3.0, -3.5, speed, 10.0, 5.3, 0.1, 0.01)
    return PastTest(
        sample or f"sand {k}", "run", f"{k:064d}", "permanent-roll", "fine-100", features,
        {PRODUCT: -3.0 + remainder}, {PRODUCT: -3.0},
    )  # fmt: skip


ASKED = past(0, 0.0).features


def test_few_tests_with_one_bias_are_shifted_less_than_they_say():
    random = np.random.default_rng(2)
    rows = [past(k, 0.4 + 0.05 * random.standard_normal()) for k in range(5)]
    found = correction(rows, PRODUCT, ASKED)
    assert (found.method, found.used) == (SHIFT, True)
    assert 0.25 < found.shift_ln < 0.4
    assert found.skill > 0.5
    assert found.coverage == 1.0


def test_a_library_without_a_bias_changes_nothing():
    """Forty libraries of pure noise: a correction is used in few of them, and is small there."""
    used = []
    for seed in range(40):
        random = np.random.default_rng(seed)
        rows = [past(k, 0.2 * random.standard_normal()) for k in range(6)]
        found = correction(rows, PRODUCT, ASKED)
        used.append(found.used)
        if not found.used:
            assert found.shift_ln == 0.0
            assert "beyond chance" in found.why
    assert sum(used) <= 4


def test_two_samples_are_too_few_however_often_they_were_run():
    rows = [past(k, 0.5, sample=f"sand {k % 2}") for k in range(12)]
    found = correction(rows, PRODUCT, ASKED)
    assert (found.method, found.used) == (NONE, False)
    assert (found.tests, found.samples) == (12, 2)
    assert "fewer than 3 samples" in found.why


def test_a_bias_that_grows_with_speed_is_learned_by_a_process():
    random = np.random.default_rng(4)
    speeds = [1.0, 1.5, 2.0, 2.5]
    rows = [
        past(k, 0.8 * (speeds[k % 4] - 1.75) + 0.04 * random.standard_normal(), speeds[k % 4])
        for k in range(24)
    ]
    slow = correction(rows, PRODUCT, past(0, 0.0, 1.0).features)
    fast = correction(rows, PRODUCT, past(0, 0.0, 2.5).features)
    assert slow.method == fast.method == PROCESS
    assert slow.used
    assert slow.shift_ln == pytest.approx(-0.6, abs=0.1)
    assert fast.shift_ln == pytest.approx(0.6, abs=0.1)
    assert slow.skill > 0.8
    assert 0.8 <= slow.coverage <= 1.0


def test_far_from_all_past_tests_a_process_says_little():
    speeds = [1.0, 1.5, 2.0, 2.5]
    rows = [past(k, 0.8 * (speeds[k % 4] - 1.75), speeds[k % 4]) for k in range(24)]
    near = correction(rows, PRODUCT, past(0, 0.0, 1.0).features)
    far = correction(rows, PRODUCT, past(0, 0.0, 12.0).features)
    assert far.sd_ln > 2.0 * near.sd_ln


def test_the_shift_is_the_closed_form_of_a_normal_prior():
    shift, sd = shrunk_shift(np.array([0.5, 0.5, 0.5]), np.array([0, 0, 0]))
    scatter = 2.0 * 0.25**2 / 2.0
    assert shift == pytest.approx(0.5 * 0.09 / (0.09 + scatter))
    assert sd == pytest.approx(math.sqrt(scatter + 0.09 * scatter / (0.09 + scatter)))


def test_a_folder_reads_back_and_holds_each_test_once(tmp_path):
    rows = [past(k, 0.1 * k) for k in range(3)]
    for k, test in enumerate([*rows, rows[0]]):
        (tmp_path / f"{9 - k}.toml").write_text(past_test_text(test), encoding="utf-8")
    (tmp_path / "notes.txt").write_text("mine", encoding="utf-8")
    read = read_library(str(tmp_path))
    assert [test.sha256 for test in read] == [test.sha256 for test in once(rows)]
    assert read[1].measured[PRODUCT] == pytest.approx(rows[1].measured[PRODUCT])
    assert dict(zip(FEATURES, read[1].features, strict=True))["belt_speed_m_s"] == 1.5


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("version = 1", "version = 3", "version"),
        ("belt_speed_m_s = 1.5", "belt_speed_m_s = 1.6", "checksum"),
        ('format = "feedchar-past-test"', 'format = "other"', "no past test"),
    ],
)
def test_a_changed_test_is_refused_by_the_name_of_its_file(tmp_path, old, new, words):
    path = tmp_path / "one.toml"
    path.write_text(past_test_text(past(1, 0.2)).replace(old, new), encoding="utf-8")
    with pytest.raises(InputError, match=words) as caught:
        read_past_test(str(path))
    assert "one.toml" in str(caught.value)


def test_no_folder_and_an_empty_one_are_refused(tmp_path):
    with pytest.raises(InputError, match="no folder"):
        read_library(str(tmp_path / "none"))
    with pytest.raises(InputError, match="no past test"):
        read_library(str(tmp_path))


def test_names_that_cannot_be_seen_are_kept_and_harmless(tmp_path):
    odd = replace(past(1, 0.2), sample='a"\\\n\x1b\u202e\U0001f600', test="\ud800")
    path = tmp_path / "one.toml"
    path.write_text(past_test_text(odd), encoding="utf-8")
    read = read_past_test(str(path))
    assert read.sample == odd.sample
    assert read.test == "\ufffd"
