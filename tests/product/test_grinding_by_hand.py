"""Grinding and washing one grain at a time, by hand."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from feedchar.particles.build import build_classes
from feedchar.particles.classes import FORMS, ParticleClasses, SizeClasses
from feedchar.product.grinding import daughter_shares, ground
from feedchar.product.scenarios import acting_form, deslimed, scrubbed
from feedchar.sample.records import Sample, Texture

FREE, JOINED, INCLUSION, STAIN, INSIDE, NOT_FOUND = range(len(FORMS))
SIZES = SizeClasses(np.array([400.0, 100.0, 50.0]), np.array([100.0, 50.0, 25.0]))
MAGNETITE, QUARTZ = 0, 1
DENSITY = np.array([5200.0, 2650.0])


def grains(form, grade, *, mineral=MAGNETITE, host=QUARTZ, size=0, ratio=1.0):
    """One class of grains over two trials; a rider comes with its carrier of quartz."""
    rides = form in (STAIN, NOT_FOUND)
    count = 2 if rides else 1
    return ParticleClasses(
        phase_names=("magnetite", "quartz"),
        sizes=SIZES,
        mineral=np.array([mineral, QUARTZ][:count]),
        host=np.array([host, -1][:count]),
        form=np.array([form, FREE][:count]),
        size=np.full(count, size),
        grade=np.array([grade, 1.0][:count]),
        carrier=np.array([1, 1] if rides else [0]),
        mass=np.array([[0.02, 0.98], [0.04, 0.96]])[:, :count],
        thickness_ratio=np.full(count, ratio),
        acts_as=None if form == NOT_FOUND else np.array([form, FREE][:count]),
    )


def masses(classes, trial=0):
    """Mass by mineral, form and size of what is not empty."""
    found = {}
    for c in range(len(classes.size)):
        if classes.mass[trial, c] > 0.0:
            key = (int(classes.mineral[c]), int(classes.form[c]), int(classes.size[c]))
            assert key not in found
            found[key] = classes.mass[trial, c]
    return found


def test_a_joined_grain_frees_its_lump_by_gaudin():
    """Grade 0.6 by mass; all is ground to pass 100 um, evenly from 0 to 100: half lies between
    50 and 100 and, since nothing finer than 25 is told apart, half below 50. The lump has the
    cube root of the volume share of the grain, (1 - 1/K)^3 of it is freed (gaudin_1939)."""
    whole = grains(JOINED, 0.6)
    made = masses(ground(whole, DENSITY, 100.0))
    volume = (0.6 / 5200.0) / (0.6 / 5200.0 + 0.4 / 2650.0)
    lump = 200.0 * volume ** (1.0 / 3.0)  # of the middle of 100 to 400 um
    for size, middle in ((1, (100.0 * 50.0) ** 0.5), (2, (50.0 * 25.0) ** 0.5)):
        freed = max(1.0 - middle / lump, 0.0) ** 3
        assert 0.0 < freed < 1.0
        part = 0.02 * 0.5
        assert made[MAGNETITE, JOINED, size] == pytest.approx(part * (1.0 - freed))
        assert made[MAGNETITE, FREE, size] == pytest.approx(part * freed * 0.6)
        assert made[QUARTZ, FREE, size] == pytest.approx(part * freed * 0.4)
    assert sum(made.values()) == pytest.approx(0.02)
    assert {size for _, _, size in made} == {1, 2}


def test_what_grinding_makes_of_a_joined_grain():
    after = ground(grains(JOINED, 0.6, ratio=0.1), DENSITY, 100.0)
    free = after.form == FREE
    assert (after.host[free] == -1).all()
    assert (after.grade[free] == 1.0).all()
    assert (after.grade[~free] == 0.6).all()
    assert (after.thickness_ratio[free] == 1.0).all()
    assert (after.thickness_ratio[~free] == 0.1).all()
    assert np.array_equal(after.acts_as, after.form)
    assert np.array_equal(after.carrier, np.arange(len(after.carrier)))


@pytest.mark.parametrize("form", [FREE, INCLUSION])
def test_free_grains_and_inclusions_only_change_size(form):
    before = grains(form, 0.6 if form == INCLUSION else 1.0, host=QUARTZ if form else -1)
    made = masses(ground(before, DENSITY, 100.0))
    assert made == {
        (MAGNETITE, form, 1): pytest.approx(0.01), (MAGNETITE, form, 2): pytest.approx(0.01)
    }  # fmt: skip


def test_a_top_size_inside_a_class_grinds_its_coarse_part():
    """Half of 100 to 400 um lies above 200 in the logarithm; that goes evenly below 200."""
    made = masses(ground(grains(FREE, 1.0, host=-1), DENSITY, 200.0))
    assert made[MAGNETITE, FREE, 0] == pytest.approx(0.02 * (0.5 + 0.5 * 0.5))
    assert made[MAGNETITE, FREE, 1] == pytest.approx(0.02 * 0.5 * 0.25)
    assert made[MAGNETITE, FREE, 2] == pytest.approx(0.02 * 0.5 * 0.25)


@pytest.mark.parametrize("form", [STAIN, NOT_FOUND])
def test_stain_rides_on_its_ground_host(form):
    before = grains(form, 1.0)
    after = ground(before, DENSITY, 100.0)
    made = masses(after, trial=1)
    assert made[MAGNETITE, form, 1] == pytest.approx(0.02)
    assert made[QUARTZ, FREE, 2] == pytest.approx(0.48)
    riders = np.flatnonzero(after.form == form)
    for rider in riders[after.mass[0, riders] > 0.0]:
        carrier = after.carrier[rider]
        assert (after.mineral[carrier], after.size[carrier]) == (QUARTZ, after.size[rider])
        assert (after.form[carrier], after.grade[carrier]) == (FREE, 1.0)
    assert (after.acts_as[riders] == STAIN).all()


def test_what_the_finest_class_does_not_reach_stays_in_it():
    passing, retained = np.array([500.0, 250.0, 100.0]), np.array([250.0, 100.0, 50.0])
    assert daughter_shares(passing, retained, 250.0) == pytest.approx([0.0, 0.6, 0.4])


def test_unknown_iron_on_a_carrier_is_taken_for_stain_and_alone_for_free():
    rider = grains(NOT_FOUND, 1.0)
    assert acting_form(rider).tolist() == [STAIN, FREE]
    alone = replace(rider, carrier=np.array([0, 1]))
    assert acting_form(alone).tolist() == [FREE, FREE]
    known = replace(rider, form=np.array([STAIN, FREE]))
    assert acting_form(known).tolist() == [STAIN, FREE]
    told = replace(rider, acts_as=np.array([INCLUSION, FREE]))
    assert acting_form(told).tolist() == [INCLUSION, FREE]


def test_a_scrub_of_no_stated_strength_takes_seven_tenths(sand):
    textures = (Texture("goethite", "quartz", "stain", 100.0),)
    classes = build_classes(Sample("x", textures=textures), sand.mineralogy, sand.sizes)[0]
    stain = acting_form(classes) == STAIN
    left = scrubbed(classes).mass[:, stain].sum() / classes.mass[:, stain].sum()
    assert left == pytest.approx(0.3)


def test_washing_takes_its_part_of_a_class_in_the_logarithm():
    before = grains(FREE, 1.0, host=-1)
    assert deslimed(before, 200.0).mass[0, 0] == pytest.approx(0.01)
    assert deslimed(before, 100.0).mass[0, 0] == pytest.approx(0.02)
