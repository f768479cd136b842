"""Classical calculations against published norms and hand arithmetic.

Norms: gomes_neiva_2005 and beard_1994, as compiled for testing a general geochemistry library;
rational analyses: inputs read (louiskatz, mdtcl, simav_chapter), answers computed by hand;
stoichiometric factors: computed from oxide masses, K-feldspar also read. Reference materials are
recalled figures (memory), so they support and certify nothing.
"""

from __future__ import annotations

import csv
from pathlib import Path

import pytest

from feedchar.chemistry.formula import molar_mass, oxide_wt_pct
from feedchar.chemistry.norm import cipw_norm, nepheline_split, oxide_factor, rational_analysis

DATA = Path(__file__).parent / "data"


def rows(name):
    return list(csv.DictReader((DATA / name).read_text(encoding="utf-8").splitlines()))


def norm_cases():
    cases: dict[str, dict[str, dict[str, float]]] = {}
    for row in rows("norms_cipw.csv"):
        kinds = cases.setdefault(row["sample"], {})
        kinds.setdefault(row["kind"], {})[row["item"]] = float(row["wt_pct"])
    return cases


@pytest.mark.parametrize("sample", sorted(norm_cases()))
def test_the_norm_of_a_granite_is_the_published_one(sample):
    case = norm_cases()[sample]
    norm = cipw_norm(case["input_oxide_adjusted"])
    for mineral, printed in case["expected_norm"].items():
        assert norm[mineral] == pytest.approx(printed, abs=2e-4), mineral
    assert sum(norm.values()) == pytest.approx(sum(case["input_oxide_adjusted"].values()), abs=1e-9)


@pytest.mark.parametrize("row", rows("rational_analysis.csv"), ids=lambda r: r["material"])
def test_the_rational_analysis_of_a_ceramic_material(row):
    oxides = {
        name: float(row[f"{name}_pct"] or 0.0) for name in ("SiO2", "Al2O3", "K2O", "Na2O", "CaO")
    }
    minerals = rational_analysis(oxides)
    for mineral, amount in minerals.items():
        assert amount == pytest.approx(float(row[f"expected_{mineral}_pct"]), abs=0.0055), mineral
    assert sum(minerals.values()) == pytest.approx(float(row["expected_sum_pct"]), abs=0.015)


def test_a_rational_analysis_that_cannot_be_is_allowed_to_fail_aloud():
    row = next(r for r in rows("rational_analysis.csv") if r["material"].startswith("fireclay"))
    oxides = {name: float(row[f"{name}_pct"]) for name in ("SiO2", "Al2O3", "K2O", "Na2O", "CaO")}
    assert rational_analysis(oxides)["quartz"] < -3.0


@pytest.mark.parametrize("row", rows("element_to_mineral.csv"), ids=lambda r: r["mineral"])
def test_the_factor_from_an_oxide_to_its_mineral(row):
    formula = row["oxide_formula"]
    assert molar_mass(formula) == pytest.approx(float(row["molar_mass_g_mol"]), abs=0.01)
    assert oxide_factor(formula, row["factor_oxide"]) == pytest.approx(
        float(row["factor"]), abs=2e-3
    )
    shares = oxide_wt_pct(formula)
    for oxide in ("SiO2", "Al2O3", "K2O", "Na2O", "CaO", "H2O"):
        if row[oxide]:
            assert shares[oxide] == pytest.approx(float(row[oxide]), abs=0.006)


@pytest.mark.parametrize(
    ("material", "closure", "spare"),
    [
        ("NIST SRM 70a", 99.72, 0.7), ("NIST SRM 99a", 99.52, 0.8), ("BCS-CRM 375", 99.06, 0.2),
        ("BCS-CRM 376", 99.43, -0.1), ("GSJ JF-1", 99.07, 0.03), ("GSJ JF-2", 99.39, 0.4),
        ("ANRT FK-N", 99.24, 0.3), ("NIST SRM 1413", 99.60, 1.4),
    ],
)  # fmt: skip
def test_recalled_feldspars_close_as_feldspars(material, closure, spare):
    row = next(r for r in rows("reference_materials.csv") if r["material"] == material)
    oxides = {name: float(row[f"{name}_pct"]) for name in ("SiO2", "Al2O3", "K2O", "Na2O", "CaO")}
    minerals = rational_analysis(oxides)
    alumina = minerals["kaolinite"] / oxide_factor("Al2O3(SiO2)2(H2O)2", "Al2O3")
    assert alumina == pytest.approx(spare, abs=0.06)
    # Alumina short of nothing is no clay: its silica goes back to quartz.
    shortage = min(minerals["kaolinite"], 0.0)
    total = sum(minerals.values()) - shortage * (1.0 - 0.4655)
    assert total == pytest.approx(closure, abs=0.01)


def test_a_recalled_nepheline_syenite_splits_its_soda():
    row = next(r for r in rows("reference_materials.csv") if r["material"] == "GSJ JSy-1")
    oxides = {name: float(row[f"{name}_pct"]) for name in ("SiO2", "Al2O3", "K2O", "Na2O", "CaO")}
    minerals = nepheline_split(oxides)
    expected = {"orthoclase": 28.5, "albite": 44.1, "anorthite": 1.2, "nepheline": 25.3}
    for mineral, amount in expected.items():
        assert minerals[mineral] == pytest.approx(amount, abs=0.06)
    assert minerals["spare Al2O3"] == pytest.approx(-0.2, abs=0.06)
