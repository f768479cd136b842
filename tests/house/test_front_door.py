"""The names promised to callers are where they were promised, and cost nothing until used."""

from __future__ import annotations

import importlib
import inspect
import subprocess
import sys

import pytest

PROMISED = {
    "feedchar.chemistry": {
        "oxide_wt_pct": ["formula", "iron"],
        "element_wt_pct": ["formula"],
    },
    "feedchar.magnetics": {
        "curie_mass_susceptibility": [
            "fe2_wt_pct", "fe3_wt_pct", "mn2_wt_pct", "density_kg_m3",
        ],
        "sphere_average": ["x"],
        "magnetic_acceleration": [
            "susceptibility_m3_kg", "b1_tesla", "pitch_m", "height_m", "diameter_m",
        ],
    },
    "feedchar.field": {
        "roll_harmonics": [
            "magnet_m", "steel_m", "roll_radius_m", "bore_radius_m", "remanence_tesla",
            "steel_saturation_tesla",
        ],
        "roll_flux_density": ["harmonics", "pitch_m", "roll_radius_m", "height_m", "axial_m"],
        "mean_force_product": ["harmonics", "pitch_m", "roll_radius_m", "height_m"],
    },
    "feedchar.separation": {
        "flux_density_to_hold": [
            "susceptibility_m3_kg", "diameter_m", "grain_speed_m_s", "roll_radius_m",
            "belt_thickness_m", "pitch_m", "angle_rad",
        ],
        "detachment_angle": [
            "susceptibility_m3_kg", "diameter_m", "grain_speed_m_s", "roll_radius_m",
            "belt_thickness_m", "pitch_m", "b1_tesla",
        ],
        "terminal_velocity": ["density_kg_m3", "diameter_m"],
        "landing_position": [
            "density_kg_m3", "diameter_m", "grain_speed_m_s", "roll_radius_m",
            "belt_thickness_m", "plane_below_axis_m", "drag",
        ],
        "single_layer_capacity": ["density_kg_m3", "diameter_m", "coverage", "belt_speed_m_s"],
    },
    "feedchar.testwork": {
        "two_product": ["feed", "concentrate", "tailing"],
        "three_product": ["feed", "product_1", "product_2", "tailing"],
        "reconcile_flows": ["measured", "sd", "incidence"],
        "fundamental_sampling_error": [
            "mass_g", "lot_mass_g", "top_size_cm", "liberation_size_cm", "mineral_fraction",
            "mineral_density_g_cm3", "gangue_density_g_cm3", "shape", "granulometric",
        ],
    },
    "feedchar": {
        "read_sample": ["path"],
        "characterise": ["sample", "setting", "limit", "calibration", "trials", "seed"],
        "to_json": ["characterisation"],
    },
}  # fmt: skip


@pytest.mark.parametrize(
    ("room", "name"), [(room, name) for room, names in PROMISED.items() for name in names]
)
def test_a_promised_function_takes_the_promised_arguments(room, name):
    function = getattr(importlib.import_module(room), name)
    taken = inspect.signature(function).parameters
    promised = PROMISED[room][name]
    assert list(taken)[: len(promised)] == promised
    later = list(taken.values())[len(promised) :]
    assert all(extra.default is not inspect.Parameter.empty for extra in later)


@pytest.mark.parametrize("room", sorted(PROMISED))
def test_a_room_lists_its_names_and_refuses_others(room):
    module = importlib.import_module(room)
    assert set(PROMISED[room]) <= set(module.__all__)
    with pytest.raises(AttributeError, match="no attribute 'nonsense'"):
        _ = module.nonsense


@pytest.mark.parametrize(
    ("room", "name"), [("feedchar", "characterise"), ("feedchar.testwork", "three_product")]
)
def test_a_promised_function_wins_over_the_module_of_its_name(room, name):
    importlib.import_module(f"{room}.{name}")
    assert inspect.isfunction(getattr(importlib.import_module(room), name))


def test_importing_the_package_loads_nothing_heavy():
    heavy = [
        "numpy",
        "scipy",
        "pandas",
        "pymatgen",
        "sklearn",
        "matplotlib",
        "rich",
        "openpyxl",
        "jinja2",
    ]
    code = (
        "import sys, feedchar, feedchar.tables.minerals as m; m.minerals();"
        f"print([name for name in {heavy} if name in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
