"""Published and independently computed values of field, force and susceptibility.

Source: physics_checks.csv, values computed apart from this project with closed forms, with a
finite-volume model of the roll with saturating steel (Br 1.25 T, recoil 1.05, Js 2.1 T, initial
permeability 1500, bore 10 mm) and with a general-purpose magnetostatics library; the biotite rows
are Zapletal 1990, Phys. Earth Planet. Inter. 63, 85-97. Each row states its tolerance.
"""

from __future__ import annotations

import csv
from math import degrees, log, pi, radians
from pathlib import Path

import numpy as np
import pytest

from feedchar.constants import GRAVITY_M_S2, VACUUM_PERMEABILITY_T_M_A
from feedchar.field import mean_force_product, roll_flux_density, roll_harmonics
from feedchar.field.drum import Drum, drum_force_product
from feedchar.field.harmonics import bare_harmonics
from feedchar.field.series import radial_decay
from feedchar.magnetics import (
    curie_mass_susceptibility,
    magnetic_acceleration,
    sphere_average,
)
from feedchar.magnetics.isodynamic import isodynamic_force_product, isodynamic_susceptibility
from feedchar.magnetics.moment import apparent_susceptibility
from feedchar.magnetics.paramagnetism import curie_molar_susceptibility
from feedchar.magnetics.pull import flake_average
from feedchar.magnetics.saturation import saturation_flux_density, sphere_volume_susceptibility
from feedchar.magnetics.susceptibility import mass_susceptibility_si

MU0 = VACUUM_PERMEABILITY_T_M_A
ROWS = Path(__file__).parent / "data" / "physics_checks.csv"


def value_of(text: str) -> float | str:
    try:
        return float(text)
    except ValueError:
        return text


def rows(*topics: str):
    with ROWS.open(encoding="utf-8", newline="") as file:
        for row in csv.DictReader(file):
            if row["topic"] in topics:
                given = dict(part.split("=", 1) for part in row["inputs"].split(";"))
                yield row | {"given": {key: value_of(text) for key, text in given.items()}}


def known(*topics: str):
    return [pytest.param(row, id=f"{row['id']} {row['quantity'][:50]}") for row in rows(*topics)]


def agrees(row: dict, found: float) -> None:
    """Within the row's own tolerance, and half a unit of the sixth digit, the last one printed."""
    expected, tolerance = float(row["expected"]), float(row["tolerance"])
    allowed = tolerance if row["tol_type"] == "abs" else tolerance * abs(expected)
    printed = 0.5 * 10.0 ** (np.floor(np.log10(abs(expected))) - 5) if expected else 0.0
    message = f"{row['id']}: {found:.7g}, published {expected:.6g}"
    assert abs(found - expected) <= allowed + printed, message


@pytest.mark.parametrize("row", known("force", "sphere average"))
def test_the_pull_in_an_exponential_field_and_its_average_over_a_sphere(row):
    given = row["given"]
    if row["id"].startswith("S"):
        agrees(row, sphere_average(given["x"]))
    elif row["id"] == "F01":
        # At the surface the gradient of an exponential field is k B1: choose k for the gradient.
        pitch = pi * given["B_T"] / given["gradB_Tpm"]
        agrees(row, magnetic_acceleration(given["chi_m3kg"], given["B_T"], pitch, 0.0))
    else:
        found = magnetic_acceleration(
            given["chi_m3kg"], given["B1_T"], given["pitch_m"], given["z_m"]
        )
        agrees(row, found)


@pytest.mark.parametrize("row", known("flake"))
def test_a_flake_lying_flat_is_pulled_harder_than_the_sphere_of_its_sieve_size(row):
    given = row["given"]
    flat = magnetic_acceleration(
        given["chi_m3kg"], given["B1_T"], given["pitch_m"], given["belt_m"] + given["h_m"] / 2
    )
    flat *= flake_average(given["h_m"], given["D_m"], 2 * pi / given["pitch_m"])
    agrees(row, flat)
    sphere = magnetic_acceleration(
        given["chi_m3kg"],
        given["B1_T"],
        given["pitch_m"],
        given["belt_m"] + given["D_m"] / 2,
        given["D_m"],
    )
    assert sphere == pytest.approx(122.6, abs=0.05)  # the note of the row


