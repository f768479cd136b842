"""One assessment: as a command that starts from nothing, again in the same run, and its sums."""

from __future__ import annotations

import subprocess
import sys
import time
from importlib import import_module
from pathlib import Path

import numpy as np
import pytest

from feedchar.field.rolls import DEFAULT_ROLL, read_roll
from feedchar.field.setting import Pass, Setting
from feedchar.product.outlets import outlets
from feedchar.sample.read import read_sample

pytestmark = pytest.mark.benchmark

EXAMPLES = Path(__file__).parents[2] / "examples"
SAND = EXAMPLES / "glass_sand"
TIMES_OF_STREAMING = 6.0
STATED = Setting(roll=read_roll(DEFAULT_ROLL), passes=(Pass(),))


def best_of(count, action):
    times = []
    for _ in range(count):
        start = time.process_time()
        action()
        times.append(time.process_time() - start)
    return min(times)


def cold_start(*words):
    """Processor seconds of one command in a process of its own."""
    code = "import sys; from feedchar.cli.main import main; code = main(sys.argv[1:]); "
    code += "import time; print(time.process_time(), file=sys.stderr); sys.exit(code)"
    command = [sys.executable, "-c", code, "assess", *words]
    done = subprocess.run(command, capture_output=True, text=True, check=True)
    return float(done.stderr.split()[-1])


@pytest.mark.parametrize("sample", ["glass_sand", "minimal.csv"])
def test_five_times_the_trials_cost_less_than_five_times_the_time(sample, record_property):
    """What an assessment costs beside its trials: libraries that start, flights, the search."""
    seconds = {}
    for trials in (0, 2000, 10_000):
        words = (str(EXAMPLES / sample), "--trials", str(trials))
        seconds[trials] = min(cold_start(*words) for _ in range(2))
        told = f"{sample}, {trials} trials, cold, processor s"
        record_property(told, round(seconds[trials], 2))
    assert seconds[0] < seconds[2000] < seconds[10_000] < 5.0 * seconds[2000]


def test_an_assessment_cold_and_warm(record_property):
    recipe = import_module("feedchar.characterise").characterise
    cold = cold_start(str(SAND))
    sample = read_sample(str(SAND))
    recipe(sample, STATED)
    warm = best_of(2, lambda: recipe(sample, STATED))
    record_property("assess, cold, setting searched, processor s", round(cold, 2))
    record_property("characterise, warm, setting given, processor s", round(warm, 2))
    assert warm < cold


def test_classes_times_trials_stay_near_the_pace_of_memory(monkeypatch, record_property):
    """All classes of one sample in 10 000 trials, against one copy of the same arrays."""
    recipe = sys.modules[import_module("feedchar.characterise").__name__]
    seen = []

    def kept(*given):
        seen.append(given)
        return outlets(*given)

    monkeypatch.setattr(recipe, "outlets", kept)
    recipe.characterise(read_sample(str(SAND)), STATED, trials=10_000)
    given = seen[0]
    shares = given[1]
    arrays = [given[0].mass, shares.non_magnetics, shares.middlings, shares.magnetics]
    room = [np.empty_like(array) for array in arrays]

    def stream():
        for target, array in zip(room, arrays, strict=True):
            np.copyto(target, array)

    pace, work = best_of(7, stream), best_of(7, lambda: outlets(*given))
    record_property("classes, trials", f"{arrays[0].shape[1]} x {len(arrays[0])}")
    record_property("sums over one copy of the arrays, times", round(work / pace, 1))
    assert work < TIMES_OF_STREAMING * pace
