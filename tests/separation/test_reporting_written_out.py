"""What a class reports to, written out for one grain after another.

Pull chi k B^2/mu0 + M s k B^2/B_m in an exponential field against v^2/Rc; B_m is the field or,
where greater, the gap of an induced roll, s the share of the moment that it calls up. The field
needed is found by a general solver of equations.
"""

from __future__ import annotations

from dataclasses import replace
from math import cosh, exp, inf, pi, sinh, sqrt

import numpy as np
import pytest
from scipy.optimize import brentq

from feedchar.field.setting import Pass
from feedchar.field.working import working_field
from feedchar.magnetics.moment import ordered_fraction
from feedchar.separation.records import Grains
from feedchar.separation.reporting import _Classes, offered_force_product, reporting_of

MU0 = 4e-7 * pi
WEAK, STRONG, MATRIX = (pi / 0.17, 0.6), (pi / 0.07, 25.0), 2000.0
"""Wave number by the pitch of the poles, and force product: the drums; the strongest machine."""

PASSING = np.array([310, 230, 420, 150, 530, 90, 270, 700, 190, 610, 340, 480, 260]) * 1e-6
RETAINED = np.array([220, 160, 0, 105, 370, 0, 190, 500, 130, 430, 240, 330, 180]) * 1e-6
FLAKE = np.array([0, 1, 0, 1, 0, 0, 1, 0, 0, 1, 0, 0, 0], dtype=bool)
RATIO = np.array([1, 0.11, 1, 0.07, 1, 1, 0.23, 1, 1, 0.31, 1, 1, 1])
CHI = np.array([-6e-9, 7e-8, 1.3e-6, 9e-9, 4e-8, 3e-7, 2e-9, 5e-5, -6e-9, 1e-9, 0.0, 2e-6, 4e-7])
MOMENT = np.array([0.0, 0.0, 0.0, 0.02, 0.31, 3.0, 0.9, 0.0, 0.05, 0.0, 60.0, 0.4, 0.6])
ORDER = np.array([0, 0, 0, 2, 1, 2, 2, 0, 1, 2, 2, 0, 2])
SATURATION = np.array([0, 0, 0, 0, 0.0, 0.2, 0.35, 0, 0, 0, 0, 0.1, 1.7])


def some_grains():
    return Grains(
        passing_m=PASSING, retained_m=RETAINED, is_flake=FLAKE, thickness_ratio=RATIO,
        density_kg_m3=np.full(len(PASSING), 3000.0),
        susceptibility_m3_kg=np.stack([CHI, 9.0 * CHI]),
        moment_A_m2_kg=np.stack([MOMENT, 7.0 * MOMENT]), order=ORDER,
        grain_ln_sd=np.full(len(PASSING), 0.3), saturation_field_tesla=SATURATION,
    )  # fmt: skip


def pull(c, flux, k, gap):
    """Of one class in a field of this size, or in many."""
    magnetising = np.maximum(flux, gap)
    share = ordered_fraction(int(ORDER[c]), magnetising, float(SATURATION[c]))
    moment = MOMENT[c] * share * k * flux**2 / magnetising
    return CHI[c] * k * flux**2 / MU0 + moment


def average(wave, centre, size, thickness):
    """Mean of e^(-2 wave y) over a sphere (no thickness) or a flat disc."""
    if thickness is None:
        x = wave * size
        return exp(-2.0 * wave * centre) * 3.0 * (x * cosh(x) - sinh(x)) / x**3
    return exp(-2.0 * wave * centre) * sinh(wave * thickness) / (wave * thickness)


def least_field(c, needed, k, gap):
    """Least field that holds a class, infinite where none to 50 T does."""
    fields = np.geomspace(1e-7, 50.0, 1500)
    enough = np.flatnonzero(pull(c, fields, k, gap) >= needed)
    if not enough.size:
        return inf
    high = int(enough[0])
    return brentq(lambda b: pull(c, b, k, gap) - needed, *fields[high - 1 : high + 1], rtol=1e-12)


