"""Guards of the reference tables: an edit that breaks a rule, or one nobody meant, is caught."""

from __future__ import annotations

import csv
import importlib.util
import re

import pytest

from feedchar.chemistry.formula import element_wt_pct
from feedchar.magnetics.paramagnetism import curie_mass_susceptibility
from feedchar.tables.locate import table_path, tables_folder
from feedchar.tables.minerals import minerals
from feedchar.tables.names import plain_word
from feedchar.tables.read import read_table
from feedchar.tables.sources import sources, status_of
from feedchar.tables.susceptibility import MASS, magnetic_values

TABLES = sorted(path.name for path in tables_folder().glob("*.csv"))
MINERALS = sorted(minerals())

# The charges of ordinary chemistry. Iron, manganese, chromium and the rare earths take the
# states listed with the mineral, and these where none is listed.
CHARGE = {
    "H": 1, "Li": 1, "Na": 1, "K": 1, "Be": 2, "Mg": 2, "Ca": 2, "Ba": 2, "Zn": 2, "Al": 3,
    "B": 3, "La": 3, "Y": 3, "Si": 4, "Ti": 4, "Zr": 4, "Sn": 4, "C": 4, "P": 5, "Nb": 5, "Ta": 5,
    "W": 6, "S": 6, "O": -2, "F": -1, "Cl": -1, "Cu": 1,
}  # fmt: skip
# Sulphides, a metal and manganese of unlisted valence have no oxide-like count of charges.
UNCOUNTED = {
    "pyrite", "marcasite", "pyrrhotite", "chalcopyrite", "metallic iron", "pyrolusite",
}  # fmt: skip


def manifest_maker():
    spec = importlib.util.spec_from_file_location(
        "make_manifest", tables_folder() / "make_manifest.py"
    )
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def test_no_table_changed_without_its_manifest_line():
    maker = manifest_maker()
    with table_path("manifest.csv").open(encoding="utf-8", newline="") as file:
        heading, *written = [tuple(row) for row in csv.reader(file)]
    found = [tuple(map(str, row)) for row in maker.manifest_rows(tables_folder())]
    assert heading == maker.HEADING
    assert written == found, "run reference_tables/make_manifest.py after a deliberate change"


@pytest.mark.parametrize("name", TABLES)
def test_a_table_is_plain_utf8_with_one_heading_and_full_rows(name):
    content = table_path(name).read_bytes()
    assert not content.startswith(b"\xef\xbb\xbf")
    assert b"\r" not in content
    assert content.endswith(b"\n")
    assert len(read_table(name)) > 0


@pytest.mark.parametrize("name", TABLES)
def test_every_source_named_in_a_table_is_in_the_bibliography(name):
    columns = [
        column
        for column in read_table(name)[0].cells
        if column in ("source", "source_key", "standard_or_source") or column.endswith("_source")
    ]
    unknown = {
        key
        for row in read_table(name)
        for column in columns
        for key in row.text(column).split(";")
        if key and key not in sources()
    }
    assert not unknown


@pytest.mark.parametrize("name", TABLES)
def test_every_value_says_how_it_was_seen(name):
    columns = [column for column in read_table(name)[0].cells if column.endswith("how_seen")]
    for row in read_table(name):
        for column in columns:
            assert re.match(r"read|memory|computed|guess", row.text(column)), (row.row, column)
    if name not in ("aliases.csv", "manifest.csv", "roll_harmonics.csv"):
        assert columns


def test_a_source_key_stands_once_and_has_a_status():
    keys = [row.text("key") for row in read_table("sources.csv")]
    assert len(keys) == len(set(keys))
    assert keys == sorted(keys)
    assert {status_of(entry.how_seen) for entry in sources().values()} <= {
        "read", "recalled", "computed",
    }  # fmt: skip


def test_minerals_stand_once_and_every_table_speaks_of_them():
    names = [row.text("mineral") for row in read_table("minerals.csv")]
    assert len(names) == len(set(names)) == 101
    assert {row.text("mineral") for row in read_table("mineral_roles.csv")} == set(names)
    assert {row.mineral for row in magnetic_values()} == set(names)
    assert {row.text("mineral") for row in read_table("densities.csv")} <= set(names)


def test_exactly_one_row_is_preferred_for_a_mineral_and_quantity():
    kinds = {(row.mineral, row.quantity) for row in magnetic_values()}
    preferred = [(row.mineral, row.quantity) for row in magnetic_values() if row.preferred]
    assert len(preferred) == len(set(preferred))
    assert set(preferred) == kinds
    assert all(row.typical is not None for row in magnetic_values() if row.preferred)
    assert all(row.reason for row in magnetic_values())


@pytest.mark.parametrize("name", MINERALS)
def test_low_typical_and_high_stand_in_order(name):
    mineral = minerals()[name]
    assert 0 <= mineral.iron_low_wt_pct <= mineral.iron_typical_wt_pct <= mineral.iron_high_wt_pct
    assert mineral.density_low_kg_m3 <= mineral.density_kg_m3 <= mineral.density_high_kg_m3
    for row in magnetic_values():
        if row.mineral == name:
            known = [v for v in (row.low, row.typical, row.high) if v is not None]
            assert known == sorted(known), row