@pytest.mark.parametrize("row", known("strong magnet"))
def test_a_strongly_magnetic_sphere_is_held_back_by_its_own_field(row):
    given, density = row["given"], 5200.0
    if "chi_intrinsic_SI" in given:
        agrees(row, sphere_volume_susceptibility(given["chi_intrinsic_SI"]))
    elif row["id"] == "D03":
        agrees(row, saturation_flux_density(given["Ms_Apm"] / density, density))
    else:
        # Susceptibility 3/density below saturation, the moment alone above it.
        linear = 3.0 / given["rho"] if "B_T" in given else 0.0
        moment = given.get("Ms_Apm", 0.0) / given["rho"]
        flux = given.get("B_T", 1.0)
        chi = apparent_susceptibility(linear, moment, flux)
        agrees(row, chi / MU0 * flux * given["gradB_Tpm"])


@pytest.mark.parametrize("row", known("susceptibility"))
def test_curie_law_units_and_the_isodynamic_separator(row):
    given = row["given"]
    if row["id"] == "X01":
        molar = curie_molar_susceptibility(given["mu_eff"], given["T_K"])
        agrees(row, molar / 0.055845)
    elif row["id"] in ("X02", "X03"):
        density = given["rho"]
        agrees(row, curie_mass_susceptibility(given["Fe_wtpct"], 0, 0, density) * density)
    elif row["id"] == "X04":
        agrees(row, curie_mass_susceptibility(given["Fe_wtpct"], 0, 0, 4787))
    elif row["id"] == "X05":
        agrees(row, mass_susceptibility_si(given["chi_cm3g"], "cm3/g", 1.0))
    elif row["id"] == "X06":
        agrees(row, isodynamic_susceptibility(given["I_A"], radians(given["theta_deg"])))
    else:
        agrees(row, isodynamic_force_product(given["I_A"]))


def bare(given: dict, count: int = 48):
    magnet, pitch = given["w_m_mm"] * 1e-3, (given["w_m_mm"] + given["w_p_mm"]) * 1e-3
    harmonics = bare_harmonics(magnet, pitch, given["R_mm"] * 1e-3, 0.010, given["Br_T"], count)
    return harmonics, pitch, given["R_mm"] * 1e-3


def steel(given: dict, radius: float = 0.05):
    magnet, pole = given["w_m_mm"] * 1e-3, given["w_p_mm"] * 1e-3
    return roll_harmonics(magnet, pole, radius, 0.010, given.get("Br_T", 1.25), 2.1)


@pytest.mark.parametrize("row", [p for p in known("roll field") if p.values[0]["id"][0] == "K"])
def test_the_planar_series_of_a_stack_of_magnets(row):
    given = row["given"]
    pitch = (given.get("w_m_mm", 4) + given.get("w_p_mm", 1)) * 1e-3
    # A roll of 1 km radius is flat.
    nk, _, _ = radial_decay(4, pitch, 1000.0, 0.0)
    if row["unit"] == "1/m":
        agrees(row, nk[0])
    elif row["id"] == "K06":
        half = 1e-3 * float(row["expected"])
        product = mean_force_product([1.0], pitch, 1000.0, [0.0, half])
        agrees(row, 1e3 * half * log(product[0] / product[1]) / log(2.0))
    elif row["id"] == "K07":
        height = given["z_mm"] * 1e-3
        pitches = np.linspace(0.8, 1.2, 40001) * 2 * pi * height
        best = pitches[np.argmax(mean_force_product([1.0], pitches, 1000.0, height))]
        agrees(row, 1e3 * best)
    else:
        flat = bare_harmonics(given["w_m_mm"] * 1e-3, pitch, 1000.0, 0.0, given["Br_T"], 4)
        agrees(row, flat[int((given["n"] - 1) / 2)])


