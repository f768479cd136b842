"""What else could be done: each treatment does what its name says, and no more."""

from __future__ import annotations

import numpy as np
import pytest

from feedchar.particles.build import build_classes
from feedchar.particles.classes import FORMS
from feedchar.particles.reduction import host_part, phase_size_matrix, summed
from feedchar.product.grinding import daughter_shares, ground
from feedchar.product.outlets import outlets
from feedchar.product.scenarios import deslimed, scrub_shares, scrubbed
from feedchar.product.stays import REASONS, iron_that_stays
from feedchar.sample.records import Sample, Texture

TEXTURES = (
    Texture("goethite", "quartz", "stain", 60.0),
    Texture("magnetite", "albite", "inclusion", 50.0),
    Texture("ilmenite", "quartz", "joined", 40.0),
)
SAMPLE = Sample("invented", textures=TEXTURES)


@pytest.fixture(scope="module")
def bag(sand_of):
    sand = sand_of(trials=10)
    return sand, build_classes(SAMPLE, sand.mineralogy, sand.sizes)[0]


def phase_mass(classes):
    table = summed(phase_size_matrix(classes), classes.mass)
    return table.reshape(len(table), len(classes.phase_names), -1).sum(axis=2)


def test_a_scrub_takes_stain_alone(bag):
    sand, classes = bag
    shares = sand.shares(classes)
    before = iron_that_stays(classes, shares, sand.mineralogy)
    after = iron_that_stays(scrubbed(classes, 0.7), shares, sand.mineralogy)
    stain = REASONS.index("stain")
    assert after.typical_ppm[stain] == pytest.approx(0.3 * before.typical_ppm[stain], rel=1e-3)
    hidden = REASONS.index("not found")  # 2 parts in 5 of the unseen iron are taken as stain
    assert after.typical_ppm[hidden] < before.typical_ppm[hidden]
    others = [k for k in range(len(REASONS)) if k not in (stain, hidden)]
    assert after.typical_ppm[others] == pytest.approx(before.typical_ppm[others], rel=1e-3)
    assert (after.ppm.sum(axis=1) < before.ppm.sum(axis=1)).all()


def test_a_share_for_each_trial_may_be_scrubbed(bag):
    _, classes = bag
    takes = np.linspace(0.0, 1.0, len(classes.mass))
    after = scrubbed(classes, takes)
    stain = classes.acts_as == FORMS.index("stain")
    assert np.array_equal(after.mass[0], classes.mass[0])
    assert after.mass[-1, stain].max() == 0.0


def test_washing_off_fines_removes_the_classes_below_the_cut(bag):
    sand, classes = bag
    after = deslimed(classes, 63.0)
    fine = classes.size >= 6
    assert after.mass[:, fine].max() == 0.0
    assert np.array_equal(after.mass[:, ~fine], classes.mass[:, ~fine])
    made = outlets(after, sand.shares(classes), sand.mineralogy)
    assert made.roll_feed_mass == pytest.approx(0.90, abs=1e-6)


def test_ground_material_lies_on_a_straight_line():
    passing, retained = np.array([500.0, 250.0, 100.0]), np.array([250.0, 100.0, 0.0])
    assert daughter_shares(passing, retained, 250.0) == pytest.approx([0.0, 0.6, 0.4])
    assert daughter_shares(passing, retained, 500.0).sum() == pytest.approx(1.0)


@pytest.mark.parametrize("top", [180.0, 250.0, 500.0])
def test_grinding_moves_no_mineral(bag, top):
    sand, classes = bag
    density = np.array([p.density_kg_m3 for p in sand.mineralogy.phases])
    after = ground(classes, density, top)
    assert phase_mass(after) == pytest.approx(phase_mass(classes), abs=1e-13)
    coarse = after.sizes.retained_um[after.size] >= top
    assert after.mass[:, coarse].sum() == pytest.approx(0.0, abs=1e-15)
    carried = after.carrier != np.arange(len(after.carrier))
    assert (after.size[after.carrier] == after.size).all()
    assert (after.mineral[after.carrier[carried]] == after.host[carried]).all()


def joined_share(classes, name):
    own = classes.mass[0] * (1.0 - host_part(classes))
    mineral = classes.mineral == classes.phase_names.index(name)
    return own[mineral & (classes.form == FORMS.index("joined"))].sum() / own[mineral].sum()


def test_a_finer_grind_frees_more(bag):
    sand, classes = bag
    density = np.array([p.density_kg_m3 for p in sand.mineralogy.phases])
    left = [joined_share(ground(classes, density, top), "ilmenite") for top in (500, 250, 125)]
    assert joined_share(classes, "ilmenite") == pytest.approx(0.4)
    assert 0.4 >= left[0] > left[1] > left[2] > 0.0


def test_a_grind_to_the_top_size_changes_nothing(bag):
    sand, classes = bag
    density = np.array([p.density_kg_m3 for p in sand.mineralogy.phases])
    after = ground(classes, density, 500.0)
    before = outlets(classes, sand.shares(classes), sand.mineralogy)
    again = outlets(after, sand.shares(after), sand.mineralogy)
    assert again.non_magnetics.phase_size == pytest.approx(
        before.non_magnetics.phase_size, abs=1e-15
    )


def test_how_much_a_scrub_takes_is_drawn_wide_and_seeded():
    drawn = scrub_shares(1, 4001)
    assert drawn[0] == 0.7
    assert drawn[1:].mean() == pytest.approx(0.7, abs=0.01)
    assert np.quantile(drawn[1:], [0.05, 0.95]) == pytest.approx([0.37, 0.95], abs=0.03)
    assert np.array_equal(drawn, scrub_shares(1, 4001))