@pytest.mark.parametrize("name", MINERALS)
def test_the_iron_stated_is_the_iron_of_the_formula(name):
    mineral = minerals()[name]
    iron = element_wt_pct(mineral.formula).get("Fe", 0.0)
    assert iron == pytest.approx(mineral.iron_typical_wt_pct, abs=0.002)


@pytest.mark.parametrize("name", sorted(set(MINERALS) - UNCOUNTED))
def test_charges_balance_with_the_ions_listed(name):
    mineral = minerals()[name]
    atoms = atoms_in(mineral.formula)
    total, counted = 0.0, dict.fromkeys(atoms, 0.0)
    for ion, number in mineral.ions.items():
        element, charge = re.fullmatch(r"([A-Z][a-z]?)(\d)\+", ion).groups()
        total += int(charge) * number
        counted[element] += number
    for element, number in atoms.items():
        rest = number - counted[element]
        if element in CHARGE:
            total += CHARGE[element] * rest
        else:
            assert rest == pytest.approx(0, abs=1e-6), f"{element} has no state in {name}"
    assert total == pytest.approx(0, abs=0.031), name


def atoms_in(formula: str) -> dict[str, float]:
    """Atoms of a formula, counted here a second way and not through the chemistry room."""
    while "(" in formula:
        formula = re.sub(
            r"\(([^()]*)\)(\d*\.?\d*)",
            lambda group: "".join(
                f"{element}{float(number or 1) * float(group[2] or 1):g}"
                for element, number in re.findall(r"([A-Z][a-z]?)(\d*\.?\d*)", group[1])
            ),
            formula,
        )
    atoms: dict[str, float] = {}
    for element, number in re.findall(r"([A-Z][a-z]?)(\d*\.?\d*)", formula):
        atoms[element] = atoms.get(element, 0.0) + float(number or 1)
    return atoms


@pytest.mark.parametrize("name", MINERALS)
def test_the_ions_listed_are_in_the_formula(name):
    mineral = minerals()[name]
    atoms = atoms_in(mineral.formula)
    for element in {ion.rstrip("0123456789+") for ion in mineral.ions}:
        listed = sum(n for ion, n in mineral.ions.items() if ion.startswith(element))
        assert listed <= atoms[element] + 1e-6


def test_rows_of_the_paramagnetic_law_follow_from_formula_and_density():
    """rochette_1992 by way of curie_model; titania keeps its own Van Vleck term instead."""
    checked = 0
    for row in magnetic_values():
        mineral = minerals()[row.mineral]
        elements = {ion.rstrip("0123456789+") for ion in mineral.ions}
        if (
            row.source != "curie_model"
            or row.quantity != MASS
            or "law on the natural formula" not in row.reason
            or not elements <= {"Fe", "Mn"}
            or row.mineral in ("rutile", "anatase")
        ):
            continue
        share = {
            ion: 100 * atoms * {"Fe": 55.845, "Mn": 54.938}[ion[:2]] / mineral.molar_mass_g_mol
            for ion, atoms in mineral.ions.items()
        }
        law = curie_mass_susceptibility(
            share.get("Fe2+", 0.0),
            share.get("Fe3+", 0.0),
            share.get("Mn2+", 0.0),
            mineral.density_kg_m3,
        )
        assert row.typical == pytest.approx(float(law), rel=2e-3, abs=2e-11), row.mineral
        checked += 1
    assert checked >= 50


def test_an_exact_alias_leads_to_a_mineral_and_a_group_word_to_several():
    for row in read_table("aliases.csv"):
        if row.text("kind") == "exact":
            assert row.text("mineral") in minerals()
            assert not row.text("candidates")
        else:
            members = row.text("candidates").split(";")
            assert not row.text("mineral")
            assert len(members) > 1
            assert set(members) <= set(minerals())


def test_no_word_leads_two_ways():
    targets: dict[str, set[str]] = {}
    for row in read_table("aliases.csv"):
        target = row.text("mineral") or row.text("candidates")
        targets.setdefault(plain_word(row.text("alias")), set()).add(target)
    assert {word: to for word, to in targets.items() if len(to) > 1} == {}
    own = {plain_word(name): name for name in minerals()}
    assert {word for word in own if word in targets and targets[word] != {own[word]}} == set()


def test_roles_follow_the_pull_a_mineral_can_get():
    """35e-9 m3/kg is what 2000 T2/m holds on a 50 mm radius at 1.5 m/s: mu0 (v2/R + g)/2000."""
    edge = 4e-7 * 3.14159 * (1.5**2 / 0.05 + 9.81) / 2000
    assert edge == pytest.approx(35e-9, rel=0.02)
    notes = {row.text("mineral"): row.text("note") for row in read_table("mineral_roles.csv")}
    for name, mineral in minerals().items():
        pulled = mineral.susceptibility.typical >= 35e-9
        assert (mineral.role == "removable") == pulled or "edge" in notes[name], name
        if mineral.role == "host":
            assert not mineral.is_dark, name
            assert not mineral.is_refractory, name


def test_the_magnetite_curve_rises_and_ends_below_saturation():
    rows = read_table("magnetite_curve.csv")
    for column in ("flux_density_tesla", "moment_over_saturation", "low", "high"):
        values = [row.number(column) for row in rows]
        assert values == sorted(values)
    for row in rows:
        assert row.number("low") <= row.number("moment_over_saturation") <= row.number("high") < 1
