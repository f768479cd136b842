"""The invented examples: they read, say that they are invented, and their chemistry agrees."""

from __future__ import annotations

import re
import runpy

import periodictable
import pytest

from feedchar.sample.assay_error import default_assay_sd
from feedchar.sample.read import read_sample
from feedchar.sample.records import MineralAmount, Sample
from feedchar.tables.locate import examples_folder
from feedchar.tables.minerals import mineral

EXAMPLES = (
    "minimal.csv", "glass_sand", "feldspar", "nepheline_syenite", "workbook/crusher_sand.xlsx",
    "test_result", "glass_sand_test",
)  # fmt: skip

OXIDES = {
    "Si": ("SiO2", 1, 2), "Ti": ("TiO2", 1, 2), "Al": ("Al2O3", 2, 3), "Fe": ("Fe2O3", 2, 3),
    "Mn": ("MnO", 1, 1), "Mg": ("MgO", 1, 1), "Ca": ("CaO", 1, 1), "Na": ("Na2O", 2, 1),
    "K": ("K2O", 2, 1), "P": ("P2O5", 2, 5), "Zr": ("ZrO2", 1, 2),
}  # fmt: skip


def atoms(formula: str) -> dict[str, float]:
    """Atoms of a formula with simple brackets, read apart from the project's own parser."""
    while (group := re.search(r"\(([^()]*)\)([\d.]*)", formula)) is not None:
        times = float(group[2] or 1)
        flat = "".join(
            f"{e}{float(n or 1) * times:.6f}"
            for e, n in re.findall(r"([A-Z][a-z]?)([\d.]*)", group[1])
        )
        formula = formula.replace(group[0], flat, 1)
    found: dict[str, float] = {}
    for element, number in re.findall(r"([A-Z][a-z]?)([\d.]*)", formula):
        found[element] = found.get(element, 0.0) + float(number or 1)
    return found


def mass(element: str) -> float:
    return float(getattr(periodictable, element).mass)


def oxides_of(name: str) -> dict[str, float]:
    composition = atoms(mineral(name).formula)
    whole = sum(mass(element) * number for element, number in composition.items())
    percent = {}
    for element, number in composition.items():
        if element in OXIDES:
            oxide, metals, oxygens = OXIDES[element]
            weight = (metals * mass(element) + oxygens * mass("O")) / metals
            percent[oxide] = 100 * number * weight / whole
    return percent


def predicted(sample: Sample) -> dict[str, float]:
    """Oxides of the listed minerals; what is below detection counts half of its interval."""
    own = {phase.phase: phase for phase in sample.phases}

    def weight(row: MineralAmount) -> float:
        amount = row.value / 2 if row.below_detection else row.value
        if row.basis == "mass_pct":
            return amount
        density = own[row.mineral].density_kg_m3 if row.mineral in own else None
        return amount * (density or mineral(row.mineral).density_kg_m3)

    shares = {(s.passing_um, s.retained_um): s.mass_pct for s in sample.sieves}
    total: dict[str, float] = {}
    keys = {(m.passing_um, m.retained_um) for m in sample.minerals if m.fraction is None}
    covered = sum(1.0 if key[0] is None else shares[key] / 100 for key in keys)
    for key in keys:
        rows = [
            m for m in sample.minerals if (m.passing_um, m.retained_um) == key and not m.fraction
        ]
        whole = sum(weight(row) for row in rows)
        part = (1.0 if key[0] is None else shares[key] / 100) / covered
        for row in rows:
            ours = row.mineral in own
            oxides = own[row.mineral].oxides_wt_pct if ours else oxides_of(row.mineral)
            for oxide, percent in oxides.items():
                total[oxide] = total.get(oxide, 0.0) + part * weight(row) / whole * percent
    return total


@pytest.mark.parametrize("name", EXAMPLES)
def test_an_example_reads_without_a_warning_and_says_it_is_invented(name):
    path = examples_folder() / name
    sample = read_sample(path)
    assert sample.minerals
    assert not [note for note in sample.notes if note.severity != "note"]
    readme = examples_folder() / "README.md"
    if name != "minimal.csv":
        readme = (path if path.is_dir() else path.parent) / "README.md"
    assert "nvented" in readme.read_text(encoding="utf-8")


@pytest.mark.parametrize("name", [name for name in EXAMPLES if name != "minimal.csv"])
def test_minerals_and_assay_of_an_example_agree(name):
    sample = read_sample(examples_folder() / name)
    minerals = predicted(sample)
    for oxide, value in sample.assay.items():
        if oxide in ("LOI", "Fe2O3"):
            continue
        sd = value.sd or default_assay_sd(oxide, value.value)
        if value.below_detection:
            assert minerals.get(oxide, 0.0) <= value.value + sd
        else:
            assert abs(value.value - minerals.get(oxide, 0.0)) <= 1.5 * sd, oxide


@pytest.mark.parametrize("name", [name for name in EXAMPLES if name != "minimal.csv"])
def test_the_iron_that_no_mineral_names_is_some_and_not_most(name):
    sample = read_sample(examples_folder() / name)
    iron = sample.assay["Fe2O3"]
    sd = iron.sd or default_assay_sd("Fe2O3", iron.value)
    unseen = iron.value - predicted(sample)["Fe2O3"]
    assert -2 * sd <= unseen <= 0.3 * iron.value


def test_the_glass_sand_has_its_dark_minerals_counted_and_its_iron_between_bounds():
    sample = read_sample(examples_folder() / "glass_sand")
    assert 0.10 <= sample.assay["Fe2O3"].value <= 0.25
    counted = {m.mineral: m.basis for m in sample.minerals}
    for name in ("biotite", "ilmenite", "hematite", "schorl", "muscovite"):
        assert counted[name] in ("points", "grains")
    assert sample.limit is not None
    assert sample.limit.use == "colourless container"
    iron = sum(c.mass_pct * c.oxides_wt_pct["Fe2O3"] for c in sample.sieves) / 100
    assert iron == pytest.approx(sample.assay["Fe2O3"].value, abs=0.004)


def test_bags_of_the_test_add_up_to_the_feed():
    sample = read_sample(examples_folder() / "test_result")
    found = {(d.bag, d.oxide): d.value for d in sample.determinations}
    assert len({bag.test for bag in sample.tests}) == 3
    for test in sorted({bag.test for bag in sample.tests}):
        bags = [b for b in sample.tests if b.test == test and b.product != "dust"]
        for oxide in ("Fe2O3", "TiO2"):
            carried = sum(b.mass_g * found[b.bag, oxide] for b in bags)
            back = carried / sum(b.mass_g for b in bags)
            assert back == pytest.approx(sample.assay[oxide].value, rel=0.04)
        fast = [b.belt_speed_m_s for b in bags]
        assert fast[0] is not None
        assert 0.9 < fast[0] < 2.1


def test_the_workbook_example_is_what_its_script_writes(tmp_path, same):
    folder = examples_folder() / "workbook"
    script = runpy.run_path(str(folder / "make_workbook.py"), run_name="imported")
    script["main"](tmp_path / "again.xlsx")
    same(read_sample(folder / "crusher_sand.xlsx"), read_sample(tmp_path / "again.xlsx"))
