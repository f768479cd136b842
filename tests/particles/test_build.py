"""Particle classes of an invented sand: nothing lost, textures first, hosts that run short."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from feedchar.particles.build import build_classes
from feedchar.particles.classes import FORMS
from feedchar.particles.frame import classes_frame
from feedchar.particles.iron import iron_table
from feedchar.particles.reduction import host_part, phase_size_matrix, summed
from feedchar.sample.records import Sample, Texture

PLAIN = Sample("plain")


def mass_by_phase_and_size(classes):
    table = summed(phase_size_matrix(classes), classes.mass)
    return table.reshape(len(table), len(classes.phase_names), len(classes.sizes))


def wanted(mineralogy):
    return mineralogy.mass_fraction[:, :, None] * mineralogy.size_share


def amount(classes, mineral, form):
    """Mass of one mineral in one form, its own part of the grains. (T,)"""
    which = (classes.mineral == classes.phase_names.index(mineral)) & (
        classes.form == FORMS.index(form)
    )
    return classes.mass[:, which] @ (1.0 - host_part(classes))[which]


def share(classes, mineral, form):
    whole = sum(amount(classes, mineral, f) for f in FORMS)
    return amount(classes, mineral, form) / whole


DARK = st.sampled_from(["biotite", "goethite", "ilmenite", "magnetite", "rutile"])
TEXTURE = st.builds(
    Texture,
    mineral=DARK,
    host=st.sampled_from([None, "quartz", "albite", "biotite", "chromite"]),
    form=st.sampled_from(["free", "joined", "inclusion", "stain", "inside"]),
    share_pct=st.one_of(st.none(), st.floats(0.0, 100.0)),
    grain_size_um=st.one_of(st.none(), st.floats(5.0, 1000.0)),
    thickness_um=st.one_of(st.none(), st.floats(1.0, 300.0)),
    passing_um=st.sampled_from([None, None, 250.0]),
    retained_um=st.sampled_from([None, None, 90.0]),
)


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(
    textures=st.lists(TEXTURE, max_size=6),
    origin=st.sampled_from([None, "washed", "crushed rock"]),
    pale=st.floats(0.01, 85.0),
    dark=st.floats(0.0, 60.0),
    seed=st.integers(0, 10),
)
def test_every_mineral_keeps_its_mass_in_every_size_whatever_the_textures(
    sand_of, textures, origin, pale, dark, seed
):
    sand = sand_of(
        trials=6,
        typical={
            "quartz": pale, "albite": 5.0, "biotite": dark, "goethite": 0.5, "ilmenite": 1.0,
            "magnetite": 0.3, "rutile": 0.1, "unseen": 0.05,
        },
    )  # fmt: skip
    sample = Sample("drawn", origin=origin, textures=tuple(textures))
    classes = build_classes(sample, sand.mineralogy, sand.sizes, seed)[0]
    assert np.abs(mass_by_phase_and_size(classes) - wanted(sand.mineralogy)).max() < 1e-12
    assert (classes.mass >= 0.0).all()
    assert ((classes.grade > 0.0) & (classes.grade <= 1.0)).all()
    assert (classes.carrier[classes.carrier] == classes.carrier).all()


def test_a_bag_without_pale_grains_is_all_free(sand_of):
    sand = sand_of(trials=4, typical={"magnetite": 99.0, "unseen": 1.0})
    textures = (Texture("magnetite", None, "stain", 50.0),)
    classes = build_classes(Sample("ore", textures=textures), sand.mineralogy, sand.sizes)[0]
    assert set(classes.form) == {FORMS.index("free"), FORMS.index("not found")}
    assert np.abs(mass_by_phase_and_size(classes) - wanted(sand.mineralogy)).max() < 1e-15


def test_defaults_join_fifteen_per_cent_in_crushed_rock_and_five_in_sand(sand):
    for origin, typical in (("crushed rock", 0.15), ("washed", 0.05), (None, 0.05)):
        classes = build_classes(Sample("x", origin=origin), sand.mineralogy, sand.sizes)[0]
        assert share(classes, "ilmenite", "joined")[0] == pytest.approx(typical, rel=1e-9)
        assert share(classes, "rutile", "joined")[0] == 0.0


def test_the_default_share_is_drawn_between_nothing_and_twenty_per_cent(sand_of):
    sand = sand_of(trials=2000)
    classes = build_classes(PLAIN, sand.mineralogy, sand.sizes)[0]
    drawn = share(classes, "ilmenite", "joined")[1:]
    assert drawn.mean() == pytest.approx(0.05, abs=0.006)
    assert np.mean(drawn > 0.20) == pytest.approx(0.05, abs=0.015)
    other = share(classes, "biotite", "joined")[1:]
    rank = np.corrcoef(np.argsort(np.argsort(drawn)), np.argsort(np.argsort(other)))[0, 1]
    assert rank == pytest.approx(0.48, abs=0.06)  # half of the variance is common to all


def test_the_stated_grades_are_those_of_the_joined_grains(sand):
    classes = build_classes(PLAIN, sand.mineralogy, sand.sizes)[0]
    joined = classes.form == FORMS.index("joined")
    assert sorted(set(classes.grade[joined])) == [0.02, 0.10, 0.30, 0.60]


def test_a_texture_of_one_size_rules_there_and_that_of_the_bag_elsewhere(sand):
    textures = (
        Texture("ilmenite", None, "joined", 10.0),
        Texture("ilmenite", None, "joined", 40.0, passing_um=355.0, retained_um=180.0),
    )
    classes = build_classes(Sample("x", textures=textures), sand.mineralogy, sand.sizes)[0]
    mineral = classes.mineral == classes.phase_names.index("ilmenite")
    joined = mineral & (classes.form == FORMS.index("joined"))
    total = wanted(sand.mineralogy)[0, classes.phase_names.index("ilmenite")]
    held = np.bincount(classes.size[joined], (classes.mass[0] * classes.grade)[joined], minlength=8)
    assert held / total == pytest.approx([0.1, 0.4, 0.4, 0.1, 0.1, 0.1, 0.1, 0.1])


def test_a_stated_free_share_leaves_the_rest_joined(sand):
    textures = (Texture("ilmenite", None, "free", 70.0),)
    classes = build_classes(Sample("x", textures=textures), sand.mineralogy, sand.sizes)[0]
    assert share(classes, "ilmenite", "joined")[0] == pytest.approx(0.30)


def test_a_grain_size_uses_the_random_lattice_and_coarser_grains_are_freer(sand):
    joined = []
    for grain in (50.0, 200.0, 800.0):
        textures = (Texture("ilmenite", None, "joined", None, grain_size_um=grain),)
        sample = Sample("x", origin="crushed rock", textures=textures)
        classes = build_classes(sample, sand.mineralogy, sand.sizes)[0]
        joined.append(share(classes, "ilmenite", "joined")[0])
    assert joined[0] > joined[1] > joined[2] > 0.0


def test_of_a_natural_sand_the_model_is_an_upper_bound(sand_of):
    sand = sand_of(trials=300)
    textures = (Texture("ilmenite", None, "joined", None, grain_size_um=200.0),)
    found = {}
    for origin in ("crushed rock", "washed"):
        sample = Sample("x", origin=origin, textures=textures)
        found[origin] = share(
            build_classes(sample, sand.mineralogy, sand.sizes)[0], "ilmenite", "joined"
        )
    assert found["washed"][0] == pytest.approx(found["crushed rock"][0] / 2.0, rel=1e-6)
    assert found["washed"].max() <= found["crushed rock"][0] * 1.1


def test_a_host_that_is_short_scales_the_joined_share_down_and_says_so(sand_of):
    sand = sand_of(trials=3, typical={"quartz": 2.0, "biotite": 98.0})
    textures = (Texture("biotite", "quartz", "joined", 100.0),)
    classes, notes = build_classes(Sample("x", textures=textures), sand.mineralogy, sand.sizes)
    assert [note.code for note in notes] == ["host_short"]
    assert 0.0 < share(classes, "biotite", "joined")[0] < 0.05
    assert np.abs(mass_by_phase_and_size(classes) - wanted(sand.mineralogy)).max() < 1e-12


def test_inclusions_move_the_host_at_low_grades(sand):
    textures = (Texture("magnetite", "albite", "inclusion", 100.0),)
    classes = build_classes(Sample("x", textures=textures), sand.mineralogy, sand.sizes)[0]
    inside = classes.form == FORMS.index("inclusion")
    assert set(classes.host[inside]) == {classes.phase_names.index("albite")}
    assert (classes.carrier[inside] == np.flatnonzero(inside)).all()
    # Half of 13.5 % albite holds 0.02 % magnetite, so the mean grade is near 0.3 %.
    held = classes.mass[0, inside]
    assert held @ classes.grade[inside] / held.sum() == pytest.approx(0.003, rel=0.35)


def test_inclusions_of_known_size_are_thrown_at_random(sand):
    """A 25 um lump in a grain: (25/d)^3 of its volume, times the densities 5180/2620, at least."""
    textures = (Texture("magnetite", "albite", "inclusion", 100.0, grain_size_um=25.0),)
    classes = build_classes(Sample("x", textures=textures), sand.mineralogy, sand.sizes)[0]
    inside = classes.form == FORMS.index("inclusion")
    size = classes.size[inside]
    held = np.bincount(size, (classes.mass[0] * classes.grade)[inside], minlength=8)
    grains = np.bincount(size, classes.mass[0, inside], minlength=8)
    one = (25.0 / sand.sizes.middle_um) ** 3 * 5180.0 / 2620.0
    assert (held / grains)[1:6] == pytest.approx(
        np.maximum(one, 0.02 / 13.5)[1:6] / (1 + one[1:6]), rel=0.5
    )
    albite = wanted(sand.mineralogy)[0, classes.phase_names.index("albite")]
    bearing = grains / albite
    assert (np.diff(bearing[:6]) < 0.0).all()  # fine grains seldom hold one
    assert bearing[4] < 0.15


def test_the_size_of_inclusions_is_not_the_size_of_joined_grains(sand):
    textures = (
        Texture("ilmenite", "quartz", "inclusion", 10.0, grain_size_um=5.0),
        Texture("ilmenite", None, "joined", None, grain_size_um=300.0),
    )
    alone = (Texture("ilmenite", None, "joined", None, grain_size_um=300.0),)
    both, one = (
        build_classes(Sample("x", "", "crushed rock", textures=t), sand.mineralogy, sand.sizes)[0]
        for t in (textures, alone)
    )
    # Not to the last digit: hosts that hold inclusions are no longer there to be joined.
    assert share(both, "ilmenite", "joined")[0] == pytest.approx(
        0.9 * share(one, "ilmenite", "joined")[0], rel=2e-3
    )


def test_stain_follows_surface_and_rides_on_its_host(sand):
    textures = (Texture("goethite", "quartz", "stain", 5.0),)
    classes = build_classes(Sample("x", textures=textures), sand.mineralogy, sand.sizes)[0]
    stain = classes.form == FORMS.index("stain")
    quartz = classes.phase_names.index("quartz")
    assert (classes.mineral[classes.carrier[stain]] == quartz).all()
    assert (classes.size[classes.carrier[stain]] == classes.size[stain]).all()
    per_sand = classes.mass[0, stain] / np.array(wanted(sand.mineralogy)[0, quartz])
    # Finer sand carries more: iron times size is nearly flat (sanity rules of the trade), bent
    # only where the mineral itself has not so much in a size.
    assert np.all(np.diff(per_sand) > 0.0)
    flat = per_sand * sand.sizes.middle_um
    assert flat[:6] == pytest.approx(flat[:6].mean(), rel=0.15)
    assert share(classes, "goethite", "stain")[0] == pytest.approx(0.05, abs=1e-4)


def test_unseen_iron_sits_as_stain_inclusion_and_fine_oxide_as_drawn(sand):
    classes = build_classes(PLAIN, sand.mineralogy, sand.sizes)[0]
    unseen = classes.form == FORMS.index("not found")
    total = classes.mass[:, unseen].sum(axis=1)
    for k, form in enumerate(("stain", "inclusion", "free")):
        part = classes.mass[:, unseen & (classes.acts_as == FORMS.index(form))].sum(axis=1)
        assert part / total == pytest.approx(sand.mineralogy.unseen_form_share[:, k], abs=2e-3)


def test_flakes_are_a_tenth_as_thick_as_wide_unless_measured(sand):
    biotite = sand.mineralogy.phases.index(
        next(p for p in sand.mineralogy.phases if p.name == "biotite")
    )
    plain = build_classes(PLAIN, sand.mineralogy, sand.sizes)[0]
    free = (plain.mineral == biotite) & (plain.form == FORMS.index("free"))
    assert set(plain.thickness_ratio[free]) == {0.1}
    assert set(plain.thickness_ratio[~(plain.mineral == biotite)]) == {1.0}
    textures = (Texture("biotite", None, "free", None, thickness_um=20.0),)
    known = build_classes(Sample("x", textures=textures), sand.mineralogy, sand.sizes)[0]
    free = (known.mineral == biotite) & (known.form == FORMS.index("free"))
    assert known.thickness_ratio[free] == pytest.approx(
        np.clip(20.0 / sand.sizes.middle_um, None, 1.0)[known.size[free]]
    )


def test_the_order_of_texture_rows_changes_nothing_to_the_last_digit(sand):
    textures = (
        Texture("ilmenite", "quartz", "joined", 10.0),
        Texture("ilmenite", "albite", "joined", 20.0),
        Texture("biotite", None, "joined", None, grain_size_um=150.0),
        Texture("goethite", None, "stain", 30.0),
        Texture("magnetite", "albite", "inclusion", 50.0),
        Texture("ilmenite", None, "joined", 40.0, passing_um=250.0, retained_um=90.0),
    )
    one = build_classes(Sample("x", textures=textures), sand.mineralogy, sand.sizes)[0]
    two = build_classes(Sample("x", textures=textures[::-1]), sand.mineralogy, sand.sizes)[0]
    assert np.array_equal(one.mass, two.mass)
    assert np.array_equal(one.grade, two.grade)


def test_a_mineral_of_no_mass_changes_nothing(sand_of):
    few = sand_of(trials=20, typical={"quartz": 98.0, "biotite": 2.0})
    more = sand_of(trials=20, typical={"quartz": 98.0, "biotite": 2.0}, names=["ilmenite"])
    one = build_classes(PLAIN, few.mineralogy, few.sizes)[0]
    two = build_classes(PLAIN, more.mineralogy, more.sizes)[0]
    assert np.array_equal(one.mass, two.mass)
    assert [one.phase_names[k] for k in one.mineral] == [two.phase_names[k] for k in two.mineral]


def test_the_seed_moves_the_trials_and_never_the_typical_case(sand):
    one, two = (build_classes(PLAIN, sand.mineralogy, sand.sizes, seed)[0] for seed in (1, 2))
    assert np.array_equal(one.mass[0], two.mass[0])
    assert not np.array_equal(one.mass[1:], two.mass[1:])


def test_rows_that_cannot_be_used_are_told(sand):
    textures = (
        Texture("chromite", None, "joined", 10.0),
        Texture("quartz", "albite", "joined", 10.0),
        Texture("ilmenite", "chromite", "joined", 10.0),
    )
    _, notes = build_classes(Sample("x", textures=textures), sand.mineralogy, sand.sizes)
    assert [note.code for note in notes] == ["texture_mineral", "texture_host", "texture_pale"]


@pytest.mark.parametrize(
    ("shares", "words"),
    [
        ({"free": 90.0, "joined": 30.0}, "sum to 120 %; scaled to 100"),
        ({"free": 70.0, "joined": 10.0}, "20 % of ilmenite is in no form; taken as free"),
        ({"free": 70.0, "joined": 29.0}, None),
        ({"free": 70.0}, None),
    ],
)
def test_shares_that_do_not_sum_are_told(sand, shares, words):
    textures = tuple(Texture("ilmenite", None, form, part) for form, part in shares.items())
    _, notes = build_classes(Sample("x", textures=textures), sand.mineralogy, sand.sizes)
    assert [note.text.split(": ")[1].removeprefix("the shares of ilmenite ") for note in notes] == (
        [] if words is None else [words]
    )


def product_iron(sand, classes):
    shares = sand.shares(classes, spread=0.0)
    kept = classes.mass * shares.non_magnetics
    iron = sand.mineralogy.oxides_wt_pct[:, :, 3]
    hosts = host_part(classes)
    content = (1 - hosts) * iron[:, classes.mineral]
    content = content + hosts * iron[:, np.maximum(classes.host, 0)]
    return (kept * content).sum(axis=1) / kept.sum(axis=1)


@pytest.mark.parametrize("grain", [60.0, 150.0, 400.0])
def test_eight_grade_bins_say_the_same_as_thirty_two(sand, grain):
    textures = tuple(
        Texture(name, None, "joined", None, grain_size_um=grain)
        for name in ("biotite", "goethite", "ilmenite", "magnetite")
    )
    sample = Sample("x", origin="crushed rock", textures=textures)
    few, many = (
        product_iron(sand, build_classes(sample, sand.mineralogy, sand.sizes, 1, bins)[0])
        for bins in (8, 32)
    )
    assert few == pytest.approx(many, rel=0.02)


def test_inclusion_bins_say_the_same_as_four_times_as_many(sand):
    textures = (Texture("magnetite", "albite", "inclusion", 80.0),)
    sample = Sample("x", textures=textures)
    few, many = (
        product_iron(sand, build_classes(sample, sand.mineralogy, sand.sizes, 1, bins)[0])
        for bins in (8, 32)
    )
    assert few == pytest.approx(many, rel=0.02)


def test_iron_by_mineral_form_and_size_is_the_iron_of_the_bag(sand):
    textures = (
        Texture("goethite", "quartz", "stain", 40.0),
        Texture("magnetite", "albite", "inclusion", 50.0),
    )
    classes = build_classes(Sample("x", textures=textures), sand.mineralogy, sand.sizes)[0]
    table = iron_table(classes, sand.mineralogy)
    assert table.of_feed_wt_pct.sum(axis=1) == pytest.approx(
        sand.mineralogy.predicted_wt_pct[:, 3], abs=1e-12
    )
    assert table.of_iron_pct.sum(axis=1) == pytest.approx(100.0, abs=1e-9)
    assert len(set(zip(table.mineral, table.form, table.size, strict=True))) == len(table.size)
    forms = dict(zip(table.mineral, table.form, strict=True))
    assert forms["quartz"] == forms["albite"] == "inside"
    assert forms["unseen"] == "not found"


def test_a_certain_bag_is_a_bag_of_one_row(sand):
    m = sand.mineralogy
    certain = replace(
        m, mass_fraction=m.mass_fraction[:1], oxides_wt_pct=m.oxides_wt_pct[:1],
        iron_wt_pct=m.iron_wt_pct[:1], unseen_form_share=m.unseen_form_share[:1],
    )  # fmt: skip
    one = build_classes(PLAIN, certain, sand.sizes)[0]
    many = build_classes(PLAIN, m, sand.sizes)[0]
    assert one.mass[0] == pytest.approx(many.mass[0], rel=1e-12, abs=1e-18)


def test_the_table_for_people_holds_the_same_masses(sand):
    classes = build_classes(PLAIN, sand.mineralogy, sand.sizes)[0]
    table = classes_frame(classes)
    assert len(table) == len(classes.size)
    assert table["mass_pct"].sum() == pytest.approx(100.0)
    ilmenite = table[(table["mineral"] == "ilmenite") & (table["form"] == "joined")]
    assert set(ilmenite["host"]) == {"quartz"}
    assert set(table.loc[table["form"] == "free", "host"]) == {""}
