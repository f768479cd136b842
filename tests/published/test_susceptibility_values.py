"""Susceptibility of pure minerals and compounds, and magnetite's magnetisation, as published.

Sources: law_checks.csv, the regression of Rochette and others 1992 applied apart from this
project; susceptibility_checks.csv, molar figures of the CRC Handbook and garnets of Frost 1960,
measured moments of Ashcroft and Mermin 1976; magnetite_saturation_curves.csv, 23 chips of an open
repository of serpentinite measurements; magnetite_volume_vs_susceptibility.csv, Mooney and
Bleifuss 1953 and serpentinites compiled from Di Stefano and Chiarabba 2002 and others;
composite_grain.csv, computed by hand.
"""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np
import pytest

from feedchar.chemistry import element_wt_pct
from feedchar.constants import VACUUM_PERMEABILITY_T_M_A
from feedchar.magnetics import curie_mass_susceptibility
from feedchar.magnetics.moment import apparent_susceptibility
from feedchar.magnetics.paramagnetism import (
    ION_MOMENTS,
    curie_molar_susceptibility,
    ion_mass_susceptibility,
)
from feedchar.magnetics.saturation import (
    magnetite_saturation_fraction,
    saturation_flux_density,
    sphere_saturation_fraction,
    sphere_volume_susceptibility,
)
from feedchar.magnetics.susceptibility import at_temperature, mass_susceptibility_si
from feedchar.tables.susceptibility import MASS, preferred_values

DATA = Path(__file__).parent / "data"