@pytest.mark.parametrize("row", [p for p in known("roll field") if p.values[0]["id"][0] == "M"])
def test_a_roll_without_iron_agrees_with_a_magnetostatics_library(row):
    given = row["given"]
    height = given["y_mm"] * 1e-3
    if row["id"] == "M20":
        agrees(row, radial_decay(1, given["pitch_mm"] * 1e-3, 0.05, height)[1][0])
        return
    harmonics, pitch, radius = bare(given)
    if "mid-pole" in row["quantity"]:
        found, _ = roll_flux_density(harmonics, pitch, radius, height, pitch / 2)
    else:
        found = harmonics[0] * radial_decay(1, pitch, radius, height)[1][0]
    agrees(row, float(found))


@pytest.mark.parametrize("row", [p for p in known("roll field") if p.values[0]["id"][0] == "V"])
def test_a_roll_with_saturating_steel_agrees_with_a_finite_volume_model(row):
    given = row["given"]
    height = given.get("y_mm", 0.0) * 1e-3
    if row["id"].startswith("V3") and "pitch_mm" in given:
        # A sum of given harmonics, planar.
        pitch = given["pitch_mm"] * 1e-3
        ratio = mean_force_product([1.0, 0.416, 0.171], pitch, 1000.0, height)
        agrees(row, ratio / mean_force_product([1.0], pitch, 1000.0, height))
        return
    pitch = (given["w_m_mm"] + given["w_p_mm"]) * 1e-3
    harmonics = steel(given)
    product = mean_force_product(harmonics, pitch, 0.05, height)
    k = pi / pitch
    if row["id"] == "V01":
        # The row goes back to the surface from 2 mm with the planar decay.
        away = harmonics[0] * radial_decay(1, pitch, 0.05, 2e-3)[1][0]
        agrees(row, away * np.exp(k * 2e-3))
        agrees(row, harmonics[0])
    elif "mid-pole" in row["quantity"]:
        found, _ = roll_flux_density(harmonics, pitch, 0.05, 0.0, pitch / 2)
        agrees(row, float(found))
    elif "divided" in row["quantity"]:
        agrees(row, product / (k * given["B1_T"] ** 2 * np.exp(-2 * k * height)))
    else:
        agrees(row, float(product))


@pytest.mark.parametrize("row", known("separator classes"))
def test_force_products_of_drums_and_rolls_by_class(row):
    given = row["given"]
    flat = magnetic_acceleration(MU0, given["B1_T"], given["pitch_m"], 0.0)
    agrees(row, flat)
    # A drum of 1 km radius is flat too.
    drum = Drum("flat", 1000.0, given["pitch_m"], given["B1_T"])
    agrees(row, drum_force_product(drum, 0.0))


def test_the_isodynamic_slope_balances_gravity():
    slope, current = radians(15), 0.4
    chi = isodynamic_susceptibility(current, slope)
    pull = chi / MU0 * isodynamic_force_product(current)
    assert pull == pytest.approx(GRAVITY_M_S2 * np.sin(slope), rel=1e-12)
    assert degrees(slope) == pytest.approx(15)


# Rolls of 50 mm radius, pitch 5 mm, bore 10 mm, Br 1.25 T, Js 2.1 T, computed with another
# discretisation (quadratic finite elements): mid-pole, mid-magnet, B1, B3, B5 [T], then the mean
# force product at 0.25, 0.5, 1 and 2 mm [T2/m].
SURFACE_HARMONICS = {
    2: (1.014, 0.874, 1.158, -0.243, -0.178, 724, 470, 238, 65.6),
    3: (1.251, 0.834, 1.164, -0.415, 0.062, 781, 501, 245, 66.4),
    4: (1.386, 0.789, 1.114, -0.459, 0.188, 758, 477, 227, 60.9),
    6: (1.565, 0.734, 1.033, -0.455, 0.271, 700, 424, 196, 52.4),
    8: (1.693, 0.704, 0.981, -0.431, 0.283, 651, 385, 177, 47.3),
}


@pytest.mark.parametrize(("ratio", "figures"), SURFACE_HARMONICS.items())
def test_surface_harmonics_and_force_by_magnet_to_steel_ratio(ratio, figures):
    _, _, b1, b3, b5, *products = figures
    pitch, radius = 0.005, 0.05
    magnet = pitch * ratio / (1 + ratio)
    harmonics = roll_harmonics(magnet, pitch - magnet, radius, 0.010, 1.25, 2.1)
    assert harmonics[:3] == pytest.approx([b1, b3, b5], rel=0.005, abs=0.001)
    heights = np.array([0.25, 0.5, 1.0, 2.0]) * 1e-3
    assert mean_force_product(harmonics, pitch, radius, heights) == pytest.approx(
        products, rel=0.005
    )


