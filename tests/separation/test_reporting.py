"""Which machine a class reports to, and the figures behind it."""

from __future__ import annotations

from math import pi

import numpy as np
import pytest

from feedchar.field.setting import Pass, Setting
from feedchar.field.working import working_field
from feedchar.magnetics.pull import scaled_sphere_average
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


@pytest.mark.parametrize("kind", ["sphere", "flake"])
def test_a_roll_offers_the_mean_along_its_axis_of_what_single_grains_feel(sand, direct, kind):
    """The reference sums every pair of harmonics; over a pitch the unlike ones cancel."""
    size, setting = 4e-4, sand.setting(0.05, 1.5)
    field = working_field(setting)
    thickness = None if kind == "sphere" else 0.1 * size
    half = 0.5 * (size if thickness is None else thickness)
    machine = direct.Machine(
        tuple(field.amplitudes), field.pitch_m, field.roll_radius_m, field.belt_thickness_m, 1.5
    )
    axial = (np.arange(64) + 0.5) / 64 * field.pitch_m
    height = np.full(64, field.belt_thickness_m + half)
    wanted = direct.force(machine, size, thickness, height, axial)[0].mean()
    found = offered_force_product(
        field, np.full(1, size), np.full(1, half), np.full(1, kind == "flake")
    )
    assert found == pytest.approx(wanted, rel=1e-6)


def test_a_canted_moment_needs_the_root_of_a_quadratic(sand):
    """chi k B^2/mu0 + M k B = v^2/Rc, spheres; without a pull at all there is no figure."""
    chi = np.array([2.8e-7, 0.0, 5e-8, -6e-9, 3e-7, 0.0])
    moment = np.array([0.4, 0.2, 3.0, 0.6, 0.0, 1e-7])
    some = grains(
        susceptibility_m3_kg=chi[None], moment_A_m2_kg=moment[None],
        order=np.array([1, 1, 1, 1, 1, 1]),
        is_flake=np.zeros(6, dtype=bool), thickness_ratio=np.ones(6),
    )  # fmt: skip
    setting = sand.setting(0.05, 1.5)
    lines = reporting_of(setting, some)
    size = np.sqrt(300e-6 * 212e-6)
    path = 0.0502 + size / 2
    needed = (1.5 / 0.0502) ** 2 * path
    drums = {"weak drum": pi / 0.17, "strong drum": pi / 0.07}
    for place in range(3):
        k = drums.get(lines[place].reports_to, pi / 0.005)
        roots = np.roots([chi[place] * k / MU0, moment[place] * k, -needed])
        flux = float(roots[roots > 0.0][0])
        product = lines[place].force_product_needed_tesla2_m
        assert product == pytest.approx(k * flux**2, rel=1e-6), place
    # At the surface of the roll it is larger by the fall to the grain, and the same for any kind.
    k = pi / 0.005
    kinder = scaled_sphere_average(np.array([k * size]))[0] * np.exp(
        k * (size - 2.0 * (path - 0.05))
    )
    for place in range(3):
        roots = np.roots([chi[place] * k / MU0, moment[place] * k, -needed])
        flux = float(roots[roots > 0.0][0])
        found = lines[place].flux_density_needed_tesla
        assert found == pytest.approx(flux / np.sqrt(kinder), rel=1e-6), place
    # A push that grows with B^2 against a moment that grows with B: the lesser root.
    roots = np.roots([chi[3] * k / MU0, moment[3] * k, -needed])
    wanted = float(np.min(roots.real)) / np.sqrt(kinder)
    assert lines[3].flux_density_needed_tesla == pytest.approx(wanted, rel=1e-6)
    flux = np.sqrt(MU0 * needed / (3e-7 * k))
    assert lines[4].flux_density_needed_tesla == pytest.approx(flux / np.sqrt(kinder), rel=1e-9)
    assert lines[5].reports_to == "no magnet"
    assert lines[5].flux_density_needed_tesla is None
    assert lines[5].force_product_needed_tesla2_m is None


def test_the_highest_belt_speed_grows_with_the_root_of_the_pull(sand):
    """v^2/Rc = pull: a machine taught four times the pull runs twice as fast."""
    setting = sand.setting(0.05, 1.5)
    once, taught = reporting_of(setting, grains()), reporting_of(setting, grains(), 4.0)
    for before, after in zip(once[1:], taught[1:], strict=True):
        assert after.belt_speed_max_m_s == pytest.approx(2.0 * before.belt_speed_max_m_s)
    assert once[1].reports_to == "stronger machine"
    assert taught[1].reports_to == "permanent roll"


def test_an_ordered_moment_without_order_is_a_susceptibility_alone(sand):
    plain = grains(moment_A_m2_kg=np.zeros((1, 6)))
    for line, same in zip(
        reporting_of(sand.setting(0.05, 1.5), plain),
        reporting_of(
            sand.setting(0.05, 1.5), grains(moment_A_m2_kg=np.zeros((1, 6)), order=np.zeros(6, int))
        ),
        strict=True,
    ):
        assert line == same