def table(name: str) -> list[dict[str, str]]:
    with (DATA / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def ions_of(row: dict[str, str]) -> dict[str, float]:
    parts = (part.split("=") for part in row["paramagnetic_ions"].split(";"))
    return {ion: float(count) for ion, count in parts}


def molar_mass_kg(formula: str, element: str, atoms: float, atomic_mass: float) -> float:
    """From the share of one element: no second table of atomic masses is needed."""
    return 1e-3 * atoms * atomic_mass / (element_wt_pct(formula)[element] / 100.0)


LAW = table("law_checks.csv")


@pytest.mark.parametrize("row", LAW, ids=[row["name"] for row in LAW])
def test_the_paramagnetic_law_on_the_formula_of_a_mineral(row):
    ions, expected = ions_of(row), float(row["mass_susceptibility_m3_kg"])
    density = float(row["density_kg_m3"])
    if row["name"] == "monazite":
        # Rare earths take their measured moments; 4 oxygens weigh the formula.
        molar = molar_mass_kg(row["formula"], "O", 4, 15.9994)
        moles = {ion: count / molar for ion, count in ions.items()}
        found = ion_mass_susceptibility(moles, density)
    else:
        iron = element_wt_pct(row["formula"]).get("Fe", 0.0)
        fe2, fe3 = ions.get("Fe2+", 0.0), ions.get("Fe3+", 0.0)
        found = curie_mass_susceptibility(
            iron * fe2 / (fe2 + fe3), iron * fe3 / (fe2 + fe3), 0.0, density
        )
    assert found == pytest.approx(expected, rel=0.005)


# The law is said to be good to 10 % for Fe2+ silicates and carbonates and 30 % high for MnCO3;
# pure fayalite, whose iron neighbours iron, lies 12 % below it. Oxides, chlorides, sulphates and
# sulphides are outside it.
MEASURED = {
    "siderite": ({"Fe2+": 1}, 3937, 0.10),
    "rhodochrosite": ({"Mn2+": 1}, 3700, 0.32),
    "almandine": ({"Fe2+": 3}, 4319, 0.10),
    "spessartine": ({"Mn2+": 3}, 4199, 0.15),
    "andradite": ({"Fe3+": 2}, 3860, 0.20),
    "olivine Fo90": ({"Fe2+": 0.2}, 3360, 0.10),
    "fayalite": ({"Fe2+": 2}, 4400, 0.12),
}
CHECKS = {row["compound"]: row for row in table("susceptibility_checks.csv")}


@pytest.mark.parametrize(("compound", "facts"), MEASURED.items())
def test_the_law_against_measured_compounds_within_what_it_claims(compound, facts):
    ions, density, tolerance = facts
    row = CHECKS[compound]
    weights = element_wt_pct(row["formula"])
    amounts = {"Fe2+": 0.0, "Fe3+": 0.0, "Mn2+": 0.0}
    amounts |= {ion: weights[ion[:2]] for ion in ions}
    found = curie_mass_susceptibility(amounts["Fe2+"], amounts["Fe3+"], amounts["Mn2+"], density)
    assert found == pytest.approx(float(row["mass_susceptibility_m3_kg"]), rel=tolerance)


@pytest.mark.parametrize(
    ("mineral", "compound"),
    {"quartz": "silica", "corundum": "alumina", "calcite": "calcite", "barite": "barite",
     "fluorite": "fluorite", "magnesite": "magnesite"}.items(),
)  # fmt: skip
def test_pale_minerals_repel_as_the_handbook_says(mineral, compound):
    preferred = preferred_values()[mineral, MASS]
    expected = float(CHECKS[compound]["mass_susceptibility_m3_kg"])
    assert preferred.typical == pytest.approx(expected, rel=0.05)
    assert preferred.typical < 0


def test_molar_figures_convert_to_mass_figures_in_si():
    for row in CHECKS.values():
        if row["kind"] == "molar" and row["formula"] == "FeCO3":
            molar = molar_mass_kg("FeCO3", "Fe", 1, 55.845)
            cgs = float(row["molar_susceptibility_1e6_cm3_mol"]) * 1e-6 / (1e3 * molar)
            found = mass_susceptibility_si(cgs, "cm3/g", 1.0)
            assert found == pytest.approx(float(row["mass_susceptibility_m3_kg"]), rel=1e-3)


def test_ion_moments_are_those_measured():
    for ion, moment in ION_MOMENTS.items():
        assert moment == float(CHECKS[ion]["moment_bohr_magneton"])


def test_the_moment_of_iron_gives_the_slope_of_the_law():
    # The regression corresponds to 5.12 Bohr magnetons for Fe2+ at 20 °C.
    per_kg = curie_molar_susceptibility(5.12) / 0.055845
    assert per_kg / 100 == pytest.approx(25.2e-9, rel=0.01)


def test_paramagnets_weaken_as_they_warm_and_quartz_does_not_change():
    biotite, quartz = 4.59e-7, -6.19e-9
    warm = at_temperature([biotite, quartz], [3050.0, 2648.0], 100.0)
    paramagnetic = biotite + 14.6e-6 / 3050
    assert warm[0] - biotite == pytest.approx(paramagnetic * (293.15 / 373.15 - 1), rel=1e-12)
    assert warm[1] == quartz


CURVES = table("magnetite_saturation_curves.csv")


@pytest.mark.parametrize("flux", [0.1, 0.2, 0.5, 1.0])
def test_magnetite_is_magnetised_as_measured_chips_are(flux):
    measured = [float(row[f"M_over_Ms_{flux}T"]) for row in CURVES]
    found = magnetite_saturation_fraction(flux)
    assert min(measured) <= found <= max(measured)
    assert found == pytest.approx(np.median(measured), abs=0.002)


def test_magnetite_rises_steadily_from_nothing_to_saturation():
    flux = np.concatenate([np.linspace(0, 1.5, 600), [2.0, 5.0, 100.0]])
    share = magnetite_saturation_fraction(flux)
    assert share[0] == 0.0
    assert np.all(np.diff(share) > 0)
    assert share[-1] == pytest.approx(1.0, abs=1e-5)
    assert np.all(share < 1.0)


def test_the_sphere_law_of_magnetite_is_right_above_a_sixth_of_a_tesla_and_too_low_below():
    for flux in (0.15, 0.2, 0.3, 0.5, 1.0):
        sphere = sphere_saturation_fraction(flux, 92.0, 5201.0)
        assert sphere == pytest.approx(magnetite_saturation_fraction(flux), rel=0.18)
    for flux in (0.02, 0.05, 0.1):
        low = magnetite_saturation_fraction(flux) / sphere_saturation_fraction(flux, 92.0, 5201.0)
        assert 1.3 <= low <= 1.92


def test_one_volume_per_cent_of_magnetite_shows_between_the_two_measured_slopes():
    slopes = {
        row["id"]: float(row["slope_SI_volume_susceptibility_per_vol_pct_magnetite"])
        for row in table("magnetite_volume_vs_susceptibility.csv")
    }
    for intrinsic in (12.0, 1e9):
        shown = 0.01 * sphere_volume_susceptibility(intrinsic)
        assert 0.019 <= shown <= 0.038
        assert slopes["A"] * 0.99 <= shown <= slopes["B"]
    assert 0.01 * sphere_volume_susceptibility(1e9) == pytest.approx(slopes["C"], rel=1e-6)
    assert 0.01 * sphere_volume_susceptibility(12.0) == pytest.approx(slopes["D"], rel=1e-6)


def test_saturation_fields_of_strong_magnets():
    # minerals.csv: mu0 Ms density / 3, for magnetite, maghemite, pyrrhotite and iron.
    for moment, density, field in (
        (92.0, 5201.0, 0.2), (74.0, 5074.0, 0.157), (18.0, 4662.0, 0.035), (218.0, 7877.0, 0.719),
    ):  # fmt: skip
        assert saturation_flux_density(moment, density) == pytest.approx(field, rel=0.01)


def test_hematite_looks_weaker_in_a_stronger_field():
    # Moment 0.4 A m2/kg (Tauxe 2010) and slope 2.822e-7 (CRC): 1.96e-6 at 0.3 T, 7.85e-7 at 1 T.
    assert apparent_susceptibility(2.822e-7, 0.4, 1.0) == pytest.approx(7.85e-7, rel=1e-3)
    assert apparent_susceptibility(2.822e-7, 0.4, 0.3) == pytest.approx(1.96e-6, rel=2e-3)


def test_saturated_magnetite_at_one_tesla():
    found = apparent_susceptibility(0.0, 92.0, 1.0)
    assert found == pytest.approx(92.0 * VACUUM_PERMEABILITY_T_M_A, rel=1e-12)
    assert found == pytest.approx(1.16e-4, rel=5e-3)
