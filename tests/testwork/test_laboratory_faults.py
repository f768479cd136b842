"""Synthetic laboratories: how often a single mistake is found, and how often one is invented.

Every case draws a test of its own: compositions, splits, handling losses (gamma, mean 0.3 %), noise
of weights (0.05 g) and assays (2 to 3 % and a floor), and which bags went to which laboratory. All
invented. A mistake counts as found when the first fault named is of the right kind and, for a pair
of labels and for a lost bag, names the right bags.
"""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations

import numpy as np
import pytest

from feedchar.testwork.bags import bags_of
from feedchar.testwork.gross_error import (
    FE2O3_PER_FE,
    find_gross_error,
    weighing_sd_g,
    wrong_way_round,
)

OXIDES = ["Fe2O3", "TiO2", "Al2O3", "K2O"]
RELATIVE_SD = np.array([0.03, 0.03, 0.02, 0.02])
FLOOR_SD = np.array([0.002, 0.002, 0.01, 0.01])
DRUM, PASS_1, PASS_2, MIDDLINGS = "feed", "drum clean", "roll 1 clean", "roll 1 middlings"
TREES = {
    "a drum and two passes": {
        "drum magnetics": DRUM, "drum clean": DRUM,
        "roll 1 magnetics": PASS_1, "roll 1 clean": PASS_1,
        "roll 2 magnetics": PASS_2, "roll 2 clean": PASS_2,
    },
    "with middlings treated again": {
        "drum magnetics": DRUM, "drum clean": DRUM,
        "roll 1 magnetics": PASS_1, "roll 1 middlings": PASS_1, "roll 1 clean": PASS_1,
        "roll 2 magnetics": PASS_2, "roll 2 clean": PASS_2,
        "again magnetics": MIDDLINGS, "again clean": MIDDLINGS,
    },
}  # fmt: skip
LEAVES = {  # share of the feed, and Fe2O3, TiO2, Al2O3, K2O
    "drum magnetics": (0.003, 0.02, [60.0, 4.0, 4.0, 0.5]),
    "roll 1 magnetics": (0.02, 0.06, [14.0, 4.0, 12.0, 3.5]),
    "roll 2 magnetics": (0.01, 0.04, [4.0, 1.0, 11.0, 2.8]),
    "again magnetics": (0.01, 0.04, [8.0, 2.0, 12.0, 3.0]),
    "again clean": (0.05, 0.15, [0.25, 0.08, 6.0, 2.6]),
    "roll 2 clean": (1.0, 1.0, [0.06, 0.03, 5.0, 2.5]),  # what is left
}


def true_test(random, tree, lost_at=None):
    """Names, sources, masses and assays of a test; a bag of 3 % may be lost at one split."""
    source = TREES[tree]
    names = ["feed", *source]
    mass, content = {}, {}
    for name in names:
        if name in LEAVES:
            low, high, oxides = LEAVES[name]
            mass[name] = 1000.0 * random.uniform(low, high)
            content[name] = np.array(oxides) * np.exp(0.3 * random.standard_normal(4))
    mass["roll 2 clean"] = 2000.0 - sum(mass.values())
    content = {name: mass[name] * assay for name, assay in content.items()}
    for name in reversed(names):  # every bag stands before the bags split from it
        parts = [part for part in source if source[part] == name]
        if not parts:
            continue
        kept = 1.0 - random.gamma(2.0, 0.0015)
        mass[name] = sum(mass[part] for part in parts) / kept
        content[name] = sum(content[part] for part in parts) / kept
        if name == lost_at:
            share = random.dirichlet(np.ones(len(parts)))
            like = sum(s * np.log(content[p] / mass[p]) for s, p in zip(share, parts, strict=True))
            lost = 0.03 / 0.97 * mass[name]
            mass[name] += lost
            content[name] = content[name] + lost * np.exp(like)
    masses = np.array([mass[name] for name in names])
    assays = np.array([content[name] / mass[name] for name in names])
    return names, [None, *source.values()], masses, assays