# Height [mm]: B_r mid-pole, B_z mid-magnet [T], mean, least and greatest force product [T2/m] over
# the axis, by the finite-volume model; the field within 2 %. Its greatest force, at the corner of
# the steel, depends on the grid and is not compared below 0.5 mm.
ROLL_4_TO_1 = {
    0.10: (1.355, 0.765, 1160, 200, None),
    0.15: (1.323, 0.752, 977, 199, None),
    0.25: (1.241, 0.725, 760, 196, None),
    0.50: (1.011, 0.656, 478, 183, 970),
    0.75: (0.816, 0.586, 324, 162, 560),
    1.0: (0.665, 0.519, 227, 137, 351),
    1.5: (0.456, 0.396, 116, 89, 150),
    2.0: (0.322, 0.296, 61, 52, 70),
    3.0: (0.166, 0.160, 17, 16, 18),
}


@pytest.mark.parametrize(("height_mm", "figures"), ROLL_4_TO_1.items())
def test_field_and_force_above_a_roll_of_four_to_one(height_mm, figures):
    from feedchar.field.force import local_force_product

    pole, magnet, mean, least, greatest = figures
    place = (roll_harmonics(0.004, 0.001, 0.05, 0.010, 1.25, 2.1), 0.005, 0.05, height_mm * 1e-3)
    assert roll_flux_density(*place, 0.0025)[0] == pytest.approx(pole, rel=0.02)
    assert roll_flux_density(*place, 0.0)[1] == pytest.approx(magnet, rel=0.02)
    half_a_digit = 0.5 if mean > 100 else 0.05 * mean
    assert mean_force_product(*place) == pytest.approx(mean, rel=0.02, abs=half_a_digit)
    along = np.linspace(0.0, 0.0025, 401)
    towards, _ = local_force_product(*place, along)
    assert towards.min() == pytest.approx(least, rel=0.03, abs=0.5)
    if greatest is not None:
        assert towards.max() == pytest.approx(greatest, rel=0.03, abs=0.5)


# Ratio: mid-pole B_r [T], B1 [T], B3/B1, B5/B1, mean force product at 0.25, 0.5, 1 mm [T2/m] by
# the finite-volume model. There B1 goes back to the surface from 2 mm with the planar decay, the
# ratios likewise.
ROLLS_BY_RATIO = {
    1: (0.66, 0.98, 563, 353, 175),
    1.5: (0.86, 1.10, 663, 428, 218),
    2: (1.02, 1.15, 732, 476, 240),
    3: (1.25, 1.15, 783, 503, 246),
    4: (1.39, 1.10, 760, 478, 227),
    6: (1.57, 1.02, 700, 424, 196),
    9: (1.75, 0.95, 630, 371, 170),
}


@pytest.mark.parametrize(("ratio", "figures"), ROLLS_BY_RATIO.items())
def test_field_and_force_by_magnet_to_steel_ratio(ratio, figures):
    pole, b1, *products = figures
    pitch, radius = 0.005, 0.05
    magnet = pitch * ratio / (1 + ratio)
    harmonics = roll_harmonics(magnet, pitch - magnet, radius, 0.010, 1.25, 2.1)
    back = radial_decay(1, pitch, radius, 2e-3)[1][0] * np.exp(pi / pitch * 2e-3)
    assert harmonics[0] * back == pytest.approx(b1, rel=0.02)
    heights = np.array([0.25, 0.5, 1.0]) * 1e-3
    assert mean_force_product(harmonics, pitch, radius, heights) == pytest.approx(
        products, rel=0.02
    )
    # Over thin steel the sum at the surface itself still swings by 2 % where it ends.
    assert roll_flux_density(harmonics, pitch, radius, 0.0, pitch / 2)[0] == pytest.approx(
        pole, rel=0.02
    )
