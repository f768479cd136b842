"""Where the bag goes: nothing is lost on the way."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from feedchar.chemistry.mineralogy import OXIDES
from feedchar.particles.build import build_classes
from feedchar.particles.classes import SizeClasses
from feedchar.product.outlets import OUTLETS, outlets, treated_share
from feedchar.sample.records import Sample, Texture
from feedchar.separation.records import Shares

TEXTURES = (
    Texture("goethite", "quartz", "stain", 40.0),
    Texture("magnetite", "albite", "inclusion", 50.0),
    Texture("ilmenite", None, "joined", None, grain_size_um=150.0),
)
SAMPLE = Sample("invented", textures=TEXTURES)


@settings(max_examples=25, deadline=None)
@given(
    cut=st.floats(1.0, 5000.0),
    missed=st.floats(0.0, 0.3),
    carried=st.floats(0.0, 0.1),
    middlings=st.floats(0.0, 0.5),
    top=st.one_of(st.none(), st.floats(100.0, 600.0)),
    bottom=st.one_of(st.none(), st.floats(1.0, 99.0)),
)
def test_mass_and_every_oxide_are_the_bag_again(sand, cut, missed, carried, middlings, top, bottom):
    classes = build_classes(SAMPLE, sand.mineralogy, sand.sizes)[0]
    shares = sand.shares(classes, cut, missed, carried, middlings=middlings)
    made = outlets(classes, shares, sand.mineralogy, top, bottom)
    parts = [getattr(made, name) for name in OUTLETS]
    bag = sand.mineralogy.mass_fraction[:, :, None] * sand.mineralogy.size_share
    assert np.abs(sum(part.phase_size for part in parts) - bag).max() < 1e-12
    oxides = sum(part.oxide_mass for part in parts)
    assert np.abs(oxides - sand.mineralogy.predicted_wt_pct).max() < 1e-9
    for part in parts:
        filled = part.mass > 0.0
        assert part.assay_wt_pct[filled].sum(axis=1) == pytest.approx(100.0, abs=1e-9)
    assert sum(made.iron_split_pct().values()) == pytest.approx(100.0, abs=1e-9)


def test_iron_removal_is_one_less_yield_times_product_over_feed(sand):
    """Removal = 1 - yield x product / feed, as the trade computes it (common practice)."""
    classes = build_classes(SAMPLE, sand.mineralogy, sand.sizes)[0]
    made = outlets(classes, sand.shares(classes), sand.mineralogy)
    feed = sand.mineralogy.predicted_wt_pct[:, OXIDES.index("Fe2O3")]
    expected = 100.0 - made.yield_pct() * made.non_magnetics.oxide("Fe2O3") / feed
    assert made.iron_removal_pct == pytest.approx(expected, rel=1e-12)


def test_a_window_that_cuts_a_class_takes_its_part_in_the_logarithm():
    sizes = SizeClasses(np.array([400.0, 100.0]), np.array([100.0, 0.0]))
    assert treated_share(sizes, 200.0, None) == pytest.approx([0.5, 1.0])
    assert treated_share(sizes, None, 200.0) == pytest.approx([0.5, 0.0])
    assert treated_share(sizes, None, None) == pytest.approx([1.0, 1.0])
    assert treated_share(sizes, None, 100.0) == pytest.approx([1.0, 0.0])


def test_what_lies_outside_the_window_is_untreated(sand):
    classes = build_classes(SAMPLE, sand.mineralogy, sand.sizes)[0]
    made = outlets(classes, sand.shares(classes), sand.mineralogy, None, 45.0)
    assert made.yield_pct("untreated") == pytest.approx(3.0)
    assert made.untreated.phase_size[:, :, :-1].max() == 0.0
    treated = made.yield_of_roll_feed_pct("non_magnetics")
    assert treated == pytest.approx(made.yield_pct() / 0.97)


def test_sand_lost_is_the_pale_mass_that_leaves_with_the_magnetics(sand):
    classes = build_classes(SAMPLE, sand.mineralogy, sand.sizes)[0]
    made = outlets(classes, sand.shares(classes), sand.mineralogy)
    pale = [k for k, p in enumerate(sand.mineralogy.phases) if p.role == "host"]
    lost = made.magnetics.phase_mass[:, pale].sum(axis=1)
    whole = sand.mineralogy.mass_fraction[:, pale].sum(axis=1)
    assert made.sand_lost_pct.sum(axis=1) == pytest.approx(100.0 * lost / whole)


def test_an_empty_outlet_has_no_assay(sand):
    classes = build_classes(SAMPLE, sand.mineralogy, sand.sizes)[0]
    made = outlets(classes, sand.shares(classes), sand.mineralogy)
    assert np.isnan(made.middlings.assay_wt_pct).all()
    assert (made.middlings.mass == 0.0).all()


def test_certain_shares_serve_all_trials(sand):
    classes = build_classes(SAMPLE, sand.mineralogy, sand.sizes)[0]
    shares = sand.shares(classes, spread=0.0)
    one = Shares(
        *(getattr(shares, name)[:1] for name in ("magnetics", "middlings", "non_magnetics")),
        shares.missed[:1],
    )
    few = outlets(classes, one, sand.mineralogy)
    many = outlets(classes, shares, sand.mineralogy)
    assert few.non_magnetics.phase_size == pytest.approx(many.non_magnetics.phase_size)


def test_blocks_of_trials_change_nothing(sand_of):
    """Trial 300 of a long run is the same as that row alone."""
    sand = sand_of(trials=600)
    classes = build_classes(SAMPLE, sand.mineralogy, sand.sizes)[0]
    shares = sand.shares(classes)
    long = outlets(classes, shares, sand.mineralogy)
    row = slice(300, 301)
    names = ("magnetics", "middlings", "non_magnetics", "missed")
    alone = outlets(
        replace(classes, mass=classes.mass[row]),
        Shares(*(getattr(shares, name)[row] for name in names)),
        replace(
            sand.mineralogy,
            mass_fraction=sand.mineralogy.mass_fraction[row],
            oxides_wt_pct=sand.mineralogy.oxides_wt_pct[row],
        ),
    )
    assert alone.non_magnetics.oxide_mass[0] == pytest.approx(
        long.non_magnetics.oxide_mass[300], rel=1e-12
    )
