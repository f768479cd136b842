"""Conversions made while reading, against figures printed elsewhere and reference libraries."""

from __future__ import annotations

import csv
from pathlib import Path

import periodictable
import pytest

from feedchar.sample.iron import FE2O3_PER_FE, FE2O3_PER_FEO, all_iron, as_fe2o3
from feedchar.sample.oxides import ATOMIC_MASS_G_MOL, OxideReading, element_as_oxide
from feedchar.sample.susceptibility import unit_factor

CHECKS = Path(__file__).with_name("data") / "susceptibility_checks.csv"


@pytest.mark.parametrize("element", sorted(ATOMIC_MASS_G_MOL))
def test_atomic_weights_are_those_of_a_reference_library(element):
    # periodictable carries the table of IUPAC; ours are its abridged five figures.
    reference = getattr(periodictable, element).mass
    assert ATOMIC_MASS_G_MOL[element] == pytest.approx(reference, rel=5e-5)


def test_iron_of_hematite_as_printed():
    # webmineral, hematite: Fe 69.94 %, printed to 0.01.
    assert pytest.approx(100.0, abs=0.02) == 69.94 * FE2O3_PER_FE


def test_ferrous_oxide_and_iron_of_almandine_as_printed_by_two_sources():
    # FeO 43.3 (Handbook of Mineralogy, anthony_2001), Fe 33.66 (webmineral): the same iron.
    from_oxide = as_fe2o3(OxideReading("FeO", 43.30)).value
    from_metal = as_fe2o3(OxideReading("Fe", 33.66)).value
    assert from_oxide == pytest.approx(from_metal, abs=0.02)


def test_ferrous_and_ferric_iron_of_glauconite_add_up_to_the_iron_printed():
    # webmineral, glauconite: FeO 3.37, Fe2O3 24.31, Fe 19.62.
    parts = all_iron([OxideReading("FeO_ferrous", 3.37), OxideReading("Fe2O3_ferric", 24.31)])
    assert parts is not None
    assert parts.value == pytest.approx(19.62 * FE2O3_PER_FE, abs=0.02)


def test_iron_of_wuestite_as_printed():
    # printed_formula_pages, FeO: Fe 77.74 %.
    assert pytest.approx(100.0 * FE2O3_PER_FEO, abs=0.02) == 77.74 * FE2O3_PER_FE


@pytest.mark.parametrize(
    ("element", "oxide", "metals"),
    [
        ("Si", "SiO2", 1), ("Ti", "TiO2", 1), ("Al", "Al2O3", 2), ("Mn", "MnO", 1),
        ("Mg", "MgO", 1), ("Ca", "CaO", 1), ("Na", "Na2O", 2), ("K", "K2O", 2), ("P", "P2O5", 2),
        ("Cr", "Cr2O3", 2), ("Zr", "ZrO2", 1),
    ],
)  # fmt: skip
def test_an_element_becomes_its_oxide_as_a_reference_library_weighs_it(element, oxide, metals):
    whole = periodictable.formula(oxide).mass
    factor = whole / (metals * getattr(periodictable, element).mass)
    converted = element_as_oxide(OxideReading(element, 1.0))
    assert converted.name == oxide
    assert converted.value == pytest.approx(factor, rel=5e-5)


def test_cgs_susceptibilities_of_the_handbook_come_out_in_si():
    # CRC Handbook molar values (crc_susceptibility, read second hand) in 1e-6 cm3/mol; molar
    # masses from periodictable; the SI column beside them is printed to five figures.
    factor, by_volume = unit_factor("1e-6 cm3/g") or (0.0, True)
    assert not by_volume
    checked = 0
    with CHECKS.open(encoding="utf-8") as file:
        for row in csv.DictReader(file):
            if row["kind"] != "molar" or row["source"] != "crc_susceptibility":
                continue
            mass = periodictable.formula(row["formula"]).mass
            found = float(row["molar_susceptibility_1e6_cm3_mol"]) / mass * factor
            assert found == pytest.approx(float(row["mass_susceptibility_m3_kg"]), rel=2e-3)
            checked += 1
    assert checked >= 10