def measured(random, names, source, masses, assays):
    """The bags as a laboratory reports them, and which of them the second laboratory assayed."""
    weighed = masses + 0.05 * random.standard_normal(masses.size)
    noise = (RELATIVE_SD * assays + FLOOR_SD) * random.standard_normal(assays.shape)
    assayed = np.maximum(assays + noise, 0.0)
    second = random.choice(len(names), random.integers(2, len(names) // 2 + 1), replace=False)
    laboratory = ["south" if i in second else "north" for i in range(len(names))]
    sd = RELATIVE_SD * assayed + FLOOR_SD
    return bags_of(
        names, source, weighed, weighing_sd_g(weighed), OXIDES, assayed, sd, laboratory
    ), second  # fmt: skip


def laboratory_case(seed, fault):
    """Bags with one mistake in them, and the bags that must be named."""
    random = np.random.default_rng([seed, *fault.encode()])
    tree = list(TREES)[seed % 2]
    splits = sorted(set(TREES[tree].values()))
    lost_at = splits[random.integers(len(splits))] if fault == "lost bag" else None
    names, source, masses, assays = true_test(random, tree, lost_at)
    bags, second = measured(random, names, source, masses, assays)
    if fault == "lost bag":
        return bags, {lost_at}
    if fault in ("assays swapped", "bags swapped"):
        pairs = [
            (i, j)
            for i, j in combinations(range(len(names)), 2)
            if fault == "assays swapped" or source[i] != source[j]
        ]
        i, j = pairs[random.integers(len(pairs))]
        order = np.arange(len(names))
        order[[i, j]] = j, i
        bags = replace(bags, assay=bags.assay[order], assay_sd=bags.assay_sd[order])
        if fault == "bags swapped":
            bags = replace(bags, mass=bags.mass[order], mass_sd=bags.mass_sd[order])
        return bags, {names[i], names[j]}
    if fault == "iron basis":
        factor = FE2O3_PER_FE if random.random() < 0.5 else 1.0 / FE2O3_PER_FE
        assay = bags.assay.copy()
        assay[second, 0] *= factor
        sd = RELATIVE_SD * assay + FLOOR_SD
        return replace(bags, assay=assay, assay_sd=sd), set()
    return bags, set()


KIND = {
    "assays swapped": "labels swapped", "bags swapped": "labels swapped",
    "lost bag": "mass missing", "iron basis": "iron basis",
}  # fmt: skip


def is_found(seed, fault):
    bags, guilty = laboratory_case(seed, fault)
    diagnosis = find_gross_error(bags)
    if not diagnosis.alarm:
        return False
    first = diagnosis.faults[0]
    return first.kind == KIND[fault] and (not guilty or set(first.bags) == guilty)


@pytest.mark.slow
@pytest.mark.parametrize("fault", sorted(KIND))
def test_a_mistake_of_the_laboratory_is_found_in_at_least_90_of_100_tests(fault):
    found = sum(is_found(seed, fault) for seed in range(100))
    print(f"{fault}: found in {found} of 100")  # noqa: T201
    assert found >= 90


@pytest.mark.slow
def test_a_careful_laboratory_is_accused_in_fewer_than_5_of_100_tests():
    accused = sum(find_gross_error(laboratory_case(seed, "none")[0]).alarm for seed in range(100))
    print(f"accused without a mistake: {accused} of 100")  # noqa: T201
    assert accused < 5


@pytest.mark.parametrize("fault", sorted(KIND))
def test_one_mistake_of_each_kind_is_named_with_its_bags(fault):
    assert is_found(0, fault)


def test_a_careful_laboratory_is_left_alone():
    bags, _ = laboratory_case(0, "none")
    diagnosis = find_gross_error(bags)
    assert not diagnosis.alarm
    assert diagnosis.not_told_apart == ()


def test_rows_in_another_order_name_the_same_fault():
    bags, guilty = laboratory_case(4, "assays swapped")
    back = np.arange(len(bags.bag))[::-1]
    names = [bags.bag[i] for i in back]
    source = [bags.bag[bags.parent[i]] if bags.parent[i] >= 0 else None for i in back]
    turned = bags_of(
        names, source, bags.mass[back], bags.mass_sd[back], bags.oxide, bags.assay[back],
        bags.assay_sd[back], [bags.laboratory[i] for i in back],
    )  # fmt: skip
    first, second = find_gross_error(bags).faults[0], find_gross_error(turned).faults[0]
    assert set(first.bags) == set(second.bags) == guilty
    assert first.score == pytest.approx(second.score, abs=1e-6)


def test_one_laboratory_alone_is_never_told_that_its_iron_is_on_another_basis():
    bags, _ = laboratory_case(2, "iron basis")
    alone = replace(bags, laboratory=("north",) * len(bags.bag))
    assert all(fault.kind != "iron basis" for fault in find_gross_error(alone).faults)


def test_magnetics_and_clean_sand_exchanged_with_their_weights_show_in_their_iron_alone():
    """Such a swap closes every balance: only what the bags should be tells."""
    bags, _ = laboratory_case(0, "none")
    i, j = bags.bag.index("roll 2 magnetics"), bags.bag.index("roll 2 clean")
    order = np.arange(len(bags.bag))
    order[[i, j]] = j, i
    turned = replace(
        bags, mass=bags.mass[order], mass_sd=bags.mass_sd[order], assay=bags.assay[order],
        assay_sd=bags.assay_sd[order],
    )  # fmt: skip
    assert not find_gross_error(turned).alarm
    sds = turned.assay_sd[i, 0], turned.assay_sd[j, 0]
    assert wrong_way_round(turned.assay[i, 0], turned.assay[j, 0], *sds) > 2.0
    assert wrong_way_round(bags.assay[i, 0], bags.assay[j, 0], *sds) < -2.0
