"""Rules 1, 11, 14 and 15 of the trade, tripped by the weighed bags of an invented test."""

from __future__ import annotations

import re
import shutil

import pytest

from feedchar import characterise, read_sample
from feedchar.assembly.rules_of_tests import runs_of
from feedchar.field.rolls import read_roll
from feedchar.field.setting import Pass, Setting
from feedchar.tables.locate import examples_folder

ONE_PASS = Setting(roll=read_roll("fine-100"), passes=(Pass(1.5, 0.010),))


def notes_of(folder):
    result = characterise(read_sample(str(folder)), ONE_PASS, trials=20)
    return {(n.code, n.severity): n.text for n in result.notes if n.code.startswith("sanity-")}


@pytest.fixture
def changed(tmp_path):
    """The example with other masses for some of its bags."""

    def made(diagnostics="", **mass_g):
        folder = tmp_path / "tested"
        shutil.rmtree(folder, ignore_errors=True)
        shutil.copytree(examples_folder() / "test_result", folder)
        path = folder / "tests.csv"
        text = path.read_text()
        for bag, mass in mass_g.items():
            text, times = re.subn(
                rf",{bag[1:]},([a-z-]+),[0-9.]+,", rf",{bag[1:]},\1,{mass},", text
            )
            assert times == 1, bag
        path.write_text(text)
        if diagnostics:
            heading = "treatment,mass_in_g,mass_out_g,Fe2O3_in_wt_pct,Fe2O3_out_wt_pct\n"
            (folder / "diagnostics.csv").write_text(heading + diagnostics)
        return folder

    return made


def test_a_sound_test_trips_none_of_them():
    folder = examples_folder() / "test_result"
    assert not {"sanity-1", "sanity-11", "sanity-14", "sanity-15"} & {
        c for c, _ in notes_of(folder)
    }
    runs = runs_of(read_sample(str(folder)).tests)
    assert [run.magnetics_pct for run in runs] == pytest.approx([3.688, 2.506, 2.353], abs=0.001)


def test_more_magnetics_at_the_faster_belt_are_swapped_labels_or_overfeeding(changed):
    # 3.7 % at 2 m/s after 2.51 % at 1.5 m/s; sd 0.12 and 0.10: beyond 4 sd.
    folder = changed(b3M=75.0)
    text = notes_of(folder)["sanity-14", "stop"]
    assert text.startswith("test speed 3: 3.7 % magnetics at the faster belt, 2.51 % at the")
    assert ("sanity-14", "warning") in notes_of(changed(b3M=58.0))


def test_a_reject_richer_than_its_minerals_is_a_wrong_weight_or_assay(changed):
    # 0.159 in, far less in 99.9 %: more than pure iron oxide in what is left.
    folder = changed(b1M=1.0, b1D=0.4, b1U=0.1)
    text = next(text for (code, _), text in notes_of(folder).items() if code == "sanity-1")
    assert text.startswith("test speed 1: the balance puts 1")


def test_less_pulled_than_counted_and_far_more_are_both_told(changed):
    assert "less than counted" in notes_of(changed(b1M=1.0, b1D=1.0))["sanity-11", "warning"]
    assert "mostly sand" in notes_of(changed(b1M=400, b1D=1.0))["sanity-11", "warning"]


def test_a_product_cleaner_than_its_own_clear_grains_is_an_error(changed):
    # 0.025 in the product, 0.08 in the grains picked from it.
    folder = changed(diagnostics="hand-picked clear grains,2,,,0.08\n")
    text = notes_of(folder)["sanity-15", "stop"]
    assert "test speed 3: product 0.025 % Fe2O3 lies below its own clear grains, 0.08 %" in text


def test_a_limit_below_detection_cannot_be_decided(tmp_path):
    folder = tmp_path / "low"
    folder.mkdir()
    (folder / "minerals.csv").write_text("mineral,mass_pct\nquartz,99.9\nk-feldspar,0.1\n")
    toml = '[assay]\nFe2O3 = "<0.02"\n[limit]\nFe2O3_max_pct = 0.015\n'
    (folder / "sample.toml").write_text(toml)
    assert "at or below detection (0.02 %)" in notes_of(folder)["sanity-15", "warning"]
