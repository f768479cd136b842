"""Which machine a class reports to, and the figures behind it."""

from __future__ import annotations

from math import pi

import numpy as np
import pytest

from feedchar.field.setting import Pass, Setting
from feedchar.field.working import working_field
from feedchar.separation import flux_density_to_hold
from feedchar.separation.mechanics import grain_speed
from feedchar.separation.records import Grains
from feedchar.separation.reporting import offered_force_product, reporting_of

MU0 = 4e-7 * pi


def grains(**columns):
    """One class each of sand, pale mica, biotite, ilmenite, hematite, magnetite; 212 to 300 um."""
    flake = np.array([False, True, True, False, False, False])
    base = {
        "passing_m": np.full(6, 300e-6),
        "retained_m": np.full(6, 212e-6),
        "is_flake": flake,
        "thickness_ratio": np.where(flake, 0.1, 1.0),
        "density_kg_m3": np.array([2650.0, 2830, 3000, 4700, 5200, 5200]),
        "susceptibility_m3_kg": np.array([[-6.2e-9, 6e-8, 5e-7, 1.4e-6, 2.8e-7, 0.0]]),
        "moment_A_m2_kg": np.array([[0.0, 0, 0, 0, 0.4, 92.0]]),
        "order": np.array([0, 0, 0, 0, 1, 2]),
        "grain_ln_sd": np.full(6, 0.3),
    }
    return Grains(**{**base, **columns})


def test_minerals_report_as_the_trade_knows_them(sand):
    found = [line.reports_to for line in reporting_of(sand.setting(0.05, 1.5), grains())]
    assert found[0] == "no magnet"
    assert found[2:5] == ["permanent roll", "permanent roll", "permanent roll"]
    assert found[5] == "weak drum"
    slow = reporting_of(sand.setting(0.1, 1.0), grains())
    assert slow[1].reports_to == "permanent roll"
    assert reporting_of(sand.setting(0.05, 1.5), grains())[1].reports_to == "stronger machine"


def test_a_diamagnet_needs_no_figures(sand):
    line = reporting_of(sand.setting(0.05, 1.5), grains())[0]
    assert line.reports_to == "no magnet"
    assert line.force_product_needed_tesla2_m is None
    assert line.flux_density_needed_tesla is None
    assert line.belt_speed_max_m_s is None


def test_the_field_needed_is_that_of_the_front_door(sand):
    line = reporting_of(sand.setting(0.05, 1.5), grains())[3]
    size = np.sqrt(300e-6 * 212e-6)
    speed = grain_speed(1.5, 0.05, 2e-4, size / 2)
    needed = flux_density_to_hold(1.4e-6, size, speed, 0.05, 2e-4, 0.005, pi / 2)
    assert line.flux_density_needed_tesla == pytest.approx(needed, rel=1e-9)
    product = MU0 * speed**2 / (0.0502 + size / 2) / 1.4e-6
    assert line.force_product_needed_tesla2_m == pytest.approx(product, rel=1e-9)


def test_at_its_highest_speed_a_class_needs_what_the_roll_offers(sand):
    setting = sand.setting(0.05, 1.5)
    for place in (1, 2, 3):
        fastest = reporting_of(setting, grains())[place].belt_speed_max_m_s
        at_limit = Setting(setting.roll, (Pass(fastest),))
        needed = reporting_of(at_limit, grains())[place].force_product_needed_tesla2_m
        size = np.full(6, np.sqrt(300e-6 * 212e-6))
        half = 0.5 * size * grains().thickness_ratio
        offered = offered_force_product(working_field(setting), size, half, grains().is_flake)
        assert needed == pytest.approx(offered[place], rel=1e-6)


def test_kinds_follow_the_force_products_of_the_machines(sand):
    setting = sand.setting(0.05, 1.5)
    needed_at_unit = reporting_of(setting, grains())[3].force_product_needed_tesla2_m * 1.4e-6
    products = np.array([0.5, 0.7, 24.0, 26.0, 1900.0, 2100.0])
    lines = reporting_of(
        setting,
        grains(
            susceptibility_m3_kg=(needed_at_unit / products)[None],
            moment_A_m2_kg=np.zeros((1, 6)),
            order=np.zeros(6, dtype=int),
            is_flake=np.zeros(6, dtype=bool),
            thickness_ratio=np.ones(6),
        ),
    )
    kinds = "weak drum, strong drum, strong drum, permanent roll, stronger machine, no magnet"
    assert ", ".join(line.reports_to for line in lines) == kinds
    assert [line.force_product_needed_tesla2_m for line in lines] == pytest.approx(products)


def test_a_trace_of_magnetite_needs_a_field_that_need_not_be_the_strongest(sand):
    # Quartz with 0.05 % magnetite: the moment saturates while the push of the quartz goes on.
    dusty = grains(
        susceptibility_m3_kg=np.full((1, 6), -6.2e-9),
        moment_A_m2_kg=np.array([[0.0, 0.01, 0.046, 0.1, 1.0, 10.0]]),
        order=np.array([0, 2, 2, 2, 2, 2]),
        is_flake=np.zeros(6, dtype=bool),
        thickness_ratio=np.ones(6),
    )
    lines = reporting_of(sand.setting(0.05, 1.0), dusty)
    needed = [line.flux_density_needed_tesla for line in lines]
    assert needed[0] is None
    some = [value for value in needed[1:] if value is not None]
    assert some == sorted(some, reverse=True)
    assert lines[4].reports_to != "no magnet"


def test_what_a_second_slower_pass_takes_reports_to_the_roll(sand):
    slow = sand.setting(0.1, 1.0)
    fast, both = (Setting(slow.roll, p) for p in ((Pass(2.5),), (Pass(2.5), Pass(1.0))))
    assert reporting_of(fast, grains())[1].reports_to == "stronger machine"
    assert reporting_of(both, grains()) == reporting_of(slow, grains())
