"""From bag to product over random bags and settings: nothing is lost, made, or changed by order."""

from __future__ import annotations

import json
import random

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from random_bags import bags, machines, near, road, write_bag

from feedchar import characterise, read_sample, to_json
from feedchar.chemistry.mineralogy import OXIDES
from feedchar.cli.main import main
from feedchar.particles.iron import iron_table
from feedchar.sample.records import Limit

TRIALS = 12
FEW = settings(
    max_examples=8,
    deadline=None,
    derandomize=True,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)
FE2O3 = OXIDES.index("Fe2O3")


def told(folder, setting, **options):
    """The document without what names the files that were read."""
    sample = read_sample(str(folder))
    tree = json.loads(to_json(characterise(sample, setting, trials=TRIALS, **options)))
    del tree["input"]
    tree["notes"] = [n for n in tree["notes"] if "sieve" not in n["code"]]
    return tree


def check_outlets(tmp_path, bag, setting):
    made = road(write_bag(tmp_path / "bag", bag), setting, TRIALS)
    out = (made.split.non_magnetics, made.split.middlings, made.split.magnetics,
           made.split.untreated)  # fmt: skip
    mineralogy = made.mineralogy
    feed = mineralogy.mass_fraction[:, :, None] * mineralogy.size_share
    assert near(sum(one.phase_size for one in out), feed)
    oxides = np.einsum("tm,tmk->tk", mineralogy.mass_fraction, mineralogy.oxides_wt_pct)
    assert near(sum(one.oxide_mass for one in out), oxides)
    assert near(sum(one.mass for one in out), np.ones(TRIALS + 1))
    assert all((one.phase_size >= 0).all() for one in out)


def check_iron(tmp_path, bag, setting):
    made = road(write_bag(tmp_path / "bag", bag), setting, TRIALS)
    mineralogy = made.mineralogy
    iron = (mineralogy.mass_fraction * mineralogy.oxides_wt_pct[:, :, FE2O3]).sum(axis=1)
    table = iron_table(made.classes, mineralogy)
    assert near(table.of_feed_wt_pct.sum(axis=1), iron)
    assert (table.of_feed_wt_pct >= 0).all()
    product = made.split.non_magnetics.oxide("Fe2O3")
    assert near(made.stays.ppm.sum(axis=1), 1e4 * product)


@FEW
@given(bags(), machines())
def test_every_mineral_in_every_size_and_every_oxide_leaves_by_an_outlet(tmp_path, bag, setting):
    check_outlets(tmp_path, bag, setting)


@FEW
@given(bags(), machines())
def test_the_lines_of_the_iron_are_the_iron_of_the_bag_and_of_the_product(tmp_path, bag, setting):
    check_iron(tmp_path, bag, setting)


@pytest.mark.slow
@settings(FEW, max_examples=150, derandomize=False)
@given(bags(), machines())
def test_the_same_of_many_bags_and_machines(tmp_path, bag, setting):
    check_outlets(tmp_path, bag, setting)
    check_iron(tmp_path, bag, setting)


@settings(FEW, max_examples=3)
@given(bags(), machines(), st.integers(0, 10**6))
def test_the_order_of_rows_changes_no_digit(tmp_path, bag, setting, seed):
    first = told(write_bag(tmp_path / "bag", bag), setting)
    order = random.Random(seed)
    assert told(write_bag(tmp_path / "bag", bag, order), setting) == first


@settings(FEW, max_examples=2)
@given(bags(), machines(), st.sampled_from([0.25, 8.0, 1024.0]))
def test_weights_of_sieves_count_by_their_ratios_alone(tmp_path, bag, setting, factor):
    first = told(write_bag(tmp_path / "bag", bag), setting)
    bag = {**bag, "sieves": [bag["sieves"][0], *([a, b, w * factor] for a, b, w in
                                                 bag["sieves"][1:])]}  # fmt: skip
    assert told(write_bag(tmp_path / "bag", bag), setting) == first


@settings(FEW, max_examples=2)
@given(bags(), machines())
def test_sieves_by_another_unit_and_an_assay_in_ppm_are_the_same_sample(tmp_path, bag, setting):
    toml = "[assay]\nFe2O3 = {}\nTiO2 = 0.05\n"
    first = told(write_bag(tmp_path / "bag", {**bag, "toml": toml.format(0.25)}), setting)
    heading, *rows = bag["sieves"]
    in_mm = [[f"{a / 1000:.12g} mm", f"{b / 1000:.12g} mm" if b else "pan", w] for a, b, w in rows]
    other = {**bag, "sieves": [heading, *in_mm], "toml": "[assay]\nTiO2_ppm = 500\nFe2O3 = 0.25\n"}
    assert told(write_bag(tmp_path / "bag", other), setting) == first


@settings(FEW, max_examples=2)
@given(bags())
def test_units_of_the_screen_change_no_byte_of_the_document(tmp_path, capsys, bag):
    folder = str(write_bag(tmp_path / "bag", bag))
    asked = ("assess", folder, "--trials", "3", "--belt-speed", "1.5", "--json", "-", "--units")
    texts = []
    for units in ("trade", "si"):
        assert main([*asked, units]) == 0
        texts.append(capsys.readouterr().out)
    assert texts[0] == texts[1]


@FEW
@given(bags(), machines())
def test_the_typical_case_does_not_depend_on_how_many_trials_there_are(tmp_path, bag, setting):
    folder = write_bag(tmp_path / "bag", bag)
    many, none = road(folder, setting, TRIALS), road(folder, setting, 0)
    assert none.split.yield_pct().shape == (1,)
    assert near(none.split.yield_pct()[0], many.split.yield_pct()[0])
    for outlet in ("non_magnetics", "magnetics"):
        one, other = getattr(none.split, outlet), getattr(many.split, outlet)
        assert near(one.oxide_mass[0], other.oxide_mass[0])
        assert near(one.phase_size[0], other.phase_size[0])
    assert near(none.stays.ppm[0], many.stays.ppm[0], 1e-6)


@settings(FEW, max_examples=2)
@given(bags(), machines())
def test_a_looser_limit_is_never_less_likely_to_be_met(tmp_path, bag, setting):
    sample = read_sample(str(write_bag(tmp_path / "bag", bag)))
    found = [
        characterise(sample, setting, Limit(max_wt_pct={"Fe2O3": limit}), trials=TRIALS)
        for limit in (0.02, 0.1, 0.5, 5.0)
    ]
    chances = [one.answer.chance_of_meeting_limit for one in found]
    known = [chance for chance in chances if chance is not None]
    assert known == sorted(known)
    assert len(known) in (0, len(chances)), "what is not known does not depend on the limit"
    iron = {one.product.non_magnetics.assay_wt_pct["Fe2O3"].typical for one in found}
    assert len(iron) == 1, "what is asked of the product does not change the product"