@pytest.mark.parametrize("machine", ["permanent-roll", "induced-roll"])
@pytest.mark.parametrize("factor", [1.0, 1.37])
def test_every_figure_of_every_class_is_that_of_its_balance(sand, machine, factor):
    setting = replace(
        sand.setting(0.05, 1.5), passes=(Pass(1.9), Pass(1.3), Pass(1.6)), machine=machine
    )
    field = working_field(setting)
    gap, k = field.background_tesla, pi / field.pitch_m
    assert (gap > 0.0) == (machine == "induced-roll")
    roll, belt = field.roll_radius_m, field.belt_thickness_m
    told = []
    for c, line in enumerate(reporting_of(setting, some_grains(), factor)):
        size = sqrt(PASSING[c] * (RETAINED[c] or 0.5 * PASSING[c]))
        thickness = RATIO[c] * size if FLAKE[c] else None
        half = 0.5 * (size if thickness is None else thickness)
        path = roll + belt + half
        needed = (1.3 / (roll + belt)) ** 2 * path
        offered = sum(
            n * k * b**2 * average(n * k, belt + half, size, thickness)
            for n, b in zip(range(1, 999, 2), field.amplitudes, strict=False)
        ) * roll / path  # fmt: skip
        pulled = factor * pull(c, sqrt(offered / k), k, gap)
        at_roll = least_field(c, needed, k, gap)
        product, kind = k * at_roll**2, "no magnet"
        if product <= MATRIX:
            kind = "stronger machine"
        if pulled >= needed:
            kind = "permanent roll" if machine == "permanent-roll" else "stronger machine"
        for name, (wave, most) in (("strong drum", STRONG), ("weak drum", WEAK)):
            if pull(c, sqrt(most / wave), wave, 0.0) >= needed:
                kind, product = name, wave * least_field(c, needed, wave, 0.0) ** 2
        assert line.reports_to == kind, c
        if at_roll == inf:
            assert line.flux_density_needed_tesla is None
        else:
            surface = at_roll / sqrt(average(k, belt + half, size, thickness))
            assert line.flux_density_needed_tesla == pytest.approx(surface, rel=1e-6)
        wanted = None if product == inf else pytest.approx(product, rel=1e-6)
        assert line.force_product_needed_tesla2_m == wanted
        fastest = sqrt(pulled * path) * (roll + belt) / path if pulled > 0.0 else None
        assert line.belt_speed_max_m_s == (fastest and pytest.approx(fastest, rel=1e-9))
        told.append(kind)
    assert set(told) >= {"weak drum", "strong drum", "stronger machine", "no magnet"}


def test_a_roll_offers_each_harmonic_with_its_own_decay_and_average():
    from feedchar.field.working import WorkingField

    field = WorkingField("odd", (0.63, -0.21, 0.09), 0.0071, 0.043, 0.00047)
    size = np.array([3.1e-4, 5.3e-4])
    half = np.array([0.5 * 3.1e-4, 0.06e-3])
    found = offered_force_product(field, size, half, np.array([False, True]))
    for c, thickness in enumerate((None, 1.2e-4)):
        y = 0.00047 + half[c]
        waves = [n * pi / 0.0071 for n in (1, 3, 5)]
        wanted = sum(
            wave * b**2 * average(wave, y, size[c], thickness)
            for wave, b in zip(waves, field.amplitudes, strict=True)
        )
        assert found[c] == pytest.approx(wanted * 0.043 / (0.043 + y), rel=1e-9)


def test_classes_are_pulled_in_a_table_of_fields_as_each_by_itself():
    """Rows are classes, columns fields; some of them keep their own figures."""
    some = _Classes(CHI, MOMENT, ORDER, SATURATION, 0.3)
    fields, k = np.array([0.013, 0.27, 0.31, 1.9]), 411.0
    found = some.pull(fields[None, :], k)
    wanted = [[pull(c, b, k, 0.3) for b in fields] for c in range(len(CHI))]
    assert found == pytest.approx(np.array(wanted), rel=1e-12)
    each = np.linspace(0.1, 0.9, len(CHI))
    alone = [pull(c, b, k, 0.3) for c, b in enumerate(each)]
    assert some.pull(each, k) == pytest.approx(alone, rel=1e-12)
    picked = np.array([12, 3, 5])
    assert some.some(picked).pull(each[picked], k) == pytest.approx(some.pull(each, k)[picked])


@pytest.mark.parametrize(
    ("product", "kind"),
    [(0.59, "weak drum"), (0.61, "strong drum"), (24.9, "strong drum"), (25.1, "permanent roll"),
     (1990.0, "stronger machine"), (2010.0, "no magnet")],
)  # fmt: skip
def test_each_kind_of_machine_ends_at_its_force_product(sand, product, kind):
    """0.6, 25 and 2000 T2/m, from memory: drums of ferrite and rare earth, a matrix."""
    grains = some_grains()
    setting = sand.setting(0.05, 1.5)
    size = np.sqrt(PASSING[0] * RETAINED[0])
    needed = (1.5 / 0.0502) ** 2 * (0.0502 + 0.5 * size)
    chi = np.full((1, len(CHI)), MU0 * needed / product)
    one = replace(grains, susceptibility_m3_kg=chi, moment_A_m2_kg=np.zeros_like(chi))
    assert reporting_of(setting, one)[0].reports_to == kind


@pytest.mark.parametrize(
    ("flux", "found"), [(1e-6, True), (2e-4, True), (49.5, True), (51.0, False)]
)
def test_a_moment_is_followed_from_nothing_to_fifty_teslas(sand, flux, found):
    """M k B = v^2/Rc of a canted moment without any susceptibility."""
    grains, k = some_grains(), pi / 0.005
    size = np.sqrt(PASSING[0] * RETAINED[0])
    needed = (1.5 / 0.0502) ** 2 * (0.0502 + 0.5 * size)
    one = replace(
        grains, susceptibility_m3_kg=np.zeros((1, len(CHI))), order=np.ones_like(ORDER),
        moment_A_m2_kg=np.full((1, len(CHI)), needed / (k * flux)),
    )  # fmt: skip
    told = reporting_of(sand.setting(0.05, 1.5), one)[0].flux_density_needed_tesla
    if found:
        assert told == pytest.approx(flux / sqrt(average(k, 2e-4 + size / 2, size, None)), rel=1e-5)
    else:
        assert told is None
