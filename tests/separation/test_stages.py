"""Machines in series: the multiplied-out polynomial against walking through the stages."""

from __future__ import annotations

import numpy as np
import pytest

from feedchar.errors import SettingError
from feedchar.separation.partition import left_after_passes, weibull_partition
from feedchar.separation.stages import Stage, outlet_terms, term_factors

RNG = np.random.default_rng(4)


def walk(stages, bypass, entrainment):
    """Shares of each node by carrying the grains from stage to stage."""
    feed = np.ones_like(stages[0].taken)
    non, middle = np.zeros_like(feed), np.zeros_like(feed)
    for number, stage in enumerate(stages, start=1):
        middlings = 0.0 if stage.middlings is None else stage.middlings
        to_non = feed * (1 - entrainment) * (1 - (1 - bypass) * stage.taken)
        to_middle = feed * (1 - entrainment) * (1 - bypass) * middlings
        last = number == len(stages)
        if stage.goes_on == "middlings":
            non += to_non
            feed = to_middle
            middle += to_middle if last else 0.0
        else:
            middle += to_middle
            feed = to_non
            non += to_non if last else 0.0
    return non, middle


def by_terms(terms, bypass, entrainment):
    factors = term_factors(terms, np.array([1 - entrainment]), np.array([1 - bypass]))
    return sum(
        (term.table * factor for term, factor in zip(terms, factors, strict=True)), np.zeros(5)
    )


def a_stage(goes_on="non-magnetics", edge=True):
    taken = RNG.uniform(0, 1, 5)
    return Stage(taken, taken * RNG.uniform(0, 1, 5) if edge else None, goes_on)


@pytest.mark.parametrize("goes_on", ["non-magnetics", "middlings"])
@pytest.mark.parametrize("count", [1, 2, 4])
def test_multiplying_out_equals_walking_through(goes_on, count):
    stages = (a_stage(edge=False), *(a_stage(goes_on) for _ in range(count)))  # a drum first
    terms = outlet_terms(stages)
    for bypass, entrainment in ((0.0, 0.0), (0.07, 0.02), (0.5, 0.3)):
        non, middle = walk(stages, bypass, entrainment)
        assert by_terms(terms.non_magnetics, bypass, entrainment) == pytest.approx(non, abs=1e-12)
        assert by_terms(terms.middlings, bypass, entrainment) == pytest.approx(middle, abs=1e-12)


def test_equal_grains_give_the_textbook_power_of_passes():
    stages = (Stage(np.full(5, 0.85), None),) * 3
    left = by_terms(outlet_terms(stages).non_magnetics, 0.1, 0.02)
    assert left == pytest.approx(np.full(5, left_after_passes(0.85, 3, 0.1, 0.02)), rel=1e-12)


def test_middlings_need_a_second_edge():
    with pytest.raises(SettingError, match="second edge"):
        outlet_terms((a_stage("middlings", edge=False),))


def test_a_weibull_curve_takes_half_at_its_cut_point():
    """1 - exp(-ln 2 (x/x50)^m): 1 - 2^-(3^1.7) at three times the cut point."""
    assert weibull_partition(2e-7, 2e-7, 1.7) == pytest.approx(0.5)
    assert weibull_partition(6e-7, 2e-7, 1.7) == pytest.approx(1.0 - 0.5 ** (3.0**1.7))
